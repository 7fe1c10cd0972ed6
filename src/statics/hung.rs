//! Hung rigs: the lowest place of the harness point that the lengths allow.
//!
//! ```text
//! lengths of parts ─cone program→ place to about 1e-8, which parts are taut
//!                  ─Newton on the taut parts→ place to rounding, pulls; signs checked → Rest
//! ```
//!
//! Each sum of span lengths is a convex function of the free spots, so the lowest place is a
//! second-order cone program with one answer. Its multipliers are the frictionless pulls over the
//! weight.

use glam::DVec3;

use super::StaticsProblem;
use super::cone::{Cone, Start};
use super::layout::{HARNESS, Layout};
use super::least::{Rows, shortest};

/// Largest length by which a taut part may miss, and the shortest slack of a slack one: metres.
/// The accuracy promised for lengths.
pub(crate) const LENGTH_M: f64 = 1e-9;

/// Largest force that may be left at a free spot, over the weight: a tenth of what is promised,
/// since the pulls are worked out again from the place.
const FORCE_REL: f64 = 1e-10;

/// A pull below this, over the weight, is taken as none when the signs are checked: far below
/// what a figure shows, above rounding.
const PULL_REL: f64 = 1e-9;

/// Newton steps of one set of taut parts; from the cone program's place it takes three or four.
const NEWTON_STEPS: usize = 30;

/// Sets of taut parts that are tried.
const TAUT_SETS: usize = 20;

/// Longest Newton step, metres: from a good start steps are micrometres.
const STEP_M: f64 = 0.5;

/// What each part gets more when lengths leave but one place: metres. A level line of 6 m then
/// sags by 3 mm, less than any line really does.
const EASE_M: f64 = 1e-6;

/// Where a hung rig rests.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Rest {
    /// Place of every spot.
    pub places: Vec<DVec3>,
    /// For every part, whether it is taut.
    pub taut: Vec<bool>,
}

/// Finds the resting place for one length a part, metres. `places` gives the fixed spots, and
/// what a free spot keeps that no line reaches.
///
/// # Errors
/// As [`super::solve`].
pub(crate) fn rest(
    layout: &Layout,
    places: &[DVec3],
    lengths_m: &[f64],
) -> Result<Rest, StaticsProblem> {
    let cone = Cone::new(layout, places, lengths_m);
    polish(&cone, lowest(&cone)?).ok_or(StaticsProblem::NotSettled)
}

/// The resting place of every spot, for what follows a loss: polished as that of [`rest`] where it
/// can be, else to the cone program's 1e-7 m. Lines that lie in one straight
/// line, for one, have no pulls that could be polished.
///
/// # Errors
/// As [`rest`].
pub(crate) fn rest_after_loss(
    layout: &Layout,
    places: &[DVec3],
    lengths_m: &[f64],
) -> Result<Vec<DVec3>, StaticsProblem> {
    if let Some(below) = plumb_below(layout, places, lengths_m) {
        let mut rest = places.to_vec();
        rest[HARNESS] = below;
        return Ok(rest);
    }
    let cone = Cone::new(layout, places, lengths_m);
    let start = match lowest(&cone) {
        Err(StaticsProblem::NotSettled) => {
            // Lengths that leave but one place have no inside for the program to search.
            let eased: Vec<f64> = lengths_m.iter().map(|l| l + EASE_M).collect();
            lowest(&Cone::new(layout, places, &eased))?
        }
        start => start?,
    };
    let about = start.places.clone();
    Ok(polish(&cone, start).map_or(about, |rest| rest.places))
}

/// Where the harness hangs from one line whose legs all lead to one fixed spot: plumb below that, as
/// far as the length allows. `None` for anything else.
fn plumb_below(layout: &Layout, places: &[DVec3], lengths_m: &[f64]) -> Option<DVec3> {
    let ([_], [length_m]) = (layout.parts.as_slice(), lengths_m) else {
        return None;
    };
    let (mut anchor, mut legs, mut left_m) = (None, 0, *length_m);
    for (i, span) in layout.spans.iter().enumerate() {
        match (span.from, span.to) {
            (HARNESS, HARNESS) => return None,
            (HARNESS, far) | (far, HARNESS) if *anchor.get_or_insert(far) == far => legs += 1,
            (HARNESS, _) | (_, HARNESS) => return None,
            _ => left_m -= layout.length(i, places),
        }
        if [span.from, span.to]
            .iter()
            .any(|s| *s != HARNESS && layout.free.contains(s))
        {
            return None;
        }
    }
    let anchor = places[anchor?];
    (left_m > 0.0).then(|| anchor - DVec3::Z * (left_m / f64::from(legs)))
}

fn lowest(cone: &Cone<'_>) -> Result<Start, StaticsProblem> {
    if !cone.layout.is_held_up() {
        return Err(StaticsProblem::NothingHolds);
    }
    cone.lowest().ok_or_else(|| {
        let lines = cone.too_short();
        if lines.is_empty() {
            StaticsProblem::NotSettled
        } else {
            StaticsProblem::CannotMeet { lines }
        }
    })
}

