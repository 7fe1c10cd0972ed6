//! Pressing: a proof into a site, prints and figures, all in memory.
//!
//! ```text
//! Proof ─draw→ Figures ─site→ pages ┐
//!                      ─print→ PDFs ├→ Vec<OutFile> ─(disk)→ output, all or nothing
//!                      ─────→ SVG   ┘
//! ```

pub mod own;
#[cfg(feature = "print")]
pub mod print;
pub mod site;
mod start;
pub mod text;
pub mod view;
pub mod words;

pub use start::starter_pack;

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::figure::{self, Detail, Drawing, Style};
use crate::finding::Finding;
use crate::pack::{LessonId, Part, RigId};
use crate::progress::{Progress, Stage};
use crate::rig::FigureKind;
use crate::rules::Proof;

/// One file of the output.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutFile {
    /// Path relative to the output folder, with forward slashes.
    pub path: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Width of a figure on a page and in `figures/`, millimetres.
pub const FIGURE_WIDTH_MM: f64 = 160.0;

/// Every figure that the pack shows, drawn once.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    drawings: BTreeMap<(RigId, FigureKind), Drawing>,
}

impl Figures {
    /// Draws what rigs and `figure` blocks ask for, and each rig's set-up and pulls for its sheet.
    pub fn draw(proof: &Proof) -> Self {
        let pack = &proof.reading.pack;
        let mut wanted: Vec<(RigId, FigureKind)> = Vec::new();
        for (i, rig) in pack.rigs.iter().enumerate() {
            let kinds = rig
                .show
                .iter()
                .chain(&[FigureKind::Setup, FigureKind::Pulls]);
            wanted.extend(kinds.map(|kind| (RigId(i), *kind)));
        }
        let asked = pack
            .lessons
            .iter()
            .flat_map(|l| &l.sections)
            .flat_map(|s| &s.parts);
        for part in asked {
            if let Part::Figure(ask) = part {
                wanted.extend(ask.kinds.iter().map(|kind| (ask.rig, *kind)));
            }
        }
        wanted.sort_unstable();
        wanted.dedup();
        let style = Style {
            units: pack.units,
            width_mm: FIGURE_WIDTH_MM,
            detail: Detail::Full,
            shelf: figure::Shelf::of(pack),
            right: false,
        };
        let drawings = wanted
            .into_par_iter()
            .filter_map(|(id, kind)| {
                let drawing = figure::draw(pack.rig(id), proof.solved(id), kind, style)?;
                Some(((id, kind), drawing))
            })
            .collect();
        Self { drawings }
    }

    /// The drawing of a rig and kind, if it was asked for and says something.
    pub fn get(&self, rig: RigId, kind: FigureKind) -> Option<&Drawing> {
        self.drawings.get(&(rig, kind))
    }

    /// All drawings, by rig, then kind.
    pub fn iter(&self) -> impl Iterator<Item = (RigId, FigureKind, &Drawing)> {
        self.drawings
            .iter()
            .map(|((rig, kind), drawing)| (*rig, *kind, drawing))
    }
}

/// A part of the output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Only {
    /// `site/`
    Site,
    /// `print/`
    Print,
    /// `figures/`
    Figures,
}

/// The kinds of print that a lesson has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PrintKind {
    /// The technique on one page.
    Sheet,
    /// The assessor's page.
    Marking,
    /// Questions for learners.
    Questions,
    /// Their answers.
    Answers,
    /// The whole lesson.
    Handout,
}

impl PrintKind {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Sheet,
        Self::Marking,
        Self::Questions,
        Self::Answers,
        Self::Handout,
    ];

    /// The word in file names: `AS-04-marking.pdf`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sheet => "sheet",
            Self::Marking => "marking",
            Self::Questions => "questions",
            Self::Answers => "answers",
            Self::Handout => "handout",
        }
    }
}

/// Which prints there are, for pages to link to. Empty where the program was built without the
/// typesetter.
#[derive(Debug, Clone, Default)]
pub struct PrintList {
    files: BTreeMap<String, Vec<u8>>,
}

/// Folder of the prints in the output.
const PRINT_FOLDER: &str = "print/";

