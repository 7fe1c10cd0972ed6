//! Cells over a plane: large where nothing changes, down to one step of the grid where much does.
//!
//! ```text
//! Grid ─blocks, quartered where a source may change in more than one way→ leaves
//!      leaves ─crossings placed on their sides→ the held part of every leaf
//! ```
//!
//! The sides of a leaf go from node to node, those of smaller neighbours included, so that two
//! neighbours cut their common side alike and outlines close.

use std::collections::BTreeMap;

use glam::DVec2;

use super::plane::Grid;
use crate::statics::NotHeld;

/// Steps along the side of a block that is asked first.
const BLOCK: usize = 16;

/// Most steps along the side of a leaf that an outline runs through.
const CUT: usize = 8;

/// How near a crossing is placed, in steps: 0.16 mm for a step of 0.02 m.
const PLACED: f64 = 1.0 / 128.0;

/// Places of the grid to one that is asked, about, in a zone of two lines.
const STEPS_A_NODE: usize = 16;

/// A leaf whose outline strays from the straight cut by more than this share of it is taken apart.
const STRAY: f64 = 0.1;

/// Something that can be asked at every place of a plane.
pub(super) trait Source {
    /// Values beside the verdict, each even over what is held.
    fn values(&self) -> usize;

    /// Asks at a place and fills the values; NaN where there are none.
    fn ask(&mut self, at: DVec2, values: &mut [f64]) -> Sounding;

    /// Fills the values of a place without the verdict.
    fn values_at(&mut self, at: DVec2, values: &mut [f64]) {
        self.ask(at, values);
    }

    /// Why what is held ends at a place, given why not just beyond it.
    fn why(&self, at: DVec2, beyond: NotHeld) -> NotHeld;

    /// Whether surely nothing in a box is held.
    fn is_out(&self, low: DVec2, high: DVec2) -> bool;

    /// How the verdict may change within a box. `nodes` are those at its corners, half-way between
    /// them and in its middle.
    fn change(&self, low: DVec2, high: DVec2, nodes: &[Verdict; 9]) -> Change;

    /// Whether margins and values are those of the place, so that curves can be followed between
    /// nodes.
    fn is_smooth(&self) -> bool {
        true
    }
}

/// Held, or why not.
pub(super) type Verdict = Result<(), NotHeld>;

/// What a source says of a place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sounding {
    /// Whether it belongs to what is outlined, or why not.
    pub held: Verdict,
    /// At least 0 where it does, below where not; it runs evenly through 0 where it is finite.
    pub margin: f64,
}

/// How a verdict may change within a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Change {
    /// It is that of the nodes.
    None,
    /// In one way, across a border that is straight or a wide arc beside the box.
    One,
    /// In several such ways.
    Several,
    /// In a way that may hide between the nodes.
    Thin,
}

/// A side between two nodes, by their places in the grid, the first one first.
pub(super) type SideId = (usize, usize);

/// A place where a side passes from held to not held.
#[derive(Debug, Clone, Copy)]
pub(super) struct Crossing {
    pub at: DVec2,
    pub why: NotHeld,
    /// Where its values begin in those of the mesh.
    values: usize,
}

/// A corner of the held part of a leaf.
#[derive(Debug, Clone, Copy)]
pub(super) struct Corner {
    pub at: DVec2,
    /// Where its values begin in those of the mesh.
    pub values: usize,
    /// The side that leads from here to the next corner; `None` for the cut through the leaf.
    pub side: Option<SideId>,
}

/// A held part of a leaf, counterclockwise. Where it is cut, the first corner is where the cut
/// ends, on the side `enter`, and the last where it begins, on the side `leave`.
pub(super) struct Part<'a> {
    pub corners: &'a [Corner],
    pub cut: Option<Cut>,
}

/// A cut through a leaf, with what is held on its left.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cut {
    pub from: SideId,
    pub to: SideId,
}

/// A place of the grid that was asked.
#[derive(Debug, Clone, Copy)]
struct Node {
    sounding: Sounding,
    values: usize,
}

/// Columns and rows of a leaf's corners.
type Corners = [[usize; 2]; 2];

#[derive(Debug, Clone, Copy)]
struct Leaf {
    corners: Corners,
    /// Nodes on its sides when it was last found to be in order; 0 before.
    settled: usize,
}

/// A grid in leaves.
pub(super) struct Mesh<'s, S> {
    pub source: &'s mut S,
    pub grid: Grid,
    /// For every place of the grid 1 + its number in `nodes`; 0 where nobody asked.
    slots: Vec<u32>,
    nodes: Vec<Node>,
    /// Of nodes and crossings, one after the other.
    values: Vec<f64>,
    leaves: Vec<Leaf>,
    /// The nodes around the leaves, one leaf after the other, once all is settled.
    around: Vec<usize>,
    crossings: BTreeMap<SideId, Crossing>,
    /// Values of places that are neither.
    scratch: Vec<f64>,
}

