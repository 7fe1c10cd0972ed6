//! The key rail under a figure: only what occurs, in columns, scales at the right.
//!
//! ```text
//! Entry… + Scale… ─lay→ rows on the sheet, and the height they take
//! ```

use kurbo::{Point, Rect, Vec2};

use super::hit::Outline;
use super::label::Cover;
use super::shape::{Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, line, moved, rect_path};
use super::text::{Align, Run, SIZE_MM, Text, bold, plain, width};

/// Distance between rows, mm.
const ROW_MM: f64 = 5.4;
/// Length of a symbol, mm.
pub const SYMBOL_MM: f64 = 11.0;
/// From a symbol to its words, mm.
const SYMBOL_GAP_MM: f64 = 2.2;
/// Least distance between columns, mm.
const COLUMN_GAP_MM: f64 = 4.0;
/// Least gap between two numbers under a scale bar, mm.
const APART_MM: f64 = 0.8;
/// Most columns.
const MOST_COLUMNS: usize = 3;
/// From the sheet's edge, mm.
pub const EDGE_MM: f64 = 4.0;
/// From the picture to the rule, and from the rule to the first row's middle, mm.
const OVER_RULE_MM: f64 = 3.0;
const UNDER_RULE_MM: f64 = 5.4;
/// Rule, mm.
const RULE_MM: f64 = 0.35;
/// Rows that a scale takes where it stands under the rest.
const SCALE_ROWS: usize = 2;
/// From a row's middle down to its base line, mm.
const BASE_MM: f64 = 1.25;

/// One row: a symbol and its words.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Drawn from here: left end of the symbol at its middle height, at the origin.
    pub symbol: Vec<Item>,
    /// Words.
    pub words: Vec<Run>,
}

impl Entry {
    /// Words after a symbol.
    pub fn new(symbol: Vec<Item>, words: impl Into<String>) -> Self {
        Self {
            symbol,
            words: vec![plain(words, Ink::Ink)],
        }
    }

    /// Words alone.
    pub fn note(words: impl Into<String>) -> Self {
        Self::new(Vec::new(), words)
    }
}

/// A scale bar: four equal parts.
#[derive(Debug, Clone)]
pub struct Scale {
    /// Words over it.
    pub title: String,
    /// Length of the whole bar, mm.
    pub length_mm: f64,
    /// Numbers at its start, middle and end.
    pub numbers: [String; 3],
    /// Unit after the last number.
    pub unit: String,
}

impl Scale {
    /// Width with the numbers under it, mm.
    pub fn width(&self) -> f64 {
        let last = [plain(self.numbers[2].clone(), Ink::Ink)];
        let unit = [plain(format!(" {}", self.unit), Ink::Ink)];
        let bar = self.length_mm + width(&last, SIZE_MM) / 2.0 + width(&unit, SIZE_MM);
        bar.max(width(&[bold(self.title.clone(), Ink::Ink)], SIZE_MM))
    }

    /// Draws it, its title's base line starting at `at`.
    pub fn draw(&self, sheet: &mut Sheet, at: Point) {
        let title = vec![bold(self.title.clone(), Ink::Ink)];
        sheet.letter(Layer::Key, still(at, Align::Start, title));
        let bar = at + Vec2::new(0.0, 2.1);
        let part = self.length_mm / 4.0;
        for i in 0..4 {
            let x = bar.x + part * f64::from(i);
            let ink = if i % 2 == 0 { Ink::Ink } else { Ink::Paper };
            let rect = Rect::new(x, bar.y, x + part, bar.y + 1.4);
            let stroke = Stroke::solid(Ink::Ink, 0.25);
            sheet.add(Layer::Key, Shape::both(rect_path(rect), ink, stroke));
        }
        let base = bar.y + 5.0;
        let long = |number: &str| width(&[plain(number, Ink::Ink)], SIZE_MM);
        // Under a short bar there is room for its ends alone.
        let halves = (long(&self.numbers[1]) + long(&self.numbers[2])) / 2.0 + APART_MM;
        let crowded = halves > self.length_mm / 2.0;
        for (i, number) in self.numbers.iter().enumerate() {
            if i == 1 && crowded {
                continue;
            }
            let x = bar.x + self.length_mm / 2.0 * i as f64;
            let align = if i == 0 { Align::Start } else { Align::Middle };
            let words = vec![plain(number.clone(), Ink::Ink)];
            let text = still(Point::new(x, base), align, words);
            let end = text.bounds().x1;
            sheet.letter(Layer::Key, text);
            if i == 2 {
                let unit = vec![plain(format!("\u{a0}{}", self.unit), Ink::Ink)];
                let at = Point::new(end, base);
                sheet.letter(Layer::Key, still(at, Align::Start, unit));
            }
        }
    }
}

