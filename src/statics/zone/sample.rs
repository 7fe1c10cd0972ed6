//! Samples a zone: coarse blocks first, finer where the verdict changes.
//!
//! ```text
//! Grid ─blocks of 8: corners and middle alike, pulls straight across→ filled in between
//!                    └ different, or near an anchor → quarters … single samples
//! ```
//!
//! Balance, limits and spread change slowly across a block of 0.16 m except beside an anchor, so
//! those blocks are always taken apart; lengths, ground and wood are asked at every sample that
//! the loads allow, since a thin limb fits between the corners of a block.

use glam::{DVec2, DVec3};

use super::plane::{Grid, Plane};
use super::verdict::{Judge, fixed_places};
use crate::rig::Rig;
use crate::statics::NotHeld;

/// Samples along the side of a block that is asked first.
const BLOCK: usize = 8;

/// Blocks nearer to an anchor than this many of their sides are taken apart.
const NEAR_SIDES: f64 = 2.0;

/// A held block is filled where the pull in its middle is the mean of its corners' to this share.
const STRAIGHT_REL: f64 = 1e-3;

/// The verdict and the pulls at every sample of a grid.
pub(super) struct Samples {
    pub held: Vec<Result<(), NotHeld>>,
    /// Per line, per sample, newtons.
    pub pull_n: Vec<Vec<f32>>,
}

/// Asks for every sample.
pub(super) fn sample(rig: &Rig, judge: &mut Judge<'_>, plane: Plane, grid: Grid) -> Samples {
    let mut sampling = Sampling {
        judge,
        plane,
        grid,
        anchors: fixed_places(rig).collect(),
        known: vec![false; grid.len()],
        held: vec![Err(NotHeld::Beyond); grid.len()],
        pull_n: vec![vec![f32::NAN; grid.len()]; rig.lines.len()],
    };
    for j in (0..grid.up - 1).step_by(BLOCK) {
        for i in (0..grid.across - 1).step_by(BLOCK) {
            let end = |from: usize, samples: usize| (from + BLOCK).min(samples - 1);
            sampling.block([i, end(i, grid.across)], [j, end(j, grid.up)]);
        }
    }
    let Sampling {
        mut held, pull_n, ..
    } = sampling;
    for j in (0..grid.up).step_by(BLOCK) {
        for i in (0..grid.across).step_by(BLOCK) {
            let ends = [(i + BLOCK).min(grid.across), (j + BLOCK).min(grid.up)];
            bound([i, ends[0]], [j, ends[1]], judge, plane, grid, &mut held);
        }
    }
    Samples { held, pull_n }
}

/// Asks for lengths, ground and wood at the held samples of a block, ends not included; at none of
/// them where the block's middle is clear by more than its corners are away.
fn bound(
    [i0, i1]: [usize; 2],
    [j0, j1]: [usize; 2],
    judge: &Judge<'_>,
    plane: Plane,
    grid: Grid,
    held: &mut [Result<(), NotHeld>],
) {
    let (low, high) = (grid.at(i0, j0), grid.at(i1 - 1, j1 - 1));
    let middle = plane.place((low + high) / 2.0);
    let clear = judge.clear_m(middle) > low.distance(high);
    let on_rim = grid.is_rim(i0, j0) || grid.is_rim(i1 - 1, j1 - 1);
    if clear && !on_rim {
        return;
    }
    for j in j0..j1 {
        for i in i0..i1 {
            let sample = &mut held[grid.index(i, j)];
            if grid.is_rim(i, j) {
                // Nothing holds out there but for rounding.
                *sample = sample.and(Err(NotHeld::CannotBalance));
            }
            if sample.is_ok() {
                *sample = judge.bounds(plane.place(grid.at(i, j)));
            }
        }
    }
}

struct Sampling<'j, 'r> {
    judge: &'j mut Judge<'r>,
    plane: Plane,
    grid: Grid,
    anchors: Vec<DVec3>,
    known: Vec<bool>,
    held: Vec<Result<(), NotHeld>>,
    pull_n: Vec<Vec<f32>>,
}

