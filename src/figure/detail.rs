//! Hardware and knots seen close: for the circles of `setup`, the strip, and drawings of mistakes.
//!
//! Each is drawn in a [`Stance`]: where it is, which way it is pulled, how large. At size 1 a
//! connector is 11 mm long, as in the circles; line weights stay the same at every size. The stance's
//! `y` side is where a gate or a tail lies, and mirroring the stance moves it over.
//!
//! At a join, draw first what the eye would see last: connector, then the eye over it; bridge, then
//! the connector over it; rope, then the hitch over it.

use kurbo::{BezPath, Point, Vec2};

use super::curve::{
    Stance, circle, from_down, joined, polygon, polyline, smooth_closed, smooth_open,
};
use super::rope::{self, DETAIL_MM};
use super::shape::{Cap, Ink, Shape, Stroke};

/// Length of a connector at size 1, mm.
pub const CONNECTOR_MM: f64 = 11.0;
/// Radius of a ring's middle line at size 1, mm.
pub const RING_MM: f64 = 3.1;
/// From a pulley's axle to the hole of its eye at size 1, mm.
pub const PULLEY_EYE_MM: f64 = 5.3;
/// Radius of a pulley's sheave, where the rope's middle runs, at size 1, mm.
pub const SHEAVE_MM: f64 = 3.4;
/// Length of a hitch at size 1, mm.
pub const HITCH_MM: f64 = 7.2;
/// From the tip of an eye to the middle of its knot or seam at size 1, mm.
pub const EYE_MM: f64 = 8.4;
/// Outline of metal, mm.
const METAL_EDGE_MM: f64 = 0.4;
/// Paper round a part, mm.
const EDGE_MM: f64 = 0.45;

/// Metal bent to a shape: paper, dark edge, pale body.
fn bent(path: &BezPath, body_mm: f64) -> Vec<Shape> {
    let at = |width: f64, ink: Ink| Shape::stroked(path.clone(), Stroke::solid(ink, width));
    let edge = body_mm + 2.0 * METAL_EDGE_MM;
    vec![
        at(edge + 2.0 * EDGE_MM, Ink::Paper),
        at(edge, Ink::MetalEdge),
        at(body_mm, Ink::Metal),
    ]
}

/// A connector, centred, long axis along the stance: spine on the far side, gate with its locking
/// sleeve on the `y` side, wide end forward.
pub fn connector(stance: &Stance) -> Vec<Shape> {
    let p = |x: f64, y: f64| stance.point(x, y);
    let mut body = BezPath::new();
    body.move_to(p(-3.45, -2.0));
    body.line_to(p(3.85, -2.0));
    body.curve_to(p(5.65, -2.0), p(5.9, 1.5), p(3.95, 1.95));
    body.line_to(p(-2.55, 1.37));
    body.curve_to(p(-4.65, 0.78), p(-4.8, -2.0), p(-3.45, -2.0));
    body.close_path();
    let mut shapes = bent(&body, 0.9 * stance.scale);
    let gate = |t: f64, off: f64| {
        let (x, y) = (-2.55 + 6.5 * t, 1.37 + 0.58 * t);
        p(x - 0.09 * off, y + off)
    };
    let sleeve = [(0.18, -1.0), (0.78, -1.0), (0.78, 1.0), (0.18, 1.0)];
    let sleeve = polygon(&sleeve.map(|(t, side)| gate(t, 0.92 * side)));
    let lines = [0.33, 0.48, 0.63].map(|t| polyline(&[gate(t, -0.6), gate(t, 0.6)]));
    let edge = Stroke::solid(Ink::MetalEdge, METAL_EDGE_MM);
    shapes.push(Shape::both(sleeve, Ink::Paper, edge));
    shapes.push(Shape::stroked(
        joined(lines),
        Stroke::solid(Ink::MetalEdge, 0.25).cap(Cap::Butt),
    ));
    shapes
}

/// A ring, centred.
pub fn ring(at: Point, scale: f64) -> Vec<Shape> {
    bent(&circle(at, RING_MM * scale), 0.85 * scale)
}

