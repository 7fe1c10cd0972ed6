//! The `strip` figure: the assembly of each line in order, and the tightest of its parts.
//!
//! ```text
//! LineFacts ─(assembly)→ parts ─columns→ numbers, picture, names, carries, works to, share bar
//! ```

use kurbo::{Point, Rect, Vec2};

use super::assembly::{self, Mark, Part};
use super::facts::{LineFacts, force, gather};
use super::key::{EDGE_MM, broken, still};
use super::naming::line_heading;
use super::shape::{Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, circle_path, line, rect_path};
use super::strip_picture::{self, Columns};
use super::text::{Align, LEADING_MM, Run, SIZE_MM, bold, plain, width};
use super::{Composed, Style, describe};
use crate::quantity::number_text;
use crate::rig::Rig;
use crate::statics::Solved;

/// Most columns side by side, and the least width of one, mm.
const MOST_COLUMNS: usize = 6;
const LEAST_COLUMN_MM: f64 = 21.5;
/// Room for the words before the rows, mm.
const WORDS_MM: f64 = 19.0;
/// Most lines of a part's second name.
const MOST_LINES: usize = 3;
/// Radius of a part's number, mm.
const NUMBER_MM: f64 = 2.9;
/// From the heading's base line down to the numbers, and from there to the picture's axis, mm.
const TO_NUMBERS_MM: f64 = 6.5;
const TO_AXIS_MM: f64 = 15.0;
/// From the axis to the base line of the names, mm.
const TO_NAMES_MM: f64 = 19.5;
/// The same where no tail hangs down, mm.
const NO_TAIL_MM: f64 = 14.5;
/// Size of a share bar, mm.
const BAR_MM: (f64, f64) = (16.0, 3.4);

/// What a row of the table says of a part, newtons.
type PartValue = fn(&Part) -> Option<f64>;

/// A line with its parts.
pub struct Strip<'a> {
    /// The line.
    pub facts: &'a LineFacts,
    /// Its parts.
    pub parts: Vec<Part>,
}

impl Strip<'_> {
    /// The parts with the greatest share of what they work to, and that share; several where their
    /// shares print alike.
    pub fn tightest(&self) -> (Vec<usize>, Option<f64>) {
        let shares: Vec<Option<f64>> = self.parts.iter().map(Part::share).collect();
        let most = shares.iter().flatten().copied().reduce(f64::max);
        let alike = |share: &Option<f64>| {
            share
                .zip(most)
                .is_some_and(|(s, m)| percent(s) == percent(m))
        };
        let which = (0..shares.len()).filter(|i| alike(&shares[*i])).collect();
        (which, most)
    }
}

/// Composes the figure.
pub fn compose(rig: &Rig, solved: &Solved, style: Style<'_>) -> Composed {
    let facts = gather(rig, solved);
    let strips: Vec<Strip<'_>> = facts
        .iter()
        .map(|facts| Strip {
            facts,
            parts: assembly::parts(rig, solved, facts, style.shelf),
        })
        .collect();
    let mut sheet = Sheet::default();
    let mut top = 2.0;
    for strip in &strips {
        top = draw_strip(&mut sheet, rig, strip, style, top);
    }
    let bottom = notes(&mut sheet, &strips, style, top);
    Composed {
        title: format!("{}: assembly", rig.title),
        description: describe::strip(rig, solved, &strips, style),
        sheet,
        size_mm: (style.width_mm, bottom),
    }
}

