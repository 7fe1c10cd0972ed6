//! Physical quantities: what an author writes, what the program computes in, what a reader sees.
//!
//! ```text
//! "4.2 m" ─parse→ Quantity (SI, finite) ─print→ "4.2 m" or "13.8 ft"
//! ```
//!
//! Inside the program everything is SI: metres, newtons, kilograms, radians. Past [`parse`] every
//! number is finite. Rounding happens in [`print`] and nowhere else.

mod parse;
mod print;

use serde::{Deserialize, Serialize};

pub use parse::{Dimension, QuantityProblem, parse, parse_range};
pub use print::{
    Units, degrees_text, fine_text, number_text, quantity_parts, quantity_text, range_text,
};

/// Standard gravity, m/s² (3rd CGPM 1901, exact).
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// Kilograms in a pound avoirdupois (international agreement of 1959, exact).
pub const KG_PER_LB: f64 = 0.453_592_37;

/// Metres in an international foot (1959, exact).
pub const M_PER_FT: f64 = 0.304_8;

/// Newtons in a pound-force (`KG_PER_LB · STANDARD_GRAVITY`, exact).
pub const N_PER_LBF: f64 = 4.448_221_615_260_5;

/// Weight of a mass under [`STANDARD_GRAVITY`]: `W = m·g`, newtons.
pub fn weight_n(mass_kg: f64) -> f64 {
    mass_kg * STANDARD_GRAVITY
}

/// A number with its kind, in SI.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Quantity {
    /// Kilograms.
    Mass(f64),
    /// Metres.
    Length(f64),
    /// Newtons.
    Force(f64),
    /// Radians.
    Angle(f64),
    /// A plain ratio; 0.68 prints as "68 %".
    Share(f64),
    /// Square metres.
    Area(f64),
    /// Metres a second.
    Speed(f64),
}

impl Quantity {
    /// The bare SI number, for formulas and comparisons.
    pub const fn si(self) -> f64 {
        match self {
            Self::Mass(v)
            | Self::Length(v)
            | Self::Force(v)
            | Self::Angle(v)
            | Self::Share(v)
            | Self::Area(v)
            | Self::Speed(v) => v,
        }
    }

    /// Which kind of number it is.
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Mass(_) => Dimension::Mass,
            Self::Length(_) => Dimension::Length,
            Self::Force(_) => Dimension::Force,
            Self::Angle(_) => Dimension::Angle,
            Self::Share(_) => Dimension::Share,
            Self::Area(_) => Dimension::Area,
            Self::Speed(_) => Dimension::Speed,
        }
    }
}
