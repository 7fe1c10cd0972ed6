//! Lettering: what a label says, and how wide it is in the bundled font.
//!
//! ```text
//! Words (runs of one weight and ink) ─measure→ width in mm ─place→ Item::Text
//! ```

use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::OnceLock;

use kurbo::{Point, Rect};
use rustybuzz::{Face, GlyphBuffer, UnicodeBuffer};

use super::shape::Ink;

/// Size of all lettering, mm: capitals of 2.5 mm, the least on A4 by ISO 3098 practice.
pub const SIZE_MM: f64 = 3.6;

/// Size of detail letters, mm: capitals of 3.5 mm.
pub const BIG_MM: f64 = 5.0;

/// From base line to base line, mm.
pub const LEADING_MM: f64 = 4.6;

/// From the base line up to the top of capitals and digits, as a share of the size.
const RISE: f64 = 0.74;

/// From the base line down to the end of descenders, as a share of the size.
const FALL: f64 = 0.21;

/// Weight of lettering.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Weight {
    /// 400.
    Regular,
    /// 600, for names and values.
    Bold,
}

/// A stretch of text in one weight and colour.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// The words.
    pub text: String,
    /// Their weight.
    pub weight: Weight,
    /// Their colour.
    pub ink: Ink,
}

/// Where a text stands from its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// It starts there.
    Start,
    /// It is centred there.
    Middle,
    /// It ends there.
    End,
}

/// One line of text at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// On the base line, mm.
    pub at: Point,
    /// Where the text stands from there.
    pub align: Align,
    /// Size, mm.
    pub size_mm: f64,
    /// What it says.
    pub runs: Vec<Run>,
    /// Whether a paper edge lifts it off what lies behind.
    pub halo: bool,
}

/// Words in the weight for names and values.
pub fn bold(text: impl Into<String>, ink: Ink) -> Run {
    Run {
        text: text.into(),
        weight: Weight::Bold,
        ink,
    }
}

/// Words in the weight for the rest.
pub fn plain(text: impl Into<String>, ink: Ink) -> Run {
    Run {
        text: text.into(),
        weight: Weight::Regular,
        ink,
    }
}

impl Text {
    /// A line of lettering in the common size, with a halo.
    pub fn new(at: Point, align: Align, runs: Vec<Run>) -> Self {
        Self {
            at,
            align,
            size_mm: SIZE_MM,
            runs,
            halo: true,
        }
    }

    /// Width of the line, mm.
    pub fn width(&self) -> f64 {
        width(&self.runs, self.size_mm)
    }

    /// The box that the letters fill, mm.
    pub fn bounds(&self) -> Rect {
        line_box(self.at, self.align, self.size_mm, self.width())
    }
}

/// The box of one line of lettering at a place on its base line, mm.
fn line_box(at: Point, align: Align, size_mm: f64, width: f64) -> Rect {
    let left = match align {
        Align::Start => at.x,
        Align::Middle => at.x - width / 2.0,
        Align::End => at.x - width,
    };
    Rect::new(
        left,
        at.y - RISE * size_mm,
        left + width,
        at.y + FALL * size_mm,
    )
}

/// Width of runs set one after another, mm.
pub fn width(runs: &[Run], size_mm: f64) -> f64 {
    runs.iter()
        .map(|run| advance(&run.text, run.weight) * size_mm)
        .sum()
}

/// Several lines of text set as one label.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// Lines from above, none empty.
    pub lines: Vec<Vec<Run>>,
    /// Width of each line, mm.
    widths: Vec<f64>,
    /// Width of the widest, mm.
    width: f64,
}

impl Block {
    /// Measures the lines.
    pub fn new(lines: Vec<Vec<Run>>) -> Self {
        let widths: Vec<f64> = lines.iter().map(|line| width(line, SIZE_MM)).collect();
        Self {
            width: Lines::new(&widths).width,
            lines,
            widths,
        }
    }

    /// Width of the widest line, mm.
    pub const fn width(&self) -> f64 {
        self.width
    }

    /// Height from the top of the first line's capitals to the last line's descenders, mm.
    pub fn height(&self) -> f64 {
        height_of(self.lines.len())
    }

    /// What it says, in one line.
    pub fn words(&self) -> String {
        let line = |runs: &Vec<Run>| runs.iter().map(|r| r.text.as_str()).collect::<String>();
        self.lines.iter().map(line).collect::<Vec<_>>().join(" ")
    }

