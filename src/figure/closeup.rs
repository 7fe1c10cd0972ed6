//! Close views for the circles of `setup`: what is tied to what at a point and at the harness.
//!
//! ```text
//! AnchorView | HarnessView ─schematic places→ CloseUp (clipped items, ring, parts to name)
//! ```
//!
//! They are not to scale: wood, hardware and knots have the sizes at which their shapes are clear.
//! Directions are the rig's own, so that a rope leaves its circle the way it leaves in the picture.
//!
//! Over 500 lines: the two views share how ropes, slings and hardware meet.

use glam::DVec3;
use kurbo::{Point, Rect, Vec2};

use super::curve::{Stance, from_down, polyline, smooth_open};
use super::detail;
use super::frame::Sight;
use super::hit::{Outline, Thing};
use super::rope::{DETAIL_MM, rope};
use super::shape::{Ink, Item, Shape, Stroke};
use super::tree::tree;
use crate::rig::{Attachment, Over, Piece, PieceKind, Tree};

/// A close view.
#[derive(Debug, Clone, PartialEq)]
pub struct CloseUp {
    /// What shows in the circle, clipped by it, and the circle's ring.
    pub items: Vec<Item>,
    /// What can be named.
    pub parts: Vec<Part>,
    /// Each thing drawn, wood left out, from the back.
    pub things: Vec<Thing>,
}

/// A part that can be named.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its name.
    pub words: String,
    /// Where there is one, each with how many things were drawn up to it: later ones may hide it.
    pub places: Vec<(Point, usize)>,
}

/// A line at a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtPoint {
    /// Place of the line in its rig, from 0.
    pub index: usize,
    /// Where it goes on the sheet; two directions where it passes, one where it ends.
    pub ways: (Vec2, Option<Vec2>),
}

/// A point seen close.
#[derive(Debug, Clone, PartialEq)]
pub struct AnchorView {
    /// What carries it, and which way that runs on the sheet; `None` for a hanging point.
    pub wood: Option<(PieceKind, Vec2)>,
    /// From the middle of the wood to the point, on the sheet; only the direction counts.
    pub off_wood: Vec2,
    /// What passing lines run over.
    pub over: Option<Over>,
    /// The connector that closes the loop round the wood, where the rig names one.
    pub closing: Option<Closing>,
    /// The lines there.
    pub lines: Vec<AtPoint>,
}

/// How a connector closes a loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Closing {
    /// The loop is too short: the connector lies on the bark and is pulled across.
    pub across: bool,
    /// Its gate faces the rope.
    pub gate_to_rope: bool,
}

/// A line at the harness.
#[derive(Debug, Clone, PartialEq)]
pub struct AtHarness {
    /// Place of the line in its rig, from 0.
    pub index: usize,
    /// Where it meets the harness.
    pub attachment: Attachment,
    /// Where it goes on the sheet.
    pub way: Vec2,
    /// Whether its other end comes back to the harness: two legs.
    pub doubled: bool,
    /// Trade name of its hitch.
    pub hitch: Option<String>,
    /// Whether its tail ends in a stopper knot.
    pub stopper: bool,
}

/// How thick wood is drawn, mm.
const STEM_MM: f64 = 23.0;
const LIMB_MM: f64 = 11.0;
/// From the place where a connector hangs to where the next thing hangs in it, mm.
const CONNECTOR_REACH_MM: f64 = 9.0;

/// Collects what is drawn, back to front, and what can be named.
#[derive(Default)]
struct View {
    items: Vec<Item>,
    parts: Vec<Part>,
    things: Vec<Thing>,
}

impl View {
    fn draw(&mut self, shapes: Vec<Shape>) {
        let outlines = shapes.iter().flat_map(inked).collect();
        self.things.push(Thing::new(outlines));
        self.items.extend(shapes.into_iter().map(Item::from));
    }

    /// Names a part that was just drawn.
    fn name(&mut self, words: &str, at: Point) {
        let place = (at, self.things.len());
        match self.parts.iter_mut().find(|part| part.words == words) {
            Some(part) => part.places.push(place),
            None => self.parts.push(Part {
                words: words.to_owned(),
                places: vec![place],
            }),
        }
    }

