//! Ropes: a solid stroke with a pale tracer per line, on a paper edge that lifts it off what lies
//! behind.
//!
//! ```text
//! ends, parts ─legs→ path ─rope→ paper edge, rope, tracer
//! ```
//!
//! A dashed *line* keeps its meaning of ISO 128 (what was, or is not there), so lines of a rig are
//! told apart by the pale core inside the stroke: line 1 none, line 2 dashes, line 3 unbroken, line 4
//! dots, line 5 dash and dot. Colour repeats what the tracer and the label say.

use kurbo::{BezPath, Point, Vec2};

use super::curve::{Stance, joined, polyline, smooth_open};
use super::shape::{Cap, Ink, Shape, Stroke};

/// A line with one part, mm.
pub const SINGLE_MM: f64 = 0.95;
/// Each leg of a line with several parts, mm.
pub const LEG_MM: f64 = 0.75;
/// A rope in a close view, mm.
pub const DETAIL_MM: f64 = 1.7;
/// A line that is not the subject of a small multiple, mm.
pub const QUIET_MM: f64 = 0.5;

/// Half the distance between two legs, mm: with legs of 0.75 the gap is as wide as a leg.
pub const LEG_OFFSET_MM: f64 = 0.8;
/// Distance between three parts, mm.
const THREE_OFFSET_MM: f64 = 1.3;
/// Legs close over this much before the harness, mm.
const CLOSING_MM: f64 = 2.2;
/// How much wider than the rope the paper under it is, mm.
const EDGE_MM: f64 = 0.66;
/// The tracer, as a share of the rope's width.
const CORE: f64 = 0.4;
/// Least unit of a tracer's pattern, mm: below this, dashes run together in print.
const LEAST_UNIT_MM: f64 = 0.8;

/// The pale core of a line: a paper stroke of `core_mm` with its pattern in units of `unit_mm`;
/// `None` for the first line, which has none.
pub fn tracer(index: usize, core_mm: f64, unit_mm: f64) -> Option<Stroke> {
    let (pattern, cap): (&[f64], _) = match index {
        0 => return None,
        1 => (&[1.5, 1.5], Cap::Butt),
        2 => (&[], Cap::Butt),
        3 => (&[0.01, 1.7], Cap::Round),
        _ => (&[2.2, 1.2, 0.01, 1.2], Cap::Round),
    };
    let dash: Vec<f64> = pattern.iter().map(|part| part * unit_mm).collect();
    Some(Stroke::dashed(Ink::Paper, core_mm, &dash).cap(cap))
}

/// A rope along a path: paper edge, rope, tracer. `index` is the line's place in its rig, from 0.
pub fn rope(path: BezPath, index: usize, width_mm: f64) -> Vec<Shape> {
    let edge = Stroke::solid(Ink::Paper, width_mm + EDGE_MM).cap(Cap::Butt);
    let mut shapes = vec![
        Shape::stroked(path.clone(), edge),
        Shape::stroked(path.clone(), Stroke::solid(Ink::line(index), width_mm)),
    ];
    if let Some(core) = tracer(index, CORE * width_mm, width_mm.max(LEAST_UNIT_MM)) {
        shapes.push(Shape::stroked(path, core));
    }
    shapes
}

/// Middle lines of a straight stretch from a point to the harness in `parts` parts: side by side
/// from the point on, closing at the harness. Distances do not depend on the scale of the figure.
pub fn legs(point: Point, harness: Point, parts: usize) -> BezPath {
    let way = harness - point;
    let across = Stance::new(point, way).across();
    let length = way.hypot();
    let close_at = if length > 2.0 * CLOSING_MM {
        point + way * ((length - CLOSING_MM) / length)
    } else {
        point.midpoint(harness)
    };
    joined(offsets(parts).into_iter().map(|offset| {
        let side = across * offset;
        if offset == 0.0 {
            polyline(&[point, harness])
        } else {
            polyline(&[point + side, close_at + side, harness])
        }
    }))
}

/// Middle lines of a straight stretch between two points in `parts` parts, side by side throughout.
pub fn between(from: Point, to: Point, parts: usize) -> BezPath {
    let across = Stance::new(from, to - from).across();
    joined(
        offsets(parts)
            .into_iter()
            .map(|offset| polyline(&[from + across * offset, to + across * offset])),
    )
}

/// Where the parts lie beside the line, mm.
fn offsets(parts: usize) -> Vec<f64> {
    match parts {
        0 | 1 => vec![0.0],
        2 => vec![-LEG_OFFSET_MM, LEG_OFFSET_MM],
        _ => {
            let middle = (parts - 1) as f64 / 2.0;
            (0..parts)
                .map(|part| (part as f64 - middle) * THREE_OFFSET_MM)
                .collect()
        }
    }
}