    /// What is measured of its first lines.
    ///
    /// - `count`: of lines, at most as many as it has.
    pub fn first(&self, count: usize) -> Lines<'_> {
        if count == self.lines.len() {
            return Lines {
                widths: &self.widths,
                width: self.width,
            };
        }
        Lines::new(&self.widths[..count])
    }

    /// Its first lines when their left upper corner is at `corner`.
    pub fn texts(&self, corner: Point, align: Align, count: usize) -> Vec<Text> {
        let (x, first) = self.first(count).first_line(corner, align);
        self.lines[..count]
            .iter()
            .enumerate()
            .map(|(i, runs)| {
                Text::new(
                    Point::new(x, first + LEADING_MM * i as f64),
                    align,
                    runs.clone(),
                )
            })
            .collect()
    }
}

/// Height of so many lines, mm.
fn height_of(lines: usize) -> f64 {
    (RISE + FALL) * SIZE_MM + LEADING_MM * (lines as f64 - 1.0)
}

/// Measures of a block's first lines.
#[derive(Debug, Clone, Copy)]
pub struct Lines<'a> {
    widths: &'a [f64],
    width: f64,
}

impl<'a> Lines<'a> {
    fn new(widths: &'a [f64]) -> Self {
        let width = widths.iter().copied().fold(0.0, f64::max);
        Self { widths, width }
    }

    /// How many there are.
    pub const fn count(self) -> usize {
        self.widths.len()
    }

    /// Width of the widest, mm.
    pub const fn width(self) -> f64 {
        self.width
    }

    /// As [`Block::height`].
    pub fn height(self) -> f64 {
        height_of(self.widths.len())
    }

    /// The boxes of the lines when their left upper corner is at `corner`.
    pub fn boxes(self, corner: Point, align: Align) -> impl Iterator<Item = Rect> {
        let (x, first) = self.first_line(corner, align);
        let lines = self.widths.iter().enumerate();
        lines.map(move |(i, width)| {
            let at = Point::new(x, first + LEADING_MM * i as f64);
            line_box(at, align, SIZE_MM, *width)
        })
    }

    /// Where the lines begin, stand or end, and the base line of the first.
    fn first_line(self, corner: Point, align: Align) -> (f64, f64) {
        let x = match align {
            Align::Start => corner.x,
            Align::Middle => corner.x + self.width / 2.0,
            Align::End => corner.x + self.width,
        };
        (x, corner.y + RISE * SIZE_MM)
    }
}

thread_local! {
    /// What was measured, by weight.
    static MEASURED: RefCell<[Measured; 2]> = RefCell::default();
}

/// Advances of a weight, in units of the font.
///
/// Shaping costs 20 to 100 µs a text, and figures say the same letters again and again: a letter is
/// as wide as it was when it last stood before the same neighbour.
#[derive(Default)]
struct Measured {
    /// Of each letter before each neighbour; [`UNKNOWN`] before they have met. Empty at first.
    pairs: Vec<i16>,
    /// Of texts with other letters, or with letters that are drawn as one.
    texts: HashMap<String, i32>,
}

/// Texts of a weight that are kept measured, a few hundred kilobytes.
const MOST_MEASURED: usize = 2048;

/// Letters whose pairs are kept, the end of a text among them.
const LETTERS: usize = 256;

const UNKNOWN: i16 = i16::MIN;

/// Advance of a text in ems: shaped with the bundled font, kerning included.
fn advance(text: &str, weight: Weight) -> f64 {
    let units = MEASURED.with_borrow_mut(|measured| measured[weight as usize].units(text, weight));
    f64::from(units) / f64::from(face(weight).units_per_em())
}

impl Measured {
    fn units(&mut self, text: &str, weight: Weight) -> i32 {
        if let Some(known) = self.by_pairs(text) {
            return known;
        }
        if let Some(known) = self.texts.get(text) {
            return *known;
        }
        let shaped = shaped(text, weight);
        let units = shaped.glyph_positions().iter().map(|p| p.x_advance).sum();
        if !self.learn(text, &shaped) {
            if self.texts.len() >= MOST_MEASURED {
                self.texts.clear();
            }
            self.texts.insert(text.to_owned(), units);
        }
        units
    }

    /// The sum of the letters' advances, where all of them are known.
    fn by_pairs(&self, text: &str) -> Option<i32> {
        let known = |letter: usize, next: usize| {
            let known = *self.pairs.get(LETTERS * letter + next)?;
            (known != UNKNOWN).then_some(i32::from(known))
        };
        let mut letters = text.chars();
        let Some(first) = letters.next() else {
            return Some(0);
        };
        let (mut letter, mut units) = (place(first)?, 0);
        for next in letters {
            let next = place(next)?;
            units += known(letter, next)?;
            letter = next;
        }
        Some(units + known(letter, 0)?)
    }