/// One line: its heading and its parts in one row or more. Returns where it ends.
fn draw_strip(sheet: &mut Sheet, rig: &Rig, strip: &Strip<'_>, style: Style<'_>, top: f64) -> f64 {
    let facts = strip.facts;
    let mut y = line_heading(sheet, rig, facts, style.width_mm, top);
    let room = style.width_mm - 2.0 * EDGE_MM - WORDS_MM;
    let most = ((room / LEAST_COLUMN_MM) as usize).clamp(1, MOST_COLUMNS);
    let rows = strip.parts.len().div_ceil(most);
    let each = strip.parts.len().div_ceil(rows);
    let pitch = room / most as f64;
    let mut first = 0;
    for parts in strip.parts.chunks(each) {
        let columns = Columns {
            left: EDGE_MM + WORDS_MM,
            pitch,
            right: style.width_mm - EDGE_MM,
            axis: y + TO_NUMBERS_MM + TO_AXIS_MM,
            first,
        };
        numbers(sheet, &columns, parts.len());
        let items = strip_picture::draw(rig, strip, &columns, parts.len());
        let id = format!("strip-{}-{}", rig.line(facts.id).name, first + 1);
        sheet.add(Layer::Detail, Item::group(id, items));
        y = table(sheet, strip, &columns, parts, style) + 2.5;
        first += parts.len();
    }
    y + 1.5
}

/// The parts' numbers over the picture, on one line.
fn numbers(sheet: &mut Sheet, columns: &Columns, count: usize) {
    let y = columns.axis - TO_AXIS_MM;
    let ends = [0, count - 1].map(|i| Point::new(columns.middle(i), y));
    sheet.add(
        Layer::Key,
        line(ends[0], ends[1], Stroke::solid(Ink::Hair, 0.25)),
    );
    for i in 0..count {
        let at = Point::new(columns.middle(i), y);
        let ring = Stroke::solid(Ink::Ink, 0.35);
        sheet.add(
            Layer::Key,
            Shape::both(circle_path(at, NUMBER_MM), Ink::Paper, ring),
        );
        let number = vec![bold((columns.first + i + 1).to_string(), Ink::Ink)];
        let base = at + Vec2::new(0.0, 1.3);
        sheet.letter(Layer::Key, still(base, Align::Middle, number));
    }
}

/// Names, what each part carries and works to, and its share as a bar. Returns where it ends.
fn table(
    sheet: &mut Sheet,
    strip: &Strip<'_>,
    columns: &Columns,
    parts: &[Part],
    style: Style<'_>,
) -> f64 {
    let hangs = parts
        .iter()
        .any(|p| matches!(p.mark, Mark::Hitch | Mark::Device));
    let mut y = columns.axis + if hangs { TO_NAMES_MM } else { NO_TAIL_MM };
    let mut letter = |x: f64, y: f64, align: Align, run: Run| {
        let text = still(Point::new(x, y), align, vec![run]);
        sheet.letter(Layer::Label, text);
    };
    let mut tallest = 0;
    for (i, part) in parts.iter().enumerate() {
        let x = columns.middle(i);
        letter(x, y, Align::Middle, bold(part.role.clone(), Ink::Ink));
        let which = broken(&[plain(part.which.clone(), Ink::Soft)], columns.pitch - 1.2);
        for (nth, runs) in which.into_iter().take(MOST_LINES).enumerate() {
            tallest = tallest.max(nth + 1);
            let words: String = runs.into_iter().map(|run| run.text).collect();
            let below = y + LEADING_MM * (nth + 1) as f64;
            letter(
                x,
                below,
                Align::Middle,
                plain(words.trim().to_owned(), Ink::Soft),
            );
        }
    }
    y += LEADING_MM * tallest as f64 + 2.2;
    let rule = y;
    let units = style.units;
    let value = |n: Option<f64>| n.map_or_else(|| "–".to_owned(), |n| force(n, units));
    let left = EDGE_MM;
    y += 5.2;
    let rows: [(&str, PartValue); 2] = [
        ("carries", |part| part.carries_n),
        ("works to", |part| part.works_to_n),
    ];
    for (words, of) in rows {
        if strip.parts.iter().all(|part| of(part).is_none()) {
            continue;
        }
        letter(left, y, Align::Start, plain(words, Ink::Soft));
        for (i, part) in parts.iter().enumerate() {
            letter(
                columns.middle(i),
                y,
                Align::Middle,
                plain(value(of(part)), Ink::Ink),
            );
        }
        y += 5.4;
    }
    let (tightest, most) = strip.tightest();
    let mut bars = Vec::new();
    if most.is_some() {
        letter(left, y + 1.2, Align::Start, plain("share", Ink::Soft));
        for (i, part) in parts.iter().enumerate() {
            let x = columns.middle(i);
            let is_tightest = tightest.contains(&(columns.first + i));
            let Some(share) = part.share() else {
                letter(x, y + 1.2, Align::Middle, plain("–", Ink::Ink));
                continue;
            };
            bars.extend(bar(Point::new(x, y), share, is_tightest));
            let words = percent(share);
            let run = if is_tightest {
                bold(words, Ink::Ink)
            } else {
                plain(words, Ink::Ink)
            };
            letter(x, y + 6.0, Align::Middle, run);
        }
        y += 7.0;
    } else {
        y -= 4.0;
    }
    sheet.extend(Layer::Key, bars);
    let ends = [EDGE_MM, columns.right].map(|x| Point::new(x, rule));
    sheet.add(
        Layer::Key,
        line(ends[0], ends[1], Stroke::solid(Ink::Hair, 0.25)),
    );
    y
}

