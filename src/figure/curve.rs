//! Paths that drawn things are made of: polygons, smooth outlines, circles, tapered chains.
//!
//! No platform trigonometry: what needs a sine takes it from `libm`, so that a drawing is the same
//! file everywhere.

use kurbo::{Affine, BezPath, PathEl, Point, Vec2};

/// Length of the handles of a quarter circle, as a share of the radius.
///
/// `4/3·(√2 − 1)`: the cubic meets the circle at its ends and its middle and leaves it by less than
/// 0.03 % of the radius between.
const QUARTER: f64 = 0.552_284_75;

/// Handles of a smooth outline, as a share of the chord between the neighbours of a node (the
/// uniform Catmull-Rom spline).
const SMOOTH: f64 = 1.0 / 6.0;

/// A place with a direction: where a mark is drawn, and which way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stance {
    /// Origin of the mark, mm.
    pub at: Point,
    /// Unit vector of the mark's x axis.
    pub along: Vec2,
    /// Whether the mark's y axis lies counter-clockwise of `along` on the sheet instead of clockwise.
    pub mirrored: bool,
    /// Size: how many mm a unit of the mark has.
    pub scale: f64,
}

impl Stance {
    /// A stance of size 1, with the direction made unit; straight down where it has no length.
    pub fn new(at: Point, along: Vec2) -> Self {
        let length = along.hypot();
        let along = if length > 0.0 {
            along / length
        } else {
            Vec2::new(0.0, 1.0)
        };
        Self {
            at,
            along,
            mirrored: false,
            scale: 1.0,
        }
    }

    /// The same stance in another size.
    #[must_use]
    pub const fn scaled(mut self, scale: f64) -> Self {
        self.scale = scale;
        self
    }

    /// The same stance with its y axis on the other side.
    #[must_use]
    pub const fn mirrored(mut self) -> Self {
        self.mirrored = !self.mirrored;
        self
    }

    /// Unit vector of the y axis.
    pub const fn across(&self) -> Vec2 {
        if self.mirrored {
            Vec2::new(self.along.y, -self.along.x)
        } else {
            Vec2::new(-self.along.y, self.along.x)
        }
    }

    /// From the mark's units to mm on the sheet.
    pub fn affine(&self) -> Affine {
        let (x, y) = (self.along * self.scale, self.across() * self.scale);
        Affine::new([x.x, x.y, y.x, y.y, self.at.x, self.at.y])
    }

    /// A point of the mark on the sheet.
    pub fn point(&self, x: f64, y: f64) -> Point {
        self.affine() * Point::new(x, y)
    }
}