/// A pulley whose sheave is at the stance's place and whose eye lies forward: cheek plate over the
/// sheave. Draw the rope before it.
pub fn pulley(stance: &Stance) -> Vec<Shape> {
    let nodes = [
        (7.5, 0.0),
        (6.9, 1.35),
        (4.6, 2.0),
        (1.2, 2.75),
        (-1.6, 2.6),
        (-2.75, 1.5),
        (-2.95, 0.0),
    ];
    let mirrored = nodes[1..6].iter().rev().map(|&(x, y)| (x, -y));
    let outline: Vec<Point> = nodes
        .into_iter()
        .chain(mirrored)
        .map(|(x, y)| stance.point(x, y))
        .collect();
    let plate = smooth_closed(&outline);
    let edge = Stroke::solid(Ink::MetalEdge, 0.45);
    let sheave = circle(stance.at, 3.2 * stance.scale);
    let holes = [
        circle(stance.at, 0.85 * stance.scale),
        circle(stance.point(PULLEY_EYE_MM, 0.0), 0.95 * stance.scale),
    ];
    vec![
        Shape::both(sheave, Ink::Paper, edge.clone()),
        Shape::stroked(
            plate.clone(),
            Stroke::solid(Ink::Paper, 0.45 + 2.0 * EDGE_MM),
        ),
        Shape::both(plate, Ink::Metal, edge.clone()),
        Shape::both(joined(holes), Ink::Paper, edge),
    ]
}

/// A hitch of five turns round a rope along the stance. Draw the rope before it.
pub fn hitch(stance: &Stance, index: usize) -> Vec<Shape> {
    let s = stance.scale;
    let body = polyline(&[stance.point(-3.2, 0.0), stance.point(3.2, 0.0)]);
    let turns = |shorter: f64| {
        joined([-2.0, -1.0, 0.0, 1.0, 2.0].map(|turn| {
            let (x, reach) = (1.32 * turn, 1.7 - shorter);
            let lean = 0.42 * reach / 1.7;
            polyline(&[
                stance.point(x - lean, -reach),
                stance.point(x + lean, reach),
            ])
        }))
    };
    let ink = Ink::line(index);
    vec![
        Shape::stroked(
            body.clone(),
            Stroke::solid(Ink::Paper, 4.2 * s).cap(Cap::Butt),
        ),
        Shape::stroked(body, Stroke::solid(ink, 0.85 * s).cap(Cap::Butt)),
        Shape::stroked(turns(0.0), Stroke::solid(ink, 1.12 * s)),
        Shape::stroked(turns(0.25), Stroke::solid(Ink::Paper, 0.38 * s)),
    ]
}

/// A stopper knot on a rope along the stance, centred.
pub fn stopper(stance: &Stance, index: usize) -> Vec<Shape> {
    knot(stance, index, 1.0)
}

/// The body of a knot: a rounded lump with two crossing turns.
fn knot(stance: &Stance, index: usize, size: f64) -> Vec<Shape> {
    let p = |x: f64, y: f64| stance.point(x * size, y * size);
    let body = smooth_closed(&[
        p(-2.3, 0.0),
        p(-1.1, -1.5),
        p(0.75, -1.65),
        p(2.3, 0.0),
        p(1.1, 1.5),
        p(-0.75, 1.65),
    ]);
    let over = polyline(&[p(-0.65, -1.3), p(0.65, 1.3)]);
    let under = joined([
        polyline(&[p(-1.35, 0.75), p(-0.2, 0.1)]),
        polyline(&[p(0.2, -0.1), p(1.35, -0.75)]),
    ]);
    let thin = 0.4 * size * stance.scale;
    vec![
        Shape::stroked(body.clone(), Stroke::solid(Ink::Paper, 2.0 * EDGE_MM)),
        Shape::filled(body, Ink::line(index)),
        Shape::stroked(joined([over, under]), Stroke::solid(Ink::Paper, thin)),
    ]
}

