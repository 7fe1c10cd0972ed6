//! Reading an expectation: `"main/pull < 0.8 kN"`, `"spread/main/second = 90 deg +- 2"`.

use std::ops::Range;

use super::{Compare, Expectation, Rig, ValuePath};
use crate::block::{Problem, Text};
use crate::quantity::{self, Dimension, QuantityProblem};

/// Comparisons, longer signs first.
const SIGNS: &[(&str, Compare)] = &[
    ("<=", Compare::AtMost),
    (">=", Compare::AtLeast),
    ("<", Compare::Less),
    (">", Compare::More),
    ("=", Compare::Equal),
];

/// Signs between a value and its tolerance.
const TOLERANCE_SIGNS: &[&str] = &["+-", "\u{b1}"];

/// Reads an expectation over a rig's names.
///
/// # Errors
/// The problem and the part of the text that it is about.
pub(super) fn parse(text: &Text, rig: &Rig) -> Result<Expectation, (Problem, Range<usize>)> {
    let words = &text.value;
    let signs = SIGNS.iter();
    let found = signs
        .filter_map(|(sign, compare)| words.find(sign).map(|at| (at, sign.len(), *compare)))
        .min_by_key(|(at, len, _)| (*at, std::cmp::Reverse(*len)));
    let Some((sign_at, sign_len, compare)) = found else {
        let why = "it has no comparison".to_owned();
        return Err((Problem::BadExpectation { why }, 0..words.len()));
    };
    let path_at = trimmed(words, 0..sign_at);
    let value = ValuePath::parse(&words[path_at.clone()], rig).map_err(|p| {
        (
            p.problem,
            p.at.start + path_at.start..p.at.end + path_at.start,
        )
    })?;
    let after = sign_at + sign_len;
    let split = TOLERANCE_SIGNS
        .iter()
        .find_map(|sign| words[after..].find(sign).map(|i| (after + i, sign.len())));
    let want_at = trimmed(words, after..split.map_or(words.len(), |(at, _)| at));
    let kind = value.dimension();
    let want = read(words, want_at.clone(), kind)?;
    let tolerance = match split {
        Some((at, len)) => {
            let range = trimmed(words, at + len..words.len());
            read_tolerance(words, range, &words[want_at], kind)?
        }
        None => last_digit(&words[want_at], kind) / 2.0,
    };
    if compare != Compare::Equal && split.is_some() {
        let why = "a tolerance goes with `=` only".to_owned();
        return Err((Problem::BadExpectation { why }, 0..words.len()));
    }
    Ok(Expectation {
        text: words.clone(),
        value,
        compare,
        want,
        tolerance,
        place: text.place,
    })
}

/// A quantity in a part of the text.
fn read(words: &str, at: Range<usize>, want: Dimension) -> Result<f64, (Problem, Range<usize>)> {
    quantity::parse(&words[at.clone()], want).map_err(|problem| {
        let part = match &problem {
            QuantityProblem::NotANumber { at: p }
            | QuantityProblem::UnknownUnit { at: p, .. }
            | QuantityProblem::WrongUnit { at: p, .. }
                if !p.is_empty() =>
            {
                at.start + p.start..at.start + p.end
            }
            _ => at.clone(),
        };
        let problem = Problem::Quantity {
            key: "expect".to_owned(),
            text: words[at].to_owned(),
            want,
            problem,
        };
        (problem, part)
    })
}

/// A tolerance, which may leave its unit to the value before it.
fn read_tolerance(
    words: &str,
    at: Range<usize>,
    value: &str,
    want: Dimension,
) -> Result<f64, (Problem, Range<usize>)> {
    let unit = value.trim_start_matches(|c: char| !(c.is_alphabetic() || matches!(c, '%' | '°')));
    let text = &words[at.clone()];
    let bare = text.parse::<f64>().is_ok();
    let parsed = if bare && !unit.is_empty() {
        quantity::parse(&format!("{text} {unit}"), want).ok()
    } else {
        None
    };
    let tolerance = match parsed {
        Some(tolerance) => tolerance,
        None => read(words, at.clone(), want)?,
    };
    if tolerance < 0.0 {
        let problem = Problem::OutOfRange {
            key: "expect".to_owned(),
            found: text.to_owned(),
            want: "a tolerance not below zero".to_owned(),
        };
        return Err((problem, at));
    }
    Ok(tolerance)
}

/// One unit of the last digit that was written, SI.
fn last_digit(text: &str, want: Dimension) -> f64 {
    let number_end =
        text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '\u{2212}')));
    let number = &text[..number_end.unwrap_or(text.len())];
    let decimals = number.find('.').map_or(0, |dot| number.len() - dot - 1);
    let step = (0..decimals).fold(1.0, |step, _| step / 10.0);
    let unit = text[number.len()..].trim();
    quantity::parse(&format!("1 {unit}"), want).map_or(0.0, |one| one * step)
}

/// A range without the white space at its ends.
fn trimmed(words: &str, range: Range<usize>) -> Range<usize> {
    let part = &words[range.clone()];
    let start = range.start + (part.len() - part.trim_start().len());
    start..(range.start + part.trim_end().len()).max(start)
}