/// Text without a halo: the rail has nothing behind it.
pub fn still(at: Point, align: Align, runs: Vec<Run>) -> Text {
    Text {
        halo: false,
        ..Text::new(at, align, runs)
    }
}

/// Lays the rail under `top`, and returns the sheet's height.
///
/// - `width_mm`: of the sheet.
pub fn lay(
    sheet: &mut Sheet,
    entries: &[Entry],
    scale: Option<&Scale>,
    top: f64,
    width_mm: f64,
) -> f64 {
    let rule = top + OVER_RULE_MM;
    let ends = [EDGE_MM, width_mm - EDGE_MM].map(|x| Point::new(x, rule));
    sheet.add(
        Layer::Key,
        line(ends[0], ends[1], Stroke::solid(Ink::Ink, RULE_MM)),
    );
    let full = width_mm - 2.0 * EDGE_MM;
    let beside = scale.map_or(full, |s| full - s.width() - COLUMN_GAP_MM);
    // A scale stands at the right of the rows, or below the last of them, whichever is lower.
    let wrapped = |width: f64| wrap(entries, width);
    let tall = |columns: &[Column]| columns.iter().map(|c| c.tall).max().unwrap_or(0);
    let rows = wrapped(full);
    let aside = scale.and_then(|_| fit(&wrapped(beside), None, beside));
    let inside = fit(&rows, scale, full);
    let (columns, inside) = match (aside, inside) {
        (Some(aside), Some(inside)) if tall(&aside).max(SCALE_ROWS) > tall(&inside) => {
            (inside, true)
        }
        (Some(aside), _) => (aside, false),
        (None, Some(inside)) => (inside, true),
        (None, None) => {
            let tall = rows.len() + scale.map_or(0, |_| SCALE_ROWS);
            let left = EDGE_MM + 0.8;
            (vec![Column { left, rows, tall }], true)
        }
    };
    let first = rule + UNDER_RULE_MM;
    let middle = |row: usize| first + ROW_MM * row as f64;
    let mut bottom = rule;
    for column in &columns {
        for (i, row) in column.rows.iter().enumerate() {
            draw_row(sheet, row, Point::new(column.left, middle(i)));
        }
        bottom = bottom.max(middle(column.tall) - ROW_MM + 3.6);
    }
    if let Some(scale) = scale {
        let at = match columns.last().filter(|_| inside) {
            Some(last) => Point::new(last.left, middle(last.rows.len()) + 1.2),
            None => Point::new(width_mm - EDGE_MM - scale.width(), first - 0.8),
        };
        scale.draw(sheet, at);
        bottom = bottom.max(at.y + 8.4);
    }
    bottom + 0.6
}

/// Rows under each other, and how many rows high they stand with a scale below them.
struct Column {
    left: f64,
    rows: Vec<Row>,
    tall: usize,
}

/// A row of the rail: an entry, or the further words of the one above.
#[derive(Debug, Clone)]
struct Row {
    symbol: Vec<Item>,
    indent: f64,
    words: Vec<Run>,
    /// Of symbol and words, mm.
    width: f64,
}