    fn finish(mut self, centre: Point, radius: f64) -> CloseUp {
        let (clip, ring) = detail::window(centre, radius);
        let ground = Shape::filled(clip.clone(), Ink::Paper);
        let clipped = Item::Group {
            id: None,
            clip: Some(clip),
            items: self.items,
        };
        for part in &mut self.parts {
            part.places
                .retain(|(at, _)| at.distance(centre) < radius - 1.0);
        }
        self.parts.retain(|part| !part.places.is_empty());
        CloseUp {
            items: vec![ground.into(), clipped, ring.into()],
            parts: self.parts,
            things: self.things,
        }
    }

    /// A connector that hangs at `from` and is pulled along `way`; returns where the next thing hangs.
    fn connector(&mut self, from: Point, way: Vec2, gate_left: bool) -> Point {
        let stance = Stance::new(from, way);
        let mut middle = Stance::new(stance.point(0.5 * CONNECTOR_REACH_MM, 0.0), way);
        if gate_left {
            middle = middle.mirrored();
        }
        self.draw(detail::connector(&middle));
        self.name("connector", middle.point(0.5, -2.0));
        stance.point(CONNECTOR_REACH_MM - 0.6, 0.0)
    }

    /// The connector that closes a loop, at the loop's foot; returns where the next thing hangs.
    ///
    /// - `along`: the way the bark runs; `pull`: the way things hang.
    fn closing(&mut self, closing: Closing, foot: Point, along: Vec2, pull: Vec2) -> Point {
        let to_rope = closing.gate_to_rope;
        let (stance, end) = if closing.across {
            let along = if along.x < 0.0 { -along } else { along };
            // A stance's y side, where the gate is, lies below a level axis.
            let stance = Stance::new(foot, along);
            let stance = if to_rope { stance } else { stance.mirrored() };
            (stance, foot + Vec2::new(0.0, 1.9))
        } else {
            let middle = Stance::new(foot, pull).point(0.5 * CONNECTOR_REACH_MM, 0.0);
            let stance = Stance::new(middle, pull);
            // Along a way down, y lies at the left; the rope leaves to the side that it pulls to.
            let left = (pull.x < 0.0) == to_rope;
            let stance = if left { stance } else { stance.mirrored() };
            let end = Stance::new(foot, pull).point(CONNECTOR_REACH_MM - 0.6, 0.0);
            (stance, end)
        };
        self.draw(detail::connector(&stance));
        if closing.across {
            self.name("pulled across", stance.point(-2.6, -2.0));
        } else {
            self.name("closing connector", stance.point(0.5, -2.0));
        }
        if to_rope {
            self.name("gate to the rope", stance.point(0.6, 1.8));
        }
        end
    }

    /// A rope from an eye at `tip` along `way`, out of the picture.
    fn tied(&mut self, tip: Point, way: Vec2, index: usize, out: f64) {
        let stance = Stance::new(tip, way);
        let knot = stance.point(detail::EYE_MM, 0.0);
        self.draw(detail::straight(knot, stance.point(out, 0.0), index, 1.0));
        self.draw(detail::tied_eye(&stance, index));
        self.name("tied eye", stance.point(1.2, 1.5));
    }
}

/// Outlines of what a shape inks.
fn inked(shape: &Shape) -> Vec<Outline> {
    if shape.fill.is_some() {
        return Outline::of_filled_path(&shape.path);
    }
    match &shape.stroke {
        Some(stroke) if stroke.ink != Ink::Paper => {
            Outline::of_stroked_path(&shape.path, stroke.width_mm / 2.0)
        }
        _ => Vec::new(),
    }
}