/// The loop of an eye whose tip is at the stance's place; its rope leaves forward.
fn eye(stance: &Stance, index: usize) -> Vec<Shape> {
    let p = |x: f64, y: f64| stance.point(x, y);
    let path = smooth_open(&[
        p(6.6, -0.35),
        p(4.4, -1.7),
        p(1.5, -1.6),
        p(0.45, 0.0),
        p(1.5, 1.6),
        p(4.4, 1.7),
        p(6.6, 0.35),
    ]);
    let width = 0.78 * DETAIL_MM * stance.scale;
    vec![
        Shape::stroked(
            path.clone(),
            Stroke::solid(Ink::Paper, width + 2.0 * EDGE_MM).cap(Cap::Butt),
        ),
        Shape::stroked(path, Stroke::solid(Ink::line(index), width)),
    ]
}

/// A tied eye: the tip of its loop is at the stance's place, its rope leaves forward.
pub fn tied_eye(stance: &Stance, index: usize) -> Vec<Shape> {
    let mut shapes = eye(stance, index);
    let lump = Stance {
        at: stance.point(EYE_MM - 0.6, 0.0),
        ..*stance
    };
    shapes.extend(knot(&lump, index, 0.85));
    shapes
}

/// A sewn eye: as [`tied_eye`], closed by a seam.
pub fn sewn_eye(stance: &Stance, index: usize) -> Vec<Shape> {
    let mut shapes = eye(stance, index);
    let p = |x: f64, y: f64| stance.point(x, y);
    let seam = polygon(&[p(5.6, -1.15), p(10.2, -0.85), p(10.2, 0.85), p(5.6, 1.15)]);
    let stitches = [6.5, 7.4, 8.3, 9.2].map(|x| polyline(&[p(x, -0.65), p(x, 0.65)]));
    shapes.push(Shape::both(
        seam.clone(),
        Ink::line(index),
        Stroke::solid(Ink::Paper, 2.0 * EDGE_MM),
    ));
    shapes.push(Shape::filled(seam, Ink::line(index)));
    shapes.push(Shape::stroked(
        joined(stitches),
        Stroke::solid(Ink::Paper, 0.3 * stance.scale),
    ));
    shapes
}

/// A straight rope in a close view.
pub fn straight(from: Point, to: Point, index: usize, scale: f64) -> Vec<Shape> {
    rope::rope(polyline(&[from, to]), index, DETAIL_MM * scale)
}

/// A webbing or cord sling along a path, with its stitched middle.
pub fn sling(path: BezPath, scale: f64) -> Vec<Shape> {
    let width = 1.5 * scale;
    let seam = Stroke::dashed(Ink::Paper, 0.3 * scale, &[0.8 * scale, 0.8 * scale]);
    vec![
        Shape::stroked(
            path.clone(),
            Stroke::solid(Ink::Paper, width + 2.0 * EDGE_MM),
        ),
        Shape::stroked(path.clone(), Stroke::solid(Ink::Ink, width)),
        Shape::stroked(path, seam),
    ]
}

/// The middle line of a loop round a limb seen end-on: over the wood of `radius` (mm) about `centre`,
/// and down to its foot along both tangents.
pub fn loop_round(centre: Point, radius: f64, foot: Point) -> BezPath {
    let stance = Stance::new(centre, foot - centre);
    let d = centre.distance(foot).max(1.02 * radius);
    // A tangent from the foot touches at acos(r/d) from the way to the foot.
    let cos = radius / d;
    let touch = libm::acos(cos);
    let sweep = std::f64::consts::TAU - 2.0 * touch;
    /// Arcs of the circle, each under a quarter turn.
    const ARCS: u32 = 5;
    let step = sweep / f64::from(ARCS);
    // Length of an arc's handles as a share of the radius.
    let handle = 4.0 / 3.0 * libm::tan(step / 4.0);
    let on = |angle: f64| {
        let v = from_down(angle);
        // from_down: x = sin, y = cos; here along = cos, across = sin.
        let place = stance.at + (stance.along * v.y + stance.across() * v.x) * radius;
        let way = (stance.across() * v.y - stance.along * v.x) * radius;
        (place, way)
    };
    let mut path = BezPath::new();
    path.move_to(foot);
    path.line_to(on(touch).0);
    for arc in 0..ARCS {
        let (a, b) = (
            touch + step * f64::from(arc),
            touch + step * f64::from(arc + 1),
        );
        let ((from, out), (to, back)) = (on(a), on(b));
        path.curve_to(from + out * handle, to - back * handle, to);
    }
    path.line_to(foot);
    path
}

