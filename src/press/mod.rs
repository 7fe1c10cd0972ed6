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
use crate::pack::{Part, RigId};
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
        self.named("kit-records.pdf")
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

/// Presses a proof: every file of the output, in memory.
///
/// # Errors
/// Findings of the press itself (what does not fit on a sheet); nothing is returned then.
pub fn press(proof: &Proof) -> Result<Vec<OutFile>, Vec<Finding>> {
    press_only(proof, None)
}

/// Presses a proof, or one part of its output.
///
/// # Errors
/// As [`press`].
pub fn press_only(proof: &Proof, only: Option<Only>) -> Result<Vec<OutFile>, Vec<Finding>> {
    let figures = Figures::draw(proof);
    let wanted = |part: Only| only.is_none_or(|only| only == part);
    let mut files = Vec::new();
    if wanted(Only::Figures) {
        files.extend(figures.iter().map(|(_, _, drawing)| OutFile {
            path: format!("figures/{}.svg", drawing.id),
            bytes: drawing.svg.clone().into_bytes(),
        }));
    }
    #[cfg(feature = "print")]
    if wanted(Only::Print) {
        files.extend(print::sheets(proof, &figures)?);
    }
    if wanted(Only::Site) {
        let prints = PrintList::of_files(&files);
        files.extend(site::pages(proof, &figures, &prints)?);
    }
    Ok(files)
}
