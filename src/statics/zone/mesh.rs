//! Cells over a plane: large where nothing changes, down to one step of the grid where much does.
//!
//! ```text
//! Grid ─blocks, quartered where a source may change in more than one way→ leaves
//!      leaves ─crossings placed on their sides→ the held part of every leaf
//! ```
//!
//! The sides of a leaf go from node to node, those of smaller neighbours included, so that two
//! neighbours cut their common side alike and outlines close.
//!
//! Over 500 lines: the leaves, the nodes around them and the crossings between those are one structure.

use std::ops::{Range, RangeInclusive};

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

/// What is not held by more than this is not so by rounding: metres.
pub(super) const CLEARLY_M: f64 = 1e-9;

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

    /// What of the verdict may change within a box by where that lies; `None` where surely nothing in
    /// it is held, its sides included.
    fn bounds(&self, low: DVec2, high: DVec2) -> Option<Bounds>;

    /// How the verdict may change within a box. `nodes` are those at its corners, half-way between
    /// them and in its middle.
    fn change(&self, _: DVec2, _: DVec2, bounds: Bounds, _: [&Verdict; 9]) -> Change {
        bounds.change()
    }

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

/// What of a verdict may change within a box by where that lies.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bounds {
    /// In how many ways.
    pub ways: usize,
    /// Whether one of them may hide between nodes.
    pub thin: bool,
}

impl Bounds {
    /// How the verdict may change.
    pub fn change(self) -> Change {
        match self.ways {
            _ if self.thin => Change::Thin,
            0 => Change::None,
            1 => Change::One,
            _ => Change::Several,
        }
    }
}

/// Number of a side between two nodes, or of a cut through a leaf: below [`Mesh::sides`].
pub(super) type SideId = usize;

/// A place where a side passes from held to not held.
#[derive(Debug, Clone, Copy)]
pub(super) struct Crossing {
    pub at: DVec2,
    pub why: NotHeld,
    /// Where its values begin in those of the mesh.
    values: usize,
    /// The node at the upper or right end of its side.
    end: u32,
}

/// A corner of the held part of a leaf.
#[derive(Debug, Clone, Copy)]
pub(super) struct Corner {
    pub at: DVec2,
    /// Where its values begin in those of the mesh.
    values: usize,
    /// What leads from here to the next corner.
    to_next: ToNext,
}

/// What leads from a corner to the next.
#[derive(Debug, Clone, Copy)]
enum ToNext {
    /// A side between two nodes, or a part of it.
    Side(u32, u32),
    /// The cut that begins at a crossing.
    Cut(usize),
}

/// A cut through a leaf from one crossing to another, by their numbers, with what is held on its
/// left.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cut {
    pub from: usize,
    pub to: usize,
}

/// A place of the grid that was asked.
#[derive(Debug, Clone, Copy)]
struct Node {
    at: DVec2,
    sounding: Sounding,
    /// Its number in the grid.
    index: usize,
    /// Where its values begin in those of the mesh.
    values: usize,
    /// 1 + the numbers of the last crossings on sides that lead right and up from here; 0 for none.
    crossings: [u32; 2],
}

/// Columns and rows of a leaf's corners.
type Corners = [[usize; 2]; 2];

#[derive(Debug, Clone)]
struct Leaf {
    corners: Corners,
    /// The nodes around it when it was last looked at, in [`Mesh::around`]; none before.
    around: Range<usize>,
    /// How many of these are held.
    held: usize,
}

/// A grid in leaves. What is surely not held is in none.
pub(super) struct Mesh<'s, S> {
    pub source: &'s mut S,
    pub grid: Grid,
    /// For every place of the grid 1 + its number in `nodes`; 0 where nobody asked.
    slots: Vec<u32>,
    nodes: Vec<Node>,
    /// Of nodes and crossings, one after the other.
    values: Vec<f64>,
    leaves: Vec<Leaf>,
    /// The nodes around the leaves.
    around: Vec<u32>,
    crossings: Vec<Crossing>,
    /// For every block, 1 + the round of [`Mesh::settle`] that last asked in it or beside it.
    stirred: Vec<usize>,
    round: usize,
    /// Values of places that are neither.
    scratch: Vec<f64>,
}

