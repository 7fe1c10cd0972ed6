//! A stem or limb on the sheet: edges that wander, shading, twigs.
//!
//! ```text
//! Piece + Sight ─Trunk→ middle line, radii ─outline, hatching→ paths ─wood→ kept for the next figure
//! ```
//!
//! The figures of a lesson show the same wood in the same place over and over, so that each thread
//! keeps the pieces that it drew last. A piece is drawn from its key alone: kept or new, it is the same.
//!
//! Over 500 lines: edges, hatching and twigs of a piece follow its one middle line.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;

use glam::DVec2;
use kurbo::{BezPath, Point, Rect, Shape as _, Vec2};

use super::curve::{Stance, polygon, tenths, turned};
use super::frame::Sight;
use super::seed::Seed;
use super::shape::{Ink, Shape, Stroke};
use crate::rig::{Piece, PieceKind, Tree};
use crate::statics::simplified;

/// Half a bark stroke shows: 0.5 mm.
pub(super) const BARK_MM: f64 = 1.0;
/// Edges have a point each so many mm.
const STEP_MM: f64 = 2.2;
/// And only those that the edge would miss by more than this, mm: a tenth of the bark's width.
const PLAIN_MM: f64 = 0.05;
/// And each so many mm within a root flare or a collar.
const FINE_STEP_MM: f64 = 1.0;
/// Most that an edge wanders, as a share of the local radius: 5 % of the diameter is 10 %.
const WANDER: f64 = 0.095;
/// Wave lengths (mm) and shares of the three sines of an edge.
const WAVES: [(f64, f64); 3] = [(19.0, 0.5), (7.3, 0.3), (4.1, 0.2)];
/// A limb at its base, beyond its own width: 2.2 limb diameters wide.
const COLLAR: f64 = 1.2;
/// A collar ends so far along the limb, metres.
const COLLAR_M: f64 = 0.65;
/// A stem at the ground, beyond its own width: 1.75 to 1.9 times as wide.
const FLARE: (f64, f64) = (0.75, 0.9);
/// A root flare ends so far up the stem, metres.
const FLARE_M: f64 = 0.5;
/// A stem whose foot is so near the ground stands on it, metres.
const STANDS_M: f64 = 0.3;
/// Hatching strokes follow each other in this distance, mm.
const HATCH_STEP_MM: (f64, f64) = (1.1, 1.6);
/// Length of hatching strokes, as a share of the diameter.
const HATCH: (f64, f64) = (0.16, 0.36);
/// Pieces wider than this show dashes along the fibre, mm.
const FIBRE_MM: f64 = 3.2;
/// Where shade falls: light comes from the upper left.
const SHADE: Vec2 = Vec2::new(0.65, 0.76);
/// A piece whose length on the sheet is under this share of its diameter is seen end-on.
const END_ON: f64 = 1.0;

/// How a piece ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    /// Grown out of other wood.
    Union,
    /// Standing on the ground.
    Root,
    /// Going on beyond the picture: a freehand break.
    Break,
    /// A limb's end with its twigs.
    Twigs,
}

/// How many pieces a thread keeps: those of two rigs, each on a wide and on a narrow sheet.
const KEPT: usize = 32;

thread_local! {
    /// The pieces that this thread drew last, the latest first.
    static LAST: RefCell<VecDeque<(Key, Rc<Wood>)>> = const { RefCell::new(VecDeque::new()) };
}

/// A drawn piece.
pub(super) struct Wood {
    /// Its edge, closed.
    pub(super) outline: BezPath,
    /// Shading strokes and dashes along the fibre; far wood has none.
    pub(super) grain: Option<BezPath>,
    /// Twigs at its end, and the box that they fill.
    pub(super) twigs: Option<(Vec<Shape>, Rect)>,
}

/// What a drawn piece depends on.
#[derive(PartialEq)]
struct Key {
    piece: Piece,
    look: Look,
}

/// How a piece is looked at, and where it stands among the others.
#[derive(Clone, Copy, PartialEq)]
struct Look {
    sight: Sight,
    window: Option<Rect>,
    ends: (End, End),
    /// The first so many metres lie inside other wood.
    hidden_m: f64,
    far: bool,
}

