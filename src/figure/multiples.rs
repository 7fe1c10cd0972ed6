//! Small multiples: pictures of one scale and frame side by side, each with a heading and words.
//!
//! ```text
//! count, width ─grid→ columns, width of a panel ─(each kind draws its panels)→ Panel…
//! Panel… ─set→ rows on the sheet, one height staff a row, and the height they take
//! ```

use glam::DVec3;
use kurbo::{Point, Rect, Vec2};

use super::hit::Outline;
use super::key::{EDGE_MM, broken, still};
use super::label::Cover;
use super::scene::{ABOVE_MM, FOOT_MM, Room, Scene};
use super::shape::{Layer, Shape};
use super::sheet::Sheet;
use super::staff;
use super::text::{Align, LEADING_MM, Run};
use super::{Detail, Style};
use crate::rig::Rig;
use crate::statics::Solved;

/// Between two panels of a row, and between two rows, mm.
const GAP_MM: f64 = 5.0;
const ROW_GAP_MM: f64 = 7.0;
/// Most panels in a row.
const MOST_COLUMNS: usize = 3;
/// Narrowest panel of one or two, and of more, mm.
const LEAST_MM: (f64, f64) = (60.0, 44.0);
/// A panel from this width on has its words beside the picture, mm; and the picture's share then.
const ASIDE_MM: f64 = 84.0;
const PICTURE_SHARE: f64 = 0.6;
/// Base line of a heading below a panel's top, and the picture's top, mm.
const HEADING_MM: f64 = 3.6;
const PICTURE_TOP_MM: f64 = 3.0;
/// From the picture to the first base line under it, mm.
const UNDER_MM: f64 = 2.6;
/// From a sign to the words beside it, mm.
const SIGN_GAP_MM: f64 = 2.0;
/// Room at the left for the staff, mm.
const STAFF_MM: f64 = staff::ROOM_MM - EDGE_MM / 2.0;

/// How the panels stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// Panels in a row.
    pub columns: usize,
    /// Width of the picture of a panel, mm.
    pub picture_mm: f64,
    /// Width of its words, mm.
    pub words_mm: f64,
    /// Whether the words stand beside the picture.
    pub aside: bool,
    left: f64,
    panel_mm: f64,
}

impl Grid {
    /// The grid for so many panels on a sheet.
    pub fn new(style: Style, count: usize) -> Self {
        let left = match style.detail {
            Detail::Small => 0.0,
            _ => STAFF_MM,
        };
        let right = if left > 0.0 { EDGE_MM / 2.0 } else { 0.0 };
        let least = if count > 2 { LEAST_MM.1 } else { LEAST_MM.0 };
        let room = style.width_mm - left - right;
        let panel = |columns: usize| {
            let gaps = GAP_MM * (columns - 1) as f64;
            (room - gaps) / columns as f64
        };
        let most = MOST_COLUMNS.min(count.max(1));
        let columns = (1..=most)
            .rev()
            .find(|c| *c == 1 || panel(*c) >= least)
            .unwrap_or(1);
        // Four stand better two and two than three and one.
        let columns = if count == 4 { columns.min(2) } else { columns };
        let panel_mm = panel(columns);
        let aside = panel_mm >= ASIDE_MM && style.detail != Detail::Small;
        let picture_mm = if aside {
            PICTURE_SHARE * panel_mm
        } else {
            panel_mm
        };
        let words_mm = if aside {
            panel_mm - picture_mm - GAP_MM
        } else {
            panel_mm - 2.0
        };
        Self {
            columns,
            picture_mm,
            words_mm,
            aside,
            left,
            panel_mm,
        }
    }
}

/// Room beside the picture of a panel, mm.
const SIDE_MM: (f64, f64) = (3.0, 6.0);

/// The scene that all panels of a grid share: it says little, in the width of one picture.
///
/// - `also`: further places of the harness point that must be inside.
/// - `tallest_mm`: tallest picture.
pub fn scene<'a>(
    rig: &'a Rig,
    solved: &'a Solved,
    style: Style<'a>,
    grid: &Grid,
    also: &[DVec3],
    tallest_mm: f64,
) -> Scene<'a> {
    let panel_style = Style {
        width_mm: grid.picture_mm,
        detail: Detail::Small,
        ..style
    };
    let room = Room {
        left: SIDE_MM.0,
        right: SIDE_MM.1,
        above: ABOVE_MM,
        under: FOOT_MM,
        tallest: tallest_mm,
        below: 0.0,
    };
    Scene::lay(rig, solved, panel_style, also, room)
}

