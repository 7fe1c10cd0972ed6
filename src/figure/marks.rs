//! Small marks of a rig figure: hardware at points, hitches, stoppers, slings, signs.
//!
//! Each has its own shape, after trade and ISO practice, in sizes that do not depend on the scale of
//! the figure; every one stands on a paper edge, so that it reads on wood and over ropes.

use glam::DVec3;
use kurbo::{BezPath, Point, Rect, Shape as _, Vec2};

use super::curve::{Stance, circle, ellipse, joined, polygon, polyline};
use super::frame::Sight;
use super::shape::{Cap, Ink, Join, Shape, Stroke};
use crate::rig::{Piece, PieceKind};

/// Radius of a pulley's disc, mm.
pub const PULLEY_MM: f64 = 1.5;
/// Radius of a ring's middle line, mm.
pub const RING_MM: f64 = 1.15;
/// Outer radius of the harness point's ring, mm.
pub const HARNESS_MM: f64 = 1.3;
/// Half length and half width of a hitch, mm.
pub const HITCH_MM: (f64, f64) = (1.6, 0.95);
/// Half axes of a stopper knot, mm: along the rope and across.
pub const STOPPER_MM: (f64, f64) = (1.15, 0.85);
/// Paper round a mark, mm.
const EDGE_MM: f64 = 0.5;
/// Outline of metal, mm.
const METAL_MM: f64 = 0.45;
/// Width of a sling's legs, mm.
const SLING_MM: f64 = 0.75;

/// A pulley: a disc with its axle.
pub fn pulley(at: Point) -> Vec<Shape> {
    let edge = Stroke::solid(Ink::MetalEdge, METAL_MM);
    vec![
        Shape::filled(circle(at, PULLEY_MM + EDGE_MM), Ink::Paper),
        Shape::both(circle(at, PULLEY_MM), Ink::Metal, edge),
        Shape::filled(circle(at, 0.42), Ink::MetalEdge),
    ]
}

/// A ring.
pub fn ring(at: Point) -> Vec<Shape> {
    let stroke = Stroke::solid(Ink::MetalEdge, 0.65);
    vec![
        Shape::filled(circle(at, RING_MM + 0.75), Ink::Paper),
        Shape::both(circle(at, RING_MM), Ink::Paper, stroke),
    ]
}

/// A place where something is made fast without a mark of its own: a filled dot.
pub fn anchor(at: Point) -> Vec<Shape> {
    vec![
        Shape::filled(circle(at, 1.0 + EDGE_MM), Ink::Paper),
        Shape::filled(circle(at, 1.0), Ink::MetalEdge),
    ]
}

/// A connector, long axis along `along`: a slim ring.
pub fn connector(at: Point, along: Vec2) -> Vec<Shape> {
    let stance = Stance::new(at, along);
    let body = ellipse(&stance, 1.75, 0.95);
    vec![
        Shape::stroked(body.clone(), Stroke::solid(Ink::Paper, 1.4)),
        Shape::both(body, Ink::Paper, Stroke::solid(Ink::MetalEdge, 0.55)),
    ]
}

/// The harness point, where the forces meet.
pub fn harness_point(at: Point) -> Vec<Shape> {
    let stroke = Stroke::solid(Ink::Ink, 0.6);
    vec![
        Shape::filled(circle(at, HARNESS_MM + 0.35), Ink::Paper),
        Shape::both(circle(at, HARNESS_MM - 0.3), Ink::Paper, stroke),
    ]
}

/// A force that goes into the sheet, such as the weight seen from above: a ring with a cross.
pub fn into_sheet(at: Point) -> Vec<Shape> {
    let stance = Stance::new(at, Vec2::new(1.0, 1.0));
    let reach = 1.15;
    let cross = joined([
        polyline(&[stance.point(-reach, 0.0), stance.point(reach, 0.0)]),
        polyline(&[stance.point(0.0, -reach), stance.point(0.0, reach)]),
    ]);
    let stroke = Stroke::solid(Ink::Ink, 0.5);
    vec![
        Shape::filled(circle(at, 2.0), Ink::Paper),
        Shape::both(circle(at, 1.4), Ink::Paper, stroke.clone()),
        Shape::stroked(cross, stroke.cap(Cap::Butt)),
    ]
}

