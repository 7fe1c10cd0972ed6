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

/// A drawing that saves less height than this is not worth its narrower lettering, millimetres.
const STEP_MM: f64 = 6.0;

/// Room for a figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Widths to try, millimetres, widest first.
    pub widths_mm: &'static [f64],
    /// Greatest height, millimetres.
    pub height_mm: f64,
    /// How much the figure says on its own.
    pub detail: Detail,
    /// What says which of the two it is, where a mistake and the right way stand beside one another.
    pub twin: Twin,
}

/// Of a mistake and the right way beside one another: what says which of the two a figure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Twin {
    /// The figure of a mistake, by its frame; one that stands alone has none.
    Alone,
    /// The right way, by a frame as large as the mistake's.
    Right,
    /// Neither: the words above the figure do.
    Named,
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
        let mut kinds = kinds.iter();
        let drawing = kinds.find_map(|kind| {
            let (drawing, fits) = lowest(proof, rig, *kind, room)?;
            fits.then_some(drawing)
        })?;
        Some(self.add(&drawing))
    }

    /// Draws one kind at the first width at which it is not too high, else at the one at which it is
    /// lowest: for prints that can turn the page. The title comes with it. `None` where the kind says nothing.
    pub fn whole(
        &mut self,
        proof: &Proof,
        rig: RigId,
        kind: FigureKind,
        room: Room,
    ) -> Option<(Image, String)> {
        let (drawing, _) = lowest(proof, rig, kind, room)?;
        Some((self.add(&drawing), drawing.title))
    }

    /// As [`Images::whole`], and the lower drawings that narrower widths of the room give, for pages
    /// that have less room left; each is lower than the one before it by [`STEP_MM`] at least.
    pub fn ways(
        &mut self,
        proof: &Proof,
        rig: RigId,
        kind: FigureKind,
        room: Room,
    ) -> Option<(Image, String, Vec<Image>)> {
        let (whole, title) = self.whole(proof, rig, kind, room)?;
        let narrower = room.widths_mm.iter();
        let mut last = whole.height_mm;
        let mut lower = Vec::new();
        for width_mm in narrower.filter(|width| **width < whole.width_mm) {
            let drawing = draw(proof, rig, kind, room, *width_mm)?;
            if drawing.size_mm.1 <= last - STEP_MM {
                last = drawing.size_mm.1;
                lower.push(self.add(&drawing));
            }
        }
        Some((whole, title, lower))
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

/// A drawing at the first width of a room at which it is not too high, and whether there is one; else
/// at the width at which it is lowest (a narrow drawing may put its parts below one another). `None`
/// where the kind says nothing of the rig.
fn lowest(
    proof: &Proof,
    rig: RigId,
    kind: FigureKind,
    room: Room,
) -> Option<(figure::Drawing, bool)> {
    let mut low: Option<figure::Drawing> = None;
    for width_mm in room.widths_mm {
        let drawing = draw(proof, rig, kind, room, *width_mm)?;
        if drawing.size_mm.1 <= room.height_mm {
            return Some((drawing, true));
        }
        if low
            .as_ref()
            .is_none_or(|low| drawing.size_mm.1 < low.size_mm.1)
        {
            low = Some(drawing);
        }
    }
    low.map(|drawing| (drawing, false))
}

/// Draws a figure for a room at one of its widths.
fn draw(
    proof: &Proof,
    rig: RigId,
    kind: FigureKind,
    room: Room,
    width_mm: f64,
) -> Option<figure::Drawing> {
    let pack = &proof.reading.pack;
    let style = Style {
        units: pack.units,
        width_mm,
        detail: room.detail,
        shelf: figure::Shelf::of(pack),
        right: room.twin == Twin::Right,
    };
    let draw = match room.twin {
        Twin::Named => figure::draw_bare,
        Twin::Alone | Twin::Right => figure::draw,
    };
    draw(pack.rig(rig), &proof.solved(rig), kind, style)
}