/// A paragraph under or beside a picture.
#[derive(Debug, Clone, Default)]
pub struct Words {
    /// A sign at its left, drawn with the middle of its lower edge at the origin; its width and
    /// height, mm.
    pub sign: Option<(Vec<Shape>, f64)>,
    /// Lines, broken further where one is too wide.
    pub lines: Vec<Vec<Run>>,
}

/// One picture with its heading and words.
#[derive(Debug)]
pub struct Panel {
    /// What tells its ids from those of its neighbours.
    pub suffix: String,
    /// Over the picture.
    pub heading: Vec<Run>,
    /// The picture, its labels in place; its left upper corner is the panel's.
    pub picture: Sheet,
    /// Height of the picture, mm.
    pub height_mm: f64,
    /// Under or beside it.
    pub words: Vec<Words>,
}

/// Sets the panels in rows from `top` down, and returns where they end.
///
/// - `scene`: of any panel: all have its scale and frame.
pub fn set(sheet: &mut Sheet, grid: &Grid, panels: &[Panel], scene: &Scene<'_>, top: f64) -> f64 {
    let mut y = top;
    for row in panels.chunks(grid.columns) {
        let mut bottom = y;
        let headings = row.iter().map(|p| heading_lines(p, grid));
        let deep = headings.map(|h| h.len()).max().unwrap_or(1);
        let picture_top = y + PICTURE_TOP_MM + LEADING_MM * (deep - 1) as f64;
        for (i, panel) in row.iter().enumerate() {
            let x = grid.left + i as f64 * (grid.panel_mm + GAP_MM);
            let mut base = y + HEADING_MM;
            for line in heading_lines(panel, grid) {
                let text = still(Point::new(x + 1.0, base), Align::Start, line);
                sheet.letter(Layer::Label, text);
                base += LEADING_MM;
            }
            // On tenths, as wood is drawn: pictures of one rig then repeat each other's shapes.
            let tenth = |mm: f64| (mm * 10.0).round() / 10.0;
            let corner = Point::new(tenth(x), tenth(picture_top));
            sheet.take(&panel.picture, corner.to_vec2(), &panel.suffix);
            let at = if grid.aside {
                corner + Vec2::new(grid.picture_mm + GAP_MM, 8.0)
            } else {
                corner + Vec2::new(1.0, panel.height_mm + UNDER_MM)
            };
            let low = set_words(sheet, &panel.words, at, grid.words_mm);
            bottom = bottom.max(low).max(corner.y + panel.height_mm);
        }
        if grid.left > 0.0 {
            scene.draw_staff(sheet, Vec2::new(0.0, picture_top));
        }
        y = bottom + ROW_GAP_MM;
    }
    y - ROW_GAP_MM
}

fn heading_lines(panel: &Panel, grid: &Grid) -> Vec<Vec<Run>> {
    broken(&panel.heading, grid.panel_mm - 1.0)
}

/// Sets paragraphs, the first base line at `at`; returns where they end.
fn set_words(sheet: &mut Sheet, words: &[Words], at: Point, wide: f64) -> f64 {
    let mut base = at.y;
    let mut bottom = at.y;
    for part in words {
        let (sign_mm, high) = part
            .sign
            .as_ref()
            .map_or((0.0, 0.0), |(_, wide)| (wide + SIGN_GAP_MM, 0.9 * wide));
        let lines: Vec<_> = part
            .lines
            .iter()
            .flat_map(|line| broken(line, wide - sign_mm))
            .collect();
        let last = base + LEADING_MM * (lines.len().max(1) - 1) as f64;
        let mut end = last + 1.2;
        if let Some((shapes, wide)) = &part.sign {
            let top = base - 2.9;
            let foot = Point::new(at.x + wide / 2.0, top + high);
            for shape in shapes {
                let path = kurbo::Affine::translate(foot.to_vec2()) * shape.path.clone();
                sheet.add(
                    Layer::Flag,
                    Shape {
                        path,
                        ..shape.clone()
                    },
                );
            }
            let place = Rect::new(at.x, top, at.x + wide, top + high);
            sheet.block(Cover::Never, Outline::Box(place));
            end = end.max(top + high);
        }
        for line in lines {
            let text = still(Point::new(at.x + sign_mm, base), Align::Start, line);
            sheet.letter(Layer::Label, text);
            base += LEADING_MM;
        }
        bottom = bottom.max(end);
        base = base.max(end + 2.9 + 0.8);
    }
    bottom
}