/// Draws a piece of a tree; `None` where it is seen end-on or does not show in the window.
pub(super) fn wood(
    piece: &Piece,
    tree: &Tree,
    (sight, window): (&Sight, Option<Rect>),
    far: bool,
) -> Option<Rc<Wood>> {
    if sees_end_on(piece, sight) {
        return None;
    }
    let look = Look {
        sight: *sight,
        window,
        ends: ends_of(piece, tree),
        hidden_m: hidden_m(piece, &tree.pieces),
        far,
    };
    LAST.with_borrow_mut(|last| {
        let known = |(key, _): &(Key, _)| key.look == look && key.piece == *piece;
        if let Some(at) = last.iter().position(known) {
            return Some(Rc::clone(&last[at].1));
        }
        let wood = Rc::new(Trunk::new(piece, &look)?.wood(far, &piece.name));
        let key = Key {
            piece: piece.clone(),
            look,
        };
        last.truncate(KEPT - 1);
        last.push_front((key, Rc::clone(&wood)));
        Some(wood)
    })
}

/// How a piece begins and ends, from what stands around it.
pub(super) fn ends_of(piece: &Piece, tree: &Tree) -> (End, End) {
    let grown = tree
        .pieces
        .iter()
        .any(|other| other.name != piece.name && other.depth_m(piece.from) >= 0.0);
    let on_ground = tree
        .ground_m
        .is_some_and(|ground| (piece.from.z - ground).abs() <= STANDS_M);
    match piece.kind {
        PieceKind::Stem if on_ground => (End::Root, End::Break),
        PieceKind::Limb if grown => (End::Union, End::Twigs),
        PieceKind::Stem if grown => (End::Union, End::Break),
        PieceKind::Stem => (End::Break, End::Break),
        PieceKind::Limb => (End::Break, End::Twigs),
    }
}

/// Whether the sight runs along a piece.
pub(super) fn sees_end_on(piece: &Piece, sight: &Sight) -> bool {
    let length = sight.place(piece.from).distance(sight.place(piece.to));
    length < END_ON * piece.diameter_m.0 * sight.mm_per_m()
}

/// A piece on the sheet: middle line, radii, edges.
struct Trunk {
    /// Thick end on the sheet.
    from: Point,
    /// Unit vector towards the thin end.
    along: Vec2,
    /// Length on the sheet, mm.
    length: f64,
    /// Radius at the thick and at the thin end, mm.
    radius: (f64, f64),
    /// How it begins and ends.
    ends: (End, End),
    /// Widening at the thick end: how much beyond 1, over how many mm.
    widening: (f64, f64),
    /// The first so many mm lie inside other wood.
    hidden: f64,
    /// The part that is drawn, mm from the thick end.
    range: (f64, f64),
    /// Length of twigs, mm.
    twig_mm: f64,
    /// Where the waves of the edge on either side begin, in turns.
    phases: [[f64; WAVES.len()]; 2],
    seed: Seed,
}

impl Trunk {
    /// `None` where the piece does not show in the window.
    fn new(piece: &Piece, look: &Look) -> Option<Self> {
        let Look { sight, ends, .. } = look;
        let (from, to) = (sight.place(piece.from), sight.place(piece.to));
        let scale = sight.mm_per_m();
        let radius = (
            piece.diameter_m.0 / 2.0 * scale,
            piece.diameter_m.1 / 2.0 * scale,
        );
        let length = from.distance(to);
        let seed = Seed::new(&piece.name);
        let widening = match ends.0 {
            End::Union => (COLLAR, COLLAR_M * scale),
            End::Root => (FLARE.0 + (FLARE.1 - FLARE.0) * seed.at(0), FLARE_M * scale),
            End::Break | End::Twigs => (0.0, 0.0),
        };
        let along = (to - from) / length;
        let wide = radius.0.max(radius.1) * (1.0 + widening.0) + BARK_MM;
        let range = match look.window {
            Some(window) => {
                // Bark and hatching reach a little beyond.
                let beyond = window.inset(2.0);
                seen_range((from, along), length, beyond, wide)?
            }
            None => (0.0, length),
        };
        Some(Self {
            from,
            along,
            length,
            radius,
            ends: *ends,
            widening: (widening.0, widening.1.min(0.5 * length)),
            hidden: look.hidden_m * length / piece.from.distance(piece.to),
            range,
            twig_mm: twig_mm(scale),
            phases: [[1, 2, 3], [4, 5, 6]].map(|side| side.map(|lane| seed.at(lane))),
            seed,
        })
    }

    /// All of it that is drawn.
    fn wood(&self, far: bool, name: &str) -> Wood {
        let ends_here = self.ends.1 == End::Twigs && self.range.1 >= self.length;
        Wood {
            outline: tenths(self.outline()),
            grain: (!far).then(|| tenths(self.hatching())),
            twigs: ends_here.then(|| twigs(&self.stance(self.length), self.twig_mm, name)),
        }
    }

