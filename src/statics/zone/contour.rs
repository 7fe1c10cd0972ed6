//! Curves of equal pull of each line inside the zone, at round levels.

use glam::DVec2;

use super::plane::{Grid, Plane};
use super::sample::Samples;
use super::trace::{Blocks, EdgeId, paths, simplified};
use crate::rig::LineId;
use crate::statics::Contour;

/// Most levels of one line: more are not told apart in a figure.
const MOST_LEVELS: usize = 4;

/// Round steps between levels, within a decade.
const ROUND: [f64; 4] = [1.0, 2.0, 2.5, 5.0];

/// Smallest step between levels, newtons.
const LEAST_STEP_N: f64 = 10.0;

/// A curve shorter than this many cells is left out.
const SHORT_CELLS: f64 = 5.0;

/// The curves of every line. `tolerance_m` is how far a curve may be simplified.
pub(super) fn contours(
    samples: &Samples,
    plane: Plane,
    grid: Grid,
    tolerance_m: f64,
) -> Vec<Contour> {
    let mut found = Vec::new();
    for (line, pulls) in samples.pull_n.iter().enumerate() {
        let of_held = |i, j| {
            let index = grid.index(i, j);
            samples.held[index].is_ok().then(|| f64::from(pulls[index]))
        };
        let blocks = Blocks::of(grid, of_held);
        let (low, high) = blocks.range();
        for level in levels(low, high) {
            let value = |i, j| f64::from(pulls[grid.index(i, j)]);
            let held = |i, j| samples.held[grid.index(i, j)].is_ok();
            let cut = paths(
                grid,
                (&blocks, level),
                |i, j| value(i, j) > level,
                |i, j| !(held(i, j) && held(i + 1, j) && held(i, j + 1) && held(i + 1, j + 1)),
                |i, j| {
                    let sum = value(i, j) + value(i + 1, j) + value(i, j + 1) + value(i + 1, j + 1);
                    sum / 4.0 > level
                },
            );
            for path in cut {
                let place = |edge: &EdgeId| crossing(grid, edge, value, level);
                let mut at: Vec<DVec2> = path.edges.iter().map(place).collect();
                let length: f64 = at.windows(2).map(|p| p[0].distance(p[1])).sum();
                if length < SHORT_CELLS * grid.cell_m {
                    continue;
                }
                if path.closed {
                    at.push(at[0]);
                }
                found.push(Contour {
                    line: LineId(line),
                    pull_n: level,
                    path: simplified(&at, tolerance_m)
                        .into_iter()
                        .map(|p| plane.place(p))
                        .collect(),
                });
            }
        }
    }
    found
}

/// Where a value that runs straight between the two samples of a grid edge meets a level.
pub(super) fn crossing(
    grid: Grid,
    edge: &EdgeId,
    value: impl Fn(usize, usize) -> f64,
    level: f64,
) -> DVec2 {
    let (i, j) = edge.end();
    let (from, to) = (value(edge.i, edge.j), value(i, j));
    let share = ((level - from) / (to - from)).clamp(0.0, 1.0);
    grid.at(edge.i, edge.j).lerp(grid.at(i, j), share)
}

/// At most [`MOST_LEVELS`] levels between two pulls, at the smallest round step that allows it.
fn levels(low: f64, high: f64) -> Vec<f64> {
    if !(low.is_finite() && high.is_finite()) {
        return Vec::new();
    }
    let at_step = |step: f64| {
        let first = (low / step).floor() + 1.0;
        let last = (high / step).ceil() - 1.0;
        (first, (last - first + 1.0).max(0.0) as usize)
    };
    let mut decade = LEAST_STEP_N;
    loop {
        for round in ROUND {
            let step = decade * round;
            let (first, count) = at_step(step);
            if count <= MOST_LEVELS {
                return (0..count).map(|k| (first + k as f64) * step).collect();
            }
        }
        decade *= 10.0;
    }
}

#[cfg(test)]
mod tests {
    use super::levels;

    #[test]
    fn levels_are_few_and_round() {
        assert_eq!(levels(0.0, 1500.0), [500.0, 1000.0]);
        assert_eq!(levels(120.0, 1000.0), [200.0, 400.0, 600.0, 800.0]);
        assert_eq!(levels(395.0, 405.0), [400.0]);
        assert!(levels(f64::INFINITY, f64::NEG_INFINITY).is_empty());
    }
}