/// A quarter turn clockwise on the sheet.
pub const fn turned(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

/// Unit vector at an angle from straight down, radians, forward (right) positive.
pub fn from_down(angle: f64) -> Vec2 {
    Vec2::new(libm::sin(angle), libm::cos(angle))
}

/// Straight edges through points, open.
pub fn polyline(points: &[Point]) -> BezPath {
    let mut path = BezPath::with_capacity(points.len() + 1);
    for (index, point) in points.iter().enumerate() {
        if index == 0 {
            path.move_to(*point);
        } else {
            path.line_to(*point);
        }
    }
    path
}

/// Straight edges through points, closed.
pub fn polygon(points: &[Point]) -> BezPath {
    let mut path = polyline(points);
    if !points.is_empty() {
        path.close_path();
    }
    path
}

/// A smooth closed outline through points.
pub fn smooth_closed(points: &[Point]) -> BezPath {
    let n = points.len();
    let mut path = BezPath::with_capacity(n + 2);
    if n < 3 {
        return polygon(points);
    }
    path.move_to(points[0]);
    for i in 0..n {
        let (before, a) = (points[(i + n - 1) % n], points[i]);
        let (b, after) = (points[(i + 1) % n], points[(i + 2) % n]);
        path.curve_to(a + (b - before) * SMOOTH, b - (after - a) * SMOOTH, b);
    }
    path.close_path();
    path
}

/// A smooth open curve through points.
pub fn smooth_open(points: &[Point]) -> BezPath {
    let n = points.len();
    let mut path = BezPath::with_capacity(n + 2);
    if n < 3 {
        return polyline(points);
    }
    path.move_to(points[0]);
    for i in 0..n - 1 {
        let (before, a) = (points[i.saturating_sub(1)], points[i]);
        let (b, after) = (points[i + 1], points[(i + 2).min(n - 1)]);
        path.curve_to(a + (b - before) * SMOOTH, b - (after - a) * SMOOTH, b);
    }
    path
}

/// A circle.
pub fn circle(centre: Point, radius: f64) -> BezPath {
    ellipse(&Stance::new(centre, Vec2::new(1.0, 0.0)), radius, radius)
}

/// An ellipse with half axes along and across a stance.
pub fn ellipse(stance: &Stance, along: f64, across: f64) -> BezPath {
    let p = |x: f64, y: f64| stance.point(x * along, y * across);
    let mut path = BezPath::with_capacity(6);
    path.move_to(p(1.0, 0.0));
    path.curve_to(p(1.0, QUARTER), p(QUARTER, 1.0), p(0.0, 1.0));
    path.curve_to(p(-QUARTER, 1.0), p(-1.0, QUARTER), p(-1.0, 0.0));
    path.curve_to(p(-1.0, -QUARTER), p(-QUARTER, -1.0), p(0.0, -1.0));
    path.curve_to(p(QUARTER, -1.0), p(1.0, -QUARTER), p(1.0, 0.0));
    path.close_path();
    path
}

/// The outline round a chain of joints, each with its radius: round ends, tapered between.
///
/// Its inner corners pass through the joint, so that a fill by the non-zero rule has no holes.
pub fn chain(joints: &[(Point, f64)]) -> BezPath {
    let mut path = BezPath::with_capacity(6 * joints.len() + 4);
    let (Some(&first), Some(&last)) = (joints.first(), joints.last()) else {
        return path;
    };
    let unit = |a: Point, b: Point| Stance::new(a, b - a).along;
    let n = joints.len();
    if n == 1 {
        return circle(first.0, first.1);
    }
    let start = unit(first.0, joints[1].0);
    path.move_to(first.0 + turned(start) * first.1);
    half_turn(&mut path, first, -start);
    side(&mut path, joints);
    half_turn(&mut path, last, unit(joints[n - 2].0, last.0));
    let back: Vec<_> = joints.iter().rev().copied().collect();
    side(&mut path, &back);
    path.close_path();
    path
}

/// Round an end, from the left of its outward direction to the right.
fn half_turn(path: &mut BezPath, (centre, radius): (Point, f64), out: Vec2) {
    let (out, right) = (out * radius, turned(out) * radius);
    path.curve_to(
        centre - right + out * QUARTER,
        centre + out - right * QUARTER,
        centre + out,
    );
    path.curve_to(
        centre + out + right * QUARTER,
        centre + right + out * QUARTER,
        centre + right,
    );
}

/// Along the left side of a chain, from beside its first joint to beside its last.
fn side(path: &mut BezPath, joints: &[(Point, f64)]) {
    let mut before: Option<Vec2> = None;
    for two in joints.windows(2) {
        let ((a, radius_a), (b, radius_b)) = (two[0], two[1]);
        let left = turned(Stance::new(a, b - a).along) * -1.0;
        if let Some(before) = before {
            if before.cross(left) > 0.0 {
                // The way turns right: this side is the outer one.
                let out = Stance::new(a, before + left).along;
                let reach = radius_a * 2.0 / (1.0 + before.dot(out).max(0.3));
                path.quad_to(a + out * reach, a + left * radius_a);
            } else {
                path.line_to(a);
                path.line_to(a + left * radius_a);
            }
        }
        path.line_to(b + left * radius_b);
        before = Some(left);
    }
}

/// The path and others after it, as one.
pub fn joined(paths: impl IntoIterator<Item = BezPath>) -> BezPath {
    let mut paths = paths.into_iter();
    // What stands there already is the first one.
    let mut all = paths.next().unwrap_or_default();
    for path in paths {
        all.extend(path);
    }
    all
}

/// The path with its places rounded to 0.1 mm: freehand things carry nothing in further digits, and
/// files are shorter without them.
pub fn tenths(path: BezPath) -> BezPath {
    let round = |p: Point| Point::new(nearest(p.x * 10.0) / 10.0, nearest(p.y * 10.0) / 10.0);
    path.into_iter()
        .map(|el| match el {
            PathEl::MoveTo(p) => PathEl::MoveTo(round(p)),
            PathEl::LineTo(p) => PathEl::LineTo(round(p)),
            PathEl::QuadTo(a, p) => PathEl::QuadTo(round(a), round(p)),
            PathEl::CurveTo(a, b, p) => PathEl::CurveTo(round(a), round(b), round(p)),
            PathEl::ClosePath => PathEl::ClosePath,
        })
        .collect()
}

/// The nearest whole number, halves away from zero, as `f64::round` says it; for numbers below 2⁵³,
/// and without a call where the processor has no instruction for it.
fn nearest(x: f64) -> f64 {
    let whole = (x as i64) as f64;
    let rest = x - whole;
    whole + f64::from(i8::from(rest >= 0.5) - i8::from(rest <= -0.5))
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Shape as _;

    #[test]
    fn the_nearest_whole_number_is_that_of_the_library() {
        for x in [
            0.0,
            0.49,
            0.5,
            -0.5,
            1.5,
            -2.5,
            1_234.499_999,
            -77.5,
            0.499_999_999_999_999_94,
        ] {
            assert_eq!(nearest(x), f64::round(x), "{x}");
        }
    }

    #[test]
    fn a_circle_has_the_area_of_a_circle() {
        // Handbook: A = π·r².
        let area = circle(Point::new(3.0, 4.0), 2.0).area().abs();
        assert!((area - 4.0 * std::f64::consts::PI).abs() < 0.01, "{area}");
    }

    #[test]
    fn a_straight_chain_of_one_width_is_a_stadium() {
        // Handbook: stadium of radius r and straight length a has A = π·r² + 2·r·a.
        let joints = [(Point::new(0.0, 0.0), 1.0), (Point::new(5.0, 0.0), 1.0)];
        let area = chain(&joints).area().abs();
        assert!(
            (area - (std::f64::consts::PI + 10.0)).abs() < 0.01,
            "{area}"
        );
    }

    #[test]
    fn a_bent_chain_has_no_hole_either_way() {
        for side in [1.0, -1.0] {
            let joints = [
                (Point::new(0.0, 0.0), 1.0),
                (Point::new(5.0, 0.0), 0.9),
                (Point::new(3.0, 4.0 * side), 0.7),
            ];
            let path = chain(&joints);
            for (joint, _) in joints {
                assert_ne!(path.winding(joint + Vec2::new(0.01, 0.02)), 0, "{joint:?}");
            }
            for step in 1..10 {
                let t = f64::from(step) / 10.0;
                let on_first = joints[0].0.lerp(joints[1].0, t);
                let on_second = joints[1].0.lerp(joints[2].0, t);
                assert_ne!(path.winding(on_first), 0, "{on_first:?}");
                assert_ne!(path.winding(on_second), 0, "{on_second:?}");
            }
        }
    }

    #[test]
    fn smooth_curves_pass_through_their_nodes() {
        let nodes = [(0.0, 0.0), (4.0, 1.0), (5.0, 4.0), (1.0, 5.0)].map(|(x, y)| Point::new(x, y));
        for path in [smooth_closed(&nodes), smooth_open(&nodes)] {
            for node in nodes {
                let hit = path.segments().any(|seg| {
                    let ends = [
                        seg.as_path_el().end_point(),
                        seg.reverse().as_path_el().end_point(),
                    ];
                    ends.iter().flatten().any(|end| end.distance(node) < 1e-9)
                });
                assert!(hit, "{node:?}");
            }
        }
    }

    #[test]
    fn a_mirrored_stance_turns_the_other_way() {
        let stance = Stance::new(Point::ORIGIN, Vec2::new(2.0, 0.0));
        assert_eq!(stance.point(1.0, 1.0), Point::new(1.0, 1.0));
        assert_eq!(stance.mirrored().point(1.0, 1.0), Point::new(1.0, -1.0));
        assert_eq!(stance.scaled(3.0).point(1.0, 0.0), Point::new(3.0, 0.0));
    }
}