    /// The place `at` mm along, with its direction.
    fn stance(&self, at: f64) -> Stance {
        Stance::new(self.from + self.along * at, self.along)
    }

    /// Radius without the wandering, `at` mm along.
    fn plain_radius(&self, at: f64) -> f64 {
        let t = (at / self.length).clamp(0.0, 1.0);
        let (extra, reach) = self.widening;
        let left = if at < reach { 1.0 - at / reach } else { 0.0 };
        let taper = self.radius.0 + (self.radius.1 - self.radius.0) * t;
        taper * (1.0 + extra * left * left)
    }

    /// From the middle line to an edge, `at` mm along; `side` is −1 or +1.
    fn edge(&self, at: f64, side: f64) -> f64 {
        let plain = self.plain_radius(at);
        let waves = WAVES.iter().zip(&self.phases[usize::from(side > 0.0)]);
        let wander: f64 = waves
            .map(|(&(length, share), phase)| {
                let turn = std::f64::consts::TAU * (at / length + phase);
                share * libm::sin(turn)
            })
            .sum();
        plain * (1.0 + WANDER * wander)
    }

    /// Distances along at which the edges have points.
    fn stations(&self) -> Vec<f64> {
        let (mut at, end) = self.range;
        let mut stations = Vec::with_capacity(((end - at) / FINE_STEP_MM) as usize + 2);
        while at < end - 0.3 * FINE_STEP_MM {
            stations.push(at);
            let fine = at < self.widening.1;
            at += if fine { FINE_STEP_MM } else { STEP_MM };
        }
        stations.push(end);
        stations
    }

    /// The outline, closed.
    fn outline(&self) -> BezPath {
        let stations = self.stations();
        let edge = |side: f64| {
            let point = move |at: f64| self.stance(at).point(0.0, side * self.edge(at, side));
            stations.iter().map(move |at| point(*at))
        };
        let plain = |points: Vec<Point>| {
            let path: Vec<DVec2> = points.iter().map(|p| DVec2::new(p.x, p.y)).collect();
            let kept = simplified(&path, PLAIN_MM).into_iter();
            kept.map(|p| Point::new(p.x, p.y)).collect::<Vec<Point>>()
        };
        let mut points = plain(edge(-1.0).collect());
        if self.ends.1 == End::Break && self.range.1 >= self.length {
            points.extend(self.broken(self.length, -1.0));
        }
        let mut back = plain(edge(1.0).collect());
        back.reverse();
        points.append(&mut back);
        if self.ends.0 == End::Break && self.range.0 <= 0.0 {
            points.extend(self.broken(0.0, 1.0));
        }
        polygon(&points)
    }

    /// A freehand break across (after ISO 128: wood goes on), starting at the edge on `side`.
    fn broken(&self, at: f64, side: f64) -> impl Iterator<Item = Point> + '_ {
        const STEPS: u32 = 9;
        let stance = self.stance(at);
        let radius = self.plain_radius(at);
        (1..STEPS).map(move |step| {
            let t = f64::from(step) / f64::from(STEPS);
            let turn = std::f64::consts::TAU * t;
            let bite = 0.34 * libm::sin(turn) + 0.10 * libm::sin(2.0 * turn + 0.6);
            stance.point(-bite * radius, side * (1.0 - 2.0 * t) * radius)
        })
    }

    /// Shading strokes and dashes along the fibre, as one path.
    fn hatching(&self) -> BezPath {
        let stance = self.stance(0.0);
        let side = if stance.across().dot(SHADE) >= 0.0 {
            1.0
        } else {
            -1.0
        };
        // Strokes lean towards the upper right, as a right hand draws them.
        let lean = if self.along.dot(Vec2::new(0.5, -1.0)) >= 0.0 {
            1.0
        } else {
            -1.0
        };
        let break_mm = |end: End| if end == End::Break { 0.4 } else { 0.0 };
        let start = self.hidden.max(break_mm(self.ends.0) * self.radius.0) + 0.6;
        let end = self.length - 0.5 - break_mm(self.ends.1) * self.radius.1;
        let mut dice = self.seed.dice(64);
        // Two for each stroke and each dash.
        let mut path = BezPath::with_capacity(3 * ((end - start).max(0.0) as usize + 2));
        let mut at = start;
        while at < end {
            let reach = 2.0 * self.plain_radius(at).min(self.radius.0);
            let long = (HATCH.0 + (HATCH.1 - HATCH.0) * dice.next()) * reach;
            let outer = self.edge(at, side) - 0.12;
            if self.shows(at) {
                let inner = at + lean * 0.4 * long;
                path.move_to(stance.point(at, side * outer));
                path.line_to(stance.point(inner, side * (outer - long)));
            }
            at += HATCH_STEP_MM.0 + (HATCH_STEP_MM.1 - HATCH_STEP_MM.0) * dice.next();
        }
        let mut dice = self.seed.dice(1024);
        let mut at = start;
        while at < end {
            let radius = self.plain_radius(at);
            let long = 1.4 + 2.6 * dice.next();
            let beside = side * radius * (0.25 - 0.85 * dice.next());
            if 2.0 * radius > FIBRE_MM && at + long < end && self.shows(at) {
                path.move_to(stance.point(at, beside));
                path.line_to(stance.point(at + long, beside + 0.12));
            }
            at += 1.6 + 5.0 * dice.next() / (radius / FIBRE_MM).max(1.0);
        }
        path
    }

    /// Whether a place along lies in the part that is drawn.
    fn shows(&self, at: f64) -> bool {
        self.range.0 <= at && at <= self.range.1
    }
}