/// A hitch on a rope that runs along `along`: four turns across it.
pub fn hitch(at: Point, along: Vec2, index: usize) -> Vec<Shape> {
    /// From turn to turn, mm.
    const PITCH_MM: f64 = 0.82;
    let stance = Stance::new(at, along);
    let (half_long, half_wide) = HITCH_MM;
    let plate = polygon(&[
        stance.point(-half_long, -half_wide),
        stance.point(half_long, -half_wide),
        stance.point(half_long, half_wide),
        stance.point(-half_long, half_wide),
    ]);
    let turns = [-1.5, -0.5, 0.5, 1.5].map(|turn| {
        let x = turn * PITCH_MM;
        let reach = half_wide - 0.15;
        polyline(&[stance.point(x - 0.2, -reach), stance.point(x + 0.2, reach)])
    });
    vec![
        Shape::both(plate, Ink::Paper, Stroke::solid(Ink::Paper, 0.5)),
        Shape::stroked(joined(turns), Stroke::solid(Ink::line(index), 0.58)),
    ]
}

/// A stopper knot on a rope that runs along `along`.
pub fn stopper(at: Point, along: Vec2, index: usize) -> Vec<Shape> {
    let stance = Stance::new(at, along);
    let body = ellipse(&stance, STOPPER_MM.0, STOPPER_MM.1);
    let turn = polyline(&[stance.point(-0.5, -0.55), stance.point(0.5, 0.55)]);
    vec![
        Shape::stroked(body.clone(), Stroke::solid(Ink::Paper, 0.9)),
        Shape::filled(body, Ink::line(index)),
        Shape::stroked(turn, Stroke::solid(Ink::Paper, 0.3)),
    ]
}

/// The sling that carries a point: a band round the wood and two legs down to the point; and the box
/// it fills. `piece` is the wood that the point hangs from, `at` the point in the tree.
pub fn sling(piece: &Piece, at: DVec3, sight: &Sight) -> (Vec<Shape>, Rect) {
    let point = sight.place(at);
    let (from, to) = (sight.place(piece.from), sight.place(piece.to));
    let axis = to - from;
    let length = axis.hypot();
    let share = |p: Point| ((p - from).dot(axis) / (length * length)).clamp(0.0, 1.0);
    let radius = |t: f64| {
        let (thick, thin) = piece.diameter_m;
        (thick + (thin - thick) * t) / 2.0 * sight.mm_per_m()
    };
    match piece.kind {
        PieceKind::Stem => {
            /// The band lies so far above its point, mm.
            const RISE_MM: f64 = 9.0;
            let up = if axis.y <= 0.0 { axis } else { -axis } / length;
            let t = share(point + up * RISE_MM);
            on_stem(Stance::new(from + axis * t, -up), radius(t), point)
        }
        PieceKind::Limb => {
            let t = share(point);
            // Straight above or below the point as far as the limb allows.
            let lean = if axis.x.abs() > 0.3 * length {
                ((point.x - from.x) / axis.x).clamp(0.0, 1.0)
            } else {
                t
            };
            on_limb(from + axis * lean, axis / length, radius(lean), point)
        }
    }
}

