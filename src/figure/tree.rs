//! The tree: tapered stems and limbs true to scale, with bark, hatching, unions and twigs.
//!
//! ```text
//! Tree + Sight ─outline→ wandering edges ─tree→ twigs, bark of all, then wood and hatching of each
//! ```
//!
//! The middle line of a piece never moves, so the swing check agrees with the drawing. Unions need no
//! polygon work: the bark of all pieces is stroked first, then all of them are filled, and the inner
//! halves of the edges vanish. Strokes of one kind are one path, to keep files small.
//!
//! Over 500 lines: the tree's pieces share one outline and one order of drawing.

use glam::{DVec2, DVec3};
use kurbo::{BezPath, Point, Rect, Shape as _, Vec2};

use super::curve::{Stance, joined, polygon, polyline, smooth_closed, tenths, turned};
use super::seed::Seed;
use super::shape::{Cap, Ink, Item, Shape, Stroke};
use crate::rig::{Piece, PieceKind, Tree};
use crate::statics::simplified;

/// How a scene in metres lies on the sheet: a linear map without perspective.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Where the origin of the tree lies on the sheet, mm.
    pub origin: Point,
    /// What a metre along each axis moves to the right on the sheet, mm.
    pub right: DVec3,
    /// What a metre along each axis moves down on the sheet, mm.
    pub down: DVec3,
}

impl Sight {
    /// The side view: x to the right, z up.
    pub const fn elevation(origin: Point, mm_per_m: f64) -> Self {
        Self {
            origin,
            right: DVec3::new(mm_per_m, 0.0, 0.0),
            down: DVec3::new(0.0, 0.0, -mm_per_m),
        }
    }

    /// The view from above: x to the right, y up the sheet (away from who sees the elevation).
    pub const fn plan(origin: Point, mm_per_m: f64) -> Self {
        Self {
            origin,
            right: DVec3::new(mm_per_m, 0.0, 0.0),
            down: DVec3::new(0.0, -mm_per_m, 0.0),
        }
    }

    /// A place on the sheet, mm.
    pub fn place(&self, at: DVec3) -> Point {
        self.origin + Vec2::new(at.dot(self.right), at.dot(self.down))
    }

    /// Scale, mm for a metre.
    pub fn mm_per_m(&self) -> f64 {
        self.right.length()
    }
}

/// Half a bark stroke shows: 0.5 mm.
const BARK_MM: f64 = 1.0;
/// Width of hatching, mm.
const GRAIN_MM: f64 = 0.2;
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
pub enum End {
    /// Grown out of other wood.
    Union,
    /// Standing on the ground.
    Root,
    /// Going on beyond the picture: a freehand break.
    Break,
    /// A limb's end with its twigs.
    Twigs,
}

/// What is drawn of a tree, and where it is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TreeDrawing {
    /// For the wood layer, from the back.
    pub items: Vec<Item>,
    /// Outline of each piece that is seen: its name and its edge on the sheet.
    pub outlines: Vec<(String, BezPath)>,
    /// Boxes round the leaves.
    pub leaves: Vec<Rect>,
}

/// Which wood lies behind the climber: drawn first, paler, and without hatching.
pub type IsFar<'a> = &'a dyn Fn(&Piece) -> bool;

/// Draws all stems and limbs, none of them far; only what shows in `window` (mm) where one is given, as in a close
/// view, so that a file does not carry what its clip hides.
pub fn tree(tree: &Tree, sight: &Sight, window: Option<Rect>) -> TreeDrawing {
    tree_in_depth(tree, sight, window, &|_| false)
}

/// As [`tree`], with far wood behind the rest.
pub fn tree_in_depth(
    tree: &Tree,
    sight: &Sight,
    window: Option<Rect>,
    is_far: IsFar<'_>,
) -> TreeDrawing {
    let mut drawing = TreeDrawing::default();
    for far in [true, false] {
        draw_depth(
            &mut drawing,
            tree,
            (sight, window),
            &|p| is_far(p) == far,
            far,
        );
    }
    drawing
}