impl Leaf {
    /// Steps along its longer side.
    fn side(&self) -> usize {
        let [[i0, i1], [j0, j1]] = self.corners;
        (i1 - i0).max(j1 - j0)
    }
}

impl<'s, S: Source> Mesh<'s, S> {
    /// Asks a source over a grid.
    pub fn new(source: &'s mut S, grid: Grid) -> Self {
        let nodes = grid.len() / STEPS_A_NODE;
        let mut mesh = Self {
            scratch: vec![f64::NAN; source.values()],
            grid,
            slots: vec![0; grid.len()],
            nodes: Vec::with_capacity(nodes),
            values: Vec::with_capacity(nodes * source.values()),
            leaves: Vec::new(),
            around: Vec::new(),
            crossings: BTreeMap::new(),
            source,
        };
        for j in (0..grid.up - 1).step_by(BLOCK) {
            for i in (0..grid.across - 1).step_by(BLOCK) {
                let end = |from: usize, nodes: usize| (from + BLOCK).min(nodes - 1);
                mesh.block([[i, end(i, grid.across)], [j, end(j, grid.up)]]);
            }
        }
        mesh.settle();
        mesh
    }

    /// The values of a corner.
    pub fn values_of(&self, corner: &Corner) -> &[f64] {
        &self.values[corner.values..][..self.source.values()]
    }

    /// The least and the largest of a value over the held nodes.
    pub fn range(&self, value: usize) -> (f64, f64) {
        let held = self.nodes.iter().filter(|n| n.sounding.held.is_ok());
        let none = (f64::INFINITY, f64::NEG_INFINITY);
        held.fold(none, |(low, high), node| {
            let value = self.values[node.values + value];
            (low.min(value), high.max(value))
        })
    }

    /// The crossing on a side that [`Mesh::parts`] cuts.
    pub fn crossing(&self, side: SideId) -> Option<&Crossing> {
        self.crossings.get(&side)
    }