/// Draws a point seen close, in a circle.
pub fn anchor(view: &AnchorView, centre: Point, radius: f64) -> CloseUp {
    let out = 3.0 * radius;
    let mut drawn = View::default();
    let on_bark = matches!(view.over, Some(Over::Limb | Over::Stem));
    if let (true, Some((kind, along))) = (on_bark, view.wood) {
        over_bark(&mut drawn, view, (kind, along), centre, radius);
        return drawn.finish(centre, radius);
    }
    let hang = centre + Vec2::new(0.0, -0.12 * radius);
    let across = view.closing.is_some_and(|closing| closing.across);
    let from = match view.wood {
        Some((PieceKind::Stem, along)) => {
            stem_sling(&mut drawn, along, view.off_wood, centre, radius)
        }
        Some((PieceKind::Limb, along)) => limb_sling(&mut drawn, along, hang, radius, across),
        None => hang,
    };
    let passing = view
        .lines
        .iter()
        .filter_map(|l| l.ways.1.map(|b| (l.index, l.ways.0, b)));
    let passing: Vec<_> = passing.collect();
    let ends = view.lines.iter().filter(|line| line.ways.1.is_none());
    let pull = view.lines.iter().fold(Vec2::ZERO, |sum, line| {
        sum + Stance::new(from, line.ways.0).along
            + line
                .ways
                .1
                .map_or(Vec2::ZERO, |b| Stance::new(from, b).along)
    });
    let pull = Stance::new(from, pull).along;
    let from = match (view.closing, view.wood) {
        (Some(closing), Some((kind, along))) => {
            let along = match kind {
                PieceKind::Limb => along,
                // A loop lies level round a stem.
                PieceKind::Stem => Vec2::new(1.0, 0.0),
            };
            drawn.closing(closing, from, along, pull)
        }
        _ => from,
    };
    let with_pulley = view.over == Some(Over::Pulley);
    // A ring that gathers many lines is drawn larger, so that it is seen between them.
    let size = if view.lines.len() > 2 { 1.7 } else { 1.0 };
    // What the lines hang in: a pulley on a connector, else a ring.
    let hold = if with_pulley {
        let stem = matches!(view.wood, Some((PieceKind::Stem, _)));
        let sheave_from = if view.wood.is_some() {
            drawn.connector(from, pull, stem && view.off_wood.x < 0.0)
        } else {
            from
        };
        let sheave = sheave_from + pull * (detail::PULLEY_EYE_MM - 0.6);
        for (index, a, b) in &passing {
            let path = round_sheave(sheave, *a, *b, out);
            drawn.draw(rope(path, *index, DETAIL_MM));
        }
        drawn.draw(detail::pulley(&Stance::new(sheave, -pull)));
        drawn.name("pulley", sheave + turned_left(pull) * 2.0);
        sheave
    } else {
        let ring = if view.wood.is_some() {
            from + pull * (detail::RING_MM * size - 0.4)
        } else {
            from
        };
        drawn.draw(detail::ring(ring, size));
        drawn.name("ring", ring + turned_left(pull) * (detail::RING_MM * size));
        for (index, a, b) in &passing {
            for (way, side) in [(a, 1.0), (b, -1.0)] {
                let start = ring + turned_left(pull) * (1.3 * side);
                let end = start + Stance::new(start, *way).along * out;
                drawn.draw(detail::straight(start, end, *index, 1.0));
            }
        }
        ring
    };
    for line in ends {
        let way = Stance::new(hold, line.ways.0).along;
        let tip = if with_pulley {
            hold
        } else {
            let rim = hold + way * (detail::RING_MM * size - 1.0);
            drawn.connector(rim, way, way.x > 0.0) - way * 1.4
        };
        drawn.tied(tip, way, line.index, out);
    }
    drawn.finish(centre, radius)
}

const fn turned_left(v: Vec2) -> Vec2 {
    Vec2::new(v.y, -v.x)
}

/// Wood through the circle: a piece that goes on beyond it on both sides.
fn wood(drawn: &mut View, kind: PieceKind, along: Vec2, middle: Point, thick: f64, seen: Rect) {
    let reach = Stance::new(middle, along).along * 80.0;
    let place = |p: Point| DVec3::new(p.x, 0.0, -p.y);
    let piece = Piece {
        name: "close view".into(),
        kind,
        from: place(middle - reach),
        to: place(middle + reach),
        diameter_m: (thick, thick * 0.94),
    };
    let whole = Tree {
        pieces: vec![piece],
        ..Tree::default()
    };
    // One millimetre stands for a metre here.
    let sight = Sight::elevation(Point::ORIGIN, 1.0);
    let wood = tree(&whole, &sight, Some(seen)).items;
    // Many close views show wood of the same sort: its groups have no names here.
    drawn.items.extend(wood.into_iter().map(|item| match item {
        Item::Group { clip, items, .. } => Item::Group {
            id: None,
            clip,
            items,
        },
        item => item,
    }));
}

