//! Reading a quantity as people write it: `"86 kg"`, `"4.2 m"`, `"35 deg"`, `"0.5..4 m"`.

use super::{KG_PER_LB, M_PER_FT, N_PER_LBF, Quantity};

/// The kind of a number, which says the units that it may be written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// Kilograms or pounds.
    Mass,
    /// Metres, centimetres, millimetres, feet or inches.
    Length,
    /// Kilonewtons, newtons or pounds-force.
    Force,
    /// Degrees.
    Angle,
    /// Per cent, or a bare ratio.
    Share,
    /// Square metres or square feet.
    Area,
    /// Metres a second or feet a second.
    Speed,
}

/// One row: the unit as written and its size in SI.
const UNITS: &[(&str, Dimension, f64)] = &[
    ("kg", Dimension::Mass, 1.0),
    ("lb", Dimension::Mass, KG_PER_LB),
    ("m", Dimension::Length, 1.0),
    ("cm", Dimension::Length, 0.01),
    ("mm", Dimension::Length, 0.001),
    ("ft", Dimension::Length, M_PER_FT),
    ("in", Dimension::Length, M_PER_FT / 12.0),
    ("kN", Dimension::Force, 1000.0),
    ("N", Dimension::Force, 1.0),
    ("lbf", Dimension::Force, N_PER_LBF),
    ("deg", Dimension::Angle, std::f64::consts::PI / 180.0),
    ("°", Dimension::Angle, std::f64::consts::PI / 180.0),
    ("%", Dimension::Share, 0.01),
    ("m2", Dimension::Area, 1.0),
    ("m²", Dimension::Area, 1.0),
    ("ft2", Dimension::Area, M_PER_FT * M_PER_FT),
    ("ft²", Dimension::Area, M_PER_FT * M_PER_FT),
    ("m/s", Dimension::Speed, 1.0),
    ("ft/s", Dimension::Speed, M_PER_FT),
];

impl Dimension {
    /// The word for this kind of number in an error.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Mass => "a mass",
            Self::Length => "a length",
            Self::Force => "a force",
            Self::Angle => "an angle",
            Self::Share => "a share",
            Self::Area => "an area",
            Self::Speed => "a speed",
        }
    }

    /// An example of how it is written, for an error's help line.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Mass => "\"86 kg\" or \"190 lb\"",
            Self::Length => "\"4.2 m\", \"180 mm\" or \"14 ft\"",
            Self::Force => "\"1.5 kN\", \"800 N\" or \"340 lbf\"",
            Self::Angle => "\"35 deg\"",
            Self::Share => "\"68 %\"",
            Self::Area => "\"11 m2\"",
            Self::Speed => "\"4.9 m/s\"",
        }
    }

    /// Units that a number of this kind may carry, in the order of [`parse`]'s table.
    pub fn units(self) -> impl Iterator<Item = &'static str> {
        UNITS
            .iter()
            .filter(move |(_, d, _)| *d == self)
            .map(|(unit, ..)| *unit)
    }

    /// The quantity of this kind with the given SI number.
    pub const fn of(self, si: f64) -> Quantity {
        match self {
            Self::Mass => Quantity::Mass(si),
            Self::Length => Quantity::Length(si),
            Self::Force => Quantity::Force(si),
            Self::Angle => Quantity::Angle(si),
            Self::Share => Quantity::Share(si),
            Self::Area => Quantity::Area(si),
            Self::Speed => Quantity::Speed(si),
        }
    }
}

/// Why a text is not the quantity that was wanted. `at` is a byte range inside the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum QuantityProblem {
    /// There is no number where one must stand.
    NotANumber {
        /// The part that should be a number.
        at: std::ops::Range<usize>,
    },
    /// A number without a unit.
    NoUnit,
    /// A unit that no quantity has; `nearest` is the closest that this kind may carry.
    UnknownUnit {
        /// Where the unit stands.
        at: std::ops::Range<usize>,
        /// The closest unit of the wanted kind.
        nearest: Option<&'static str>,
    },
    /// A unit of another kind of quantity.
    WrongUnit {
        /// Where the unit stands.
        at: std::ops::Range<usize>,
        /// The kind that the unit belongs to.
        is: Dimension,
    },
    /// A range whose second end is below its first.
    Backwards,
}

/// Reads one quantity of the wanted kind, and returns it in SI (kg, m, N, rad, ratio, m², m/s).
///
/// White space around the number and before the unit is free. A share may be written without a
/// unit (`0.68`).
///
/// # Errors
/// [`QuantityProblem`] with the place inside `text`.
pub fn parse(text: &str, want: Dimension) -> Result<f64, QuantityProblem> {
    let (number, unit, unit_at) = split_unit(text);
    let scale = match unit {
        "" if want == Dimension::Share => 1.0,
        "" => {
            number_of(text, 0..text.len())?;
            return Err(QuantityProblem::NoUnit);
        }
        _ => unit_scale(unit, unit_at, want)?,
    };
    Ok(number_of(text, number)? * scale)
}

/// Reads `"0.5..4 m"` as its two ends in SI, or a single quantity as a range of one value.
///
/// # Errors
/// As [`parse`]; [`QuantityProblem::Backwards`] where the second end is the smaller.
pub fn parse_range(text: &str, want: Dimension) -> Result<(f64, f64), QuantityProblem> {
    let Some(dots) = text.find("..") else {
        return parse(text, want).map(|v| (v, v));
    };
    let after = dots + 2;
    let high = parse(&text[after..], want).map_err(|p| p.moved(after))?;
    // The first end may leave its unit to the second: "70..100 kg".
    let (_, own_unit, _) = split_unit(&text[..dots]);
    let low = if own_unit.is_empty() {
        let (_, unit, at) = split_unit(&text[after..]);
        let scale = if unit.is_empty() {
            1.0
        } else {
            unit_scale(unit, at, want)?
        };
        number_of(text, 0..dots)? * scale
    } else {
        parse(&text[..dots], want)?
    };
    if high < low {
        return Err(QuantityProblem::Backwards);
    }
    Ok((low, high))
}

