//! The second-order cone program of a rig's lengths.
//!
//! ```text
//! lengths of parts ─lowest→ places, pulls and slack to about 1e-8
//!                  ─farthest→ the edge of the places at one height
//!                  ─too_short→ the lines that keep the others from meeting
//! ```
//!
//! Variables are the coordinates of the free spots that something fixed holds, then one length a
//! span, each at least the distance of its ends.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettings, DefaultSolver, IPSolver, NonnegativeConeT, SecondOrderConeT, SolverStatus,
    SupportedConeT,
};
use glam::DVec3;

use super::layout::{HARNESS, Layout};
use crate::rig::LineId;

/// Parts whose share of the shortage is above this are named when lengths cannot meet:
/// dimensionless, the shares add up to 1.
const NAMED_SHARE: f64 = 1e-4;

/// A shortage up to this is not told from none: metres, a little above the program's accuracy.
const SHORT_M: f64 = 1e-6;

/// The cone program of a rig's lengths.
pub(super) struct Cone<'a> {
    pub layout: &'a Layout,
    fixed: &'a [DVec3],
    pub lengths_m: &'a [f64],
    /// First variable of each spot, if the program moves it.
    pub first: Vec<Option<usize>>,
    /// Spots that the program moves.
    pub moving: Vec<usize>,
}

/// What the cone program found: places, and pull and slack of each part.
pub(super) struct Start {
    pub places: Vec<DVec3>,
    pub pulls: Vec<f64>,
    pub slack: Vec<f64>,
}

impl<'a> Cone<'a> {
    pub fn new(layout: &'a Layout, fixed: &'a [DVec3], lengths_m: &'a [f64]) -> Self {
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
    pub fn coordinates(&self) -> usize {
        self.moving.len() * self.layout.axes.len()
    }

    pub fn places(&self, x: &[f64]) -> Vec<DVec3> {
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
    pub fn heights(&self, variables: usize) -> Vec<f64> {
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

    pub fn lowest(&self) -> Option<Start> {
        let variables = self.coordinates() + self.layout.spans.len();
        let (x, z, s) = self.solve(&self.heights(variables), 0.0, None)?;
        let parts = self.layout.parts.len();
        Some(Start {
            places: self.places(&x),
            pulls: z[..parts].to_vec(),
            slack: s[..parts].to_vec(),
        })
    }

    pub fn farthest(&self, towards: DVec3, height_m: f64) -> Option<Vec<f64>> {
        let mut cost = vec![0.0; self.coordinates() + self.layout.spans.len()];
        let first = self.first[HARNESS]?;
        for (k, &axis) in self.layout.axes.iter().enumerate() {
            cost[first + k] = -towards[axis];
        }
        self.solve(&cost, 0.0, Some(height_m)).map(|(x, _, _)| x)
    }

    /// Lines that would have to be longer: those that resist where every part is given the same
    /// extra length, as little as makes them meet. None where they can meet.
    pub fn too_short(&self) -> Vec<LineId> {
        let variables = self.coordinates() + self.layout.spans.len() + 1;
        let mut cost = vec![0.0; variables];
        cost[variables - 1] = 1.0;
        let Some((x, z, _)) = self.solve(&cost, 1.0, None) else {
            return Vec::new();
        };
        if x[variables - 1] <= SHORT_M {
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
