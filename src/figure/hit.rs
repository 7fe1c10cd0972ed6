//! Whether things meet on the sheet: boxes, thick segments, filled outlines.

use kurbo::{BezPath, PathEl, Point, Rect, Vec2};

/// How far a flattened curve may stray, mm: a fifth of the thinnest stroke beside a label.
const FLATTEN_MM: f64 = 0.1;

/// A shape on the sheet for tests of meeting.
#[derive(Debug, Clone, PartialEq)]
pub enum Outline {
    /// A box.
    Box(Rect),
    /// A stroke from end to end with half its width.
    Segment(Point, Point, f64),
    /// A filled outline, closed.
    Filled(Vec<Point>, Rect),
}

impl Outline {
    /// A stroke of the given half width.
    pub const fn segment(from: Point, to: Point, half_width: f64) -> Self {
        Self::Segment(from, to, half_width)
    }

    /// A filled polygon.
    pub fn filled(points: Vec<Point>) -> Self {
        let mut bounds = Rect::new(f64::MAX, f64::MAX, f64::MIN, f64::MIN);
        for p in &points {
            bounds = bounds.union_pt(*p);
        }
        Self::Filled(points, bounds)
    }

    /// One filled outline for each subpath.
    pub fn of_filled_path(path: &BezPath) -> Vec<Self> {
        polylines(path).into_iter().map(Self::filled).collect()
    }

    /// The strokes of a path.
    pub fn of_stroked_path(path: &BezPath, half_width: f64) -> Vec<Self> {
        polylines(path)
            .iter()
            .flat_map(|points| points.windows(2))
            .map(|ends| Self::Segment(ends[0], ends[1], half_width))
            .collect()
    }

    /// The same outline elsewhere on the sheet.
    #[must_use]
    pub fn moved(&self, by: Vec2) -> Self {
        match self {
            Self::Box(rect) => Self::Box(*rect + by),
            Self::Segment(a, b, half) => Self::Segment(*a + by, *b + by, *half),
            Self::Filled(points, bounds) => {
                Self::Filled(points.iter().map(|p| *p + by).collect(), *bounds + by)
            }
        }
    }

    /// The box round it.
    pub fn bounds(&self) -> Rect {
        match self {
            Self::Box(rect) => *rect,
            Self::Segment(a, b, half) => grown(around(*a, *b), *half),
            Self::Filled(_, bounds) => *bounds,
        }
    }

    /// Whether a line from one place to another runs over an edge of it, or over the middle of a stroke.
    pub fn crossed_by(&self, line: (Point, Point)) -> bool {
        let around = around(line.0, line.1);
        let crosses = |a: Point, b: Point| !misses(a, b, around) && segments_cross(line, (a, b));
        match self {
            Self::Box(rect) => segment_meets_rect(line.0, line.1, *rect),
            Self::Segment(a, b, _) => crosses(*a, *b),
            Self::Filled(points, _) => edges(points).any(|(a, b)| crosses(a, b)),
        }
    }

    /// Whether a stroke, from end to end with half its width, would cross it: run over an edge of it or
    /// over the middle of a stroke, come within its width of a box, or begin inside.
    pub fn under_stroke(&self, (a, b, half): (Point, Point, f64)) -> bool {
        match self {
            Self::Box(rect) => segment_meets_rect(a, b, grown(*rect, half)),
            Self::Segment(..) => self.crossed_by((a, b)),
            Self::Filled(points, bounds) => {
                !misses(a, b, *bounds) && (self.crossed_by((a, b)) || inside(points, a))
            }
        }
    }

    /// Whether a box meets it.
    pub fn meets(&self, rect: Rect) -> bool {
        if !rects_meet(self.bounds(), rect) {
            return false;
        }
        match self {
            Self::Box(_) => true,
            Self::Segment(a, b, half) => segment_meets_rect(*a, *b, grown(rect, *half)),
            Self::Filled(points, _) => {
                let centre = rect.center();
                edges(points).any(|(a, b)| segment_meets_rect(a, b, rect)) || inside(points, centre)
            }
        }
    }
}

/// A drawn thing: the outlines of all that it inks.
#[derive(Debug, Clone, PartialEq)]
pub struct Thing {
    outlines: Vec<Outline>,
    bounds: Rect,
}

impl Thing {
    /// The thing that inks these outlines.
    pub fn new(outlines: Vec<Outline>) -> Self {
        let bounds = outlines.iter().map(Outline::bounds);
        Self {
            // Around nothing, a box that nothing meets.
            bounds: bounds.reduce(|a, b| a.union(b)).unwrap_or(Rect::new(
                f64::MAX,
                f64::MAX,
                f64::MIN,
                f64::MIN,
            )),
            outlines,
        }
    }

    /// Whether a box meets it.
    pub fn meets(&self, rect: Rect) -> bool {
        rects_meet(self.bounds, rect) && self.outlines.iter().any(|o| o.meets(rect))
    }

    /// Whether a line from one place to another runs over an edge or the middle of a stroke of it.
    pub fn crossed_by(&self, line: (Point, Point)) -> bool {
        !misses(line.0, line.1, self.bounds) && self.outlines.iter().any(|o| o.crossed_by(line))
    }
}