/// The part of a middle line that lies beside a box, mm along; `None` where it is farther than `wide`
/// from it.
fn seen_range(
    (from, along): (Point, Vec2),
    length: f64,
    window: Rect,
    wide: f64,
) -> Option<(f64, f64)> {
    let corners = [
        (window.x0, window.y0),
        (window.x1, window.y0),
        (window.x0, window.y1),
        (window.x1, window.y1),
    ]
    .map(|corner| Point::from(corner) - from);
    let range = |values: [f64; 4]| {
        let low = values.iter().copied().fold(f64::INFINITY, f64::min);
        let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        (low, high)
    };
    let (low, high) = range(corners.map(|corner| corner.dot(along)));
    let (left, right) = range(corners.map(|corner| along.cross(corner)));
    let (low, high) = (low.max(0.0), high.min(length));
    (low < high && left < wide && right > -wide).then_some((low, high))
}

/// How far a piece runs inside other wood from its thick end, metres.
fn hidden_m(piece: &Piece, pieces: &[Piece]) -> f64 {
    /// Step of the walk out of the other wood, metres.
    const STEP_M: f64 = 0.02;
    let axis = piece.to - piece.from;
    let length = axis.length();
    let others = pieces.iter().filter(|other| other.name != piece.name);
    let others: Vec<&Piece> = others.collect();
    let mut out = 0.0;
    // The piece that held the last step.
    let mut inside = 0;
    while out < length {
        let at = piece.from + axis * (out / length);
        let holds = |other: &&Piece| other.depth_m(at) > 0.0;
        if !others.get(inside).is_some_and(holds) {
            match others.iter().position(holds) {
                Some(found) => inside = found,
                None => break,
            }
        }
        out += STEP_M;
    }
    out.min(length)
}

/// Length of twigs at a scale in mm/m, mm.
fn twig_mm(scale: f64) -> f64 {
    (0.55 * scale).clamp(4.0, 7.0)
}

/// The farthest that twigs and their leaves reach beyond a limb's end at a scale in mm/m, mm.
pub(super) fn twig_reach_mm(scale: f64) -> f64 {
    1.5 * twig_mm(scale)
}

