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

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::Serialize;

use crate::figure::{self, Detail, Drawing, Style};
use crate::finding::Finding;
use crate::pack::{LessonId, Pack, Part, RigId};
use crate::progress::{Progress, Silent, Stage};
use crate::rig::{FigureKind, Rig};
use crate::rules::Proof;
use crate::store::{InMemory, Sink, Store};

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

/// Which kinds of figure each rig has: what its `show` and `figure` blocks ask for. What else a sheet
/// or a page needs, it draws for itself.
pub(crate) fn kinds_wanted(pack: &Pack) -> Vec<BTreeSet<FigureKind>> {
    let own = |rig: &Rig| rig.show.iter().copied().collect();
    let mut wanted: Vec<BTreeSet<FigureKind>> = pack.rigs.iter().map(own).collect();
    let sections = pack.lessons.iter().flat_map(|l| &l.sections);
    for part in sections.flat_map(|s| &s.parts) {
        if let Part::Figure(ask) = part {
            wanted[ask.rig.0].extend(&ask.kinds);
        }
    }
    wanted
}

/// How figures of the output are drawn.
pub(crate) fn style(pack: &Pack) -> Style<'_> {
    Style {
        units: pack.units,
        width_mm: FIGURE_WIDTH_MM,
        detail: Detail::Full,
        shelf: figure::Shelf::of(pack),
        right: false,
    }
}

impl Figures {
    /// Draws every figure of a pack.
    pub fn draw(proof: &Proof) -> Self {
        let pack = &proof.reading.pack;
        let style = style(pack);
        let kinds = kinds_wanted(pack);
        let wanted: Vec<(RigId, FigureKind)> = kinds
            .iter()
            .enumerate()
            .flat_map(|(i, kinds)| kinds.iter().map(move |kind| (RigId(i), *kind)))
            .collect();
        let drawings = wanted
            .into_par_iter()
            .filter_map(|(id, kind)| {
                let drawing = figure::draw(pack.rig(id), &proof.solved(id), kind, style)?;
                Some(((id, kind), drawing))
            })
            .collect();
        Self { drawings }
    }

    /// Adds a drawing.
    pub(crate) fn add(&mut self, rig: RigId, kind: FigureKind, drawing: Drawing) {
        self.drawings.insert((rig, kind), drawing);
    }

    /// The drawings of one rig, by kind.
    pub fn of_rig(&self, rig: RigId) -> impl Iterator<Item = (FigureKind, &Drawing)> {
        let next = (RigId(rig.0 + 1), FigureKind::ALL[0]);
        let own = self.drawings.range((rig, FigureKind::ALL[0])..next);
        own.map(|((_, kind), drawing)| (*kind, drawing))
    }

    /// The drawing of a rig and kind, if it was asked for and says something.
    pub fn get(&self, rig: RigId, kind: FigureKind) -> Option<&Drawing> {
        self.drawings.get(&(rig, kind))
    }

    /// Gives all drawings out, by rig, then kind.
    pub(crate) fn into_drawings(self) -> impl Iterator<Item = (RigId, FigureKind, Drawing)> {
        let drawings = self.drawings.into_iter();
        drawings.map(|((rig, kind), drawing)| (rig, kind, drawing))
    }
}

/// A part of the output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum, Serialize)]
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

/// Which prints there are, for pages to link to: file names, and sizes in bytes of those that are
/// set. Empty where the program was built without the typesetter.
#[derive(Debug, Clone, Default)]
pub struct PrintList {
    sizes: BTreeMap<String, Option<usize>>,
}

/// Folder of the prints in the output.
#[cfg(feature = "print")]
const PRINT_FOLDER: &str = "print/";

/// The record cards of the pack's kit.
const KIT_RECORDS: &str = "kit-records.pdf";

/// Ropes with the hitches that they were tested with.
const KIT_PAIRINGS: &str = "kit-pairings.pdf";

impl PrintList {
    /// Every print that a press of the pack makes, before any is set.
    pub fn promised(pack: &Pack) -> Self {
        #[cfg(feature = "print")]
        let names = print::names(pack);
        #[cfg(not(feature = "print"))]
        let names = {
            let _ = pack;
            std::iter::empty()
        };
        let sizes = names.map(|name| (name, None)).collect();
        Self { sizes }
    }