impl Sampling<'_, '_> {
    fn ask(&mut self, i: usize, j: usize) -> bool {
        let index = self.grid.index(i, j);
        if !self.known[index] {
            self.known[index] = true;
            let place = self.plane.place(self.grid.at(i, j));
            self.held[index] = self.judge.loads(place);
            for (to, from) in self.pull_n.iter_mut().zip(&self.judge.pulls_n) {
                to[index] = *from as f32;
            }
        }
        self.held[index].is_ok()
    }

    /// A block from sample to sample, both included.
    fn block(&mut self, [i0, i1]: [usize; 2], [j0, j1]: [usize; 2]) {
        let corners = [(i0, j0), (i1, j0), (i0, j1), (i1, j1)];
        let held = corners.map(|(i, j)| self.ask(i, j));
        if i1 - i0 <= 1 && j1 - j0 <= 1 {
            return;
        }
        let (im, jm) = (usize::midpoint(i0, i1), usize::midpoint(j0, j1));
        let middle = self.ask(im, jm);
        let samples = corners.map(|(i, j)| self.grid.index(i, j));
        if held.iter().all(|h| *h == middle)
            && !self.is_near_anchor([i0, i1], [j0, j1])
            && !(middle && self.bends(samples, self.grid.index(im, jm)))
        {
            self.fill([i0, i1], [j0, j1]);
            return;
        }
        // A side of one cell is not split.
        let halves = |a: usize, m: usize, b: usize| match m > a {
            true => [Some([a, m]), Some([m, b])],
            false => [Some([a, b]), None],
        };
        for i in halves(i0, im, i1).into_iter().flatten() {
            for j in halves(j0, jm, j1).into_iter().flatten() {
                self.block(i, j);
            }
        }
    }

    /// Whether a pull in the middle is off the mean of the corners, so that filling would be too.
    fn bends(&self, corners: [usize; 4], middle: usize) -> bool {
        self.pull_n.iter().any(|pull| {
            let mean = corners.map(|c| pull[c]).iter().sum::<f32>() / 4.0;
            f64::from((mean - pull[middle]).abs()) > STRAIGHT_REL * f64::from(pull[middle])
        })
    }

    fn is_near_anchor(&self, [i0, i1]: [usize; 2], [j0, j1]: [usize; 2]) -> bool {
        let (low, high) = (self.grid.at(i0, j0), self.grid.at(i1, j1));
        let middle = self.plane.place((low + high) / 2.0);
        let near = NEAR_SIDES * (high - low).max_element();
        self.anchors.iter().any(|a| a.distance(middle) < near)
    }

    fn fill(&mut self, [i0, i1]: [usize; 2], [j0, j1]: [usize; 2]) {
        let grid = self.grid;
        let corners = [(i0, j0), (i1, j0), (i0, j1), (i1, j1)].map(|(i, j)| grid.index(i, j));
        let size = DVec2::new((i1 - i0) as f64, (j1 - j0) as f64);
        for j in j0..=j1 {
            for i in i0..=i1 {
                let index = grid.index(i, j);
                if self.known[index] {
                    continue;
                }
                let share = DVec2::new((i - i0) as f64, (j - j0) as f64) / size;
                let nearest = usize::from(share.x > 0.5) + 2 * usize::from(share.y > 0.5);
                self.held[index] = self.held[corners[nearest]];
                let weights = [
                    (1.0 - share.x) * (1.0 - share.y),
                    share.x * (1.0 - share.y),
                    (1.0 - share.x) * share.y,
                    share.x * share.y,
                ];
                for line in &mut self.pull_n {
                    line[index] = (0..4)
                        .map(|c| weights[c] * f64::from(line[corners[c]]))
                        .sum::<f64>() as f32;
                }
            }
        }
    }
}