/// A band across a stem: `stance` looks down along it. Legs run to the point.
fn on_stem(stance: Stance, radius: f64, point: Point) -> (Vec<Shape>, Rect) {
    /// How much the band's curve hangs, and its height, mm.
    const SAG_MM: f64 = 0.9;
    const HIGH_MM: f64 = 1.4;
    let reach = radius + 0.3;
    let at = |across: f64, down: f64| stance.point(down, across);
    let mut band = BezPath::new();
    band.move_to(at(-reach, -SAG_MM));
    band.quad_to(at(0.0, SAG_MM), at(reach, -SAG_MM));
    band.line_to(at(reach, HIGH_MM - SAG_MM));
    band.quad_to(at(0.0, HIGH_MM + SAG_MM), at(-reach, HIGH_MM - SAG_MM));
    band.close_path();
    let beside = (point - stance.at).dot(stance.across());
    let root = (0.3 * beside).clamp(-0.6 * radius, 0.6 * radius);
    let end = Stance::new(point, at(root, HIGH_MM) - point);
    let legs = [-1.0, 1.0].map(|side| {
        let sag = SAG_MM * (1.0 - (root / reach).abs());
        let foot = end.at + end.along * 1.2 + stance.across() * (0.3 * side);
        polyline(&[at(root + 0.47 * side, HIGH_MM - SAG_MM + sag - 0.3), foot])
    });
    let ticks = [-0.58, -0.2, 0.18, 0.56].map(|share: f64| {
        let x = share * reach;
        let hang = SAG_MM * (1.0 - 2.0 * share * share);
        polyline(&[at(x - 0.12, hang - 0.6), at(x + 0.22, hang - 0.6 + HIGH_MM)])
    });
    banded(band, joined(legs), joined(ticks))
}

/// A band round a limb that is seen from the side. Legs run down (or up) to the point.
fn on_limb(centre: Point, along: Vec2, radius: f64, point: Point) -> (Vec<Shape>, Rect) {
    let below = point.y >= centre.y;
    // Looks from the limb to the point; y runs along the limb.
    let across = Vec2::new(-along.y, along.x);
    let out = if (across.y >= 0.0) == below {
        across
    } else {
        -across
    };
    let stance = Stance::new(centre, out);
    let (top, bottom) = (-radius - 0.45, radius + 0.15);
    let at = |x: f64, out: f64| stance.point(out, x);
    let band = polygon(&[
        at(-1.5, top),
        at(1.5, top),
        at(1.3, bottom),
        at(-1.3, bottom),
    ]);
    let hangs = (point - centre).dot(out) > radius + 1.2;
    let legs = [-1.0, 1.0].into_iter().filter(|_| hangs).map(|side| {
        let root = at(0.9 * side, bottom - 0.3);
        let end = Stance::new(point, stance.at - point);
        let spread = stance.across() * (0.25 * side);
        polyline(&[root, end.at + end.along + spread])
    });
    let ticks = [-0.75, 0.0, 0.75].map(|x| polyline(&[at(x - 0.16, top), at(x + 0.16, bottom)]));
    banded(band, joined(legs), joined(ticks))
}

/// Legs, then the band over them.
fn banded(band: BezPath, legs: BezPath, ticks: BezPath) -> (Vec<Shape>, Rect) {
    let mut bounds = band.bounding_box();
    let mut shapes = Vec::new();
    if !legs.elements().is_empty() {
        bounds = bounds.union(legs.bounding_box());
        shapes.push(Shape::stroked(
            legs.clone(),
            Stroke::solid(Ink::Paper, SLING_MM + 0.7),
        ));
        shapes.push(Shape::stroked(legs, Stroke::solid(Ink::Ink, SLING_MM)));
    }
    shapes.push(Shape::stroked(
        band.clone(),
        Stroke::solid(Ink::Paper, 2.0 * EDGE_MM),
    ));
    shapes.push(Shape::both(band, Ink::Paper, Stroke::solid(Ink::Ink, 0.3)));
    shapes.push(Shape::stroked(
        ticks,
        Stroke::solid(Ink::Ink, 0.22).cap(Cap::Butt),
    ));
    (shapes, bounds.inset(EDGE_MM))
}

/// Where a line is lost: a cross over it, both bars at 45° to the line.
pub fn lost(at: Point, along: Vec2) -> Vec<Shape> {
    let stance = Stance::new(at, along);
    cross(at, 3.4, stance.along + stance.across(), Ink::Bad)
}