/// The harness from the front: belt, leg loops, bridge with its two rings. The stance's place is the
/// middle of the belt; forward is up, towards the bridge.
pub fn harness(stance: &Stance) -> Vec<Shape> {
    let p = |x: f64, y: f64| stance.point(y, x);
    let s = stance.scale;
    let near = |path: BezPath, width: f64| {
        [
            Shape::stroked(
                path.clone(),
                Stroke::solid(Ink::Paper, width * s + 2.0 * EDGE_MM),
            ),
            Shape::stroked(path, Stroke::solid(Ink::Near, width * s)),
        ]
    };
    let mut shapes = Vec::new();
    for side in [1.0, -1.0] {
        let leg = [
            (1.6, -1.0),
            (1.1, -2.95),
            (2.3, -4.55),
            (4.1, -3.6),
            (4.0, -0.7),
        ];
        let path = smooth_open(&leg.map(|(x, y)| p(x * side, y)));
        shapes.extend(near(path, 0.92));
    }
    let belt = [
        (-4.5, 1.75),
        (-2.25, 1.0),
        (0.0, 0.85),
        (2.25, 1.0),
        (4.5, 1.75),
        (4.5, -0.3),
        (2.25, -1.0),
        (0.0, -1.2),
        (-2.25, -1.0),
        (-4.5, -0.3),
    ];
    let belt = smooth_closed(&belt.map(|(x, y)| p(x, y)));
    shapes.push(Shape::stroked(
        belt.clone(),
        Stroke::solid(Ink::Paper, 2.0 * EDGE_MM),
    ));
    shapes.push(Shape::filled(belt, Ink::Near));
    let seam = [
        (-4.2, 0.7),
        (-2.25, 0.08),
        (0.0, -0.15),
        (2.25, 0.08),
        (4.2, 0.7),
    ];
    shapes.push(Shape::stroked(
        smooth_open(&seam.map(|(x, y)| p(x, y))),
        Stroke::dashed(Ink::Kit, 0.25 * s, &[0.55 * s, 0.4 * s]),
    ));
    let bridge = [
        (-BRIDGE.0, 0.5),
        (-1.8, 2.3),
        (0.0, BRIDGE.1),
        (1.8, 2.3),
        (BRIDGE.0, 0.5),
    ];
    shapes.extend(near(smooth_open(&bridge.map(|(x, y)| p(x, y))), 0.62));
    let rings = [1.0, -1.0].map(|side| circle(p(BRIDGE.0 * side, 0.4), 0.52 * s));
    shapes.push(Shape::both(
        joined(rings),
        Ink::Metal,
        Stroke::solid(Ink::MetalEdge, METAL_EDGE_MM),
    ));
    shapes
}

/// The bridge: half its width and its top above the middle of the belt, at size 1, mm.
pub const BRIDGE: (f64, f64) = (2.4, 3.05);

/// Where an attachment of the harness lies in the view of [`harness`].
pub fn attachment_place(stance: &Stance, attachment: crate::rig::Attachment) -> Point {
    use crate::rig::Attachment;
    let (x, y) = match attachment {
        Attachment::Bridge => (0.0, BRIDGE.1),
        Attachment::Centre => (0.0, 0.0),
        Attachment::FrontLeft => (-BRIDGE.0, 0.4),
        Attachment::FrontRight => (BRIDGE.0, 0.4),
        Attachment::SideLeft => (-4.3, 0.7),
        Attachment::SideRight => (4.3, 0.7),
        Attachment::Rear => (0.0, 1.4),
    };
    stance.point(y, x)
}

