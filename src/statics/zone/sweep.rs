//! Zones of planar rigs with hanging points: swept over the lines' working ranges.
//!
//! ```text
//! lengths of adjustable lines ─a net over their ranges, finer where the verdict changes→
//!     hung rests, pulls, verdicts ─mapped quads, two triangles each→ samples of the grid
//! ```
//!
//! The part of an adjustable line that meets the climber (else its last) takes in and gives out;
//! every other length stays what it is at the climber's place. A net of two lengths maps onto a
//! patch of the plane; with more lines every pair of lengths gives patches, at steps of the others.
//! With fewer than two adjustable lines the climber hangs on a curve, which has no area.

use glam::{DVec2, DVec3};
use rayon::prelude::*;

use super::mesh::{Bounds, Sounding, Source, Verdict};
use super::plane::{Grid, Plane};
use super::verdict::{clear_of_tree, ground_m, limits, over_limit, spread_too_far};
use crate::rig::{LineId, Rig};
use crate::statics::held::{Hold, hold};
use crate::statics::hung::rest;
use crate::statics::layout::{HARNESS, Layout};
use crate::statics::{NotHeld, STANDARD_GRAVITY};

/// Lengths tried along each range, for two, three, and more adjustable lines: each rest takes
/// about 0.2 ms, so that a net stays below half a second.
const STEPS: [usize; 3] = [33, 12, 6];

/// Times that a quad of the net is quartered where the verdict changes or it is large.
const DEPTH: usize = 4;

/// A quad longer than this in the plane is quartered: metres. At 0.4 m the edge of a circle of
/// 5 m is off by 4 mm.
const LONG_M: f64 = 0.4;

/// A place this near to one of the grid is it, in steps.
const ON_NODE: f64 = 1e-6;

/// Shortest length of a part: metres. A hung rig needs one above 0.
const SHORT_M: f64 = 0.01;

/// What triangles of rests leave at every place of a grid.
pub(super) struct Swept {
    grid: Grid,
    held: Vec<Verdict>,
    /// Per line, per place of the grid, newtons.
    pull_n: Vec<Vec<f64>>,
    /// Rests at the ends of the ranges, each with the reason why it goes no farther.
    ends: Vec<(DVec2, NotHeld)>,
}

impl Swept {
    /// The corners of the cell around a place, with their shares in it.
    fn around(&self, at: DVec2) -> [(usize, f64); 4] {
        let last = DVec2::new((self.grid.across - 1) as f64, (self.grid.up - 1) as f64);
        let at = ((at - self.grid.low) / self.grid.cell_m).clamp(DVec2::ZERO, last);
        // Rounding leaves nodes a little beside their places.
        let at = if at.distance(at.round()) < ON_NODE {
            at.round()
        } else {
            at
        };
        let (low, share) = (at.floor(), at - at.floor());
        let high = (low + 1.0).min(last);
        let index = |x: f64, y: f64| self.grid.index(x as usize, y as usize);
        [
            (index(low.x, low.y), (1.0 - share.x) * (1.0 - share.y)),
            (index(high.x, low.y), share.x * (1.0 - share.y)),
            (index(low.x, high.y), (1.0 - share.x) * share.y),
            (index(high.x, high.y), share.x * share.y),
        ]
    }

    /// Held places of the grid in a box, and all of them.
    fn count(&self, low: DVec2, high: DVec2) -> (usize, usize) {
        let [low, high] = [low, high].map(|at| ((at - self.grid.low) / self.grid.cell_m).round());
        let (mut held, mut all) = (0, 0);
        for j in low.y as usize..=high.y as usize {
            for i in low.x as usize..=high.x as usize {
                all += 1;
                held += usize::from(self.held[self.grid.index(i, j)].is_ok());
            }
        }
        (held, all)
    }
}

impl Source for Swept {
    fn values(&self) -> usize {
        self.pull_n.len()
    }