/// Twigs with leaves at the end of a limb that points along the stance; and the box they fill.
fn twigs(tip: &Stance, long_mm: f64, name: &str) -> (Vec<Shape>, Rect) {
    /// Directions of the twigs beside the limb's own, radians.
    const FAN: [f64; 5] = [-0.95, -0.5, -0.08, 0.42, 0.85];
    let mut dice = Seed::new(name).dice(4096);
    let mut stalks = BezPath::with_capacity(2 * FAN.len());
    let mut leaves = BezPath::with_capacity(12 * FAN.len());
    for fan in FAN {
        let angle = fan + 0.2 * (dice.next() - 0.5);
        let long = long_mm * (0.85 + 0.3 * dice.next());
        let way = |bend: f64| Vec2::new(libm::cos(angle + bend), libm::sin(angle + bend));
        let on = |t: f64| way(0.25 * (1.0 - t)) * (long * t);
        let sheet = |v: Vec2| tip.point(v.x, v.y);
        stalks.move_to(tip.at);
        stalks.quad_to(sheet(on(0.55)), sheet(on(1.0)));
        for (t, turn) in [(0.62, 0.9), (0.82, -0.9), (1.0, 0.15)] {
            let leaf = long * (0.30 + 0.06 * dice.next());
            let turn = turn + angle + 0.25 * (dice.next() - 0.5);
            let to = Vec2::new(libm::cos(turn), libm::sin(turn)) * leaf;
            let belly = turned(to) * 0.36;
            let base = on(t);
            leaves.move_to(sheet(base));
            leaves.quad_to(sheet(base + to * 0.45 + belly), sheet(base + to));
            leaves.quad_to(sheet(base + to * 0.45 - belly), sheet(base));
            leaves.close_path();
        }
    }
    let bounds = leaves.bounding_box().union(stalks.bounding_box());
    let shapes = vec![
        Shape::stroked(tenths(stalks), Stroke::solid(Ink::Bark, 0.3)),
        Shape::both(tenths(leaves), Ink::Leaf, Stroke::solid(Ink::LeafEdge, 0.2)),
    ];
    (shapes, bounds)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limb(name: &str, to: [f64; 3]) -> Piece {
        Piece {
            name: name.into(),
            kind: PieceKind::Limb,
            from: [0.08, 0.0, 1.3].into(),
            to: to.into(),
            diameter_m: (0.23, 0.1),
        }
    }

    fn tree() -> Tree {
        let stem = Piece {
            kind: PieceKind::Stem,
            from: [0.0; 3].into(),
            diameter_m: (0.62, 0.34),
            ..limb("stem", [0.1, 0.0, 9.0])
        };
        Tree {
            pieces: vec![
                stem,
                limb("low", [6.2, 0.0, 3.82]),
                limb("high", [5.0, 0.0, 7.0]),
            ],
            ground_m: Some(0.0),
            species: None,
        }
    }

    fn sight(mm_per_m: f64) -> Sight {
        Sight::elevation(Point::new(30.0, 134.0), mm_per_m)
    }

    #[test]
    fn pieces_are_true_to_scale() {
        // The bark may stray from the taper by 5 % of the local diameter, and no more.
        let tree = tree();
        for piece in &tree.pieces {
            let look = Look {
                sight: sight(14.2),
                window: None,
                ends: ends_of(piece, &tree),
                hidden_m: 0.0,
                far: false,
            };
            let trunk = Trunk::new(piece, &look).unwrap();
            for step in 0..200 {
                let at = trunk.length * f64::from(step) / 200.0;
                let plain = trunk.plain_radius(at);
                for side in [-1.0, 1.0] {
                    let stray = (trunk.edge(at, side) - plain).abs();
                    assert!(
                        stray <= 0.05 * 2.0 * plain,
                        "{} at {at}: {stray}",
                        piece.name
                    );
                }
            }
            let tip = trunk.plain_radius(trunk.length);
            assert!((tip - piece.diameter_m.1 / 2.0 * 14.2).abs() < 1e-9);
        }
    }

    #[test]
    fn stems_stand_and_limbs_grow() {
        let tree = tree();
        let ends = |index: usize| ends_of(&tree.pieces[index], &tree);
        assert_eq!(ends(0), (End::Root, End::Break));
        assert_eq!(ends(1), (End::Union, End::Twigs));
        let alone = Tree {
            pieces: tree.pieces[1..2].to_vec(),
            ..Tree::default()
        };
        assert_eq!(ends_of(&alone.pieces[0], &alone), (End::Break, End::Twigs));
    }

    #[test]
    fn a_kept_piece_is_taken_only_where_it_would_be_drawn_the_same() {
        let tree = tree();
        let low = &tree.pieces[1];
        let draw = |piece: &Piece, tree: &Tree, scale: f64, far: bool| {
            wood(piece, tree, (&sight(scale), None), far).unwrap()
        };
        let first = draw(low, &tree, 14.2, false);
        assert!(Rc::ptr_eq(&first, &draw(low, &tree, 14.2, false)));
        let alone = Tree::default();
        let thicker = Piece {
            diameter_m: (0.25, 0.1),
            ..low.clone()
        };
        for other in [
            draw(low, &tree, 14.3, false),
            draw(low, &tree, 14.2, true),
            draw(low, &alone, 14.2, false),
            draw(&thicker, &tree, 14.2, false),
        ] {
            assert!(first.outline != other.outline || first.grain != other.grain);
        }
        // Many others later it is drawn anew, and the same.
        for n in 0..=KEPT {
            draw(
                &limb(&format!("limb {n}"), [3.0, 0.0, 3.0]),
                &tree,
                14.2,
                false,
            );
        }
        let again = draw(low, &tree, 14.2, false);
        assert!(!Rc::ptr_eq(&first, &again));
        assert_eq!(
            (&first.outline, &first.grain),
            (&again.outline, &again.grain)
        );
    }
}