/// A stem at one side with a band of webbing across it; returns where the next thing hangs.
fn stem_sling(drawn: &mut View, along: Vec2, off: Vec2, centre: Point, radius: f64) -> Point {
    let side = if off.x < 0.0 { -1.0 } else { 1.0 };
    let up = if along.y > 0.0 { -along } else { along };
    let edge = centre.x - side * 0.16 * radius;
    let middle = Point::new(edge - side * STEM_MM / 2.0, centre.y);
    let seen = Rect::from_center_size(centre, (2.0 * radius, 2.0 * radius));
    wood(drawn, PieceKind::Stem, up, middle, STEM_MM, seen);
    let y = centre.y - 0.62 * radius;
    let (a, b) = (
        Point::new(edge - side * (STEM_MM + 1.0), y),
        Point::new(edge + side * 0.4, y + 0.5),
    );
    drawn.draw(detail::band(a, b, 1.4, 0.9));
    drawn.name("anchor sling", a.lerp(b, 0.6) + Vec2::new(0.0, 1.4));
    b + Vec2::new(-side * 0.6, 0.3)
}

/// A limb across the top with a sling under it; returns where the next thing hangs: at the lower bark
/// where the sling is too `short` to hang free.
fn limb_sling(drawn: &mut View, along: Vec2, foot: Point, radius: f64, short: bool) -> Point {
    let along = Stance::new(foot, along).along;
    let seen = Rect::from_center_size(foot, (2.2 * radius, 2.6 * radius));
    let middle = foot + Vec2::new(0.0, -0.88 * radius + 0.5 * LIMB_MM);
    wood(drawn, PieceKind::Limb, along, middle, LIMB_MM, seen);
    let on_bark = middle + Vec2::new(0.0, 0.5 * LIMB_MM + 0.9);
    for side in [-1.0, 1.0] {
        let top = middle + along * (3.2 * side) + Vec2::new(0.0, -LIMB_MM);
        let knee = top + Vec2::new(0.0, 1.35 * LIMB_MM);
        let end = foot + Vec2::new(0.7 * side, 0.0);
        let path = if short {
            // To the ends of a connector that lies on the bark.
            let low = on_bark + along * (4.2 * side);
            smooth_open(&[top + along * (0.6 * side), low])
        } else {
            smooth_open(&[top, knee, end])
        };
        drawn.draw(detail::sling(path, 1.0));
    }
    drawn.name("anchor sling", middle + along * -3.2);
    if short {
        return on_bark;
    }
    foot + Vec2::new(0.0, -0.6)
}

/// A rope that lies over bark: one leg behind the wood, one before it.
fn over_bark(
    drawn: &mut View,
    view: &AnchorView,
    (kind, along): (PieceKind, Vec2),
    centre: Point,
    radius: f64,
) {
    let (stance, thick) = match kind {
        PieceKind::Stem => (Stance::new(centre, along), 0.8 * STEM_MM),
        PieceKind::Limb => (Stance::new(centre, along), 1.3 * LIMB_MM),
    };
    let out = 3.0 * radius;
    let seen = Rect::from_center_size(centre, (2.0 * radius, 2.0 * radius));
    let legs = |line: &AtPoint| {
        let way = |v: Vec2| Stance::new(centre, v).along;
        let (a, b) = (way(line.ways.0), way(line.ways.1.unwrap_or(line.ways.0)));
        // Legs cross the edge of the wood that lies away from their pull.
        let over = Stance::new(centre, -(a + b)).along;
        let top = centre + over * (thick / 2.0);
        let apart = stance.along * 1.5;
        [(top - apart, a), (top + apart, b)]
    };
    for line in &view.lines {
        let [_, (top, way)] = legs(line);
        // It comes out from behind the wood below the middle.
        let hidden = top + way * (thick / 2.0);
        drawn.draw(detail::straight(hidden, top + way * out, line.index, 1.0));
    }
    wood(drawn, kind, along, centre, thick, seen);
    for line in &view.lines {
        let [(top, way), _] = legs(line);
        drawn.draw(detail::straight(top, top + way * out, line.index, 1.0));
        drawn.name("rope over the bark", top + way * (0.4 * thick));
    }
}

