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

/// Joins the crossings between samples that are inside and those that are not. Cells that `skip`
/// names are left out, so paths end there. In a cell whose corners alternate, `middle` says
/// whether its middle is inside.
pub(super) fn paths(
    grid: Grid,
    inside: impl Fn(usize, usize) -> bool,
    skip: impl Fn(usize, usize) -> bool,
    middle: impl Fn(usize, usize) -> bool,
) -> Vec<Path> {
    // From which crossing to which, and the crossings in the order of the cells.
    let mut next: BTreeMap<usize, usize> = BTreeMap::new();
    let mut has_before: BTreeSet<usize> = BTreeSet::new();
    let mut starts = Vec::new();
    // Every sample is asked once: a row is kept for the cells above it.
    let row = |j: usize| -> Vec<bool> { (0..grid.across).map(|i| inside(i, j)).collect() };
    let mut above = row(0);
    for j in 0..grid.up - 1 {
        let below = std::mem::replace(&mut above, row(j + 1));
        for i in 0..grid.across - 1 {
            let corners = [below[i], below[i + 1], above[i + 1], above[i]];
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