/// Entries as rows, words broken where one is wider than the rail.
fn wrap(entries: &[Entry], most: f64) -> Vec<Row> {
    let mut rows = Vec::new();
    for entry in entries {
        let indent = if entry.symbol.is_empty() {
            0.0
        } else {
            SYMBOL_MM + SYMBOL_GAP_MM
        };
        let lines = broken(&entry.words, most - indent);
        for (i, words) in lines.into_iter().enumerate() {
            rows.push(Row {
                symbol: if i == 0 {
                    entry.symbol.clone()
                } else {
                    Vec::new()
                },
                indent,
                width: indent + width(&words, SIZE_MM),
                words,
            });
        }
    }
    rows
}

/// Words broken at spaces into lines no wider than `most`, mm, where that is possible.
pub fn broken(words: &[Run], most: f64) -> Vec<Vec<Run>> {
    if width(words, SIZE_MM) <= most {
        return vec![words.to_vec()];
    }
    let mut lines: Vec<Vec<Run>> = vec![Vec::new()];
    let mut used = 0.0;
    for run in words {
        for piece in run.text.split_inclusive(' ') {
            let run = Run {
                text: piece.to_owned(),
                ..run.clone()
            };
            let long = width(std::slice::from_ref(&run), SIZE_MM);
            if used > 0.0 && used + long > most {
                lines.push(Vec::new());
                used = 0.0;
            }
            used += long;
            let line = lines.last_mut().expect("one line at least");
            match line.last_mut() {
                Some(last) if last.ink == run.ink && last.weight == run.weight => {
                    last.text.push_str(piece);
                }
                _ => line.push(run),
            }
        }
    }
    lines
}

/// Columns, as many as fit, a scale under the last; `None` where not even one column fits.
fn fit(rows: &[Row], scale: Option<&Scale>, full: f64) -> Option<Vec<Column>> {
    let under = scale.map_or(0, |_| SCALE_ROWS);
    (1..=MOST_COLUMNS.min(rows.len())).rev().find_map(|count| {
        let tall = (rows.len() + under).div_ceil(count).max(under);
        let chunks: Vec<&[Row]> = rows.chunks(tall).collect();
        let last = chunks.len() - 1;
        if chunks[last].len() + under > tall {
            return None;
        }
        let wide = |(i, rows): (usize, &&[Row])| {
            let scale = scale.filter(|_| i == last).map_or(0.0, Scale::width);
            rows.iter().map(|row| row.width).fold(scale, f64::max)
        };
        let widths: Vec<f64> = chunks.iter().enumerate().map(wide).collect();
        let gaps = COLUMN_GAP_MM * last as f64;
        let free = full - 0.8 - widths.iter().sum::<f64>() - gaps;
        if free < 0.0 {
            return None;
        }
        let spread = (free / chunks.len() as f64).min(8.0);
        let mut left = EDGE_MM + 0.8;
        let columns = chunks
            .iter()
            .zip(widths)
            .enumerate()
            .map(|(i, (rows, wide))| {
                let column = Column {
                    left,
                    rows: rows.to_vec(),
                    tall: rows.len() + if i == last { under } else { 0 },
                };
                left += wide + COLUMN_GAP_MM + spread;
                column
            });
        Some(columns.collect())
    })
}

fn draw_row(sheet: &mut Sheet, row: &Row, at: Point) {
    for item in &row.symbol {
        sheet.add(Layer::Key, moved(item.clone(), at.to_vec2(), ""));
    }
    if !row.symbol.is_empty() {
        let from = Point::new(at.x, at.y);
        let to = from + Vec2::new(SYMBOL_MM, 0.0);
        sheet.block(Cover::Never, Outline::segment(from, to, 1.5));
    }
    let base = Point::new(at.x + row.indent, at.y + BASE_MM);
    sheet.letter(Layer::Key, still(base, Align::Start, row.words.clone()));
}
