//! One value: asked for as what it should be; the wrong sort is noted and gives `None`.

use glam::DVec3;
use jiff::civil::{Date, Time};
use std::ops::Range;
use toml::Spanned;
use toml::de::DeValue;

use super::place::string_map;
use super::{Doc, PlaceMap, Problem, Table};
use crate::finding::Place;
use crate::quantity::{self, Dimension, QuantityProblem};

const MONTHS_IN_YEAR: i64 = 12;

/// A value with the key that it stands under.
#[derive(Debug, Clone)]
pub struct Item<'t> {
    doc: &'t Doc<'t>,
    key: String,
    value: &'t DeValue<'t>,
    span: Range<usize>,
}

/// A text with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// The words.
    pub value: String,
    /// The token in the file, quotation marks included.
    pub place: Place,
    /// From offsets of `value` to the file.
    pub map: PlaceMap,
}

impl Text {
    /// A key as a text.
    pub(super) fn of_key(key: &str, place: Place) -> Self {
        let len = key.len().min(place.end - place.start);
        Self {
            value: key.to_owned(),
            place,
            map: PlaceMap::straight(place.file, place.start, len),
        }
    }

    /// The place of a part of the words.
    pub fn part(&self, range: Range<usize>) -> Place {
        if range.is_empty() {
            self.place
        } else {
            self.map.place(range)
        }
    }
}

/// A place in space as written: `[x, z]` or `[x, y, z]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coordinate {
    /// Metres; `y = 0` where it was not written.
    pub at: DVec3,
    /// How many numbers were written: 2 or 3.
    pub numbers: usize,
    /// The list.
    pub place: Place,
}

impl<'t> Item<'t> {
    pub(super) fn new(doc: &'t Doc<'t>, key: String, value: &'t Spanned<DeValue<'t>>) -> Self {
        Self {
            doc,
            key,
            value: value.get_ref(),
            span: value.span(),
        }
    }

    /// The value's place in the file.
    pub fn place(&self) -> Place {
        self.doc.map.place(self.span.clone())
    }

    /// The key that the value stands under.
    pub fn key(&self) -> &str {
        &self.key
    }

    /// The value as written.
    pub fn raw(&self) -> &str {
        self.doc.text.get(self.span.clone()).unwrap_or("")
    }

    /// Notes a problem at this value.
    pub fn report(&self, problem: &Problem) {
        self.report_at(problem, self.place());
    }

    /// Notes a problem at a place inside this value, such as one entry of a list.
    pub fn report_at(&self, problem: &Problem, place: Place) {
        self.doc.report(problem, place);
    }

    /// Notes that the value is not what was wanted.
    pub fn wrong_type(&self, want: &str) {
        self.report(&Problem::WrongType {
            key: self.key.clone(),
            want: want.to_owned(),
            found: found_word(self.value),
        });
    }

    /// Notes that the value cannot be meant.
    pub fn out_of_range(&self, want: &str) {
        self.report(&Problem::OutOfRange {
            key: self.key.clone(),
            found: self.raw().to_owned(),
            want: want.to_owned(),
        });
    }

