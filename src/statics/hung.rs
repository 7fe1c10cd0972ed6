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

use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettings, DefaultSolver, IPSolver, NonnegativeConeT, SecondOrderConeT, SolverStatus,
    SupportedConeT,
};
use glam::DVec3;

use super::StaticsProblem;
use super::layout::{HARNESS, Layout};
use super::least::{Rows, shortest};
use crate::rig::LineId;

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

/// Parts whose share of the shortage is above this are named when lengths cannot meet:
/// dimensionless, the shares add up to 1.
const NAMED_SHARE: f64 = 1e-4;

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
    if !layout.is_held_up() {
        return Err(StaticsProblem::NothingHolds);
    }
    let cone = Cone::new(layout, places, lengths_m);
    let start = match cone.lowest() {
        Some(start) => start,
        None => {
            let lines = cone.too_short();
            return Err(if lines.is_empty() {
                StaticsProblem::NotSettled
            } else {
                StaticsProblem::CannotMeet { lines }
            });
        }
    };
    polish(&cone, start).ok_or(StaticsProblem::NotSettled)
}

/// The lowest value of a direction that the harness point can reach at a given height: the edge
/// of the places that the lengths allow, to about 1e-7 m. `None` where that height is out of reach.
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

/// The cone program of a rig's lengths.
struct Cone<'a> {
    layout: &'a Layout,
    fixed: &'a [DVec3],
    lengths_m: &'a [f64],
    /// First variable of each spot, if the program moves it.
    first: Vec<Option<usize>>,
    /// Spots that the program moves.
    moving: Vec<usize>,
}

/// What the cone program found: places, and pull and slack of each part.
struct Start {
    places: Vec<DVec3>,
    pulls: Vec<f64>,
    slack: Vec<f64>,
}

impl<'a> Cone<'a> {
    fn new(layout: &'a Layout, fixed: &'a [DVec3], lengths_m: &'a [f64]) -> Self {
        let mut first = vec![None; layout.spots];
        let mut moving = Vec::new();
        for &spot in &layout.free {
            if layout.is_held(spot) {
                first[spot] = Some(moving.len() * layout.axes.len());
                moving.push(spot);
            }
        }
        Self {
            layout,
            fixed,
            lengths_m,
            first,
            moving,
        }
    }

    /// Variables that are coordinates of moving spots.
    fn coordinates(&self) -> usize {
        self.moving.len() * self.layout.axes.len()
    }

    fn places(&self, x: &[f64]) -> Vec<DVec3> {
        let mut places = self.fixed.to_vec();
        for &spot in &self.moving {
            let first = self.first[spot].unwrap_or(0);
            for (k, &axis) in self.layout.axes.iter().enumerate() {
                places[spot][axis] = x[first + k];
            }
        }
        places
    }

    fn height_of(&self, spot: usize) -> Option<usize> {
        self.first[spot].map(|first| first + self.layout.axes.len() - 1)
    }

    /// Costs: the height of the harness point, and of hanging points that no line joins to it.
    fn heights(&self, variables: usize) -> Vec<f64> {
        let mut cost = vec![0.0; variables];
        for &spot in &self.moving {
            if spot == HARNESS || !self.layout.are_joined(HARNESS, spot) {
                cost[self.height_of(spot).unwrap_or(0)] = 1.0;
            }
        }
        cost
    }

    /// Solves with `extra` variables past coordinates and span lengths. Every part's length is
    /// its given one plus `give` times the last variable.
    fn solve(
        &self,
        cost: &[f64],
        give: f64,
        height: Option<f64>,
    ) -> Option<(Vec<f64>, Vec<f64>, Vec<f64>)> {
        let (n, spans) = (self.coordinates(), self.layout.spans.len());
        let variables = cost.len();
        // Triplets (row, column, value) of A in A·x + s = b.
        let mut entries: Vec<(usize, usize, f64)> = Vec::new();
        let mut b = Vec::new();
        let mut cones: Vec<SupportedConeT<f64>> = Vec::new();
        for (part, length) in self.layout.parts.iter().zip(self.lengths_m) {
            for span in part.spans.clone() {
                entries.push((b.len(), n + span, 1.0));
            }
            if give > 0.0 {
                entries.push((b.len(), variables - 1, -give));
            }
            b.push(*length);
        }
        cones.push(NonnegativeConeT(b.len()));
        if let (Some(height), Some(z)) = (height, self.height_of(HARNESS)) {
            entries.push((b.len(), z, 1.0));
            b.push(height);
            cones.push(SupportedConeT::ZeroConeT(1));
        }
        for (i, span) in self.layout.spans.iter().enumerate() {
            entries.push((b.len(), n + i, -1.0));
            b.push(0.0);
            for (k, &axis) in self.layout.axes.iter().enumerate() {
                let row = b.len();
                let mut known = 0.0;
                for (spot, sign) in [(span.to, 1.0), (span.from, -1.0)] {
                    match self.first[spot] {
                        Some(first) => entries.push((row, first + k, -sign)),
                        None => known += sign * self.fixed[spot][axis],
                    }
                }
                b.push(known);
            }
            cones.push(SecondOrderConeT(1 + self.layout.axes.len()));
        }
        debug_assert_eq!(n + spans + usize::from(give > 0.0), variables);
        let rows = entries.iter().map(|e| e.0).collect();
        let cols = entries.iter().map(|e| e.1).collect();
        let values = entries.iter().map(|e| e.2).collect();
        let a = CscMatrix::new_from_triplets(b.len(), variables, rows, cols, values);
        let p = CscMatrix::zeros((variables, variables));
        let settings = DefaultSettings {
            verbose: false,
            ..DefaultSettings::default()
        };
        let mut solver = DefaultSolver::new(&p, cost, &a, &b, &cones, settings).ok()?;
        solver.solve();
        let done = matches!(
            solver.solution.status,
            SolverStatus::Solved | SolverStatus::AlmostSolved
        );
        let solution = &solver.solution;
        done.then(|| (solution.x.clone(), solution.z.clone(), solution.s.clone()))
    }

    fn lowest(&self) -> Option<Start> {
        let variables = self.coordinates() + self.layout.spans.len();
        let (x, z, s) = self.solve(&self.heights(variables), 0.0, None)?;
        let parts = self.layout.parts.len();
        Some(Start {
            places: self.places(&x),
            pulls: z[..parts].to_vec(),
            slack: s[..parts].to_vec(),
        })
    }

    fn farthest(&self, towards: DVec3, height_m: f64) -> Option<Vec<f64>> {
        let mut cost = vec![0.0; self.coordinates() + self.layout.spans.len()];
        let first = self.first[HARNESS]?;
        for (k, &axis) in self.layout.axes.iter().enumerate() {
            cost[first + k] = -towards[axis];
        }
        self.solve(&cost, 0.0, Some(height_m)).map(|(x, _, _)| x)
    }

    /// Lines that would have to be longer: those that resist where every part is given the same
    /// extra length, as little as makes them meet. None where they can meet.
    fn too_short(&self) -> Vec<LineId> {
        let variables = self.coordinates() + self.layout.spans.len() + 1;
        let mut cost = vec![0.0; variables];
        cost[variables - 1] = 1.0;
        let Some((x, z, _)) = self.solve(&cost, 1.0, None) else {
            return Vec::new();
        };
        if x[variables - 1] <= 0.0 {
            return Vec::new();
        }
        let parts = self.layout.parts.iter().zip(&z);
        let mut lines: Vec<_> = parts
            .filter(|(_, share)| **share > NAMED_SHARE)
            .map(|(part, _)| LineId(part.line))
            .collect();
        lines.dedup();
        lines
    }
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
