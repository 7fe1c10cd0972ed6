//! Figures for a print: drawn for the width that they have on paper, never scaled, so that their
//! lettering keeps its size.

use serde::Serialize;

use crate::figure::{self, Detail, Style};
use crate::pack::RigId;
use crate::rig::FigureKind;
use crate::rules::Proof;

/// A figure as a template mentions it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Image {
    /// Its name in memory.
    pub file: String,
    /// What it says, for those who do not see it.
    pub alt: String,
    /// Width on paper, millimetres.
    pub width_mm: f64,
    /// Height on paper, millimetres.
    pub height_mm: f64,
}

/// Room for a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Widths to try, millimetres, widest first.
    pub widths_mm: &'static [f64],
    /// Greatest height, millimetres.
    pub height_mm: f64,
    /// How much the figure says on its own.
    pub detail: Detail,
}

/// The figures of one print.
#[derive(Debug, Clone, Default)]
pub struct Images {
    /// Names and bytes, for the typesetter.
    pub files: Vec<(String, Vec<u8>)>,
}

impl Images {
    /// Draws the first of `kinds` that says something of the rig, at the first width at which it is
    /// not too high. `None` where nothing does.
    pub fn fit(
        &mut self,
        proof: &Proof,
        rig: RigId,
        kinds: &[FigureKind],
        room: Room,
    ) -> Option<Image> {
        let pack = &proof.reading.pack;
        for kind in kinds {
            for width_mm in room.widths_mm {
                let style = Style {
                    units: pack.units,
                    width_mm: *width_mm,
                    detail: room.detail,
                    shelf: figure::Shelf::of(pack),
                    right: false,
                };
                let Some(drawing) = figure::draw(pack.rig(rig), proof.solved(rig), *kind, style)
                else {
                    break;
                };
                if drawing.size_mm.1 <= room.height_mm {
                    return Some(self.add(&drawing));
                }
            }
        }
        None
    }

    /// Takes a finished drawing as it is.
    pub fn add(&mut self, drawing: &figure::Drawing) -> Image {
        // Numbered names: the typesetter remembers every name it ever saw.
        let file = format!("figure-{}.svg", self.files.len() + 1);
        self.files
            .push((file.clone(), drawing.svg.clone().into_bytes()));
        Image {
            file,
            alt: format!("{}. {}", drawing.title, drawing.description),
            width_mm: drawing.size_mm.0,
            height_mm: drawing.size_mm.1,
        }
    }
}
