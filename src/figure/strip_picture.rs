//! The picture of a strip: harness, connectors, hitch, rope and anchor in a row, tied to each other.
//!
//! ```text
//! Strip + Columns ─rope, then hardware, from the harness to the anchor→ items
//! ```
//!
//! Not to scale: each part is drawn as large as its shape needs, in the middle of its column or, where
//! it holds its neighbour, moved towards it.
//!
//! Over 500 lines: one routine a part, each drawn from what the one before it left.

use kurbo::{BezPath, Point, Vec2};

use super::assembly::{Mark, Part};
use super::curve::{Stance, circle, polygon, polyline, smooth_open};
use super::detail;
use super::rope::{DETAIL_MM, rope};
use super::shape::{Ink, Item, Shape, Stroke};
use super::strip::Strip;
use super::tree::end_on;
use crate::rig::{Attachment, Over, PointId, Rig};

/// Size of the hardware.
const K: f64 = 1.1;
/// Size of the harness.
const HARNESS: f64 = 1.6;
/// How far parts are moved to hold each other, mm.
const HELD_RIGHT_MM: f64 = 8.2;
/// Half the distance between two connectors on one ring, mm.
const PAIR_MM: f64 = 2.95;
/// Half the distance between two legs, mm.
const LEGS_MM: f64 = detail::SHEAVE_MM * K;
/// Half the length of a connector as far as things hang in it, mm.
const HOLD_MM: f64 = 4.3 * K;
/// Radius of wood seen end-on where a sling goes round it, and where the rope does, mm.
const WOOD_MM: f64 = 4.0;
const BARE_WOOD_MM: f64 = 5.4;
/// Where wood, a ring before it, and a pulley or ring that turns a rope stand, from the middle of their
/// column, mm.
const WOOD_RIGHT_MM: f64 = 5.8;
const RING_MM: f64 = -4.6;
const HELD_RING_MM: f64 = -6.8;
const TURN_MM: f64 = -9.0;
/// Size of the eye of an end without a connector, and where a rope begins after its first point, mm.
const END_EYE: f64 = 0.9;
const START_EYE_MM: f64 = 10.0;
/// Where a tail ends, from the axis down, mm.
const TAIL_MM: f64 = 11.5;

/// Where the parts of one row stand.
#[derive(Debug, Clone, Copy)]
pub struct Columns {
    /// Left edge of the first column, mm.
    pub left: f64,
    /// Width of a column, mm.
    pub pitch: f64,
    /// Right edge of the sheet's content, mm.
    pub right: f64,
    /// Middle height of the picture, mm.
    pub axis: f64,
    /// Place in the strip of the first part.
    pub first: usize,
}

impl Columns {
    /// Middle of a column, mm.
    pub fn middle(&self, column: usize) -> f64 {
        self.left + self.pitch * (column as f64 + 0.5)
    }
}

/// A row while it is drawn.
struct Row<'a> {
    rig: &'a Rig,
    index: usize,
    stopper: bool,
    columns: Columns,
    parts: &'a [Part],
    count: usize,
    back: Vec<Shape>,
    front: Vec<Shape>,
}

/// Draws the parts of a strip from `columns.first` on, `count` of them.
pub fn draw(rig: &Rig, strip: &Strip<'_>, columns: &Columns, count: usize) -> Vec<Item> {
    let line = rig.line(strip.facts.id);
    let mut row = Row {
        rig,
        index: strip.facts.id.0,
        stopper: line.assembly.stopper == Some(true),
        columns: *columns,
        parts: &strip.parts,
        count,
        back: Vec::new(),
        front: Vec::new(),
    };
    row.rope();
    for part in 0..strip.parts.len() {
        if row.shows(part) {
            row.part(part);
        }
    }
    row.tied_ends();
    let shapes = row.back.into_iter().chain(row.front);
    shapes.map(Item::from).collect()
}