/// A cross of half size `reach` (mm), one bar along `along`; on paper edges.
pub fn cross(at: Point, reach: f64, along: Vec2, ink: Ink) -> Vec<Shape> {
    let stance = Stance::new(at, along);
    let bars = joined([
        polyline(&[stance.point(-reach, 0.0), stance.point(reach, 0.0)]),
        polyline(&[stance.point(0.0, -reach), stance.point(0.0, reach)]),
    ]);
    let width = 0.32 * reach;
    edged(bars, width, ink)
}

/// A tick of half size `reach` (mm); on paper edges.
pub fn tick(at: Point, reach: f64, ink: Ink) -> Vec<Shape> {
    let p = |x: f64, y: f64| at + Vec2::new(x, y) * reach;
    let path = polyline(&[p(-0.9, 0.1), p(-0.25, 0.75), p(1.0, -0.75)]);
    edged(path, 0.36 * reach, ink)
}

fn edged(path: BezPath, width: f64, ink: Ink) -> Vec<Shape> {
    let mut shapes = Vec::new();
    if ink != Ink::Paper {
        shapes.push(Shape::stroked(
            path.clone(),
            Stroke::solid(Ink::Paper, width + 2.0 * EDGE_MM),
        ));
    }
    shapes.push(Shape::stroked(path, Stroke::solid(ink, width)));
    shapes
}

/// Where a swing strikes: a star of eight points, behind the climber.
pub fn burst(at: Point, radius: f64) -> Shape {
    const POINTS: u32 = 8;
    let corners: Vec<Point> = (0..2 * POINTS)
        .map(|i| {
            let turn = std::f64::consts::PI * (f64::from(i) / f64::from(POINTS) + 0.06);
            let long = if i % 4 == 0 { 1.0 } else { 0.86 };
            let reach = if i % 2 == 0 { long } else { 0.52 };
            at + Vec2::new(libm::cos(turn), libm::sin(turn)) * (radius * reach)
        })
        .collect();
    let stroke = Stroke::solid(Ink::Bad, 0.6).join(Join::Miter);
    Shape::both(polygon(&corners), Ink::BadWash, stroke)
}

/// The general warning sign after ISO 7010 (W001): a yellow triangle with a black band and an
/// exclamation mark. `base` is the middle of its lower edge, `wide` its whole width, mm.
pub fn warning(base: Point, wide: f64) -> Vec<Shape> {
    // ISO 3864-1: the band is 0.06 of the height or more; corners rounded.
    let band = 0.09 * wide;
    let side = wide - band;
    let high = side * 3.0_f64.sqrt() / 2.0;
    let bottom = -band / 2.0;
    let p = |x: f64, y: f64| base + Vec2::new(x, y);
    let triangle = polygon(&[
        p(0.0, bottom - high),
        p(side / 2.0, bottom),
        p(-side / 2.0, bottom),
    ]);
    let (top, foot) = (bottom - 0.66 * high, bottom - 0.30 * high);
    let bar = polygon(&[
        p(-0.055 * wide, top),
        p(0.055 * wide, top),
        p(0.033 * wide, foot),
        p(-0.033 * wide, foot),
    ]);
    let dot = circle(p(0.0, bottom - 0.165 * high), 0.056 * wide);
    vec![
        Shape::stroked(
            triangle.clone(),
            Stroke::solid(Ink::Paper, band + 2.0 * EDGE_MM),
        ),
        Shape::both(triangle, Ink::Alert, Stroke::solid(Ink::WarnK, band)),
        Shape::both(
            joined([bar, dot]),
            Ink::WarnK,
            Stroke::solid(Ink::WarnK, 0.025 * wide),
        ),
    ]
}

