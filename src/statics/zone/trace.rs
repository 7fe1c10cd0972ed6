//! Outlines of what a grid of samples holds, and curves of equal value over it.
//!
//! ```text
//! inside? a sample ─marching squares→ crossings of grid edges ─linked→ rings, paths
//! ```
//!
//! Rings keep the inside on their left: outer rings run counterclockwise, holes clockwise.

use std::collections::{BTreeMap, BTreeSet};

use glam::DVec2;

use super::plane::Grid;

/// Crossing places that are joined, in order; closed where a ring.
pub(super) struct Path {
    /// Grid edges in order, as [`EdgeId`]s.
    pub edges: Vec<EdgeId>,
    pub closed: bool,
}

/// A grid edge: its lower or left sample, and whether it leads up instead of across.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct EdgeId {
    pub i: usize,
    pub j: usize,
    pub up: bool,
}

impl EdgeId {
    /// The sample at the far end.
    pub fn end(&self) -> (usize, usize) {
        match self.up {
            true => (self.i, self.j + 1),
            false => (self.i + 1, self.j),
        }
    }

    fn number(&self, grid: Grid) -> usize {
        2 * grid.index(self.i, self.j) + usize::from(self.up)
    }

    fn from_number(number: usize, grid: Grid) -> Self {
        let (sample, up) = (number / 2, number % 2 == 1);
        Self {
            i: sample % grid.across,
            j: sample / grid.across,
            up,
        }
    }
}

/// Cells along the side of a block that is passed over whole.
const BLOCK: usize = 8;

/// The least and the largest value among the samples of every block of cells, so that a trace passes
/// over blocks that its level does not cross.
pub(super) struct Blocks {
    across: usize,
    ranges: Vec<(f64, f64)>,
}

impl Blocks {
    /// `value` gives `None` for a sample whose cells are left out of every trace.
    pub fn of(grid: Grid, value: impl Fn(usize, usize) -> Option<f64>) -> Self {
        let across = (grid.across - 1).div_ceil(BLOCK);
        let up = (grid.up - 1).div_ceil(BLOCK);
        let mut ranges = vec![(f64::INFINITY, f64::NEG_INFINITY); across * up];
        for j in 0..grid.up {
            for i in 0..grid.across {
                let Some(value) = value(i, j) else {
                    continue;
                };
                // A sample on the rim of a block belongs to the cells of both sides.
                let both = |k: usize, last: usize| {
                    [k.saturating_sub(1) / BLOCK, (k / BLOCK).min(last - 1)]
                };
                let (columns, rows) = (both(i, across), both(j, up));
                for row in rows[0]..=rows[1] {
                    for column in columns[0]..=columns[1] {
                        let range = &mut ranges[row * across + column];
                        *range = (range.0.min(value), range.1.max(value));
                    }
                }
            }
        }
        Self { across, ranges }
    }

    /// The least and the largest value of all.
    pub fn range(&self) -> (f64, f64) {
        let none = (f64::INFINITY, f64::NEG_INFINITY);
        let ranges = self.ranges.iter();
        ranges.fold(none, |(low, high), range| {
            (low.min(range.0), high.max(range.1))
        })
    }

    /// For the block of each column of cells, whether a level may run through it, in a row
    /// of cells.
    fn crossed(&self, j: usize, level: f64) -> impl Iterator<Item = bool> {
        let row = &self.ranges[j / BLOCK * self.across..][..self.across];
        row.iter()
            .map(move |(low, high)| *low <= level && *high >= level)
    }
}

