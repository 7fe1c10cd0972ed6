//! The frame round a figure of a mistake (hatched edge, dark tab, cross and word, each enough alone),
//! and its plain twin for the right way beside it (tick and word).
//!
//! ```text
//! Composed at the inner width ─frame→ Composed at the full width
//! ```

use kurbo::{BezPath, Point, Rect, Vec2};

use super::key::still;
use super::shape::{Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, polygon, rect_path};
use super::text::{Align, bold};
use super::{Composed, marks};

/// What a frame says of the figure inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Nobody should rig it so.
    Mistake,
    /// How it is done instead.
    Right,
}

impl Verdict {
    const fn word(self) -> &'static str {
        match self {
            Self::Mistake => "MISTAKE",
            Self::Right => "RIGHT",
        }
    }

    const fn ink(self) -> Ink {
        match self {
            Self::Mistake => Ink::Bad,
            Self::Right => Ink::Good,
        }
    }
}

/// Width of the hatched frame, mm.
const BAND_MM: f64 = 2.2;
/// Width of a hatching stroke and distance between them, mm.
const HATCH_MM: (f64, f64) = (0.7, 3.1);
/// Edges of a mistake's frame, and the one edge of the right way's, mm.
const EDGE_MM: f64 = 0.4;
const PLAIN_MM: f64 = 0.6;
/// From the sheet's edge to the frame, mm.
const OUTSIDE_MM: f64 = 0.5;
/// Height of the tab, mm.
const TAB_MM: f64 = 8.0;

/// How much narrower the figure inside is, mm.
pub const TAKES_MM: f64 = 2.0 * (BAND_MM + OUTSIDE_MM + 0.5);

/// Puts a frame round a figure. Both frames take the same room, so that twins have one scale.
pub fn frame(inner: Composed, verdict: Verdict) -> Composed {
    let by = Vec2::new(TAKES_MM / 2.0, TAKES_MM / 2.0 + TAB_MM);
    let (width, height) = (
        inner.size_mm.0 + TAKES_MM,
        inner.size_mm.1 + TAKES_MM + TAB_MM,
    );
    let mut sheet = Sheet::default();
    sheet.take(&inner.sheet, by, "");
    let outer = Rect::new(
        OUTSIDE_MM,
        OUTSIDE_MM,
        width - OUTSIDE_MM,
        height - OUTSIDE_MM,
    );
    let inside = outer.inset(-BAND_MM);
    let corner = match verdict {
        Verdict::Mistake => {
            let hatch = Stroke::solid(Ink::Bad, HATCH_MM.0);
            let items = vec![
                Shape::stroked(hatching(outer, inside), hatch).into(),
                edge(outer, Ink::Bad, EDGE_MM),
                edge(inside, Ink::Bad, EDGE_MM),
            ];
            sheet.add(Layer::Flag, Item::group("mistake", items));
            Point::new(inside.x0, inside.y0)
        }
        Verdict::Right => {
            let items = vec![edge(outer, Ink::Good, PLAIN_MM)];
            sheet.add(Layer::Flag, Item::group("right", items));
            Point::new(outer.x0, outer.y0)
        }
    };
    tab(&mut sheet, corner, verdict);
    let (title, opening) = match verdict {
        Verdict::Mistake => ("Mistake", "This shows a mistake."),
        Verdict::Right => ("Right", "This shows the right way, beside a mistake."),
    };
    Composed {
        sheet,
        title: format!("{title}: {}", inner.title),
        description: format!("{opening} {}", inner.description),
        size_mm: (width, height),
    }
}

fn edge(rect: Rect, ink: Ink, width_mm: f64) -> Item {
    Shape::stroked(rect_path(rect), Stroke::solid(ink, width_mm)).into()
}

/// Slanted strokes in the band between two boxes.
fn hatching(outer: Rect, inside: Rect) -> BezPath {
    let mut path = BezPath::new();
    let mut stroke = |from: Point, to: Point| {
        path.move_to(from);
        path.line_to(to);
    };
    let half = HATCH_MM.0 / 2.0;
    for (y0, y1) in [(outer.y0, inside.y0), (inside.y1, outer.y1)] {
        let mut x = outer.x0 + half;
        while x + BAND_MM < outer.x1 {
            stroke(Point::new(x, y1), Point::new(x + BAND_MM, y0));
            x += HATCH_MM.1;
        }
    }
    for (x0, x1) in [(outer.x0, inside.x0), (inside.x1, outer.x1)] {
        let mut y = inside.y0 + HATCH_MM.1;
        while y < inside.y1 {
            stroke(Point::new(x0, y), Point::new(x1, y - BAND_MM));
            y += HATCH_MM.1;
        }
    }
    path
}

/// The tab: sign and word on dark ground.
fn tab(sheet: &mut Sheet, corner: Point, verdict: Verdict) {
    let text = still(
        corner + Vec2::new(9.0, 5.3),
        Align::Start,
        vec![bold(verdict.word(), Ink::Paper)],
    );
    let right = text.bounds().x1 + 3.0;
    let tab = polygon(&[
        corner,
        Point::new(right + 3.0, corner.y),
        Point::new(right, corner.y + TAB_MM),
        Point::new(corner.x, corner.y + TAB_MM),
    ]);
    let at = corner + Vec2::new(4.8, TAB_MM / 2.0);
    let sign = match verdict {
        Verdict::Mistake => marks::cross(at, 2.2, Vec2::new(1.0, 1.0), Ink::Paper),
        Verdict::Right => marks::tick(at, 2.4, Ink::Paper),
    };
    sheet.add(Layer::Flag, Shape::filled(tab, verdict.ink()));
    sheet.extend(Layer::Flag, sign);
    sheet.letter(Layer::Flag, text);
}