/// The middle line of a rope over a sheave, from far along one way to far along the other.
fn round_sheave(sheave: Point, a: Vec2, b: Vec2, out: f64) -> kurbo::BezPath {
    let (a, b) = (Stance::new(sheave, a).along, Stance::new(sheave, b).along);
    let crown = Stance::new(sheave, -(a + b)).along;
    // Each leg touches the sheave on its own side of the crown.
    let side = |way: Vec2, left: bool| {
        let normal = turned_left(way);
        let keep = if left { normal } else { -normal };
        sheave + keep * detail::SHEAVE_MM
    };
    // Parallel legs have no side of their own: the first takes the left.
    let a_left = a.cross(b) >= 0.0;
    let (from, to) = (side(a, a_left), side(b, !a_left));
    let mut path = polyline(&[from + a * out, from]);
    path.quad_to(
        from + (sheave + crown * 1.2 * detail::SHEAVE_MM - from) * 0.55,
        sheave + crown * detail::SHEAVE_MM,
    );
    path.quad_to(
        to + (sheave + crown * 1.2 * detail::SHEAVE_MM - to) * 0.55,
        to,
    );
    path.line_to(to + b * out);
    path
}

/// Draws the harness seen close, in a circle.
pub fn harness(lines: &[AtHarness], centre: Point, radius: f64) -> CloseUp {
    let out = 3.0 * radius;
    let mut drawn = View::default();
    let belt =
        Stance::new(centre + Vec2::new(0.0, 0.40 * radius), Vec2::new(0.0, -1.0)).scaled(1.7);
    drawn.draw(detail::harness(&belt));
    let mut order: Vec<&AtHarness> = lines.iter().collect();
    order.sort_by(|a, b| a.way.x.total_cmp(&b.way.x));
    let on_bridge = order
        .iter()
        .filter(|l| l.attachment == Attachment::Bridge)
        .count();
    let mut nth = 0;
    for line in order {
        let way = Stance::new(centre, line.way).along;
        let from = if line.attachment == Attachment::Bridge {
            nth += 1;
            // Side by side on the arch of the bridge.
            let share = (f64::from(nth) - 0.5) / on_bridge as f64 - 0.5;
            let x = share * 2.0 * 1.6;
            belt.point(detail::BRIDGE.1 - 0.22 * x * x, x)
        } else {
            let at = detail::attachment_place(&belt, line.attachment);
            drawn.draw(detail::attachment_ring(at, 1.7));
            drawn.name(&line.attachment.word().replace('-', " "), at);
            at
        };
        tie(&mut drawn, line, from, way, out);
    }
    if on_bridge > 0 {
        drawn.name("bridge", belt.point(2.1, -1.95));
        drawn.name("bridge", belt.point(2.1, 1.95));
    }
    drawn.finish(centre, radius)
}