    fn ask(&mut self, at: DVec2, pulls_n: &mut [f64]) -> Sounding {
        let around = self.around(at);
        let held = around.iter().filter(|(index, _)| self.held[*index].is_ok());
        let share: f64 = held.clone().map(|(_, share)| share).sum();
        for (to, pull_n) in pulls_n.iter_mut().zip(&self.pull_n) {
            let sum: f64 = held.clone().map(|(index, s)| s * pull_n[*index]).sum();
            *to = sum / share;
        }
        let nearest = around
            .iter()
            .filter(|(index, _)| self.held[*index].is_err())
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let reason = nearest.and_then(|(index, _)| self.held[*index].err());
        let reason = reason.unwrap_or(NotHeld::Beyond);
        let margin = 2.0 * share - 1.0;
        let held = if margin >= 0.0 { Ok(()) } else { Err(reason) };
        Sounding { held, margin }
    }

    /// Beyond what was swept, the reason of the nearest end of a range.
    fn why(&self, at: DVec2, beyond: NotHeld) -> NotHeld {
        let distance = |end: &&(DVec2, NotHeld)| end.0.distance_squared(at);
        match beyond {
            NotHeld::Beyond => self
                .ends
                .iter()
                .min_by(|p, q| distance(p).total_cmp(&distance(q)))
                .map_or(NotHeld::CannotBalance, |end| end.1),
            reason => reason,
        }
    }

    fn bounds(&self, low: DVec2, high: DVec2) -> Option<Bounds> {
        let (held, all) = self.count(low, high);
        (held > 0).then_some(Bounds {
            ways: 0,
            thin: held < all,
        })
    }

    fn is_smooth(&self) -> bool {
        false
    }
}

/// One rest.
#[derive(Clone)]
struct Node {
    at: DVec2,
    /// Largest pull of each line, newtons.
    pulls_n: Vec<f64>,
    verdict: Result<(), NotHeld>,
}

/// An adjustable part and its range, metres.
struct Axis {
    line: LineId,
    part: usize,
    least_m: f64,
    most_m: f64,
}

struct Net<'a> {
    rig: &'a Rig,
    limits: Vec<(LineId, f64)>,
    plane: Plane,
    layout: Layout,
    places: Vec<DVec3>,
    lengths_m: Vec<f64>,
    axes: Vec<Axis>,
}

/// Sweeps a planar rig.
pub(super) fn sweep(
    rig: &Rig,
    climber: DVec3,
    points: &[DVec3],
    plane: Plane,
    grid: Grid,
) -> Swept {
    let net = Net::new(rig, climber, points, plane, grid);
    let mut samples = Swept {
        grid,
        held: vec![Err(NotHeld::Beyond); grid.len()],
        pull_n: vec![vec![f64::NAN; grid.len()]; rig.lines.len()],
        ends: Vec::new(),
    };
    if net.axes.len() >= 2 {
        let steps = STEPS[net.axes.len().min(4) - 2];
        let total = steps.pow(net.axes.len() as u32);
        let shares = |index: usize| -> Vec<f64> {
            let digits = (0..net.axes.len()).map(|a| index / steps.pow(a as u32) % steps);
            digits.map(|d| d as f64 / (steps - 1) as f64).collect()
        };
        let nodes: Vec<Option<Node>> = (0..total)
            .into_par_iter()
            .map(|index| net.node(&shares(index)))
            .collect();
        for (index, node) in nodes.iter().enumerate() {
            if let Some(node) = node.as_ref().filter(|n| n.verdict.is_ok()) {
                for (axis, share) in net.axes.iter().zip(shares(index)) {
                    if share <= 0.0 {
                        samples.ends.push((node.at, NotHeld::TooLong(axis.line)));
                    } else if share >= 1.0 {
                        samples.ends.push((node.at, NotHeld::TooShort(axis.line)));
                    }
                }
            }
        }
        let mut quads = Vec::new();
        for a in 0..net.axes.len() {
            for b in a + 1..net.axes.len() {
                let (da, db) = (steps.pow(a as u32), steps.pow(b as u32));
                quads.extend(
                    (0..total)
                        .filter(|i| i / da % steps + 1 < steps && i / db % steps + 1 < steps)
                        .map(|i| (a, b, [i, i + da, i + db, i + da + db])),
                );
            }
        }
        let triangles: Vec<[Node; 3]> = quads
            .par_iter()
            .flat_map_iter(|(a, b, corners)| {
                let mut found = Vec::new();
                net.quad(
                    (*a, *b),
                    corners.map(shares),
                    corners.map(|c| nodes[c].clone()),
                    DEPTH,
                    &mut found,
                );
                found
            })
            .collect();
        for triangle in &triangles {
            paint(triangle, grid, &mut samples);
        }
    }
    let ground_m = ground_m(rig);
    for j in 0..grid.up {
        for i in 0..grid.across {
            let sample = &mut samples.held[grid.index(i, j)];
            if sample.is_ok() {
                *sample = match grid.is_rim(i, j) {
                    true => Err(NotHeld::Beyond),
                    false => clear_of_tree(rig, ground_m, plane.place(grid.at(i, j))),
                };
            }
        }
    }
    samples
}