/// Width of a rope in a figure by the number of its parts, mm.
pub const fn width_mm(parts: usize) -> f64 {
    if parts > 1 { LEG_MM } else { SINGLE_MM }
}

/// A straight stretch from a point to the harness, ready to draw.
pub fn stretch(point: Point, harness: Point, parts: usize, index: usize) -> Vec<Shape> {
    rope(legs(point, harness, parts), index, width_mm(parts))
}

/// A line as it was before something happened, or one that is lost: ghost dashes.
pub fn ghost(point: Point, harness: Point, parts: usize) -> Shape {
    let width = if parts > 1 { 0.45 } else { 0.6 };
    let stroke = Stroke::dashed(Ink::Ghost, width, &[1.6, 1.0]);
    Shape::stroked(legs(point, harness, parts), stroke)
}

/// A line that is not the subject of this small multiple: thin, quiet, no tracer.
pub fn quiet(point: Point, harness: Point) -> Shape {
    Shape::stroked(
        polyline(&[point, harness]),
        Stroke::solid(Ink::Hair, QUIET_MM),
    )
}

/// A sample for the key, starting at a point and running right for `length_mm`.
pub fn sample(from: Point, length_mm: f64, parts: usize, index: usize) -> Vec<Shape> {
    let to = from + Vec2::new(length_mm, 0.0);
    rope(between(from, to, parts), index, width_mm(parts))
}

/// Middle line of a tail that leaves a rope and hangs down: from `at` towards `side` (+1 right, −1
/// left) in an arc, then straight down. Ends `drop_mm` below, where the stopper goes.
pub fn tail(at: Point, side: f64, reach_mm: f64, drop_mm: f64) -> BezPath {
    let p = |x: f64, y: f64| at + Vec2::new(x * reach_mm * side, y * drop_mm);
    smooth_open(&[at, p(0.5, 0.08), p(0.85, 0.26), p(0.98, 0.55), p(1.0, 1.0)])
}

/// The torn end of a lost line: a short stump from the point with its strands apart.
pub fn frayed(point: Point, towards: Vec2, index: usize) -> Vec<Shape> {
    /// Length of the stump and of its strands, mm.
    const STUMP_MM: f64 = 4.0;
    const STRAND_MM: f64 = 1.4;
    let stance = Stance::new(point, towards);
    let end = stance.point(STUMP_MM, 0.0);
    let mut shapes = rope(polyline(&[point, end]), index, SINGLE_MM);
    let strands = [-0.55, 0.05, 0.6].map(|side| {
        let reach = STUMP_MM + STRAND_MM - side * side;
        polyline(&[end, stance.point(reach, side * STRAND_MM)])
    });
    shapes.push(Shape::stroked(
        joined(strands),
        Stroke::solid(Ink::line(index), 0.3),
    ));
    shapes
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Shape as _;

    #[test]
    fn lines_differ_by_tracer_alone() {
        let patterns: Vec<_> = (0..5).map(|index| tracer(index, 0.4, 1.0)).collect();
        for (i, a) in patterns.iter().enumerate() {
            for b in &patterns[i + 1..] {
                assert_ne!(a, b);
            }
        }
        assert_eq!(patterns[0], None);
    }

    #[test]
    fn legs_lie_beside_the_line_and_meet_at_the_harness() {
        let (point, harness) = (Point::new(0.0, 0.0), Point::new(0.0, 40.0));
        let path = legs(point, harness, 2);
        let ends: Vec<_> = path
            .elements()
            .iter()
            .filter_map(kurbo::PathEl::end_point)
            .collect();
        assert_eq!(ends.iter().filter(|end| **end == harness).count(), 2);
        let bounds = path.bounding_box();
        assert!((bounds.width() - 2.0 * LEG_OFFSET_MM).abs() < 1e-9);
    }

    #[test]
    fn offsets_do_not_depend_on_the_length() {
        for length in [1.0, 10.0, 300.0] {
            let path = legs(Point::ORIGIN, Point::new(length, 0.0), 2);
            assert!(
                (path.bounding_box().height() - 1.6).abs() < 1e-9,
                "{length}"
            );
        }
    }

    #[test]
    fn three_parts_are_evenly_apart() {
        assert_eq!(offsets(3), vec![-1.3, 0.0, 1.3]);
        assert_eq!(offsets(1), vec![0.0]);
    }

    #[test]
    fn a_tail_ends_below_its_start() {
        let path = tail(Point::new(5.0, 5.0), -1.0, 3.0, 12.0);
        let last = path.elements().last().and_then(kurbo::PathEl::end_point);
        assert_eq!(last, Some(Point::new(2.0, 17.0)));
    }
}
