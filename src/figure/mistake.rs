//! The frame round a figure of a mistake: hatched edge, dark tab, cross and word, each enough alone.
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

/// Width of the hatched frame, mm.
const BAND_MM: f64 = 2.2;
/// Width of a hatching stroke and distance between them, mm.
const HATCH_MM: (f64, f64) = (0.7, 3.1);
/// Edges of the frame, mm.
const EDGE_MM: f64 = 0.4;
/// From the sheet's edge to the frame, mm.
const OUTSIDE_MM: f64 = 0.5;
/// Height of the tab, mm.
const TAB_MM: f64 = 8.0;

/// How much narrower the figure inside is, mm.
pub const TAKES_MM: f64 = 2.0 * (BAND_MM + OUTSIDE_MM + 0.5);

/// Puts the frame of a mistake round a figure.
pub fn frame(inner: Composed) -> Composed {
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
    let items = vec![
        Shape::stroked(hatching(outer, inside), Stroke::solid(Ink::Bad, HATCH_MM.0)).into(),
        edge(outer),
        edge(inside),
    ];
    sheet.add(Layer::Flag, Item::group("mistake", items));
    tab(&mut sheet, Point::new(inside.x0, inside.y0));
    Composed {
        sheet,
        title: format!("Mistake: {}", inner.title),
        description: format!("This shows a mistake. {}", inner.description),
        size_mm: (width, height),
    }
}

fn edge(rect: Rect) -> Item {
    Shape::stroked(rect_path(rect), Stroke::solid(Ink::Bad, EDGE_MM)).into()
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

/// The tab: cross and word on dark ground.
fn tab(sheet: &mut Sheet, corner: Point) {
    let text = still(
        corner + Vec2::new(9.0, 5.3),
        Align::Start,
        vec![bold("MISTAKE", Ink::Paper)],
    );
    let right = text.bounds().x1 + 3.0;
    let tab = polygon(&[
        corner,
        Point::new(right + 3.0, corner.y),
        Point::new(right, corner.y + TAB_MM),
        Point::new(corner.x, corner.y + TAB_MM),
    ]);
    let cross = marks::cross(
        corner + Vec2::new(4.8, TAB_MM / 2.0),
        2.2,
        Vec2::new(1.0, 1.0),
        Ink::Paper,
    );
    sheet.add(Layer::Flag, Shape::filled(tab, Ink::Bad));
    sheet.extend(Layer::Flag, cross);
    sheet.letter(Layer::Flag, text);
}