impl Row<'_> {
    fn shows(&self, part: usize) -> bool {
        (self.columns.first..self.columns.first + self.count).contains(&part)
    }

    fn find(&self, is: impl Fn(Mark) -> bool) -> Option<usize> {
        self.parts.iter().position(|part| is(part.mark))
    }

    /// Middle of a part's column.
    fn x(&self, part: usize) -> f64 {
        let column = part as f64 - self.columns.first as f64;
        self.columns.left + self.columns.pitch * (column + 0.5)
    }

    fn at(&self, x: f64, down: f64) -> Point {
        Point::new(x, self.columns.axis + down)
    }

    fn comes_back(&self) -> bool {
        self.find(|m| matches!(m, Mark::Turn(_))).is_some()
    }

    /// What holds the rope at the harness: hitch or device.
    fn holder(&self) -> Option<usize> {
        self.find(|m| matches!(m, Mark::Hitch | Mark::Device))
    }

    /// Where things hang from the harness, for each leg: a place on it, and the height of the connector
    /// there; `None` where the harness is in another row.
    fn held(&self, leg: usize) -> Option<Point> {
        let Mark::Harness(first, second) = self.parts[0].mark else {
            return None;
        };
        let belt = self.belt().filter(|_| self.shows(0))?;
        let at = detail::attachment_place(&belt, if leg == 0 { first } else { second });
        Some(at)
    }

    /// The harness from the front, lying on its side: where lines meet it is in one place of its
    /// column, whichever attachment that is.
    fn belt(&self) -> Option<Stance> {
        let Mark::Harness(first, _) = self.parts[0].mark else {
            return None;
        };
        let belt = Stance::new(Point::ORIGIN, Vec2::new(1.0, 0.0)).scaled(HARNESS);
        let meets = detail::attachment_place(&belt, first).x;
        let at = self.at(self.x(0) + HELD_RIGHT_MM - meets, 0.0);
        Some(Stance { at, ..belt })
    }

    /// How many connectors there are at the harness, and where in the strip they stand.
    fn near_connectors(&self) -> Option<(usize, usize)> {
        let rope = self.find(|m| m == Mark::Rope)?;
        let at = self
            .find(|m| matches!(m, Mark::Connectors(_)))
            .filter(|at| *at < rope)?;
        match self.parts[at].mark {
            Mark::Connectors(count) => Some((at, count)),
            _ => None,
        }
    }

    /// Middle of the connector that holds a leg at the harness; `None` where a leg has none of its
    /// own in this row.
    fn connector(&self, leg: usize) -> Option<Point> {
        let (at, count) = self.near_connectors().filter(|(at, _)| self.shows(*at))?;
        let Some(held) = self.held(leg) else {
            return Some(self.at(self.x(at) - 6.0, pair_side(leg, count)));
        };
        let apart = self.held(0)?.distance(self.held(1)?) > 1.0;
        match (apart, count) {
            (true, 1) if leg > 0 => None,
            (true, _) => Some(held + Vec2::new(HOLD_MM - 0.6, 0.0)),
            (false, _) => {
                let side = pair_side(leg, count);
                // Beside the top of the bridge its arch lies further back.
                let back = if side == 0.0 { 0.6 } else { 1.5 };
                Some(held + Vec2::new(HOLD_MM - back, side))
            }
        }
    }

    /// Where a leg is held on the side of the rope: in its connector, else in the harness itself.
    fn near_tip(&self, leg: usize) -> Option<Point> {
        match self.connector(leg) {
            Some(middle) => Some(middle + Vec2::new(HOLD_MM - 0.7, 0.0)),
            None => self.held(leg).map(|at| at - Vec2::new(1.0, 0.0)),
        }
    }

    /// Heights of the legs from the axis.
    fn legs(&self) -> &'static [f64] {
        if self.comes_back() {
            &[-LEGS_MM, LEGS_MM]
        } else {
            &[0.0]
        }
    }

    /// The rope through this row.
    fn rope(&mut self) {
        let first = self.columns.first;
        let last = first + self.count - 1;
        let (left, right) = (self.columns.left - 6.0, self.columns.right);
        let holder = self.holder();
        let start = holder.or(self.near_connectors().map(|n| n.0)).unwrap_or(0);
        let end = self.parts.len() - 1;
        if start > last {
            return;
        }
        let legs = self.legs();
        for (leg, height) in legs.iter().enumerate() {
            // The hitch is on the last leg; the other one starts at an eye.
            let hitched = holder.is_some() && leg == legs.len() - 1;
            let from = if !hitched && let Some(tip) = self.near_tip(leg) {
                let to = self.eye_to(tip, *height);
                let stance = Stance::new(tip, to - tip).scaled(K);
                vec![stance.point(detail::EYE_MM, 0.0), to]
            } else if self.shows(start) && hitched {
                vec![self.at(self.x(start) - 4.2, *height)]
            } else if self.shows(0) && matches!(self.parts[0].mark, Mark::Start(_)) {
                vec![self.at(self.x(0) + START_EYE_MM, *height)]
            } else {
                vec![self.at(left, *height)]
            };
            let to = if !self.shows(end) {
                self.at(right, *height)
            } else {
                self.at(self.rope_end(end), *height)
            };
            let mut path = polyline(&from);
            path.line_to(to);
            let far = from[0].x < to.x;
            if far {
                self.back.extend(rope(path, self.index, DETAIL_MM));
            }
        }
        if self.shows(end) && self.comes_back() {
            self.turn(end);
        }
        if let Some(holder) = holder.filter(|h| self.shows(*h)) {
            self.tail(holder, legs[legs.len() - 1]);
        }
    }

    /// Where straight rope ends at the last part.
    fn rope_end(&self, end: usize) -> f64 {
        let x = self.x(end);
        match self.parts[end].mark {
            Mark::Turn(point) => match self.rig.point(point).over {
                Some(Over::Limb | Over::Stem) => x - 7.0,
                _ => x + TURN_MM,
            },
            _ => match self.far_connector(end) {
                Some(_) => self.far_middle(end) - HOLD_MM - detail::EYE_MM * K,
                None => x + RING_MM - detail::RING_MM + 0.6 - detail::EYE_MM * END_EYE,
            },
        }
    }

    /// Middle of the connector that holds the ring of the last part.
    fn far_middle(&self, end: usize) -> f64 {
        self.x(end) + HELD_RING_MM - detail::RING_MM - HOLD_MM + 1.3
    }

    fn far_connector(&self, end: usize) -> Option<usize> {
        (end > 0 && matches!(self.parts[end - 1].mark, Mark::Connectors(_))).then(|| end - 1)
    }

    /// The rope round what turns it back.
    fn turn(&mut self, end: usize) {
        let Mark::Turn(point) = self.parts[end].mark else {
            return;
        };
        let x = self.x(end);
        let mut path = BezPath::new();
        match self.rig.point(point).over {
            Some(Over::Limb | Over::Stem) => {
                let r = BARE_WOOD_MM + 0.5 + DETAIL_MM / 2.0;
                path.move_to(self.at(x - 7.1, -LEGS_MM));
                path.curve_to(
                    self.at(x - 4.5, -LEGS_MM),
                    self.at(x - 4.0, -r),
                    self.at(x, -r),
                );
                half_round(&mut path, self.at(x, 0.0), r);
                path.curve_to(
                    self.at(x - 4.0, r),
                    self.at(x - 4.5, LEGS_MM),
                    self.at(x - 7.1, LEGS_MM),
                );
            }
            _ => {
                path.move_to(self.at(x + TURN_MM - 0.1, -LEGS_MM));
                half_round(&mut path, self.at(x + TURN_MM, 0.0), LEGS_MM);
                path.line_to(self.at(x + TURN_MM - 0.1, LEGS_MM));
            }
        }
        self.back.extend(rope(path, self.index, DETAIL_MM));
    }

    /// The tail below a hitch.
    fn tail(&mut self, holder: usize, height: f64) {
        let x = self.x(holder);
        let low = self.at(x - 4.2, height);
        let end = Point::new(low.x - 8.2, self.columns.axis + TAIL_MM);
        let path = smooth_open(&[
            low + Vec2::new(0.4, 0.0),
            low + Vec2::new(-4.0, 0.9),
            Point::new(end.x + 0.6, low.y.midpoint(end.y) + 0.4),
            end,
        ]);
        self.back.extend(rope(path, self.index, DETAIL_MM));
        if self.stopper {
            let knot = Stance::new(end, Vec2::new(0.0, 1.0));
            self.front.extend(detail::stopper(&knot, self.index));
        }
    }

    fn part(&mut self, part: usize) {
        let x = self.x(part);
        let level = Vec2::new(1.0, 0.0);
        match self.parts[part].mark {
            Mark::Harness(first, second) => {
                let Some(belt) = self.belt() else { return };
                self.front.extend(detail::harness(&belt));
                let others = [first, second]
                    .into_iter()
                    .filter(|a| *a != Attachment::Bridge);
                for attachment in others {
                    let at = detail::attachment_place(&belt, attachment);
                    self.front.extend(detail::attachment_ring(at, HARNESS));
                }
            }
            Mark::Connectors(_) => self.connectors(part),
            Mark::Hitch => {
                let height = self.legs()[self.legs().len() - 1];
                let stance = Stance::new(self.at(x, height), level).scaled(K);
                self.front.extend(detail::hitch(&stance, self.index));
            }
            Mark::Device => {
                let height = self.legs()[self.legs().len() - 1];
                self.front.extend(device(self.at(x, height)));
            }
            Mark::Rope => {}
            Mark::Pass(point) => self.pass(x, point),
            Mark::Turn(point) => self.hold(x, point, true),
            Mark::End(point) => self.hold(x, point, false),
            Mark::Start(point) => {
                let hangs = self.rig.point(point).hangs;
                let ring = self.at(x, 0.0);
                if !hangs {
                    let name = &self.rig.point(point).name;
                    self.hang_above(x, ring - Vec2::new(0.0, detail::RING_MM), false, name);
                }
                self.front.extend(detail::ring(ring, 1.0));
            }
        }
    }

    fn connectors(&mut self, part: usize) {
        let level = Vec2::new(1.0, 0.0);
        let near = self.near_connectors().is_some_and(|(at, _)| at == part);
        let middles: Vec<Point> = if near {
            let count = self.near_connectors().map_or(1, |n| n.1);
            (0..count.min(2))
                .filter_map(|leg| self.connector(leg))
                .collect()
        } else {
            vec![self.at(self.far_middle(self.parts.len() - 1), 0.0)]
        };
        for (i, middle) in middles.into_iter().enumerate() {
            let stance = Stance::new(middle, level).scaled(K);
            // The gates of two lie away from each other.
            let stance = if i == 0 { stance.mirrored() } else { stance };
            self.front.extend(detail::connector(&stance));
        }
    }

    /// A place that the rope passes on its way.
    fn pass(&mut self, x: f64, point: PointId) {
        let on = self.rig.point(point);
        let height = self.legs()[0];
        let name = &on.name;
        match on.over {
            Some(Over::Limb | Over::Stem) => {
                let below = height + DETAIL_MM / 2.0 + 0.6 + WOOD_MM;
                let (wood, _) = end_on(self.at(x, below), WOOD_MM, name);
                self.front.extend(wood);
            }
            Some(Over::Pulley) => {
                let up = Vec2::new(0.0, -1.0);
                let sheave = self.at(x, height + LEGS_MM);
                let eye = sheave + up * (detail::PULLEY_EYE_MM * K);
                self.hang_above(x, eye, on.hangs, name);
                self.front
                    .extend(detail::pulley(&Stance::new(sheave, up).scaled(K)));
            }
            _ => {
                let x = x - 1.5;
                let ring = self.at(x, height);
                self.hang_above(x, ring - Vec2::new(0.0, detail::RING_MM), on.hangs, name);
                self.front.extend(detail::ring(ring, 1.0));
                // The rope comes out over the near side of the ring.
                let over = polyline(&[ring, self.at(x + 5.0, height)]);
                self.front.extend(rope(over, self.index, DETAIL_MM));
            }
        }
    }

    /// Wood with a sling over a place that the rope passes.
    fn hang_above(&mut self, x: f64, foot: Point, hangs: bool, name: &str) {
        if hangs {
            return;
        }
        let wood = Point::new(x, foot.y - 4.6);
        let path = detail::loop_round(wood, 2.9, foot);
        self.front.extend(detail::sling(path, 0.7));
        let (shapes, _) = end_on(wood, 2.2, name);
        self.front.extend(shapes);
    }

    /// What the rope turns round or ends at: pulley or ring, sling, wood.
    fn hold(&mut self, x: f64, point: PointId, turns: bool) {
        let on = self.rig.point(point);
        let level = Vec2::new(1.0, 0.0);
        if matches!(on.over, Some(Over::Limb | Over::Stem)) && turns {
            let (wood, _) = end_on(self.at(x, 0.0), BARE_WOOD_MM, &on.name);
            self.front.extend(wood);
            return;
        }
        let pulley = on.over == Some(Over::Pulley) && turns;
        let on_connector = self.far_connector(self.parts.len() - 1).is_some();
        let ring_at = match (turns, on_connector) {
            (true, _) => x + TURN_MM + LEGS_MM + 1.2,
            (false, true) => x + HELD_RING_MM,
            (false, false) => x + RING_MM,
        };
        let foot = if pulley {
            x + TURN_MM + detail::PULLEY_EYE_MM * K
        } else {
            ring_at + detail::RING_MM
        };
        if !on.hangs {
            let wood = self.at(x + WOOD_RIGHT_MM, 0.0);
            let path = detail::loop_round(wood, WOOD_MM + 1.1, self.at(foot, 0.0));
            self.front.extend(detail::sling(path, 0.9));
            let (shapes, _) = end_on(wood, WOOD_MM, &on.name);
            self.front.extend(shapes);
        }
        if pulley {
            let stance = Stance::new(self.at(x + TURN_MM, 0.0), level).scaled(K);
            self.front.extend(detail::pulley(&stance));
        } else {
            self.front.extend(detail::ring(self.at(ring_at, 0.0), 1.0));
            if turns {
                // The lower leg comes out over the ring.
                let apex = x + TURN_MM + LEGS_MM;
                let mut over = BezPath::new();
                over.move_to(self.at(apex, 0.3));
                over.quad_to(self.at(apex, LEGS_MM), self.at(x + TURN_MM - 0.2, LEGS_MM));
                self.front.extend(rope(over, self.index, DETAIL_MM));
            }
        }
    }

    /// Where the rope from an eye meets the straight of its leg.
    fn eye_to(&self, tip: Point, height: f64) -> Point {
        self.at(tip.x + 1.9 * detail::EYE_MM, height)
    }

    /// Eyes and hitch cords at what holds them, over it.
    fn tied_ends(&mut self) {
        let legs = self.legs();
        let holder = self.holder();
        for (leg, height) in legs.iter().enumerate() {
            let hitched = holder.is_some() && leg == legs.len() - 1;
            let Some(tip) = self.near_tip(leg) else {
                continue;
            };
            if !hitched {
                let to = self.eye_to(tip, *height);
                let stance = Stance::new(tip, to - tip).scaled(K);
                self.front.extend(detail::tied_eye(&stance, self.index));
            } else if let Some(holder) = holder {
                let to = if self.shows(holder) {
                    self.x(holder) - 3.0
                } else {
                    self.columns.right
                };
                self.cord(tip, self.at(to, *height));
            }
        }
        if self.shows(0) && matches!(self.parts[0].mark, Mark::Start(_)) {
            let at = self.at(self.x(0) + 2.4, 0.0);
            let stance = Stance::new(at, Vec2::new(1.0, 0.0)).scaled(END_EYE);
            self.front.extend(detail::tied_eye(&stance, self.index));
        }
        let end = self.parts.len() - 1;
        if self.shows(end) && matches!(self.parts[end].mark, Mark::End(_)) {
            let back = Vec2::new(-1.0, 0.0);
            let size = if self.far_connector(end).is_some() {
                K
            } else {
                END_EYE
            };
            let tip = self.rope_end(end) + detail::EYE_MM * size;
            let stance = Stance::new(self.at(tip, 0.0), back).scaled(size);
            self.front.extend(detail::tied_eye(&stance, self.index));
        }
    }

    /// The two legs of a hitch's cord, from a connector to the hitch.
    fn cord(&mut self, tip: Point, to: Point) {
        let ink = Ink::line(self.index);
        for side in [0.75, -0.75] {
            let cord = smooth_open(&[
                tip + Vec2::new(0.0, 0.5 * side),
                tip + Vec2::new(2.6, 1.5 * side),
                tip.midpoint(to) + Vec2::new(0.8, 1.1 * side),
                to,
            ]);
            self.front
                .push(Shape::stroked(cord.clone(), Stroke::solid(Ink::Paper, 1.7)));
            self.front
                .push(Shape::stroked(cord, Stroke::solid(ink, 0.95)));
        }
    }
}