    /// Keeps the advances of a shaped text's letters, if each is one glyph.
    fn learn(&mut self, text: &str, shaped: &GlyphBuffer) -> bool {
        let pairs: Option<Vec<usize>> = letter_pairs(text).collect();
        let Some(pairs) = pairs.filter(|pairs| pairs.len() == shaped.len()) else {
            return false;
        };
        self.pairs.resize(LETTERS * LETTERS, UNKNOWN);
        for (pair, glyph) in pairs.into_iter().zip(shaped.glyph_positions()) {
            self.pairs[pair] = i16::try_from(glyph.x_advance).unwrap_or(UNKNOWN);
        }
        true
    }
}

/// Where the advance of each letter of a text is kept; `None` for one whose pairs are not.
fn letter_pairs(text: &str) -> impl Iterator<Item = Option<usize>> + '_ {
    let next = text.chars().skip(1).map(place).chain([Some(0)]);
    let pairs = text.chars().map(place).zip(next);
    pairs.map(|(letter, next)| Some(LETTERS * letter? + next?))
}

/// The place of a letter among those whose pairs are kept: Latin 1, and in the room of its control
/// characters the signs of numbers. The first place is the end of a text.
const fn place(letter: char) -> Option<usize> {
    match letter {
        ' '..='~' | '\u{a0}'..='\u{ac}' | '\u{ae}'..='\u{ff}' => Some(letter as usize),
        '\u{2013}' => Some(0x80),
        '\u{2212}' => Some(0x81),
        '\u{2026}' => Some(0x82),
        _ => None,
    }
}

fn shaped(text: &str, weight: Weight) -> GlyphBuffer {
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(text);
    rustybuzz::shape(face(weight), &[], buffer)
}

fn face(weight: Weight) -> &'static Face<'static> {
    static REGULAR: OnceLock<Face<'static>> = OnceLock::new();
    static BOLD: OnceLock<Face<'static>> = OnceLock::new();
    let (cell, file) = match weight {
        Weight::Regular => (&REGULAR, super::FONT_FILES[0]),
        Weight::Bold => (&BOLD, super::FONT_FILES[3]),
    };
    cell.get_or_init(|| Face::from_slice(file, 0).expect("a bundled font can be read"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advances of the font's own `hmtx` table, read with fontTools 4 (an outside reader).
    #[test]
    fn widths_agree_with_the_font_s_table() {
        let digits = advance("00000", Weight::Regular);
        assert!((digits - 5.0 * advance("0", Weight::Regular)).abs() < 1e-12);
        assert!(
            (advance("0", Weight::Regular) - 0.6).abs() < 1e-9,
            "{digits}"
        );
        assert!(advance("main", Weight::Bold) > advance("main", Weight::Regular));
    }

    /// Against the shaper itself, over names, numbers, ligatures and pairs with kerning.
    #[test]
    fn letters_measured_before_their_neighbours_are_as_wide_as_shaped_texts() {
        let words = [
            "main",
            "Second, two legs",
            "0.19 kN",
            "1 500 N",
            "AVA Tower, To You",
            "fire office fly",
            "over 90.5",
            "Ty. We, (fi)",
            "rope\u{a0}at 27\u{b0}",
            "L'arbre \u{e0} Wy\u{df}",
        ];
        for weight in [Weight::Regular, Weight::Bold] {
            for first in words {
                for second in words {
                    for text in [format!("{first}{second}"), format!("{second} {first}")] {
                        let glyphs = shaped(&text, weight);
                        let units: i32 = glyphs.glyph_positions().iter().map(|p| p.x_advance).sum();
                        let ems = f64::from(units) / f64::from(face(weight).units_per_em());
                        for _ in 0..2 {
                            assert!((advance(&text, weight) - ems).abs() < 1e-12, "{text}");
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn a_block_is_as_wide_as_its_widest_line() {
        let block = Block::new(vec![
            vec![bold("main", Ink::L1), plain(", two legs", Ink::Ink)],
            vec![bold("0.19 kN", Ink::Ink)],
        ]);
        let boxes: Vec<Rect> = block
            .first(2)
            .boxes(Point::new(10.0, 20.0), Align::End)
            .collect();
        assert!((boxes[0].x1 - boxes[1].x1).abs() < 1e-9);
        assert!((boxes[0].width() - block.width()).abs() < 1e-9);
        assert!((boxes[1].y1 - boxes[0].y0 - block.height()).abs() < 1e-9);
    }
}