/// The farthest place in a direction that the harness point can reach at a given height: the edge
/// of what the lengths allow, to about 1e-7 m. `None` where that height is out of reach.
pub(crate) fn farthest(
    layout: &Layout,
    places: &[DVec3],
    lengths_m: &[f64],
    towards: DVec3,
    height_m: f64,
) -> Option<DVec3> {
    let cone = Cone::new(layout, places, lengths_m);
    let x = cone.farthest(towards, height_m)?;
    Some(cone.places(&x)[HARNESS])
}

/// Newton's method on the balance of every moving spot and the lengths of the taut parts, until
/// the set of taut parts agrees with the signs.
fn polish(cone: &Cone<'_>, start: Start) -> Option<Rest> {
    let layout = cone.layout;
    let mut taut: Vec<bool> = start
        .pulls
        .iter()
        .zip(&start.slack)
        .map(|(pull, slack)| pull > slack)
        .collect();
    let mut places = start.places;
    let mut pulls = start.pulls;
    for _ in 0..TAUT_SETS {
        newton(cone, &taut, &mut places, &mut pulls)?;
        let push = (0..taut.len())
            .filter(|p| taut[*p] && pulls[*p] < -PULL_REL)
            .min_by(|p, q| pulls[*p].total_cmp(&pulls[*q]));
        let over = |p: usize| layout.part_length(p, &places) - cone.lengths_m[p];
        let long = (0..taut.len())
            .filter(|p| !taut[*p] && over(*p) > LENGTH_M)
            .max_by(|p, q| over(*p).total_cmp(&over(*q)));
        match (push, long) {
            (Some(part), _) => {
                taut[part] = false;
                pulls[part] = 0.0;
            }
            (None, Some(part)) => taut[part] = true,
            (None, None) => {
                let taut = (0..taut.len()).map(|p| over(p) >= -LENGTH_M).collect();
                return Some(Rest { places, taut });
            }
        }
    }
    None
}

/// Brings balance and lengths to rounding; `None` where it does not get there.
fn newton(cone: &Cone<'_>, taut: &[bool], places: &mut [DVec3], pulls: &mut [f64]) -> Option<()> {
    let layout = cone.layout;
    let axes = layout.axes;
    let coordinates = cone.coordinates();
    let active: Vec<usize> = (0..taut.len()).filter(|p| taut[*p]).collect();
    let size = coordinates + active.len();
    let mut last = f64::INFINITY;
    for _ in 0..NEWTON_STEPS {
        let mut rows = Rows::new(size);
        rows.data = vec![0.0; size * size];
        let mut miss = vec![0.0; size];
        for (m, cost) in miss.iter_mut().zip(cone.heights(coordinates)) {
            *m = -cost;
        }
        for (k, &part) in active.iter().enumerate() {
            let row = coordinates + k;
            miss[row] = cone.lengths_m[part] - layout.part_length(part, places);
            for span in layout.parts[part].spans.clone() {
                let ends = layout.spans[span];
                let along = layout.direction(span, places);
                let length = layout.length(span, places);
                for (spot, sign) in [(ends.to, 1.0), (ends.from, -1.0)] {
                    let Some(first) = cone.first[spot] else {
                        continue;
                    };
                    for (i, &axis) in axes.iter().enumerate() {
                        let slope = sign * along[axis];
                        rows.data[row * size + first + i] += slope;
                        rows.data[(first + i) * size + row] += slope;
                        miss[first + i] -= pulls[part] * slope;
                        if length == 0.0 {
                            continue;
                        }
                        for (other, other_sign) in [(ends.to, 1.0), (ends.from, -1.0)] {
                            let Some(other) = cone.first[other] else {
                                continue;
                            };
                            for (j, &across) in axes.iter().enumerate() {
                                let same = if i == j { 1.0 } else { 0.0 };
                                let bend = (same - along[axis] * along[across]) / length;
                                rows.data[(first + i) * size + other + j] +=
                                    pulls[part] * sign * other_sign * bend;
                            }
                        }
                    }
                }
            }
        }
        let left = miss.iter().fold(0.0f64, |most, m| most.max(m.abs()));
        let good = left <= FORCE_REL;
        if good && left >= last / 2.0 {
            return Some(());
        }
        last = left;
        let step = shortest(&rows, &miss).u;
        let moved = step[..coordinates]
            .iter()
            .fold(0.0f64, |most, s| most.max(s.abs()));
        let share = if moved > STEP_M { STEP_M / moved } else { 1.0 };
        for &spot in &cone.moving {
            let first = cone.first[spot].unwrap_or(0);
            for (k, &axis) in axes.iter().enumerate() {
                places[spot][axis] += share * step[first + k];
            }
        }
        for (k, &part) in active.iter().enumerate() {
            pulls[part] += share * step[coordinates + k];
        }
    }
    (last <= FORCE_REL).then_some(())
}