/// How far from the axis a connector of a pair lies.
const fn pair_side(leg: usize, count: usize) -> f64 {
    match (count, leg) {
        (0 | 1, _) => 0.0,
        (_, 0) => -PAIR_MM,
        _ => PAIR_MM,
    }
}

/// From straight above a centre round its right to straight below it.
fn half_round(path: &mut BezPath, centre: Point, radius: f64) {
    /// Handles of a quarter circle as a share of the radius.
    const HANDLE: f64 = 0.552_284_75;
    let p = |x: f64, y: f64| centre + Vec2::new(x, y) * radius;
    path.line_to(p(0.0, -1.0));
    path.curve_to(p(HANDLE, -1.0), p(1.0, -HANDLE), p(1.0, 0.0));
    path.curve_to(p(1.0, HANDLE), p(HANDLE, 1.0), p(0.0, 1.0));
}

/// A device on the rope: two cheeks with a pin.
fn device(at: Point) -> Vec<Shape> {
    let p = |x: f64, y: f64| at + Vec2::new(x, y);
    let body = polygon(&[
        p(-5.0, -1.2),
        p(-2.6, -2.8),
        p(2.6, -2.8),
        p(5.0, -1.2),
        p(5.0, 1.2),
        p(2.6, 2.8),
        p(-2.6, 2.8),
        p(-5.0, 1.2),
    ]);
    let edge = Stroke::solid(Ink::MetalEdge, 0.45);
    vec![
        Shape::stroked(body.clone(), Stroke::solid(Ink::Paper, 1.4)),
        Shape::both(body, Ink::Metal, edge.clone()),
        Shape::both(circle(p(-3.4, 0.0), 0.8), Ink::Paper, edge.clone()),
        Shape::both(circle(p(1.0, 0.0), 1.1), Ink::Paper, edge),
    ]
}
