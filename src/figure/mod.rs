//! Figures: a solved rig as a labelled drawing.
//!
//! ```text
//! Rig + Solved ─scene→ shapes in metres ─layout→ millimetres on the sheet ─write→ SVG
//! ```

mod angles;
mod arrows;
mod assembly;
#[cfg(test)]
mod checks;
pub mod climber;
pub mod climber_pose;
pub mod closeup;
pub mod curve;
mod describe;
pub mod detail;
mod effort;
mod facts;
mod forces;
pub mod frame;
pub mod hit;
mod key;
pub mod label;
mod label_cells;
mod label_drawn;
mod label_grid;
mod label_index;
mod label_leader;
mod label_raster;
mod loss;
mod loss_words;
mod many;
pub mod marks;
mod multiples;
mod naming;
pub(crate) mod number;
#[cfg(test)]
mod palette_checks;
pub(crate) mod pen;
mod polygon;
mod pulls;
mod raster;
pub mod rope;
mod scene;
mod seed;
mod setup;
mod setup_details;
mod setup_names;
pub mod shape;
pub mod sheet;
mod shelf;
mod space;
mod staff;
mod strip;
mod strip_picture;
mod svg;
pub mod text;
pub mod tree;
mod trunk;
mod verdict;
mod zone;

pub use raster::{RasterProblem, png};

use serde::Serialize;

use crate::quantity::Units;
use crate::rig::{FigureKind, Rig};
use crate::statics::Solved;
pub use shape::Ink;
use shape::Layer;
pub use shelf::Shelf;
pub use svg::Scheme;
pub(crate) use svg::{HALO_MM, escape, firm_edges, push, push_escaped};

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

/// How much a figure says on its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub enum Detail {
    /// Everything, with the key rail.
    #[default]
    Full,
    /// Everything but the key rail: a table beside it says what the lines are.
    Beside,
    /// The picture and the pulls of whole lines, for a narrow column. No staff, loads, angles, key.
    Small,
}

/// How to draw.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Style<'a> {
    /// Units of labels.
    pub units: Units,
    /// Width on paper, millimetres.
    pub width_mm: f64,
    /// How much it says on its own.
    pub detail: Detail,
    /// The kit that the rig names, for what each part of a line may carry.
    pub shelf: Shelf<'a>,
    /// Whether the rig stands beside a mistake as the right way: a plain frame, a tab with a tick.
    pub right: bool,
}

/// A drawing whose things all have their places.
struct Composed {
    sheet: sheet::Sheet,
    title: String,
    description: String,
    size_mm: (f64, f64),
}

/// A drawing that is not written yet.
pub(crate) struct Picture {
    /// `RIG-KIND`.
    id: String,
    kind: FigureKind,
    composed: Composed,
}

/// [`Drawing::id`] of a rig's figure.
pub(crate) fn id_of(rig: &Rig, kind: FigureKind) -> String {
    format!("{}-{}", rig.name, kind.word())
}

/// Draws one figure of a rig; `None` where this kind says nothing about this rig (a zone that was
/// not asked for, a loss of a rig that does not hold).
pub fn draw(rig: &Rig, solved: &Solved, kind: FigureKind, style: Style<'_>) -> Option<Drawing> {
    draw_in(rig, solved, kind, style, Scheme::Page)
}

/// As [`draw`], in the colours of a scheme.
pub fn draw_in(
    rig: &Rig,
    solved: &Solved,
    kind: FigureKind,
    style: Style<'_>,
    scheme: Scheme,
) -> Option<Drawing> {
    picture(rig, solved, kind, style).map(|picture| picture.written(scheme))
}

/// As [`draw`], not written yet.
pub(crate) fn picture(
    rig: &Rig,
    solved: &Solved,
    kind: FigureKind,
    style: Style<'_>,
) -> Option<Picture> {
    let composed = compose(rig, solved, kind, style)?;
    Some(Picture::of(rig, kind, composed))
}