/// A share as a bar whose middle is at a place: full at what the part works to.
fn bar(at: Point, share: f64, tightest: bool) -> Vec<Shape> {
    let whole = Rect::from_center_size(at, BAR_MM);
    let mut filled = whole;
    filled.x1 = whole.x0 + BAR_MM.0 * share.clamp(0.0, 1.0);
    let ink = match (share > 1.0, tightest) {
        (true, _) => Ink::Bad,
        (false, true) => Ink::Ink,
        (false, false) => Ink::Hair,
    };
    vec![
        Shape::filled(rect_path(whole), Ink::Wash),
        Shape::filled(rect_path(filled), ink),
        Shape::stroked(rect_path(whole), Stroke::solid(Ink::Soft, 0.25)),
    ]
}

/// A share in words; more than the whole says so.
pub fn percent(share: f64) -> String {
    let number = number_text(share * 100.0, 0);
    if share > 1.0 {
        format!("{number}\u{a0}%, over")
    } else {
        format!("{number}\u{a0}%")
    }
}

/// The tightest part of each line, and what the rows mean. Returns the sheet's height.
fn notes(sheet: &mut Sheet, strips: &[Strip<'_>], style: Style<'_>, top: f64) -> f64 {
    let mut say: Vec<Vec<Run>> = Vec::new();
    for strip in strips {
        let (which, Some(share)) = strip.tightest() else {
            continue;
        };
        let roles: Vec<&str> = which
            .iter()
            .map(|i| strip.parts[*i].role.as_str())
            .collect();
        let parts = if roles.len() > 1 { "parts" } else { "part" };
        say.push(vec![
            bold(strip.facts.name.clone(), Ink::line(strip.facts.id.0)),
            plain(format!(", tightest {parts}: "), Ink::Ink),
            bold(roles.join(", "), Ink::Ink),
            plain(
                format!(", {} of what it works to", percent(share)),
                Ink::Ink,
            ),
        ]);
    }
    let has = |of: PartValue| {
        strips
            .iter()
            .flat_map(|s| &s.parts)
            .any(|part| of(part).is_some())
    };
    let mut rows = String::new();
    if has(|part| part.carries_n) {
        rows.push_str("Carries: hanging still, as in the pulls; movement adds to it. ");
    }
    let (textile, metal) = style.shelf.factors();
    if has(|part| part.works_to_n) {
        rows.push_str("Works to: its limit");
        if textile > 0.0 {
            rows.push_str(&format!(
                ", else strength over {} (textile) or {} (metal)",
                number_text(textile, 0),
                number_text(metal, 0)
            ));
        }
        rows.push('.');
    }
    if !rows.is_empty() {
        say.push(vec![plain(rows.trim().to_owned(), Ink::Soft)]);
    }
    let mut y = top + 2.0;
    for words in say {
        for words in broken(&words, style.width_mm - 2.0 * EDGE_MM) {
            debug_assert!(
                width(&words, SIZE_MM) <= style.width_mm,
                "broken to the width"
            );
            sheet.letter(
                Layer::Key,
                still(Point::new(EDGE_MM, y), Align::Start, words),
            );
            y += LEADING_MM;
        }
    }
    y - LEADING_MM + 3.0
}