    /// Notes that a word is not one of those allowed.
    pub fn unknown_word<'w>(&self, word: &str, valid: impl IntoIterator<Item = &'w str>) {
        self.report(&Problem::UnknownWord {
            key: self.key.clone(),
            word: word.to_owned(),
            valid: valid.into_iter().map(str::to_owned).collect(),
        });
    }

    /// A text in quotation marks, not empty.
    pub fn text(&self) -> Option<Text> {
        let DeValue::String(value) = self.value else {
            self.wrong_type("a text in quotation marks");
            return None;
        };
        if value.trim().is_empty() {
            self.out_of_range("a text that is not empty");
            return None;
        }
        let map = string_map(self.raw(), self.span.start, value);
        Some(Text {
            value: value.to_string(),
            place: self.place(),
            map: map.then(self.doc.map),
        })
    }

    /// A plain number, finite.
    pub fn number(&self) -> Option<f64> {
        let parsed = match self.value {
            DeValue::Integer(int) => i64::from_str_radix(int.as_str(), int.radix())
                .ok()
                .map(|v| v as f64),
            DeValue::Float(float) => float.as_str().parse().ok(),
            _ => {
                self.wrong_type("a plain number");
                return None;
            }
        };
        let finite = parsed.filter(|v: &f64| v.is_finite());
        if finite.is_none() {
            self.out_of_range("a finite number");
        }
        finite
    }

    /// A number not below `least`.
    pub fn number_from(&self, least: f64) -> Option<f64> {
        let value = self.number()?;
        if value < least {
            self.out_of_range(&format!("{least} or more"));
            return None;
        }
        Some(value)
    }

    /// A whole number from 1.
    pub fn count(&self) -> Option<u32> {
        let DeValue::Integer(int) = self.value else {
            self.wrong_type("a whole number");
            return None;
        };
        let value = u32::from_str_radix(int.as_str(), int.radix()).ok();
        let value = value.filter(|v| *v > 0);
        if value.is_none() {
            self.out_of_range("a whole number from 1");
        }
        value
    }

    /// True or false.
    pub fn boolean(&self) -> Option<bool> {
        if let DeValue::Boolean(value) = self.value {
            return Some(*value);
        }
        self.wrong_type("true or false");
        None
    }

    /// A day: `2026-03-01`, with or without quotation marks.
    pub fn date(&self) -> Option<Date> {
        let date = match self.value {
            DeValue::Datetime(when) if when.time.is_none() => when.date.and_then(|d| {
                let part = |v: u8| i8::try_from(v).ok();
                Date::new(i16::try_from(d.year).ok()?, part(d.month)?, part(d.day)?).ok()
            }),
            DeValue::String(text) => text.parse().ok(),
            _ => None,
        };
        if date.is_none() {
            self.wrong_type("a day such as 2026-03-01");
        }
        date
    }

    /// A time of day: `"08:30"`, or `08:30:00` without quotation marks.
    pub fn time(&self) -> Option<Time> {
        let parts = match self.value {
            DeValue::Datetime(when) if when.date.is_none() && when.offset.is_none() => {
                when.time.map(|t| (t.hour, t.minute))
            }
            DeValue::String(text) => text.split_once(':').and_then(|(hour, minute)| {
                let two = |part: &str| (part.len() == 2).then(|| part.parse().ok()).flatten();
                Some((two(hour)?, two(minute)?))
            }),
            _ => None,
        };
        let time = parts.and_then(|(hour, minute): (u8, u8)| {
            Time::new(i8::try_from(hour).ok()?, i8::try_from(minute).ok()?, 0, 0).ok()
        });
        if time.is_none() {
            self.wrong_type("a time of day such as \"08:30\"");
        }
        time
    }

    /// A time in whole months: `"6 months"`, `"10 years"`.
    pub fn months(&self) -> Option<i64> {
        let want = "a time such as \"6 months\" or \"10 years\"";
        if !self.is_text() {
            self.wrong_type(want);
            return None;
        }
        let text = self.text()?;
        let (number, unit) = text
            .value
            .trim()
            .split_once(' ')
            .unwrap_or((&text.value, ""));
        let months = match unit.trim() {
            "month" | "months" => Some(1),
            "year" | "years" => Some(MONTHS_IN_YEAR),
            _ => None,
        };
        let count = number.parse::<u16>().ok().filter(|n| *n > 0);
        let time = months.zip(count).map(|(unit, n)| unit * i64::from(n));
        if time.is_none() {
            self.out_of_range(want);
        }
        time
    }

    /// One of the words that a key may have.
    pub fn word<T: Copy>(&self, valid: &[(&'static str, T)]) -> Option<T> {
        let text = self.text()?;
        let found = valid.iter().find(|(word, _)| *word == text.value);
        if found.is_none() {
            self.unknown_word(&text.value, valid.iter().map(|(word, _)| *word));
        }
        found.map(|(_, value)| *value)
    }

    /// A quantity in SI: a text with a unit; a share may be a plain number.
    pub fn quantity(&self, want: Dimension) -> Option<f64> {
        self.range(want, false).map(|(low, _)| low)
    }

    /// A quantity above zero.
    pub fn positive(&self, want: Dimension) -> Option<f64> {
        let value = self.quantity(want)?;
        if value <= 0.0 {
            self.out_of_range(&format!("{} above zero", want.word()));
            return None;
        }
        Some(value)
    }

    /// A quantity or a range of it, above zero, in SI.
    pub fn positive_range(&self, want: Dimension) -> Option<(f64, f64)> {
        let (low, high) = self.range(want, true)?;
        if low <= 0.0 {
            self.out_of_range(&format!("{} above zero", want.word()));
            return None;
        }
        Some((low, high))
    }

    fn range(&self, want: Dimension, ends: bool) -> Option<(f64, f64)> {
        let text = match self.value {
            DeValue::String(_) => self.text()?,
            DeValue::Integer(_) | DeValue::Float(_) if want == Dimension::Share => {
                return self.number().map(|v| (v, v));
            }
            DeValue::Integer(_) | DeValue::Float(_) => {
                self.quantity_problem(self.raw(), want, QuantityProblem::NoUnit, self.place());
                return None;
            }
            _ => {
                self.wrong_type(&format!("{}: {}", want.word(), want.example()));
                return None;
            }
        };
        let parsed = if ends {
            quantity::parse_range(&text.value, want)
        } else {
            quantity::parse(&text.value, want).map(|v| (v, v))
        };
        match parsed {
            Ok((low, high)) if low.is_finite() && high.is_finite() => Some((low, high)),
            Ok(_) => {
                self.out_of_range("a finite number");
                None
            }
            Err(problem) => {
                let place = quantity_place(&text, &problem);
                self.quantity_problem(&text.value, want, problem, place);
                None
            }
        }
    }

    fn quantity_problem(&self, text: &str, want: Dimension, problem: QuantityProblem, at: Place) {
        let problem = Problem::Quantity {
            key: self.key.clone(),
            text: text.to_owned(),
            want,
            problem,
        };
        self.doc.report(&problem, at);
    }

    /// A list's items.
    pub fn list(&self) -> Option<Vec<Self>> {
        let DeValue::Array(array) = self.value else {
            self.wrong_type("a list in square brackets");
            return None;
        };
        let items = array.iter();
        Some(
            items
                .map(|value| Self::new(self.doc, self.key.clone(), value))
                .collect(),
        )
    }

    /// A list of texts; items of another sort are noted and left out.
    pub fn texts(&self) -> Vec<Text> {
        let items = self.list().unwrap_or_default();
        items.iter().filter_map(Self::text).collect()
    }

    /// A single value or a list of them.
    pub fn one_or_more(&self) -> Vec<Self> {
        match self.value {
            DeValue::Array(_) => self.list().unwrap_or_default(),
            _ => vec![self.clone()],
        }
    }

    /// Whether this is a text.
    pub const fn is_text(&self) -> bool {
        matches!(self.value, DeValue::String(_))
    }

    /// A table; messages call it `name`.
    pub fn table(&self, name: String) -> Option<Table<'t>> {
        let DeValue::Table(table) = self.value else {
            self.wrong_type(&format!("a table: {name}"));
            return None;
        };
        Some(Table::new(self.doc, name, self.place(), table))
    }

    /// A coordinate: two or three lengths, a plain number being metres.
    pub fn coordinate(&self) -> Option<Coordinate> {
        let items = self.list()?;
        let numbers: Vec<Option<f64>> = items.iter().map(Self::metres).collect();
        if !(2..=3).contains(&numbers.len()) {
            self.report(&Problem::WrongCount {
                key: self.key.clone(),
                found: numbers.len(),
                want: "two numbers [x, z] or three [x, y, z]".to_owned(),
            });
            return None;
        }
        let numbers: Vec<f64> = numbers.into_iter().collect::<Option<_>>()?;
        let at = match numbers[..] {
            [x, z] => DVec3::new(x, 0.0, z),
            [x, y, z] => DVec3::new(x, y, z),
            _ => return None,
        };
        Some(Coordinate {
            at,
            numbers: numbers.len(),
            place: self.place(),
        })
    }

    /// A length; a plain number is metres.
    pub fn metres(&self) -> Option<f64> {
        if self.is_text() {
            self.quantity(Dimension::Length)
        } else {
            self.number()
        }
    }
}

/// The part of the text that is wrong.
pub(super) fn quantity_place(text: &Text, problem: &QuantityProblem) -> Place {
    match problem {
        QuantityProblem::NotANumber { at }
        | QuantityProblem::UnknownUnit { at, .. }
        | QuantityProblem::WrongUnit { at, .. } => text.part(at.clone()),
        QuantityProblem::NoUnit | QuantityProblem::Backwards => text.place,
    }
}

const fn found_word(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a day or a time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}
