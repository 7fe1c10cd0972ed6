//! Printing for people: fixed decimals by kind, no-break space before the unit, a true minus sign.

use serde::Serialize;

use super::{KG_PER_LB, M_PER_FT, N_PER_LBF, Quantity};

/// Which units a pack shows. It never changes what is computed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub enum Units {
    /// kg, m, kN.
    #[default]
    Metric,
    /// lb, ft, lbf.
    Imperial,
}

/// A quantity as a reader sees it: `0.62 kN`, `5.9 m`, `24°`, `74 %`, `86 kg`.
///
/// Forces have two decimals in kN and none in lbf; lengths, areas and speeds one; angles, shares
/// and masses none. The space before the unit does not break.
pub fn quantity_text(quantity: Quantity, units: Units) -> String {
    let (number, unit) = split(quantity, units, 0);
    join(&number, unit)
}

/// A quantity with so many decimals more than [`quantity_text`] gives, where rounding would hide
/// the difference that is spoken of: `0.844 kN`.
pub fn fine_text(quantity: Quantity, units: Units, more: usize) -> String {
    let (number, unit) = split(quantity, units, more);
    join(&number, unit)
}

/// A range as a reader sees it: `0.17 to 0.21 kN`; one value where both ends print alike.
pub fn range_text(low: Quantity, high: Quantity, units: Units) -> String {
    let (low_text, unit) = split(low, units, 0);
    let (high_text, _) = split(high, units, 0);
    if low_text == high_text {
        join(&low_text, unit)
    } else {
        format!("{low_text} to {}", join(&high_text, unit))
    }
}

/// An angle in whole degrees: `24°`.
pub fn degrees_text(radians: f64) -> String {
    quantity_text(Quantity::Angle(radians), Units::Metric)
}

/// A number with the given decimals, a true minus sign and never a negative zero.
pub fn number_text(value: f64, decimals: usize) -> String {
    debug_assert!(value.is_finite(), "{value} cannot be printed");
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
        Some(rest) => format!("\u{2212}{rest}"),
        None => text,
    }
}

fn join(number: &str, unit: &str) -> String {
    if unit == "°" {
        format!("{number}°")
    } else {
        format!("{number}\u{a0}{unit}")
    }
}

/// A quantity's number and its unit apart, for tables that state the unit once: `("0.62", "kN")`.
pub fn quantity_parts(quantity: Quantity, units: Units) -> (String, &'static str) {
    split(quantity, units, 0)
}

/// The number's text with so many decimals more than usual, and its unit.
fn split(quantity: Quantity, units: Units, more: usize) -> (String, &'static str) {
    let imperial = units == Units::Imperial;
    let (value, decimals, unit) = match quantity {
        Quantity::Mass(kg) if imperial => (kg / KG_PER_LB, 0, "lb"),
        Quantity::Mass(kg) => (kg, 0, "kg"),
        Quantity::Length(m) if imperial => (m / M_PER_FT, 1, "ft"),
        Quantity::Length(m) => (m, 1, "m"),
        Quantity::Force(n) if imperial => (n / N_PER_LBF, 0, "lbf"),
        Quantity::Force(n) => (n / 1000.0, 2, "kN"),
        Quantity::Angle(rad) => (rad.to_degrees(), 0, "°"),
        Quantity::Share(ratio) => (ratio * 100.0, 0, "%"),
        Quantity::Area(m2) if imperial => (m2 / (M_PER_FT * M_PER_FT), 0, "ft²"),
        Quantity::Area(m2) => (m2, 1, "m²"),
        Quantity::Speed(v) if imperial => (v / M_PER_FT, 1, "ft/s"),
        Quantity::Speed(v) => (v, 1, "m/s"),
    };
    (number_text(value, decimals + more), unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prints_in_both_systems() {
        let kn = Quantity::Force(620.0);
        assert_eq!(quantity_text(kn, Units::Metric), "0.62\u{a0}kN");
        assert_eq!(fine_text(kn, Units::Metric, 2), "0.6200\u{a0}kN");
        assert_eq!(quantity_text(kn, Units::Imperial), "139\u{a0}lbf");
        assert_eq!(quantity_text(Quantity::Angle(-0.001), Units::Metric), "0°");
        assert_eq!(
            quantity_text(Quantity::Length(-1.26), Units::Metric),
            "\u{2212}1.3\u{a0}m"
        );
        let range = range_text(
            Quantity::Force(170.0),
            Quantity::Force(210.0),
            Units::Metric,
        );
        assert_eq!(range, "0.17 to 0.21\u{a0}kN");
        assert_eq!(range_text(kn, kn, Units::Metric), "0.62\u{a0}kN");
    }
}