/// As [`draw`], without the frame and tab of a mistake or of the right way: for a place that says
/// itself which of the two it shows.
pub fn draw_bare(
    rig: &Rig,
    solved: &Solved,
    kind: FigureKind,
    style: Style<'_>,
) -> Option<Drawing> {
    let composed = compose_plain(rig, solved, kind, style)?;
    Some(Picture::of(rig, kind, composed).written(Scheme::Page))
}

impl Picture {
    /// Puts paper under a composed figure.
    fn of(rig: &Rig, kind: FigureKind, mut composed: Composed) -> Self {
        let (width, height) = composed.size_mm;
        let paper = kurbo::Rect::new(0.0, 0.0, width, height);
        composed.sheet.add(
            Layer::Paper,
            shape::Shape::filled(sheet::rect_path(paper), shape::Ink::Paper),
        );
        Self {
            id: id_of(rig, kind),
            kind,
            composed,
        }
    }

    /// What stands at its head.
    pub(crate) fn head(&self) -> svg::Head<'_> {
        svg::Head {
            id: &self.id,
            kind: self.kind.word(),
            title: &self.composed.title,
            description: &self.composed.description,
            size_mm: self.composed.size_mm,
        }
    }

    /// Its layers, from the back.
    pub(crate) fn layers(&self) -> impl Iterator<Item = (Layer, &[shape::Item])> {
        self.composed.sheet.layers()
    }

    /// What is said of it, without a document.
    pub(crate) fn unwritten(self) -> Drawing {
        Drawing {
            id: self.id,
            title: self.composed.title,
            description: self.composed.description,
            svg: String::new(),
            size_mm: self.composed.size_mm,
        }
    }

    /// As a document.
    pub(crate) fn written(self, scheme: Scheme) -> Drawing {
        let svg = svg::write(&self.composed.sheet, &self.head(), scheme);
        Drawing {
            svg,
            ..self.unwritten()
        }
    }
}

/// Why [`draw`] draws nothing of a kind for a rig, in words for its author.
///
/// - `solved`: `None` where the rig has no answer at all.
pub fn why_silent(rig: &Rig, solved: Option<&Solved>, kind: FigureKind) -> &'static str {
    let Some(solved) = solved else {
        return "its lines leave no place for the climber";
    };
    match kind {
        FigureKind::Loss if !solved.holds => "it does not hold, so that there is nothing to lose",
        FigureKind::Zone if rig.is_hung() && solved.zone.is_none() => "its zone was not asked for",
        FigureKind::Zone => "there is no place where its lines hold within their limits",
        FigureKind::Polygon => "no force but the weight acts on the climber",
        FigureKind::Space => {
            "all its places lie in one plane, which the other kinds show as it is; a rig in space gives \
             its places as [x, y, z]"
        }
        FigureKind::Effort => {
            "none of its lines comes back to the climber and holds, so that none helps to rise"
        }
        _ => "it has nothing of that kind",
    }
}

/// Composes a figure, in the frame of a mistake where the rig shows one, or of the right way.
fn compose(rig: &Rig, solved: &Solved, kind: FigureKind, style: Style<'_>) -> Option<Composed> {
    let verdict = match (rig.wrong.is_empty(), style.right) {
        (false, _) => verdict::Verdict::Mistake,
        (true, true) => verdict::Verdict::Right,
        (true, false) => return compose_plain(rig, solved, kind, style),
    };
    let inner = Style {
        width_mm: style.width_mm - verdict::TAKES_MM,
        ..style
    };
    compose_plain(rig, solved, kind, inner).map(|inner| verdict::frame(inner, verdict))
}

fn compose_plain(
    rig: &Rig,
    solved: &Solved,
    kind: FigureKind,
    style: Style<'_>,
) -> Option<Composed> {
    match kind {
        FigureKind::Setup => Some(setup::compose(rig, solved, style)),
        FigureKind::Zone => zone::compose(rig, solved, style),
        FigureKind::Pulls => Some(pulls::compose(rig, solved, style)),
        FigureKind::Polygon => polygon::compose(rig, solved, style),
        FigureKind::Strip => Some(strip::compose(rig, solved, style)),
        FigureKind::Effort => effort::compose(rig, solved, style),
        FigureKind::Loss => loss::compose(rig, solved, style),
        FigureKind::Space => space::compose(rig, solved, style),
    }
}