impl QuantityProblem {
    /// The same problem in a longer text that has `by` bytes in front.
    fn moved(self, by: usize) -> Self {
        let shift = |r: std::ops::Range<usize>| r.start + by..r.end + by;
        match self {
            Self::NotANumber { at } => Self::NotANumber { at: shift(at) },
            Self::UnknownUnit { at, nearest } => Self::UnknownUnit {
                at: shift(at),
                nearest,
            },
            Self::WrongUnit { at, is } => Self::WrongUnit { at: shift(at), is },
            other => other,
        }
    }
}

/// Splits `" 4.2 m"` into the number's range, the unit's text and the unit's range.
fn split_unit(text: &str) -> (std::ops::Range<usize>, &str, std::ops::Range<usize>) {
    let end = text.trim_end().len();
    let digit_end = text[..end]
        .char_indices()
        .find(|(i, c)| c.is_alphabetic() && !is_exponent(text, *i) || matches!(c, '%' | '°'))
        .map_or(end, |(i, _)| i);
    (0..digit_end, &text[digit_end..end], digit_end..end)
}

/// Whether the letter at `i` is the `e` of a number such as `1e-3`.
fn is_exponent(text: &str, i: usize) -> bool {
    let bytes = text.as_bytes();
    matches!(bytes[i], b'e' | b'E')
        && i > 0
        && (bytes[i - 1].is_ascii_digit() || bytes[i - 1] == b'.')
        && bytes
            .get(i + 1)
            .is_some_and(|b| b.is_ascii_digit() || matches!(b, b'-' | b'+'))
}

fn unit_scale(
    unit: &str,
    at: std::ops::Range<usize>,
    want: Dimension,
) -> Result<f64, QuantityProblem> {
    let known = UNITS.iter().filter(|(name, ..)| *name == unit);
    if let Some((.., scale)) = known.clone().find(|(_, d, _)| *d == want) {
        return Ok(*scale);
    }
    if let Some((_, is, _)) = known.clone().next() {
        return Err(QuantityProblem::WrongUnit { at, is: *is });
    }
    let nearest = crate::finding::nearest(unit, want.units());
    Err(QuantityProblem::UnknownUnit { at, nearest })
}

fn number_of(text: &str, range: std::ops::Range<usize>) -> Result<f64, QuantityProblem> {
    let slice = &text[range.clone()];
    let trimmed = slice.trim();
    let plain = trimmed.replace('\u{2212}', "-");
    match plain.parse::<f64>() {
        Ok(v) if v.is_finite() && plain.bytes().any(|b| b.is_ascii_digit()) => Ok(v),
        _ => {
            let start = range.start + (slice.len() - slice.trim_start().len());
            Err(QuantityProblem::NotANumber {
                at: start..start + trimmed.len(),
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_authors_write() {
        assert_eq!(parse("86 kg", Dimension::Mass), Ok(86.0));
        assert_eq!(parse("180 mm", Dimension::Length), Ok(180.0 * 0.001));
        assert_eq!(parse("1.5kN", Dimension::Force), Ok(1500.0));
        assert_eq!(parse("1e-1 m", Dimension::Length), Ok(0.1));
        assert_eq!(parse("68 %", Dimension::Share), Ok(0.68));
        assert_eq!(parse("0.68", Dimension::Share), Ok(0.68));
        assert_eq!(
            parse("35 deg", Dimension::Angle),
            Ok(35.0 * std::f64::consts::PI / 180.0)
        );
        assert_eq!(parse_range("0.5..4 m", Dimension::Length), Ok((0.5, 4.0)));
        assert_eq!(parse_range("50 cm..4 m", Dimension::Length), Ok((0.5, 4.0)));
        assert_eq!(parse_range("86 kg", Dimension::Mass), Ok((86.0, 86.0)));
    }

    #[test]
    fn says_what_is_wrong_and_where() {
        use QuantityProblem as P;
        assert_eq!(parse("86", Dimension::Mass), Err(P::NoUnit));
        assert_eq!(
            parse("86 kgs", Dimension::Mass),
            Err(P::UnknownUnit {
                at: 3..6,
                nearest: Some("kg")
            })
        );
        assert_eq!(
            parse("86 kN", Dimension::Mass),
            Err(P::WrongUnit {
                at: 3..5,
                is: Dimension::Force
            })
        );
        assert_eq!(
            parse("8x6 kg", Dimension::Mass).unwrap_err(),
            P::UnknownUnit {
                at: 1..6,
                nearest: None
            }
        );
        assert_eq!(
            parse("nan m", Dimension::Length).unwrap_err(),
            P::UnknownUnit {
                at: 0..5,
                nearest: None
            }
        );
        assert_eq!(
            parse("- m", Dimension::Length),
            Err(P::NotANumber { at: 0..1 })
        );
        assert_eq!(
            parse_range("4..0.5 m", Dimension::Length),
            Err(P::Backwards)
        );
        assert_eq!(
            parse_range("1..4 kg", Dimension::Length),
            Err(P::WrongUnit {
                at: 5..7,
                is: Dimension::Mass
            })
        );
    }
}