    /// Adds a print that is set.
    #[cfg(feature = "print")]
    fn add(&mut self, name: String, bytes: usize) {
        self.sizes.insert(name, Some(bytes));
    }

    /// A lesson's print: its file name and, if it is set, its size in bytes.
    pub fn of(
        &self,
        lesson: &crate::pack::Lesson,
        kind: PrintKind,
    ) -> Option<(&str, Option<usize>)> {
        self.named(&print_name(&lesson.code, kind.word()))
    }

    /// The record cards of the pack's kit.
    pub fn kit_records(&self) -> Option<(&str, Option<usize>)> {
        self.named(KIT_RECORDS)
    }

    /// Ropes with the hitches that they were tested with.
    pub fn kit_pairings(&self) -> Option<(&str, Option<usize>)> {
        self.named(KIT_PAIRINGS)
    }

    /// A print of a whole course: `book`, `outcomes`, `day-1`.
    pub fn of_course(
        &self,
        course: &crate::pack::Course,
        kind: &str,
    ) -> Option<(&str, Option<usize>)> {
        self.named(&course_print_name(course, kind))
    }

    fn named(&self, name: &str) -> Option<(&str, Option<usize>)> {
        let (name, size) = self.sizes.get_key_value(name)?;
        Some((name, *size))
    }

    /// All of them, by name.
    pub fn iter(&self) -> impl Iterator<Item = (&str, Option<usize>)> {
        self.sizes.iter().map(|(name, size)| (name.as_str(), *size))
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

/// `AS-book.pdf`: by the course's code, or its file where it has none.
fn course_print_name(course: &crate::pack::Course, kind: &str) -> String {
    print_name(course.code.as_deref().unwrap_or(&course.name), kind)
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
    let sink = InMemory::default();
    let findings = press_into(proof, order, &Store::default(), &sink, progress)?;
    let files = sink.files();
    Ok(Pressed { files, findings })
}

/// Presses into a sink, file by file, so that a large pack need not fit into memory; lessons that
/// the store has are not made again. Returns what [`Pressed::findings`] holds.
///
/// # Errors
/// As [`press`]; the sink may have taken files by then.
pub fn press_into(
    proof: &Proof,
    order: Order,
    store: &Store,
    sink: &dyn Sink,
    progress: &dyn Progress,
) -> Result<Vec<Finding>, Vec<Finding>> {
    #[cfg_attr(not(feature = "print"), allow(unused_mut))]
    let (mut findings, mut prints) = (Vec::new(), PrintList::default());
    if order.wants(Only::Figures) {
        progress.begin(Stage::Figures, 0);
        let figures = Figures::draw(proof);
        let own = |rig: RigId| {
            order
                .lesson
                .is_none_or(|id| proof.reading.pack.lesson(id).shows(rig))
        };
        let drawings = figures.into_drawings();
        for (_, _, drawing) in drawings.filter(|(rig, ..)| own(*rig)) {
            sink.put(OutFile {
                path: format!("figures/{}.svg", drawing.id),
                bytes: drawing.svg.into_bytes(),
            });
        }
    }
    #[cfg(feature = "print")]
    if order.wants(Only::Print) {
        let batch = print::Batch {
            lesson: order.lesson,
            ..print::Batch::default()
        };
        let take = |file: OutFile| {
            if order.wants(Only::Site) {
                let path = format!("site/{}", file.path);
                let bytes = file.bytes.clone();
                sink.put(OutFile { path, bytes });
            }
            sink.put(file);
        };
        let set = print::sheets(proof, batch, &take, progress)?;
        prints = set.list;
        findings.extend(set.findings);
    }
    if order.wants(Only::Site) {
        progress.begin(Stage::Pages, proof.reading.pack.lessons.len());
        site::pages(proof, &prints, store, sink, progress)?;
    }
    store.settle();
    progress.end();
    Ok(findings)
}

/// Presses the site into a sink, for a reader that sets a print when it is asked for: pages link to
/// every print of the list as to one that is there.
///
/// # Errors
/// As [`press`]; the sink may have taken files by then.
pub fn site_into(
    proof: &Proof,
    prints: &PrintList,
    store: &Store,
    sink: &dyn Sink,
) -> Result<(), Vec<Finding>> {
    site::pages(proof, prints, store, sink, &Silent)?;
    store.settle();
    Ok(())
}