/// The surface that feet push on: a bar along it at the foot, hatched on the side of the wood.
/// `normal` points out of the surface on the sheet.
pub fn push_surface(at: Point, normal: Vec2) -> Vec<Shape> {
    /// Half length of the bar, mm.
    const HALF_MM: f64 = 3.4;
    let stance = Stance::new(at, normal);
    let bar = polyline(&[stance.point(0.0, -HALF_MM), stance.point(0.0, HALF_MM)]);
    let hatch = (0..6).map(|i| {
        let y = HALF_MM - 0.5 - 1.2 * f64::from(i);
        polyline(&[stance.point(0.0, y), stance.point(-1.1, y - 0.7)])
    });
    vec![
        Shape::stroked(bar.clone(), Stroke::solid(Ink::Paper, 1.5)),
        Shape::stroked(joined(hatch), Stroke::solid(Ink::Ink, 0.3)),
        Shape::stroked(bar, Stroke::solid(Ink::Ink, 0.7)),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bounds(shapes: &[Shape]) -> Rect {
        shapes
            .iter()
            .map(|shape| shape.path.bounding_box())
            .reduce(|a, b| a.union(b))
            .unwrap()
    }

    fn wood(kind: PieceKind, from: [f64; 3], to: [f64; 3]) -> Piece {
        Piece {
            name: "wood".into(),
            kind,
            from: from.into(),
            to: to.into(),
            diameter_m: (0.3, 0.2),
        }
    }

    #[test]
    fn marks_are_centred_where_they_are_asked_for() {
        let at = Point::new(20.0, 30.0);
        let along = Vec2::new(3.0, 1.0);
        for shapes in [
            pulley(at),
            ring(at),
            anchor(at),
            connector(at, along),
            harness_point(at),
            into_sheet(at),
            hitch(at, along, 1),
            stopper(at, along, 1),
            lost(at, along),
        ] {
            assert!(bounds(&shapes).center().distance(at) < 0.01);
        }
    }

    #[test]
    fn marks_of_points_can_be_told_apart_without_colour() {
        let at = Point::ORIGIN;
        let outline = |shapes: Vec<Shape>| -> Vec<_> {
            shapes
                .into_iter()
                .map(|shape| (shape.path.to_svg(), shape.fill.is_some()))
                .collect()
        };
        let all = [pulley(at), ring(at), anchor(at), harness_point(at)].map(outline);
        for (i, a) in all.iter().enumerate() {
            for b in &all[i + 1..] {
                assert_ne!(a, b);
            }
        }
    }

    #[test]
    fn a_sling_reaches_from_the_wood_to_its_point() {
        let sight = Sight::elevation(Point::new(0.0, 100.0), 12.0);
        let stem = wood(PieceKind::Stem, [0.0, 0.0, 0.0], [0.0, 0.0, 8.0]);
        let limb = wood(PieceKind::Limb, [0.0, 0.0, 7.0], [5.0, 0.0, 7.4]);
        for (piece, at) in [
            (stem, DVec3::new(0.3, 0.0, 5.0)),
            (limb, DVec3::new(3.0, 0.0, 6.5)),
        ] {
            let (_, filled) = sling(&piece, at, &sight);
            let axis = (sight.place(piece.from), sight.place(piece.to));
            let band = kurbo::Line::new(axis.0, axis.1).bounding_box().inset(1.0);
            assert!(band.overlaps(filled), "round the wood");
            assert!(filled.inset(1.5).contains(sight.place(at)), "to the point");
        }
    }

    #[test]
    fn the_warning_sign_is_an_equilateral_triangle() {
        // ISO 3864-1: the geometric shape of a warning sign.
        let shapes = warning(Point::new(0.0, 0.0), 12.0);
        let corners: Vec<Point> = shapes[1]
            .path
            .elements()
            .iter()
            .filter_map(kurbo::PathEl::end_point)
            .take(3)
            .collect();
        let sides = [(0, 1), (1, 2), (2, 0)].map(|(a, b)| corners[a].distance(corners[b]));
        assert!(sides.iter().all(|side| (side - sides[0]).abs() < 1e-9));
        let yellow_high = bounds(&shapes[1..2]).height();
        assert!(yellow_high < 12.0 && yellow_high > 9.0);
    }
}
