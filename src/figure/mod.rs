//! Figures: a solved rig as a labelled drawing.
//!
//! ```text
//! Rig + Solved ─scene→ shapes in metres ─layout→ millimetres on the sheet ─write→ SVG
//! ```

pub mod curve;
pub mod hit;
pub mod label;
mod raster;
pub mod rope;
mod seed;
pub mod shape;
pub mod text;
pub mod tree;

pub use raster::{RasterProblem, png};

use crate::quantity::Units;
use crate::rig::{FigureKind, Rig};
use crate::statics::Solved;

/// The bundled fonts: one family for screen, figure and print, and one for signs it lacks.
pub const FONT_FILES: [&[u8]; 5] = [
    include_bytes!("../../theme/fonts/IBMPlexSans_400Regular.ttf"),
    include_bytes!("../../theme/fonts/IBMPlexSans_400Regular_Italic.ttf"),
    include_bytes!("../../theme/fonts/IBMPlexSans_500Medium.ttf"),
    include_bytes!("../../theme/fonts/IBMPlexSans_600SemiBold.ttf"),
    include_bytes!("../../theme/fonts/NotoSansMath_400Regular.ttf"),
];

/// A finished drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// `RIG-KIND`, unique in a pack: file name and prefix of every id inside.
    pub id: String,
    /// Short title.
    pub title: String,
    /// The solved numbers in sentences.
    pub description: String,
    /// The SVG document, in millimetres.
    pub svg: String,
    /// Size on paper, millimetres.
    pub size_mm: (f64, f64),
}

/// How to draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Units of labels.
    pub units: Units,
    /// Width on paper, millimetres.
    pub width_mm: f64,
}

/// Draws one figure of a rig; `None` where this kind says nothing about this rig (a zone that was
/// not asked for, a loss of a rig that does not hold).
pub fn draw(_rig: &Rig, _solved: &Solved, _kind: FigureKind, _style: Style) -> Option<Drawing> {
    None
}