/// Joins the crossings between samples that are inside and those that are not: inside is what lies
/// above the level of `blocks`. Cells that `skip` names are left out, so paths end there. In a cell
/// whose corners alternate, `middle` says whether its middle is inside.
pub(super) fn paths(
    grid: Grid,
    (blocks, level): (&Blocks, f64),
    inside: impl Fn(usize, usize) -> bool,
    skip: impl Fn(usize, usize) -> bool,
    middle: impl Fn(usize, usize) -> bool,
) -> Vec<Path> {
    // From which crossing to which, and the crossings in the order of the cells.
    let mut next: BTreeMap<usize, usize> = BTreeMap::new();
    let mut has_before: BTreeSet<usize> = BTreeSet::new();
    let mut starts = Vec::new();
    for j in 0..grid.up - 1 {
        let crossed = blocks.crossed(j, level).enumerate();
        let crossed = crossed.filter(|(_, crossed)| *crossed);
        let cells = crossed.flat_map(|(block, _)| block * BLOCK..(block + 1) * BLOCK);
        for i in cells.take_while(|i| *i < grid.across - 1) {
            let corners = [
                inside(i, j),
                inside(i + 1, j),
                inside(i + 1, j + 1),
                inside(i, j + 1),
            ];
            if corners.iter().all(|c| *c == corners[0]) || skip(i, j) {
                continue;
            }
            // Bottom, right, top, left: side k leads from corner k to corner k + 1 (mod 4).
            let sides = [
                EdgeId { i, j, up: false },
                EdgeId {
                    i: i + 1,
                    j,
                    up: true,
                },
                EdgeId {
                    i,
                    j: j + 1,
                    up: false,
                },
                EdgeId { i, j, up: true },
            ];
            let mut join = |from: usize, to: usize| {
                let (from, to) = (sides[from].number(grid), sides[to].number(grid));
                next.insert(from, to);
                has_before.insert(to);
                starts.push(from);
            };
            // Going round the cell counterclockwise, a way in at side k (outside to inside) and
            // the next way out: with the inside on the left the path runs from the way out to
            // the way in.
            let ins: Vec<usize> = (0..4)
                .filter(|k| !corners[*k] && corners[(*k + 1) % 4])
                .collect();
            let outs: Vec<usize> = (0..4)
                .filter(|k| corners[*k] && !corners[(*k + 1) % 4])
                .collect();
            match (ins.as_slice(), outs.as_slice()) {
                ([enter], [leave]) => join(*leave, *enter),
                _ => {
                    // Two corners inside, opposite each other.
                    let joined = middle(i, j);
                    for leave in outs {
                        let around = if joined { leave + 1 } else { leave + 3 };
                        join(leave, around % 4);
                    }
                }
            }
        }
    }
    let mut done = BTreeSet::new();
    let mut found = Vec::new();
    // Open paths first, from where they start; then rings.
    let open = starts.iter().filter(|s| !has_before.contains(s));
    for &start in open.chain(starts.iter()) {
        if done.contains(&start) {
            continue;
        }
        let mut edges = Vec::new();
        let mut at = start;
        let closed = loop {
            if !done.insert(at) {
                break at == start;
            }
            edges.push(EdgeId::from_number(at, grid));
            match next.get(&at) {
                Some(to) => at = *to,
                None => break false,
            }
        };
        found.push(Path { edges, closed });
    }
    found
}

/// Area of a ring, m²; negative for one that runs clockwise.
pub(super) fn area_m2(ring: &[DVec2]) -> f64 {
    let Some(first) = ring.first() else {
        return 0.0;
    };
    let pairs = ring.windows(2);
    let open: f64 = pairs.map(|p| (p[0] - *first).perp_dot(p[1] - *first)).sum();
    open / 2.0
}

/// Length of a closed ring, metres.
pub(super) fn length_m(ring: &[DVec2]) -> f64 {
    (0..ring.len())
        .map(|k| ring[k].distance(ring[(k + 1) % ring.len()]))
        .sum()
}

/// Leaves out points that lie within `tolerance` of the line between those kept. The ends
/// stay (Ramer 1972; Douglas and Peucker 1973).
pub(crate) fn simplified(path: &[DVec2], tolerance: f64) -> Vec<DVec2> {
    if path.len() < 3 {
        return path.to_vec();
    }
    let mut keep = vec![false; path.len()];
    keep[0] = true;
    keep[path.len() - 1] = true;
    let mut open = vec![(0, path.len() - 1)];
    while let Some((a, b)) = open.pop() {
        let far = (a + 1..b)
            .map(|k| (k, distance_to_segment(path[k], path[a], path[b])))
            .max_by(|p, q| p.1.total_cmp(&q.1));
        if let Some((k, distance)) = far
            && distance > tolerance
        {
            keep[k] = true;
            open.push((a, k));
            open.push((k, b));
        }
    }
    let kept = path.iter().zip(&keep).filter(|(_, keep)| **keep);
    kept.map(|(at, _)| *at).collect()
}

/// Distance from a place to the segment between two others, metres.
pub(super) fn distance_to_segment(at: DVec2, a: DVec2, b: DVec2) -> f64 {
    let along = b - a;
    let share = (at - a).dot(along) / along.length_squared().max(f64::MIN_POSITIVE);
    at.distance(a + along * share.clamp(0.0, 1.0))
}