/// The record cards of the pack's kit.
const KIT_RECORDS: &str = "kit-records.pdf";

/// Ropes with the hitches that they were tested with.
#[cfg(feature = "print")]
const KIT_PAIRINGS: &str = "kit-pairings.pdf";

impl PrintList {
    /// The prints among the files of an output.
    pub fn of_files(files: &[OutFile]) -> Self {
        let prints = files.iter().filter_map(|file| {
            let name = file.path.strip_prefix(PRINT_FOLDER)?;
            Some((name.to_owned(), file.bytes.clone()))
        });
        Self {
            files: prints.collect(),
        }
    }

    /// A lesson's print: its file name and bytes.
    pub fn of(&self, lesson: &crate::pack::Lesson, kind: PrintKind) -> Option<(&str, &[u8])> {
        self.named(&print_name(&lesson.code, kind.word()))
    }

    /// The record cards of the pack's kit.
    pub fn kit_records(&self) -> Option<(&str, &[u8])> {
        self.named(KIT_RECORDS)
    }

    fn named(&self, name: &str) -> Option<(&str, &[u8])> {
        let (name, bytes) = self.files.get_key_value(name)?;
        Some((name, bytes))
    }

    /// All of them, by name.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.files
            .iter()
            .map(|(name, bytes)| (name.as_str(), bytes.as_slice()))
    }
}

/// `AS-04-sheet.pdf`. Signs of a code that do not belong in a file name become hyphens.
pub fn print_name(code: &str, kind: &str) -> String {
    let keep = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
    let plain: String = code
        .chars()
        .map(|c| if keep(c) { c } else { '-' })
        .collect();
    format!("{plain}-{kind}.pdf")
}

/// What to press.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Order {
    /// One part of the output only.
    pub only: Option<Only>,
    /// The prints and figures of one lesson only. Pages link to one another, so that a lesson's order
    /// leaves the site out.
    pub lesson: Option<LessonId>,
}

impl Order {
    /// Whether a part of the output is asked for.
    fn wants(self, part: Only) -> bool {
        let in_lesson = self.lesson.is_none() || part != Only::Site;
        in_lesson && self.only.is_none_or(|only| only == part)
    }
}

impl From<Only> for Order {
    fn from(only: Only) -> Self {
        Self {
            only: Some(only),
            ..Self::default()
        }
    }
}

/// What a press gives.
#[derive(Debug, Clone, Default)]
pub struct Pressed {
    /// Every file of the output, in memory.
    pub files: Vec<OutFile>,
    /// What the press itself has to say: what a full sheet left out. None of them is an error.
    pub findings: Vec<Finding>,
}

/// Presses a proof, or as much of it as was ordered.
///
/// # Errors
/// Findings of the press itself (what does not fit on a sheet); nothing is returned then.
pub fn press(
    proof: &Proof,
    order: Order,
    progress: &dyn Progress,
) -> Result<Pressed, Vec<Finding>> {
    progress.begin(Stage::Figures, 0);
    let figures = Figures::draw(proof);
    let mut pressed = Pressed::default();
    if order.wants(Only::Figures) {
        let own = |rig: RigId| {
            order
                .lesson
                .is_none_or(|id| proof.reading.pack.lesson(id).shows(rig))
        };
        let drawings = figures.iter().filter(|(rig, ..)| own(*rig));
        pressed
            .files
            .extend(drawings.map(|(_, _, drawing)| OutFile {
                path: format!("figures/{}.svg", drawing.id),
                bytes: drawing.svg.clone().into_bytes(),
            }));
    }
    #[cfg(feature = "print")]
    if order.wants(Only::Print) {
        let prints = print::sheets(proof, &figures, order.lesson, progress)?;
        pressed.files.extend(prints.files);
        pressed.findings.extend(prints.findings);
    }
    if order.wants(Only::Site) {
        progress.begin(Stage::Pages, 0);
        let prints = PrintList::of_files(&pressed.files);
        pressed.files.extend(site::pages(proof, &figures, &prints)?);
    }
    progress.end();
    Ok(pressed)
}