/// Draws the pieces of one depth.
fn draw_depth(
    drawing: &mut TreeDrawing,
    tree: &Tree,
    (sight, window): (&Sight, Option<Rect>),
    belongs: IsFar<'_>,
    far: bool,
) {
    let (bark_ink, wood_ink) = if far {
        (Ink::BarkFar, Ink::WoodFar)
    } else {
        (Ink::Bark, Ink::Wood)
    };
    let (mut bark, mut wood, mut discs) = (Vec::new(), Vec::new(), Vec::new());
    for piece in tree.pieces.iter().filter(|piece| belongs(piece)) {
        let ends = ends_of(piece, tree);
        let id = format!("{}-{}", kind_word(piece.kind), piece.name);
        let Some(trunk) = Trunk::new(piece, ends, &tree.pieces, sight, window) else {
            if sees_end_on(piece, sight) {
                let radius = piece.diameter_m.0 / 2.0 * sight.mm_per_m();
                let (shapes, edge) = end_on(sight.place(piece.from), radius, &piece.name);
                discs.push(Item::group(id, shapes));
                drawing.outlines.push((piece.name.clone(), edge));
            }
            continue;
        };
        let outline = tenths(trunk.outline());
        if trunk.ends.1 == End::Twigs && trunk.range.1 >= trunk.length {
            let (shapes, bounds) = twigs(&trunk.stance(trunk.length), trunk.twig_mm, &piece.name);
            drawing.items.extend(shapes.into_iter().map(Item::from));
            drawing.leaves.push(bounds);
        }
        let fill = Shape::filled(outline.clone(), wood_ink);
        let grain = (!far).then(|| {
            let stroke = Stroke::solid(Ink::Grain, GRAIN_MM);
            Shape::stroked(tenths(trunk.hatching()), stroke)
        });
        wood.push(Item::group(id, std::iter::once(fill).chain(grain)));
        drawing.outlines.push((piece.name.clone(), outline.clone()));
        bark.push(outline);
    }
    // One by one, so that each outline is written once for its bark and its wood.
    let stroke = Stroke::solid(bark_ink, BARK_MM);
    let bark = bark
        .into_iter()
        .map(|outline| Shape::stroked(outline, stroke.clone()).into());
    drawing.items.extend::<Vec<Item>>(bark.collect());
    drawing.items.append(&mut wood);
    drawing.items.append(&mut discs);
}

/// How a piece begins and ends, from what stands around it.
pub fn ends_of(piece: &Piece, tree: &Tree) -> (End, End) {
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

const fn kind_word(kind: PieceKind) -> &'static str {
    match kind {
        PieceKind::Stem => "stem",
        PieceKind::Limb => "limb",
    }
}

/// Whether the sight runs along a piece.
fn sees_end_on(piece: &Piece, sight: &Sight) -> bool {
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
    seed: Seed,
}

