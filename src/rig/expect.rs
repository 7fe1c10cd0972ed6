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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::block::PlaceMap;
    use crate::finding::Place;
    use crate::rig::{LineId, RigBuilder};

    fn read(words: &str) -> Result<Expectation, &'static str> {
        let rig = RigBuilder::new("two")
            .mass_kg(84.0)
            .climber([2.2, 5.0])
            .point("top", [0.2, 10.5])
            .point("side", [4.9, 7.6])
            .line("main", &["bridge", "top", "bridge"])
            .line("second", &["centre", "side"])
            .build()
            .unwrap();
        let text = Text {
            value: words.to_owned(),
            place: Place {
                file: 0,
                start: 0,
                end: words.len() + 2,
            },
            map: PlaceMap::straight(0, 1, words.len()),
        };
        parse(&text, &rig).map_err(|(problem, _)| problem.code())
    }

    #[test]
    fn reads_comparisons_and_tolerances() {
        let less = read("main/pull < 0.8 kN").unwrap();
        assert_eq!(less.value, ValuePath::Pull(LineId(0)));
        assert_eq!((less.compare, less.want), (Compare::Less, 800.0));
        let most = read("second/length<=4 m").unwrap();
        assert_eq!((most.compare, most.want), (Compare::AtMost, 4.0));
        let degree = std::f64::consts::PI / 180.0;
        let spread = read("spread/main/second = 90 deg +- 2").unwrap();
        assert_eq!(spread.compare, Compare::Equal);
        assert!((spread.want - 90.0 * degree).abs() < 1e-12);
        assert!((spread.tolerance - 2.0 * degree).abs() < 1e-12);
        let other_unit = read("main/pull = 0.32 kN \u{b1} 20 N").unwrap();
        assert!((other_unit.tolerance - 20.0).abs() < 1e-9);
        let share = read("main/share >= 70 %").unwrap();
        assert!((share.want - 0.7).abs() < 1e-12);
    }

    #[test]
    fn without_a_tolerance_the_last_digit_counts() {
        let tolerance = |words| read(words).unwrap().tolerance;
        assert!((tolerance("main/pull = 0.32 kN") - 5.0).abs() < 1e-9);
        assert!((tolerance("main/length = 12 m") - 0.5).abs() < 1e-12);
        assert!((tolerance("main/share = 0.79") - 0.005).abs() < 1e-12);
    }

    #[test]
    fn refuses_what_it_cannot_read() {
        assert_eq!(read("main/pull"), Err("bad-expectation"));
        assert_eq!(read("main/pull < 1 kN +- 1"), Err("bad-expectation"));
        assert_eq!(read("main/pull < 1"), Err("no-unit"));
        assert_eq!(read("main/pull < 1 m"), Err("wrong-unit"));
        assert_eq!(read("main/pull = 1 kN +- x"), Err("unknown-unit"));
        assert_eq!(read("mian/pull < 1 kN"), Err("unknown-name"));
        assert_eq!(read("effort/second < 1 kN"), Err("no-such-number"));
        assert_eq!(read("= 1 kN"), Err("unknown-value"));
    }
}