impl<'a> Net<'a> {
    fn new(rig: &'a Rig, climber: DVec3, points: &[DVec3], plane: Plane, grid: Grid) -> Self {
        let layout = Layout::new(rig);
        let mut places = vec![climber];
        places.extend_from_slice(points);
        let lengths_m: Vec<f64> = if rig.is_hung() {
            let lines = rig.lines.iter();
            lines.flat_map(|l| l.lengths_m.iter().copied()).collect()
        } else {
            let parts = 0..layout.parts.len();
            parts.map(|p| layout.part_length(p, &places)).collect()
        };
        let size = DVec2::new(grid.across as f64, grid.up as f64).length() * grid.cell_m;
        let axes = rig.line_ids().filter_map(|line| {
            let (least, most) = rig.line(line).adjust_m?;
            let own = || (0..layout.parts.len()).filter(|p| layout.parts[*p].line == line.0);
            let meets = |part: &usize| {
                let mut spans = layout.spans[layout.parts[*part].spans.clone()].iter();
                spans.any(|s| s.from == HARNESS || s.to == HARNESS)
            };
            let part = own().find(meets).or(own().next_back())?;
            let others: f64 = own().filter(|p| *p != part).map(|p| lengths_m[p]).sum();
            // Longer than this and the climber stands on the ground, or another line holds.
            let useful = size * layout.parts[part].spans.len() as f64;
            Some(Axis {
                line,
                part,
                least_m: (least - others).max(SHORT_M),
                most_m: (most - others).min(useful).max(SHORT_M),
            })
        });
        Self {
            rig,
            limits: limits(rig),
            plane,
            axes: axes.collect(),
            layout,
            places,
            lengths_m,
        }
    }

    /// The rest for shares 0..=1 of each range; `None` where the lines cannot meet.
    fn node(&self, shares: &[f64]) -> Option<Node> {
        let mut lengths = self.lengths_m.clone();
        for (axis, share) in self.axes.iter().zip(shares) {
            lengths[axis.part] = axis.least_m + (axis.most_m - axis.least_m) * share;
        }
        let rest = rest(&self.layout, &self.places, &lengths).ok()?;
        let taut = |part: usize| rest.taut[part];
        let Hold::Yes { pulls, .. } = hold(&self.layout, &rest.places, taut, None) else {
            return None;
        };
        let weight_n = self.rig.climber.nominal_mass_kg() * STANDARD_GRAVITY;
        let mut pulls_n = vec![0.0_f64; self.rig.lines.len()];
        let mut ways = vec![None; self.rig.lines.len()];
        for (i, span) in self.layout.spans.iter().enumerate() {
            let pull = pulls[i] * weight_n;
            pulls_n[span.line] = pulls_n[span.line].max(pull);
            let unit = self.layout.direction(i, &rest.places);
            let out = match (span.from, span.to) {
                (HARNESS, HARNESS) => continue,
                (HARNESS, _) => unit,
                (_, HARNESS) => -unit,
                _ => continue,
            };
            *ways[span.line].get_or_insert(DVec3::ZERO) += out * pull;
        }
        let ways: Vec<_> = ways
            .into_iter()
            .map(|way| way.and_then(DVec3::try_normalize))
            .collect();
        let verdict = over_limit(&self.limits, &pulls_n).held.and_then(|()| {
            let most = self.rig.zone.spread_rad;
            most.map_or(Ok(()), |most| spread_too_far(&ways, most))
        });
        Some(Node {
            at: self.plane.coordinates(rest.places[HARNESS]),
            pulls_n,
            verdict,
        })
    }

