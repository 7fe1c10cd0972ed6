//! Curves of equal pull of each line inside the zone, at round levels.

use glam::DVec2;

use super::mesh::{Corner, Mesh, SideId, Source};
use super::plane::Plane;
use super::rings::length_m;
use super::trace::{Linker, bend, simplified};
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

/// Corrections of a crossing, unless it is off by less than this share of its side before.
const CORRECTIONS: usize = 2;
const NEAR_SHARE: f64 = 1e-3;

/// The curves of every line. `tolerance_m` is how far a curve may be simplified.
pub(super) fn contours<S: Source>(
    mesh: &mut Mesh<'_, S>,
    plane: Plane,
    tolerance_m: f64,
) -> Vec<Contour> {
    let mut curves: Vec<Curve> = Vec::new();
    for line in 0..mesh.source.values() {
        let (low, high) = mesh.range(line);
        curves.extend(levels(low, high).into_iter().map(|level| Curve {
            line,
            level,
            joins: Vec::new(),
        }));
    }
    let mut over = Vec::new();
    mesh.parts(|corners| {
        for of_line in curves.chunk_by_mut(|a, b| a.line == b.line) {
            let line = of_line[0].line;
            let values = || corners.iter().map(|corner| mesh.value_of(corner, line));
            let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
            for value in values() {
                low = if value < low { value } else { low };
                high = if value > high { value } else { high };
            }
            for curve in of_line {
                if low <= curve.level && curve.level < high {
                    over.clear();
                    over.extend(values().map(|value| value - curve.level));
                    curve.join(mesh, corners, &over);
                }
            }
        }
    });
    let mut found = Vec::new();
    let mut pulls = vec![f64::NAN; mesh.source.values()];
    let smooth = mesh.source.is_smooth();
    let mut linker = Linker::new(mesh.sides());
    for Curve { line, level, joins } in curves {
        let mut over = |at: DVec2| {
            mesh.source.values_at(at, &mut pulls);
            pulls[line] - level
        };
        let sides = joins.iter().map(|[from, to]| (from.side, to.side));
        for path in linker.link(sides) {
            let begins = path.joins.iter().map(|join| &joins[*join][0]);
            let mut at: Vec<DVec2> = begins.map(|end| cross(&end.ends, &mut over)).collect();
            match path.joins.last() {
                Some(last) if !path.closed => at.push(cross(&joins[*last][1].ends, &mut over)),
                _ => at.push(at[0]),
            }
            if length_m(&at) < SHORT_CELLS * mesh.grid.cell_m {
                continue;
            }
            let mut bent = vec![at[0]];
            for pair in at.windows(2) {
                if smooth {
                    bend([pair[0], pair[1]], tolerance_m / 2.0, &mut over, &mut bent);
                }
                bent.push(pair[1]);
            }
            found.push(Contour {
                line: LineId(line),
                pull_n: level,
                path: simplified(&bent, tolerance_m)
                    .into_iter()
                    .map(|p| plane.place(p))
                    .collect(),
            });
        }
    }
    found
}

/// A side that a curve crosses.
#[derive(Debug, Clone, Copy)]
struct Passed {
    side: SideId,
    ends: Ends,
}

/// The places at both ends of a side, and by how much the value there is over the level.
type Ends = [(DVec2, f64); 2];

/// The joins of one line's curves at one level.
struct Curve {
    line: usize,
    /// Newtons.
    level: f64,
    /// From which side to which it runs through parts of leaves.
    joins: Vec<[Passed; 2]>,
}

impl Curve {
    /// Joins the sides of a part where its value passes the level, with more on the left of the
    /// curve. `over` is by how much the value of each corner is over the level.
    fn join<S: Source>(&mut self, mesh: &Mesh<'_, S>, corners: &[Corner], over: &[f64]) {
        let n = corners.len();
        let next = |k: usize| if k + 1 < n { k + 1 } else { 0 };
        let passes = |k: usize, up: bool| (over[k] > 0.0) != up && (over[next(k)] > 0.0) == up;
        let passed = |k: usize| {
            let end = |k: usize| (corners[k].at, over[k]);
            Passed {
                side: mesh.side_from(&corners[k]),
                ends: [end(k), end(next(k))],
            }
        };
        // From where it passes below to where it last passed above.
        for leave in (0..n).filter(|k| passes(*k, false)) {
            let before = (0..leave).rev().chain((leave + 1..n).rev());
            if let Some(enter) = before.into_iter().find(|k| passes(*k, true)) {
                self.joins.push([passed(leave), passed(enter)]);
            }
        }
    }
}

/// Where a side is on the level: straight between its ends, corrected as the source says.
fn cross([a, b]: &Ends, over: &mut impl FnMut(DVec2) -> f64) -> DVec2 {
    let ((mut from, mut below), (mut to, mut above)) = (*a, *b);
    let guess = |from: DVec2, below: f64, to: DVec2, above: f64| {
        from.lerp(to, (below / (below - above)).clamp(0.0, 1.0))
    };
    for _ in 0..CORRECTIONS {
        let at = guess(from, below, to, above);
        let value = over(at);
        if !value.is_finite() || value.abs() < NEAR_SHARE * (below - above).abs() {
            return at;
        }
        if (value > 0.0) == (below > 0.0) {
            (from, below) = (at, value);
        } else {
            (to, above) = (at, value);
        }
    }
    guess(from, below, to, above)
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