impl Trunk {
    /// `None` where the piece is seen end-on or does not show in the window.
    fn new(
        piece: &Piece,
        ends: (End, End),
        pieces: &[Piece],
        sight: &Sight,
        window: Option<Rect>,
    ) -> Option<Self> {
        if sees_end_on(piece, sight) {
            return None;
        }
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
        let range = match window {
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
            ends,
            widening: (widening.0, widening.1.min(0.5 * length)),
            hidden: hidden_m(piece, pieces) * length / piece.from.distance(piece.to),
            range,
            twig_mm: twig_mm(scale),
            seed,
        })
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
        let lane = if side < 0.0 { 1 } else { 4 };
        let wander: f64 = WAVES
            .iter()
            .zip(lane..)
            .map(|(&(length, share), number)| {
                let turn = std::f64::consts::TAU * (at / length + self.seed.at(number));
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
    while out < length {
        let at = piece.from + axis * (out / length);
        if !others.iter().any(|other| other.depth_m(at) > 0.0) {
            break;
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
pub fn twig_reach_mm(scale: f64) -> f64 {
    1.5 * twig_mm(scale)
}

/// Twigs with leaves at the end of a limb that points along the stance; and the box they fill.
pub fn twigs(tip: &Stance, long_mm: f64, name: &str) -> (Vec<Shape>, Rect) {
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

/// A piece seen along its fibre, with rings off centre; and its edge.
pub fn end_on(centre: Point, radius: f64, name: &str) -> (Vec<Shape>, BezPath) {
    let seed = Seed::new(name);
    let ring = |share: f64, nodes: u32, wobble: f64, lane: u32| {
        let pith = centre + Vec2::new(-0.10, 0.06) * (radius * (1.0 - share));
        let node = |i: u32| {
            let turn = std::f64::consts::TAU * f64::from(i) / f64::from(nodes);
            let r = radius * share * (1.0 + wobble * (2.0 * seed.at(lane + i) - 1.0));
            pith + Vec2::new(libm::cos(turn), libm::sin(turn)) * r
        };
        smooth_closed(&(0..nodes).map(node).collect::<Vec<_>>())
    };
    let edge = ring(1.0, 16, 0.025, 100);
    let bark = if radius < 4.0 { 0.6 } else { 0.9 };
    let shares: &[f64] = match radius {
        r if r < 2.0 => &[0.5],
        r if r < 4.0 => &[0.3, 0.62],
        r if r < 7.0 => &[0.2, 0.4, 0.6, 0.8],
        _ => &[0.16, 0.34, 0.52, 0.7, 0.86],
    };
    let rings = shares
        .iter()
        .zip(0..)
        .map(|(&share, lane)| ring(share, 9, 0.03, 200 + 16 * lane));
    let shapes = vec![
        Shape::both(edge.clone(), Ink::Wood, Stroke::solid(Ink::Bark, bark)),
        Shape::stroked(joined(rings), Stroke::solid(Ink::Grain, 0.25)),
    ];
    (shapes, edge)
}

/// The ground from one side of the figure to the other: a line with groups of slanted strokes.
pub fn ground(y: f64, from_x: f64, to_x: f64) -> Vec<Shape> {
    /// From group to group, and from stroke to stroke, mm.
    const GROUP_MM: f64 = 6.6;
    const STROKE_MM: f64 = 1.15;
    let line = polyline(&[Point::new(from_x, y), Point::new(to_x, y)]);
    let mut strokes = BezPath::new();
    let mut x = from_x + 2.8;
    while x + 2.0 * STROKE_MM < to_x {
        for stroke in 0..3 {
            let top = x + f64::from(stroke) * STROKE_MM;
            strokes.move_to((top, y + 0.5));
            strokes.line_to((top - 1.3, y + 2.1));
        }
        x += GROUP_MM;
    }
    vec![
        Shape::stroked(tenths(strokes), Stroke::solid(Ink::Earth, 0.25)),
        Shape::stroked(line, Stroke::solid(Ink::Earth, 0.5)),
    ]
}

/// The height staff: fields between the given heights on the sheet (mm), filled in turn from the
/// first one. It replaces a length scale; the caller letters it.
pub fn staff(x: f64, heights: &[f64]) -> Vec<Shape> {
    /// Width of the staff, mm.
    const WIDE_MM: f64 = 1.7;
    let (Some(&first), Some(&last)) = (heights.first(), heights.last()) else {
        return Vec::new();
    };
    let field = |a: f64, b: f64| Rect::new(x, a, x + WIDE_MM, b).abs().to_path(0.1);
    let filled = heights
        .windows(2)
        .step_by(2)
        .map(|two| field(two[0], two[1]));
    let edge = Stroke::solid(Ink::Soft, 0.25).cap(Cap::Butt);
    vec![
        Shape::both(field(first, last), Ink::Paper, edge),
        Shape::filled(joined(filled), Ink::Soft),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(name: &str, kind: PieceKind, from: [f64; 3], to: [f64; 3], d: (f64, f64)) -> Piece {
        Piece {
            name: name.into(),
            kind,
            from: from.into(),
            to: to.into(),
            diameter_m: d,
        }
    }

    fn alder() -> Tree {
        let (stem, limb) = (PieceKind::Stem, PieceKind::Limb);
        Tree {
            pieces: vec![
                piece("stem", stem, [0.0, 0.0, 0.0], [0.1, 0.0, 9.0], (0.62, 0.34)),
                piece(
                    "upper",
                    limb,
                    [0.08, 0.0, 7.95],
                    [6.35, 0.0, 8.72],
                    (0.25, 0.1),
                ),
                piece("low", limb, [0.08, 0.0, 1.3], [6.2, 0.0, 3.82], (0.23, 0.1)),
            ],
            ground_m: Some(0.0),
            species: None,
        }
    }

    fn sight() -> Sight {
        Sight::elevation(Point::new(30.0, 134.0), 14.2)
    }

    fn trunk(tree: &Tree, index: usize) -> Trunk {
        let piece = &tree.pieces[index];
        Trunk::new(piece, ends_of(piece, tree), &tree.pieces, &sight(), None).unwrap()
    }

    #[test]
    fn pieces_are_true_to_scale() {
        // The bark may stray from the taper by 5 % of the local diameter, and no more.
        let tree = alder();
        for index in 0..tree.pieces.len() {
            let trunk = trunk(&tree, index);
            for step in 0..200 {
                let at = trunk.length * f64::from(step) / 200.0;
                let plain = trunk.plain_radius(at);
                for side in [-1.0, 1.0] {
                    let stray = (trunk.edge(at, side) - plain).abs();
                    assert!(stray <= 0.05 * 2.0 * plain, "{index} at {at}: {stray}");
                }
            }
        }
        let upper = trunk(&tree, 1);
        assert!((upper.plain_radius(upper.length) - 0.05 * 14.2).abs() < 1e-9);
    }

    #[test]
    fn stems_stand_and_limbs_grow() {
        let tree = alder();
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
    fn a_limb_covers_the_bark_where_it_grows() {
        let drawing = tree(&alder(), &sight(), None);
        let inside = sight().place(DVec3::new(0.3, 0.0, 7.97));
        let (_, limb) = &drawing.outlines[1];
        assert_ne!(limb.winding(inside), 0);
        assert_eq!(drawing.leaves.len(), 2);
    }

    #[test]
    fn from_above_a_stem_is_a_disc_over_its_limbs() {
        let plan = Sight::plan(Point::new(30.0, 50.0), 14.2);
        let drawing = tree(&alder(), &plan, None);
        let names: Vec<_> = drawing
            .outlines
            .iter()
            .map(|(name, _)| name.as_str())
            .collect();
        assert_eq!(names, ["stem", "upper", "low"]);
        let Some(Item::Group { id, .. }) = drawing.items.last() else {
            panic!("the last item is the disc")
        };
        assert_eq!(id.as_deref(), Some("stem-stem"));
    }

    #[test]
    fn a_close_view_carries_only_what_shows() {
        let near = Sight::elevation(Point::new(30.0, 1340.0), 142.0);
        let size = |window| {
            let drawing = tree(&alder(), &near, window);
            let paths = drawing
                .outlines
                .iter()
                .map(|(_, path)| path.elements().len());
            paths.sum::<usize>()
        };
        let around = near.place(DVec3::new(0.3, 0.0, 7.9));
        let window = Rect::from_center_size(around, (40.0, 40.0));
        assert!(size(Some(window)) * 8 < size(None));
    }

    #[test]
    fn the_staff_fills_fields_in_turn() {
        let shapes = staff(4.0, &[100.0, 90.0, 80.0, 70.0]);
        let fields = shapes[1].path.elements().iter();
        let count = fields
            .filter(|el| matches!(el, kurbo::PathEl::MoveTo(_)))
            .count();
        assert_eq!(count, 2);
    }

    #[test]
    fn ground_strokes_stay_within_the_figure() {
        let bounds = ground(134.0, 4.0, 156.0)[0].path.bounding_box();
        assert!(bounds.x0 >= 4.0 && bounds.x1 <= 156.0);
    }
}