    /// Calls for every held part of a leaf.
    pub fn parts(&self, mut call: impl FnMut(&Part<'_>)) {
        let mut corners = Vec::new();
        let mut rest = self.around.as_slice();
        for leaf in &self.leaves {
            let n = leaf.settled;
            let (around, others) = rest.split_at(n);
            rest = others;
            let next = |k: usize| around[(k + 1) % n];
            let node = |index: usize| Corner {
                at: self.place(index),
                values: self.node(index).values,
                side: None,
            };
            if around.iter().all(|index| self.is_held(*index)) {
                corners.clear();
                corners.extend(around.iter().enumerate().map(|(k, index)| Corner {
                    side: Some(side_id(*index, next(k))),
                    ..node(*index)
                }));
                call(&Part {
                    corners: &corners,
                    cut: None,
                });
                continue;
            }
            for enter in self.enters(around) {
                let crossed = |side: SideId| {
                    let crossing = self.crossings.get(&side);
                    crossing.map(|c| Corner {
                        at: c.at,
                        values: c.values,
                        side: Some(side),
                    })
                };
                let to = side_id(around[enter], next(enter));
                corners.clear();
                corners.extend(crossed(to));
                let mut from = to;
                for k in (enter + 1)..(enter + n) {
                    let index = around[k % n];
                    if !self.is_held(index) {
                        break;
                    }
                    from = side_id(index, around[(k + 1) % n]);
                    corners.push(Corner {
                        side: Some(from),
                        ..node(index)
                    });
                }
                corners.extend(crossed(from).map(|last| Corner { side: None, ..last }));
                call(&Part {
                    corners: &corners,
                    cut: Some(Cut { from, to }),
                });
            }
        }
    }

    /// The cuts of all leaves, as from [`Mesh::parts`].
    pub fn cuts(&self) -> Vec<Cut> {
        let mut cuts = Vec::new();
        let mut rest = self.around.as_slice();
        for leaf in &self.leaves {
            let (around, others) = rest.split_at(leaf.settled);
            rest = others;
            let side = |k: usize| side_id(around[k % around.len()], around[(k + 1) % around.len()]);
            for enter in self.enters(around) {
                let is_left = |k: &usize| !self.is_held(around[(k + 1) % around.len()]);
                let leave = (enter + 1..enter + around.len()).find(is_left);
                cuts.extend(leave.map(|leave| Cut {
                    from: side(leave),
                    to: side(enter),
                }));
            }
        }
        cuts
    }

    /// From which nodes around a leaf the next one is held, and they are not.
    fn enters(&self, around: &[usize]) -> impl Iterator<Item = usize> {
        let next = |k: usize| around[(k + 1) % around.len()];
        (0..around.len()).filter(move |k| !self.is_held(around[*k]) && self.is_held(next(*k)))
    }

    fn place(&self, index: usize) -> DVec2 {
        self.grid
            .at(index % self.grid.across, index / self.grid.across)
    }

    fn is_known(&self, index: usize) -> bool {
        self.slots[index] > 0
    }

    /// A node that was asked.
    fn node(&self, index: usize) -> &Node {
        &self.nodes[self.slots[index] as usize - 1]
    }

    fn is_held(&self, index: usize) -> bool {
        self.node(index).sounding.held.is_ok()
    }

    fn ask(&mut self, i: usize, j: usize) -> Verdict {
        let index = self.grid.index(i, j);
        if self.slots[index] == 0 {
            let values = self.values.len();
            self.values.resize(values + self.source.values(), f64::NAN);
            let at = self.grid.at(i, j);
            let mut sounding = self.source.ask(at, &mut self.values[values..]);
            if self.grid.is_rim(i, j) && sounding.held.is_ok() {
                // Nothing holds out there but for rounding.
                sounding = Sounding {
                    held: Err(self.source.why(at, NotHeld::Beyond)),
                    margin: f64::NEG_INFINITY,
                };
            }
            self.nodes.push(Node { sounding, values });
            self.slots[index] = self.nodes.len() as u32;
        }
        self.node(index).sounding.held
    }

    fn block(&mut self, corners: Corners) {
        let [[i0, i1], [j0, j1]] = corners;
        let leaf = Leaf {
            corners,
            settled: 0,
        };
        let at_corners = [(i0, j0), (i1, j0), (i0, j1), (i1, j1)].map(|(i, j)| self.ask(i, j));
        let side = leaf.side();
        let (low, high) = (self.grid.at(i0, j0), self.grid.at(i1, j1));
        if side == 1 || self.source.is_out(low, high) {
            self.leaves.push(leaf);
            return;
        }
        let (im, jm) = (usize::midpoint(i0, i1), usize::midpoint(j0, j1));
        let between = [(im, j0), (i0, jm), (im, jm), (i1, jm), (im, j1)];
        let between = between.map(|(i, j)| self.ask(i, j));
        let mut nodes = [Ok(()); 9];
        nodes[..4].copy_from_slice(&at_corners);
        nodes[4..].copy_from_slice(&between);
        let held = nodes.iter().filter(|node| node.is_ok()).count();
        let alike = held == 0 || held == nodes.len();
        let whole = match self.source.change(low, high, &nodes) {
            Change::None => true,
            Change::One => side <= CUT,
            Change::Several => alike && side <= CUT,
            // What hides from nodes this near to each other is thinner than a step.
            Change::Thin => alike && side <= 2,
        };
        match whole {
            true => self.leaves.push(leaf),
            false => self.quarter(corners),
        }
    }

    /// Takes a leaf of more than one step apart.
    fn quarter(&mut self, [[i0, i1], [j0, j1]]: Corners) {
        // A side of one step is not split.
        let halves = |a: usize, b: usize| match usize::midpoint(a, b) {
            m if m > a => [Some([a, m]), Some([m, b])],
            _ => [Some([a, b]), None],
        };
        for j in halves(j0, j1).into_iter().flatten() {
            for i in halves(i0, i1).into_iter().flatten() {
                self.block([i, j]);
            }
        }
    }

    /// Places the crossings, and takes leaves apart that more than one cut, a bent cut, or a cut for
    /// more than one reason runs through, until none is left.
    fn settle(&mut self) {
        let mut around = Vec::new();
        loop {
            let leaves = std::mem::take(&mut self.leaves);
            let count = leaves.len();
            self.around.clear();
            for mut leaf in leaves {
                self.walk(&leaf, &mut around);
                self.around.extend_from_slice(&around);
                if leaf.settled != around.len() {
                    leaf.settled = around.len();
                    if self.is_tangled(&leaf, &around) {
                        self.quarter(leaf.corners);
                        continue;
                    }
                }
                self.leaves.push(leaf);
            }
            if self.leaves.len() == count {
                return;
            }
        }
    }

    fn is_tangled(&mut self, leaf: &Leaf, around: &[usize]) -> bool {
        let (mut count, mut ends) = (0, [None; 2]);
        for k in 0..around.len() {
            let (a, b) = (around[k], around[(k + 1) % around.len()]);
            if self.is_held(a) != self.is_held(b) {
                let crossing = self.place_crossing(a, b);
                // What is held lies on the left from where it is left to where it is entered.
                ends[usize::from(self.is_held(b))] = Some(crossing);
                count += 1;
            }
        }
        if count == 0 || leaf.side() == 1 {
            return false;
        }
        match ends {
            [Some(from), Some(to)] if count == 2 && from.why == to.why => {
                let (middle, aside) = (from.at.midpoint(to.at), (to.at - from.at).perp() * STRAY);
                let mut is_held = |at: DVec2| {
                    let (source, scratch) = (&mut self.source, &mut self.scratch);
                    source.ask(at, scratch).held.is_ok()
                };
                !is_held(middle + aside) || is_held(middle - aside)
            }
            _ => true,
        }
    }

    /// The nodes around a leaf, counterclockwise from its lowest corner.
    fn walk(&self, leaf: &Leaf, around: &mut Vec<usize>) {
        let [[i0, i1], [j0, j1]] = leaf.corners;
        around.clear();
        let corners = [(i0, j0), (i1, j0), (i1, j1), (i0, j1)];
        if leaf.side() == 1 {
            around.extend(corners.map(|(i, j)| self.grid.index(i, j)));
            return;
        }
        for k in 0..4 {
            self.along(corners[k], corners[(k + 1) % 4], around);
        }
    }

    /// The nodes from one on a side towards another, which is left out.
    fn along(&self, from: (usize, usize), to: (usize, usize), nodes: &mut Vec<usize>) {
        let middle = (usize::midpoint(from.0, to.0), usize::midpoint(from.1, to.1));
        if middle != from && middle != to && self.is_known(self.grid.index(middle.0, middle.1)) {
            self.along(from, middle, nodes);
            self.along(middle, to, nodes);
        } else {
            nodes.push(self.grid.index(from.0, from.1));
        }
    }

    /// The crossing between two nodes of which one is held.
    fn place_crossing(&mut self, a: usize, b: usize) -> Crossing {
        let side = side_id(a, b);
        if let Some(known) = self.crossings.get(&side) {
            return *known;
        }
        let (inside, outside) = if self.is_held(a) { (a, b) } else { (b, a) };
        let crossing = self.search(inside, outside);
        self.crossings.insert(side, crossing);
        crossing
    }

    /// Regula falsi with the weights of the Illinois method (Dowell and Jarratt 1971); halving
    /// where a margin is not finite, and every third time, since a margin may turn sharply.
    fn search(&mut self, inside: usize, outside: usize) -> Crossing {
        let near = PLACED * self.grid.cell_m;
        let count = self.source.values();
        let (mut held, mut not) = (self.place(inside), self.place(outside));
        let (start, end) = (*self.node(inside), *self.node(outside));
        let (mut margin_held, mut margin_not) = (start.sounding.margin, end.sounding.margin);
        let mut reason = end.sounding.held.err().unwrap_or(NotHeld::Beyond);
        let values = self.values.len();
        self.values
            .extend_from_within(start.values..start.values + count);
        let mut before = None;
        let share = |margin_held: f64, margin_not: f64| {
            let even = margin_held.is_finite() && margin_not.is_finite();
            let share = margin_held / (margin_held - margin_not);
            if even && share.is_finite() {
                share
            } else {
                0.5
            }
        };
        for tries in 1.. {
            let width = held.distance(not);
            if width < near {
                break;
            }
            let guess = match tries % 3 {
                0 => 0.5,
                _ => share(margin_held, margin_not),
            };
            // Not nearer to an end than this, so that a good guess closes in from both sides.
            let least = near / 2.0 / width;
            let at = held.lerp(not, guess.clamp(least, 1.0 - least));
            let sounding = self.source.ask(at, &mut self.scratch);
            let is_held = sounding.held.is_ok();
            let weight = if before == Some(is_held) { 0.5 } else { 1.0 };
            before = Some(is_held);
            match sounding.held {
                Ok(()) => {
                    (held, margin_held) = (at, sounding.margin);
                    margin_not *= weight;
                    self.values[values..].copy_from_slice(&self.scratch);
                }
                Err(why) => {
                    (not, margin_not, reason) = (at, sounding.margin, why);
                    margin_held *= weight;
                }
            }
        }
        let at = held.lerp(not, share(margin_held, margin_not));
        Crossing {
            at,
            why: self.source.why(at, reason),
            values,
        }
    }
}

fn side_id(a: usize, b: usize) -> SideId {
    (a.min(b), a.max(b))
}