/// A path as polylines, one for each subpath.
pub fn polylines(path: &BezPath) -> Vec<Vec<Point>> {
    let mut all: Vec<Vec<Point>> = Vec::new();
    kurbo::flatten(path, FLATTEN_MM, |el| match el {
        PathEl::MoveTo(p) => {
            let mut points = Vec::with_capacity(path.elements().len());
            points.push(p);
            all.push(points);
        }
        PathEl::LineTo(p) => {
            if let Some(points) = all.last_mut() {
                points.push(p);
            }
        }
        PathEl::ClosePath => {
            if let Some(points) = all.last_mut()
                && let Some(first) = points.first().copied()
            {
                points.push(first);
            }
        }
        PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
    });
    all.retain(|points| points.len() > 1);
    all
}

/// The larger and the smaller of two numbers: `f64::max` and `f64::min` also ask whether they are any,
/// which takes twice as long.
const fn larger(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

const fn smaller(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// The box round a segment.
pub const fn around(a: Point, b: Point) -> Rect {
    Rect {
        x0: smaller(a.x, b.x),
        y0: smaller(a.y, b.y),
        x1: larger(a.x, b.x),
        y1: larger(a.y, b.y),
    }
}

/// A box with a margin, mm.
pub const fn grown(rect: Rect, by_mm: f64) -> Rect {
    Rect {
        x0: rect.x0 - by_mm,
        y0: rect.y0 - by_mm,
        x1: rect.x1 + by_mm,
        y1: rect.y1 + by_mm,
    }
}

/// Whether two boxes have a point in common.
pub const fn rects_meet(a: Rect, b: Rect) -> bool {
    b.x0 <= a.x1 && a.x0 <= b.x1 && b.y0 <= a.y1 && a.y0 <= b.y1
}

/// Distance between two boxes, mm; 0 where they meet, negative where they overlap.
pub fn rect_gap(a: Rect, b: Rect) -> f64 {
    let dx = larger(b.x0 - a.x1, a.x0 - b.x1);
    let dy = larger(b.y0 - a.y1, a.y0 - b.y1);
    if dx > 0.0 && dy > 0.0 {
        (dx * dx + dy * dy).sqrt()
    } else {
        larger(dx, dy)
    }
}

/// Whether two segments have a point in common.
pub fn segments_cross((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Whether a segment lies wholly on one side of a box: most do, and this is quickly said.
pub const fn misses(a: Point, b: Point, rect: Rect) -> bool {
    (a.x < rect.x0 && b.x < rect.x0)
        || (a.x > rect.x1 && b.x > rect.x1)
        || (a.y < rect.y0 && b.y < rect.y0)
        || (a.y > rect.y1 && b.y > rect.y1)
}

/// Whether a segment has a point in a box: clips it (Liang and Barsky, ACM Transactions on Graphics
/// 3, 1984).
pub fn segment_meets_rect(a: Point, b: Point, rect: Rect) -> bool {
    if misses(a, b, rect) {
        return false;
    }
    let d = b - a;
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (delta, low, high) in [
        (d.x, rect.x0 - a.x, rect.x1 - a.x),
        (d.y, rect.y0 - a.y, rect.y1 - a.y),
    ] {
        if delta.abs() < 1e-12 {
            if low > 0.0 || high < 0.0 {
                return false;
            }
            continue;
        }
        let (t0, t1) = (low / delta, high / delta);
        enter = larger(enter, smaller(t0, t1));
        leave = smaller(leave, larger(t0, t1));
    }
    enter <= leave
}

/// The edges of a closed outline.
pub fn edges(points: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    let next = points.iter().skip(1).chain(points.first());
    points.iter().copied().zip(next.copied())
}

/// Where the edges of a closed outline cross a height: their places across.
pub fn crossings(points: &[Point], y: f64) -> impl Iterator<Item = f64> + '_ {
    edges(points)
        .filter(move |(a, b)| (a.y > y) != (b.y > y))
        .map(move |(a, b)| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x))
}

/// Whether a place lies inside a closed outline, by the even-odd rule.
pub fn inside(points: &[Point], p: Point) -> bool {
    crossings(points, p.y).filter(|x| p.x < *x).count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_segments_and_outlines_meet_as_drawn() {
        let rect = Rect::new(0.0, 0.0, 10.0, 5.0);
        let p = Point::new;
        assert!(Outline::segment(p(-5.0, 2.0), p(20.0, 3.0), 0.1).meets(rect));
        assert!(!Outline::segment(p(-5.0, 6.0), p(20.0, 6.0), 0.5).meets(rect));
        assert!(Outline::segment(p(-5.0, 6.0), p(20.0, 6.0), 1.5).meets(rect));
        let round_it = vec![p(-9.0, -9.0), p(19.0, -9.0), p(19.0, 19.0), p(-9.0, 19.0)];
        assert!(Outline::filled(round_it).meets(rect));
        assert!(segments_cross(
            (p(0.0, 0.0), p(2.0, 2.0)),
            (p(0.0, 2.0), p(2.0, 0.0))
        ));
        assert!((rect_gap(rect, Rect::new(13.0, 9.0, 14.0, 10.0)) - 5.0).abs() < 1e-12);
    }
}