/// A line from the harness outwards: connector, eye, hitch with its cord, tail and stopper.
fn tie(drawn: &mut View, line: &AtHarness, from: Point, way: Vec2, out: f64) {
    let side = if way.x < 0.0 { -1.0 } else { 1.0 };
    let end = drawn.connector(from - way * 0.4, way, way.x < 0.0) - way * 1.2;
    let Some(hitch) = &line.hitch else {
        drawn.tied(end, way, line.index, out);
        return;
    };
    // The hitched leg lies on the outer side of the other one, if there is one.
    let outward = if turned_left(way).x * side > 0.0 {
        turned_left(way)
    } else {
        -turned_left(way)
    };
    let aside = if line.doubled { 4.6 } else { 0.6 };
    let far = if line.doubled { 5.5 } else { 7.5 };
    let at = end + outward * aside + way * far;
    let stance = Stance::new(at, way);
    let low = stance.point(-3.4, 0.0);
    let tail_end = Point::new(low.x + side * 5.0, low.y + 14.0);
    let tail = smooth_open(&[
        low,
        low - way * 2.4 + Vec2::new(side * 0.9, 0.6),
        Point::new(tail_end.x - side * 0.5, low.y.midpoint(tail_end.y)),
        tail_end,
    ]);
    let mut path = polyline(&[stance.point(out, 0.0), low]);
    path.extend(tail.elements().iter().skip(1).copied());
    drawn.draw(rope(path, line.index, DETAIL_MM));
    let cord = smooth_open(&[
        stance.point(-2.6, 0.0),
        low - outward * 0.9 - way * 1.2,
        end + way * 0.6,
    ]);
    drawn.draw(vec![
        Shape::stroked(cord.clone(), Stroke::solid(Ink::Paper, 1.7)),
        Shape::stroked(cord, Stroke::solid(Ink::line(line.index), 1.05)),
    ]);
    drawn.draw(detail::hitch(&stance, line.index));
    drawn.name(hitch, stance.point(0.0, 1.6));
    if line.stopper {
        let knot = Stance::new(tail_end, from_down(0.0));
        drawn.draw(detail::stopper(&knot, line.index));
        drawn.name("stopper knot", tail_end);
        drawn.name("stopper knot", tail_end + Vec2::new(0.0, 1.4));
    }
    if line.doubled {
        drawn.tied(end, way, line.index, out);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(view: &CloseUp) -> Vec<&str> {
        view.parts.iter().map(|part| part.words.as_str()).collect()
    }

    fn down_right(index: usize, passes: bool) -> AtPoint {
        let way = Vec2::new(0.6, 0.8);
        AtPoint {
            index,
            ways: (way, passes.then_some(way)),
        }
    }

    #[test]
    fn a_pulley_on_a_stem_shows_sling_connector_pulley() {
        let view = AnchorView {
            wood: Some((PieceKind::Stem, Vec2::new(0.0, -1.0))),
            off_wood: Vec2::new(1.0, 0.0),
            over: Some(Over::Pulley),
            closing: None,
            lines: vec![down_right(0, true)],
        };
        let drawn = anchor(&view, Point::new(30.0, 30.0), 19.0);
        assert_eq!(words(&drawn), ["anchor sling", "connector", "pulley"]);
    }

    #[test]
    fn a_line_made_fast_ends_in_an_eye() {
        let view = AnchorView {
            wood: Some((PieceKind::Limb, Vec2::new(1.0, -0.1))),
            off_wood: Vec2::new(0.0, 1.0),
            over: None,
            closing: None,
            lines: vec![down_right(1, false)],
        };
        let drawn = anchor(&view, Point::new(30.0, 30.0), 19.0);
        assert_eq!(
            words(&drawn),
            ["anchor sling", "ring", "connector", "tied eye"]
        );
    }

    #[test]
    fn a_loop_that_is_too_short_shows_its_connector_across() {
        let view = |closing| AnchorView {
            wood: Some((PieceKind::Limb, Vec2::new(1.0, -0.1))),
            off_wood: Vec2::new(0.0, 1.0),
            over: None,
            closing,
            lines: vec![down_right(1, false)],
        };
        let closing = Closing {
            across: true,
            gate_to_rope: true,
        };
        let wrong = anchor(&view(Some(closing)), Point::new(30.0, 30.0), 19.0);
        for wanted in ["pulled across", "gate to the rope"] {
            assert!(words(&wrong).contains(&wanted), "{:?}", words(&wrong));
        }
        let right = Closing {
            across: false,
            gate_to_rope: false,
        };
        let right = anchor(&view(Some(right)), Point::new(30.0, 30.0), 19.0);
        assert!(words(&right).contains(&"closing connector"));
        assert!(!words(&right).contains(&"gate to the rope"));
    }

    #[test]
    fn the_harness_shows_what_each_line_is_tied_with() {
        let line = |index: usize, x: f64, hitch: Option<&str>| AtHarness {
            index,
            attachment: Attachment::Bridge,
            way: Vec2::new(x, -1.0),
            doubled: index == 0,
            hitch: hitch.map(String::from),
            stopper: true,
        };
        let with = harness(
            &[line(0, -0.9, Some("hitch")), line(1, 0.5, Some("hitch"))],
            Point::new(40.0, 40.0),
            26.0,
        );
        for wanted in ["tied eye", "connector", "hitch", "bridge", "stopper knot"] {
            assert!(
                words(&with).contains(&wanted),
                "{wanted}: {:?}",
                words(&with)
            );
        }
        let without = harness(&[line(1, 0.5, None)], Point::new(40.0, 40.0), 26.0);
        assert!(!words(&without).contains(&"hitch"));
    }

    #[test]
    fn named_parts_lie_inside_the_circle() {
        let centre = Point::new(40.0, 40.0);
        let view = AnchorView {
            wood: None,
            off_wood: Vec2::ZERO,
            over: Some(Over::Ring),
            closing: None,
            lines: vec![down_right(0, true), down_right(1, false)],
        };
        for part in anchor(&view, centre, 19.0).parts {
            assert!(part.places.iter().all(|(at, _)| at.distance(centre) < 19.0));
        }
    }
}