impl Leaf {
    /// Steps along its longer side.
    fn side(&self) -> usize {
        side_of(self.corners)
    }
}

fn side_of([[i0, i1], [j0, j1]]: Corners) -> usize {
    (i1 - i0).max(j1 - j0)
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
            crossings: Vec::new(),
            stirred: vec![0; (grid.across / BLOCK + 1) * (grid.up / BLOCK + 1)],
            round: 0,
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

    /// A value of a corner.
    pub fn value_of(&self, corner: &Corner, value: usize) -> f64 {
        self.values[corner.values + value]
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

    /// The crossings that [`Mesh::cuts`] numbers.
    pub fn crossings(&self) -> &[Crossing] {
        &self.crossings
    }

    /// How many numbers sides and cuts have.
    pub fn sides(&self) -> usize {
        2 * self.nodes.len() + self.crossings.len()
    }

    /// Calls for every held part of a leaf with its corners, counterclockwise. Where it is cut, the
    /// first corner is where the cut ends, and the last where it begins.
    pub fn parts(&self, mut call: impl FnMut(&[Corner])) {
        let mut corners = Vec::new();
        for leaf in self.leaves.iter().filter(|leaf| leaf.held > 0) {
            let around = &self.around[leaf.around.clone()];
            let corner = |(a, b): (u32, u32)| Corner {
                at: self.nodes[a as usize].at,
                values: self.nodes[a as usize].values,
                to_next: ToNext::Side(a, b),
            };
            if leaf.held == around.len() {
                corners.clear();
                let next = around[1..].iter().chain(&around[..1]);
                corners.extend(around.iter().zip(next).map(|(a, b)| corner((*a, *b))));
                call(&corners);
                continue;
            }
            self.cuts_of(around, |cut, held| {
                let [first, last] = [cut.to, cut.from].map(|number| &self.crossings[number]);
                corners.clear();
                corners.extend(held.map(|k| corner(pair(around, k))));
                // What enters begins where it is crossed, not at its node.
                corners[0] = Corner {
                    at: first.at,
                    values: first.values,
                    ..corners[0]
                };
                corners.push(Corner {
                    at: last.at,
                    values: last.values,
                    to_next: ToNext::Cut(cut.from),
                });
                call(&corners);
            });
        }
    }

    /// The cuts of all leaves, as from [`Mesh::parts`].
    pub fn cuts(&self) -> Vec<Cut> {
        let mut cuts = Vec::new();
        for leaf in self.leaves.iter().filter(|leaf| leaf.held > 0) {
            let around = &self.around[leaf.around.clone()];
            if leaf.held < around.len() {
                self.cuts_of(around, |cut, _| cuts.push(cut));
            }
        }
        cuts
    }

    /// Calls for every cut between nodes around a leaf of which some are held, with the numbers of the
    /// [`pair`]s from the one that enters what the cut leaves on its left to the one that leaves it.
    fn cuts_of(&self, around: &[u32], mut call: impl FnMut(Cut, RangeInclusive<usize>)) {
        let n = around.len();
        let is_held = |k: usize| self.is_held(pair(around, k).0);
        for enter in (0..n).filter(|k| !is_held(*k) && is_held(*k + 1)) {
            let leave = (enter + 1..enter + n).find(|k| !is_held(k + 1));
            let leave = leave.unwrap_or(enter);
            let crossing = |k: usize| self.crossing_between(pair(around, k));
            if let (Some(from), Some(to)) = (crossing(leave), crossing(enter)) {
                call(Cut { from, to }, enter..=leave);
            }
        }
    }

    fn is_held(&self, node: u32) -> bool {
        self.nodes[node as usize].sounding.held.is_ok()
    }

    /// The lower or left one of two nodes first, then the other, and whether the latter is above.
    fn in_order(&self, (a, b): (u32, u32)) -> (u32, u32, bool) {
        let (first, second) = (self.nodes[a as usize].index, self.nodes[b as usize].index);
        match first < second {
            true => (a, b, second - first >= self.grid.across),
            false => (b, a, first - second >= self.grid.across),
        }
    }

    /// The number of what leads from a corner to the next.
    pub fn side_from(&self, corner: &Corner) -> SideId {
        match corner.to_next {
            ToNext::Side(a, b) => {
                let (from, _, is_up) = self.in_order((a, b));
                2 * from as usize + usize::from(is_up)
            }
            ToNext::Cut(from) => 2 * self.nodes.len() + from,
        }
    }

    /// The number of the crossing between two nodes, if there is one.
    fn crossing_between(&self, nodes: (u32, u32)) -> Option<usize> {
        let (from, end, is_up) = self.in_order(nodes);
        let last = self.nodes[from as usize].crossings[usize::from(is_up)];
        let number = (last as usize).checked_sub(1)?;
        // A longer side may have been crossed before there were nodes between its ends.
        (self.crossings[number].end == end).then_some(number)
    }

    /// The number of the node at a place of the grid, asked if nobody did.
    fn ask(&mut self, i: usize, j: usize) -> u32 {
        let index = self.grid.index(i, j);
        if let Some(node) = self.slots[index].checked_sub(1) {
            return node;
        }
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
        let node = self.nodes.len() as u32;
        self.nodes.push(Node {
            at,
            sounding,
            index,
            values,
            crossings: [0; 2],
        });
        self.slots[index] = node + 1;
        node
    }

    fn block(&mut self, corners: Corners) {
        let [[i0, i1], [j0, j1]] = corners;
        let (low, high) = (self.grid.at(i0, j0), self.grid.at(i1, j1));
        let side = side_of(corners);
        let Some(bounds) = self.source.bounds(low, high) else {
            return;
        };
        let corner_nodes = [
            self.ask(i0, j0),
            self.ask(i1, j0),
            self.ask(i0, j1),
            self.ask(i1, j1),
        ];
        let whole = side == 1 || {
            let (im, jm) = (usize::midpoint(i0, i1), usize::midpoint(j0, j1));
            let [a, b, c, d] = corner_nodes;
            let nodes = [
                a,
                b,
                c,
                d,
                self.ask(im, j0),
                self.ask(i0, jm),
                self.ask(im, jm),
                self.ask(i1, jm),
                self.ask(im, j1),
            ];
            let nodes = nodes.map(|node| &self.nodes[node as usize].sounding.held);
            let held = nodes.iter().filter(|node| node.is_ok()).count();
            let alike = held == 0 || held == nodes.len();
            match self.source.change(low, high, bounds, nodes) {
                Change::None => true,
                Change::One => side <= CUT,
                Change::Several => alike && side <= CUT,
                // What hides from nodes this near to each other is thinner than a step.
                Change::Thin => alike && side <= 2,
            }
        };
        match whole {
            true => self.leaves.push(Leaf {
                corners,
                around: 0..0,
                held: 0,
            }),
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
        loop {
            let leaves = std::mem::take(&mut self.leaves);
            self.leaves.reserve(leaves.len());
            let mut is_settled = true;
            for mut leaf in leaves {
                if self.is_stirred(&leaf) && self.is_tangled(&mut leaf) {
                    is_settled = false;
                    self.stir(&leaf);
                    self.quarter(leaf.corners);
                } else {
                    self.leaves.push(leaf);
                }
            }
            if is_settled {
                return;
            }
            self.round += 1;
        }
    }

    /// The number of the block that a leaf lies in.
    fn block_of(&self, leaf: &Leaf) -> usize {
        let [[i, _], [j, _]] = leaf.corners;
        (j / BLOCK) * (self.grid.across / BLOCK + 1) + i / BLOCK
    }

    /// Marks that places are asked in a leaf and on its sides.
    fn stir(&mut self, leaf: &Leaf) {
        let [[i, _], [j, _]] = leaf.corners;
        let (across, up) = (self.grid.across / BLOCK + 1, self.grid.up / BLOCK + 1);
        let beside =
            |k: usize, count: usize| (k / BLOCK).saturating_sub(1)..(k / BLOCK + 2).min(count);
        for row in beside(j, up) {
            for column in beside(i, across) {
                self.stirred[row * across + column] = self.round + 1;
            }
        }
    }

    /// Whether there may be nodes around a leaf that were not there in the last round.
    fn is_stirred(&self, leaf: &Leaf) -> bool {
        leaf.around.is_empty() || self.stirred[self.block_of(leaf)] >= self.round
    }

    /// Looks at the nodes around a leaf, if there are more than before, and whether it has to be taken
    /// apart for them.
    fn is_tangled(&mut self, leaf: &mut Leaf) -> bool {
        let start = self.around.len();
        self.walk(leaf.corners);
        if self.around.len() - start == leaf.around.len() {
            self.around.truncate(start);
            return false;
        }
        leaf.around = start..self.around.len();
        let count = leaf.around.len();
        leaf.held = (leaf.around.clone())
            .filter(|k| self.is_held(self.around[*k]))
            .count();
        if leaf.held == 0 || leaf.held == count {
            return false;
        }
        let (mut crossed, mut ends) = (0, [None; 2]);
        let mut b = self.around[start];
        for k in (1..count).chain([0]) {
            let a = b;
            b = self.around[start + k];
            if self.is_held(a) != self.is_held(b) {
                let crossing = self.place_crossing((a, b));
                // What is held lies on the left from where it is left to where it is entered.
                ends[usize::from(self.is_held(b))] = Some(crossing);
                crossed += 1;
            }
        }
        if leaf.side() == 1 {
            return false;
        }
        match ends {
            [Some(from), Some(to)] if crossed == 2 && from.why == to.why => {
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

    /// Puts the nodes around a leaf after those of others, counterclockwise from its lowest corner.
    fn walk(&mut self, [[i0, i1], [j0, j1]]: Corners) {
        let across = self.grid.across;
        let at = |i: usize, j: usize| j * across + i;
        self.along::<false>(at(i0, j0), 1, i0, i1);
        self.along::<false>(at(i1, j0), across, j0, j1);
        self.along::<true>(at(i0, j1), 1, i0, i1);
        self.along::<true>(at(i0, j0), across, j0, j1);
    }

    /// The nodes on a side from one corner to another, the last one left out, or back. `first` is the
    /// number of the former in the grid, `step` from place to place.
    fn along<const BACK: bool>(&mut self, first: usize, step: usize, from: usize, to: usize) {
        let middle = usize::midpoint(from, to);
        let half = first + (middle - from) * step;
        if middle > from && self.slots[half] > 0 {
            match BACK {
                true => {
                    self.along::<BACK>(half, step, middle, to);
                    self.along::<BACK>(first, step, from, middle);
                }
                false => {
                    self.along::<BACK>(first, step, from, middle);
                    self.along::<BACK>(half, step, middle, to);
                }
            }
        } else {
            // Corners of leaves were asked.
            let corner = if BACK {
                first + (to - from) * step
            } else {
                first
            };
            self.around.extend(self.slots[corner].checked_sub(1));
        }
    }

    /// The crossing between two nodes of which one is held.
    fn place_crossing(&mut self, (a, b): (u32, u32)) -> Crossing {
        if let Some(known) = self.crossing_between((a, b)) {
            return self.crossings[known];
        }
        let (inside, outside) = if self.is_held(a) { (a, b) } else { (b, a) };
        let (from, end, is_up) = self.in_order((a, b));
        let crossing = self.search(inside, outside, end);
        self.crossings.push(crossing);
        self.nodes[from as usize].crossings[usize::from(is_up)] = self.crossings.len() as u32;
        crossing
    }

    /// Regula falsi with the weights of the Illinois method (Dowell and Jarratt 1971); halving
    /// where a margin is not finite, and every third time, since a margin may turn sharply.
    fn search(&mut self, inside: u32, outside: u32, end: u32) -> Crossing {
        let near = PLACED * self.grid.cell_m;
        let count = self.source.values();
        let [start, beyond] = [inside, outside].map(|node| self.nodes[node as usize]);
        let (mut held, mut not) = (start.at, beyond.at);
        let (mut margin_held, mut margin_not) = (start.sounding.margin, beyond.sounding.margin);
        let mut reason = beyond.sounding.held.err().unwrap_or(NotHeld::Beyond);
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
            end,
        }
    }
}

/// One of the nodes around a leaf and the next; numbers may go once around.
fn pair(around: &[u32], k: usize) -> (u32, u32) {
    let n = around.len();
    let wrapped = |k: usize| around[if k < n { k } else { k - n }];
    (wrapped(k), wrapped(if k < n { k + 1 } else { k + 1 - n }))
}