    /// Two triangles for a quad of two ranges, or those of its quarters.
    fn quad(
        &self,
        (a, b): (usize, usize),
        shares: [Vec<f64>; 4],
        nodes: [Option<Node>; 4],
        depth: usize,
        found: &mut Vec<[Node; 3]>,
    ) {
        if nodes.iter().all(Option::is_none) {
            return;
        }
        let verdict = |node: &Option<Node>| node.as_ref().map(|n| n.verdict);
        let alike = nodes.iter().all(|n| verdict(n) == verdict(&nodes[0]));
        let side = |p: usize, q: usize| match (&nodes[p], &nodes[q]) {
            (Some(p), Some(q)) => p.at.distance(q.at),
            _ => f64::INFINITY,
        };
        let held = nodes.iter().flatten().any(|n| n.verdict.is_ok());
        let long = held && side(0, 1).max(side(2, 3)).max(side(0, 2)).max(side(1, 3)) > LONG_M;
        if depth > 0 && (!alike || long) {
            let middle = |p: usize, q: usize| -> Vec<f64> {
                let pairs = shares[p].iter().zip(&shares[q]);
                pairs.map(|(p, q)| f64::midpoint(*p, *q)).collect()
            };
            // Three rows of three, the corners of the quarters.
            let between = [(0, 1), (0, 2), (0, 3), (1, 3), (2, 3)].map(|(p, q)| middle(p, q));
            let fresh = between.clone().map(|s| self.node(&s));
            let [s0, s1, s2, s3] = shares;
            let [n0, n1, n2, n3] = nodes;
            let [s01, s02, s4, s13, s23] = between;
            let [n01, n02, n4, n13, n23] = fresh;
            let rows_s = [s0, s01, s1, s02, s4, s13, s2, s23, s3];
            let rows_n = [n0, n01, n1, n02, n4, n13, n2, n23, n3];
            for corner in [0, 1, 3, 4] {
                let four = [corner, corner + 1, corner + 3, corner + 4];
                self.quad(
                    (a, b),
                    four.map(|k| rows_s[k].clone()),
                    four.map(|k| rows_n[k].clone()),
                    depth - 1,
                    found,
                );
            }
            return;
        }
        for three in [[0, 1, 2], [1, 3, 2]] {
            if let [Some(p), Some(q), Some(r)] = three.map(|k| nodes[k].clone()) {
                found.push([p, q, r]);
            }
        }
    }
}

/// Marks the samples inside a triangle; where several cover one, that of the least sum of squares
/// of the pulls counts.
fn paint(triangle: &[Node; 3], grid: Grid, samples: &mut Swept) {
    let corners = [0, 1, 2].map(|k| (triangle[k].at - grid.low) / grid.cell_m);
    let verdict = triangle
        .iter()
        .map(|n| n.verdict)
        .find(Result::is_err)
        .unwrap_or(Ok(()));
    let twice = (corners[1] - corners[0]).perp_dot(corners[2] - corners[0]);
    if twice == 0.0 {
        return;
    }
    let low = corners[0].min(corners[1]).min(corners[2]).ceil();
    let high = corners[0].max(corners[1]).max(corners[2]).floor();
    let last = DVec2::new((grid.across - 1) as f64, (grid.up - 1) as f64);
    let (low, high) = (low.max(DVec2::ZERO), high.min(last));
    if low.x > high.x || low.y > high.y {
        return;
    }
    for j in low.y as usize..=high.y as usize {
        for i in low.x as usize..=high.x as usize {
            let at = DVec2::new(i as f64, j as f64);
            let weight = |p: usize, q: usize| (corners[p] - at).perp_dot(corners[q] - at) / twice;
            let weights = [weight(1, 2), weight(2, 0), weight(0, 1)];
            if weights.iter().any(|w| *w < -f64::EPSILON.sqrt()) {
                continue;
            }
            let index = grid.index(i, j);
            if verdict.is_err() {
                if samples.held[index] == Err(NotHeld::Beyond) {
                    samples.held[index] = verdict;
                }
                continue;
            }
            let pull = |line: usize| -> f64 {
                let parts = weights.iter().zip(triangle);
                parts.map(|(w, node)| w * node.pulls_n[line]).sum()
            };
            let lines = samples.pull_n.len();
            let new: f64 = (0..lines).map(|l| pull(l) * pull(l)).sum();
            let old: f64 = samples.pull_n.iter().map(|p| p[index] * p[index]).sum();
            if samples.held[index].is_err() || new < old {
                samples.held[index] = Ok(());
                for line in 0..lines {
                    samples.pull_n[line][index] = pull(line);
                }
            }
        }
    }
}