/// A small ring on the harness, for a line that meets it elsewhere than at the bridge.
pub fn attachment_ring(at: Point, scale: f64) -> Vec<Shape> {
    let edge = Stroke::solid(Ink::MetalEdge, METAL_EDGE_MM);
    vec![
        Shape::filled(circle(at, 0.52 * scale + EDGE_MM), Ink::Paper),
        Shape::both(circle(at, 0.52 * scale), Ink::Metal, edge),
    ]
}

/// A band of webbing across wood that is seen from the side, from edge to edge, with its hang.
pub fn band(from: Point, to: Point, hang: f64, scale: f64) -> Vec<Shape> {
    let mut path = BezPath::new();
    path.move_to(from);
    path.quad_to(from.midpoint(to) + Vec2::new(0.0, 2.0 * hang), to);
    sling(path, 1.6 * scale)
}

/// The clipped circle of a close view: its clip, and the ring to draw over it.
pub fn window(centre: Point, radius: f64) -> (BezPath, Shape) {
    let ring = circle(centre, radius);
    let edge = Shape::stroked(ring.clone(), Stroke::solid(Ink::Ink, 0.35));
    (ring, edge)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rig::Attachment;
    use kurbo::{Rect, Shape as _};

    fn bounds(shapes: &[Shape]) -> Rect {
        let boxes = shapes.iter().map(|shape| {
            let half = shape.stroke.as_ref().map_or(0.0, |s| s.width_mm / 2.0);
            let paper = shape.stroke.as_ref().is_some_and(|s| s.ink == Ink::Paper);
            shape
                .path
                .bounding_box()
                .inset(if paper { 0.0 } else { half })
        });
        boxes.reduce(|a, b| a.union(b)).unwrap()
    }

    #[test]
    fn a_connector_has_its_length_at_every_angle_and_its_gate_on_the_asked_side() {
        for along in [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0)] {
            let stance = Stance::new(Point::ORIGIN, along);
            let found = bounds(&connector(&stance));
            let long = found.width().max(found.height());
            assert!((long - CONNECTOR_MM).abs() < 0.6, "{long}");
        }
        let stance = Stance::new(Point::ORIGIN, Vec2::new(1.0, 0.0));
        let sleeve = |stance: &Stance| connector(stance)[3].path.bounding_box().center().y;
        assert!(sleeve(&stance) > 0.0);
        assert!(sleeve(&stance.mirrored()) < 0.0);
    }

    #[test]
    fn a_loop_touches_the_limb_and_meets_at_its_foot() {
        // Tangents from a point at distance d to a circle: length √(d² − r²) each; the arc over the
        // circle is 2π − 2·acos(r/d). With d = 2r: √3·r each and 4π/3·r.
        let (r, foot) = (5.0, Point::new(0.0, 10.0));
        let path = loop_round(Point::ORIGIN, r, foot);
        let want = 2.0 * 3.0_f64.sqrt() * r + 4.0 * std::f64::consts::PI / 3.0 * r;
        let got = path.perimeter(1e-6);
        assert!((got - want).abs() < 0.01, "{got} {want}");
        for seg in path.segments() {
            use kurbo::ParamCurve as _;
            assert!(seg.eval(0.5).distance(Point::ORIGIN) > r - 0.01);
        }
    }

    #[test]
    fn attachments_lie_apart_on_the_harness() {
        let stance = Stance::new(Point::ORIGIN, Vec2::new(0.0, -1.0)).scaled(1.9);
        let places = Attachment::ALL.map(|a| attachment_place(&stance, a));
        for (i, a) in places.iter().enumerate() {
            for b in &places[i + 1..] {
                assert!(a.distance(*b) > 1.0, "{a:?} {b:?}");
            }
        }
        assert!(places[0].y < 0.0, "the bridge is above the belt");
    }

    #[test]
    fn eyes_are_told_apart_by_knot_and_seam() {
        let stance = Stance::new(Point::ORIGIN, Vec2::new(1.0, 0.0));
        assert_ne!(tied_eye(&stance, 0).len(), 0);
        assert_ne!(tied_eye(&stance, 0), sewn_eye(&stance, 0));
        let tip = bounds(&tied_eye(&stance, 0)).x0;
        assert!(tip.abs() < 0.8, "{tip}");
    }
}
