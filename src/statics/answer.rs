//! Puts the answers of a rig together.
//!
//! ```text
//! Rig ─places (held: given; hung: from lengths)→ hold → spans, lines, points → Solved
//! ```

use glam::DVec3;

use super::balance::FeetOn;
use super::held::{Hold, hold};
use super::hung::rest;
use super::layout::{HARNESS, Layout};
use super::loss::losses;
use super::ranges::{Range, ranges};
use super::zone::zone;
use super::{
    Ask, LineAnswer, Mode, PointAnswer, STANDARD_GRAVITY, Solved, Span, StaticsProblem, Zone,
};
use crate::rig::{LineId, Node, Rig};

/// Solves a rig.
///
/// # Errors
/// For hung rigs [`StaticsProblem::CannotMeet`] where the lengths are infeasible and
/// [`StaticsProblem::NothingHolds`] where the climber hangs from nothing fixed;
/// [`StaticsProblem::NotSettled`] where a resting place, of a hung rig or after a loss, was not
/// reached to the promised accuracy.
pub fn solve(rig: &Rig, ask: Ask) -> Result<Solved, StaticsProblem> {
    let layout = Layout::new(rig);
    let places = layout.places(rig, rig.climber.at.unwrap_or(DVec3::ZERO));
    let lengths = layout.lengths_m(rig, &places);
    let (mode, places, taut, lengths) = match rig.climber.at {
        Some(_) => (Mode::Held, places, vec![true; lengths.len()], lengths),
        None => {
            let rest = rest(&layout, &places, &lengths)?;
            (Mode::Hung, rest.places, rest.taut, lengths)
        }
    };
    // The resting place of a hung rig is one with the feet off.
    let feet = match mode {
        Mode::Held => FeetOn::of(rig, places[HARNESS]),
        Mode::Hung => None,
    };
    let carries = |part: usize| taut[part];
    let hold = hold(&layout, &places, carries, feet);
    let ranges = match &hold {
        Hold::Yes { pulls, .. } => ranges(&layout, &places, carries, feet, pulls),
        Hold::No { .. } => Vec::new(),
    };
    let mut solved = put_together(rig, &layout, &places, mode, &hold, &ranges);
    if ask.loss && solved.holds {
        solved.loss = losses(rig, &layout, &places, &lengths)?;
    }
    if ask.zone {
        solved.zone = zone(rig, places[HARNESS], &places[1..]);
    }
    Ok(solved)
}

/// The zone of a rig that was solved without one.
pub fn zone_of(rig: &Rig, solved: &Solved) -> Option<Zone> {
    let points: Vec<DVec3> = solved.points.iter().map(|point| point.at).collect();
    zone(rig, solved.climber_at, &points)
}

fn put_together(
    rig: &Rig,
    layout: &Layout,
    places: &[DVec3],
    mode: Mode,
    hold: &Hold,
    ranges: &[Range],
) -> Solved {
    let weight_n = rig.climber.nominal_mass_kg() * STANDARD_GRAVITY;
    let (pulls, feet, needs_friction, push) = match hold {
        Hold::Yes {
            pulls,
            feet,
            needs_friction,
        } => (Some(pulls), *feet, *needs_friction, None),
        Hold::No { push } => (None, None, false, Some(*push)),
    };
    let weight_range_n = (
        rig.climber.mass_kg.0 * STANDARD_GRAVITY,
        rig.climber.mass_kg.1 * STANDARD_GRAVITY,
    );
    let spans: Vec<Span> = rig
        .lines
        .iter()
        .flat_map(|line| line.run.windows(2))
        .enumerate()
        .map(|(i, ends)| {
            let s = layout.spans[i];
            let (from_at, to_at) = (places[s.from], places[s.to]);
            let along = to_at - from_at;
            Span {
                line: LineId(s.line),
                from: ends[0],
                to: ends[1],
                from_at,
                to_at,
                length_m: along.length(),
                from_vertical_rad: libm::atan2(along.truncate().length(), along.z.abs()),
                pull_n: pulls.map(|p| p[i] * weight_n),
                // Everything is in proportion to the weight: the lightest climber gives the
                // least, the heaviest the most.
                pull_low_n: ranges.get(i).map(|r| r.0 * weight_range_n.0),
                pull_high_n: ranges
                    .get(i)
                    .and_then(|r| r.1)
                    .map(|h| h * weight_range_n.1),
            }
        })
        .collect();
    let lines = rig
        .line_ids()
        .map(|id| line_answer(rig, id, spans.iter().filter(|s| s.line == id)))
        .collect();
    let points = (0..rig.points.len())
        .map(|i| PointAnswer {
            at: places[1 + i],
            load_n: pulls.map(|p| load_on(layout, places, 1 + i, p) * weight_n),
        })
        .collect();
    Solved {
        mode,
        holds: pulls.is_some(),
        needs_friction,
        push_needed_n: push.map(|p| p * weight_n),
        climber_at: places[HARNESS],
        weight_n,
        weight_range_n,
        spans,
        lines,
        points,
        feet_push_n: feet.map(|f| f * weight_n),
        loss: Vec::new(),
        zone: None,
    }
}

/// Vector sum of the pulls of the spans at a spot, in the unit of the pulls.
fn load_on(layout: &Layout, places: &[DVec3], spot: usize, pulls: &[f64]) -> DVec3 {
    let mut load = DVec3::ZERO;
    for (i, span) in layout.spans.iter().enumerate() {
        let pull = layout.direction(i, places) * pulls[i];
        if span.from == spot {
            load += pull;
        }
        if span.to == spot {
            load -= pull;
        }
    }
    load
}

fn line_answer<'a>(
    rig: &Rig,
    id: LineId,
    spans: impl Iterator<Item = &'a Span> + Clone,
) -> LineAnswer {
    let largest = |of: fn(&Span) -> Option<f64>| {
        let mut all = spans.clone().map(of);
        all.try_fold(0.0, |most: f64, pull| pull.map(|p| most.max(p)))
    };
    let given: f64 = rig.line(id).lengths_m.iter().sum();
    let straight: f64 = spans.clone().map(|s| s.length_m).sum();
    let legs = spans.clone().filter_map(|s| {
        let along = (s.to_at - s.from_at).normalize_or_zero();
        match (s.from, s.to) {
            (Node::Climber(_), Node::Climber(_)) => Some((s, DVec3::ZERO)),
            (Node::Climber(_), _) => Some((s, along)),
            (_, Node::Climber(_)) => Some((s, -along)),
            _ => None,
        }
    });
    let on_climber = (legs.clone().count() > 0).then(|| {
        legs.map(|(s, along)| s.pull_n.map(|p| along * p))
            .try_fold(DVec3::ZERO, |sum, pull| pull.map(|p| sum + p))
    });
    LineAnswer {
        length_m: if rig.is_hung() { given } else { straight },
        pull_n: largest(|s| s.pull_n),
        pull_low_n: largest(|s| s.pull_low_n),
        pull_high_n: largest(|s| s.pull_high_n),
        on_climber_n: on_climber.flatten(),
    }
}
