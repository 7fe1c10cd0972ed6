//! The pack: what an author writes, read whole, with every mistake found in one run.
//!
//! ```text
//! Sources ─read→ Reading { Pack, findings }
//!     └ lessons that the store knows as they are now are not parsed again
//! ```
//!
//! Names of rigs, lines, points, kit and lessons are resolved here; a later stage never meets an
//! unknown one. A broken rig is left out and reported; the rest of the pack is still read.
//!
//! Over 500 lines: the types of a pack and of its lessons stand together.

mod blocks;
mod checks;
mod day;
mod files;
mod flow;
mod kept;
mod kit_room;
mod lesson;
mod lesson_files;
mod markdown;
mod read;
mod rigs;

use std::collections::BTreeMap;

use jiff::civil::Date;
use pulldown_cmark::{CowStr, Event, TagEnd};
use serde::{Deserialize, Deserializer, Serialize};

use crate::finding::{Finding, Place, Sources};
use crate::kit::KitItem;
use crate::quantity::{Quantity, Units};
use crate::rig::{FigureKind, Rig, ValuePath};

use crate::rulebook::Rulebook;
pub use day::{Day, DayPart, DayWhat};
pub use kept::KeptLesson;
pub use read::{read, read_again};

/// Index of a rig in [`Pack::rigs`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct RigId(pub usize);

/// Index of a lesson in [`Pack::lessons`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct LessonId(pub usize);

/// Index of a kit item in [`Pack::kit`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct KitId(pub usize);

/// What reading gives: as much of the pack as could be built, and everything wrong with it.
#[derive(Debug, Clone)]
pub struct Reading {
    /// What could be built.
    pub pack: Pack,
    /// Everything to say, in order of place.
    pub findings: Vec<Finding>,
    /// The files, for showing places.
    pub sources: Sources,
}

/// A pack.
#[derive(Debug, Clone, Default)]
pub struct Pack {
    /// Title of the whole.
    pub title: String,
    /// Who answers for it.
    pub organisation: Option<String>,
    /// Language tag, `en` by default.
    pub language: String,
    /// Units for readers.
    pub units: Units,
    /// The paper that prints are for.
    pub paper: Paper,
    /// Revision as written.
    pub revision: Option<String>,
    /// Date of issue: also the day for which due dates are worked out.
    pub dated: Option<Date>,
    /// Sentences added to the built-in cautions.
    pub caution: Vec<String>,
    /// A paragraph about the pack.
    pub summary: Option<String>,
    /// Who prepared and who approved it, for the title block.
    pub prepared_by: Option<String>,
    /// Who approved it.
    pub approved_by: Option<String>,
    /// Table of changes, newest first as written: revision, date, what.
    pub changes: Vec<Change>,
    /// Terms of the trade, in the order written.
    pub glossary: Vec<Term>,
    /// Kit items, by name.
    pub kit: Vec<KitItem>,
    /// Courses, by file name.
    pub courses: Vec<Course>,
    /// Lessons, by file name.
    pub lessons: Vec<Lesson>,
    /// Rigs, in order of lesson and place.
    pub rigs: Vec<Rig>,
    /// The rules with the pack's own limits from `rules.toml`.
    pub rulebook: Rulebook,
    /// The author's pictures: path below `pictures/` and bytes.
    pub pictures: Vec<(String, Vec<u8>)>,
    /// The author's files that take the place of ours, by path below `own/`.
    pub own: BTreeMap<String, OwnFile>,
}

/// A file of the author's in the place of one of ours: a template, a style sheet, a script, words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnFile {
    /// Its text.
    pub text: String,
    /// Index of the file in [`Sources`].
    pub file: usize,
}

impl OwnFile {
    /// Where it begins.
    pub fn start(&self) -> Place {
        files::start_of(self.file)
    }
}

/// The paper that prints are for.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub enum Paper {
    /// 210 mm x 297 mm, ISO 216.
    #[default]
    A4,
    /// 8.5 in x 11 in, ANSI/ASME Y14.1 size A.
    UsLetter,
}

/// One row of the table of changes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Change {
    /// Revision.
    pub revision: String,
    /// Its date.
    pub dated: Date,
    /// What changed.
    pub what: String,
}

/// A term of the trade for the glossary.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Term {
    /// The term as it stands in the text.
    pub term: String,
    /// What it means, as plain words.
    pub means: String,
    /// Where it stands.
    pub place: Place,
}

/// A course: lessons in order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Course {
    /// The file's stem.
    pub name: String,
    /// Title.
    pub title: String,
    /// Code, if it has one.
    pub code: Option<String>,
    /// A sentence about it.
    pub summary: Option<String>,
    /// Lessons in order.
    pub lessons: Vec<LessonId>,
    /// Where each of them stands in the file, in the same order.
    pub lesson_places: Vec<Place>,
    /// Outcomes: key and words.
    pub outcomes: Vec<Outcome>,
    /// Total hours as the author states them.
    pub hours: Option<f64>,
    /// Its teaching days, in order.
    pub days: Vec<Day>,
    /// The file's `title`.
    pub place: Place,
}

/// What a trainee can do afterwards.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outcome {
    /// Short key: `O1`.
    pub key: String,
    /// Words.
    pub text: String,
    /// Where it stands.
    pub place: Place,
}

/// A lesson: one technique.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lesson {
    /// The file's stem: names its page.
    pub name: String,
    /// Title.
    pub title: String,
    /// Code: names its prints.
    pub code: String,
    /// A sentence or two.
    pub summary: Option<String>,
    /// Minutes to teach.
    pub minutes: Option<u32>,
    /// Level as written.
    pub level: Option<String>,
    /// Lessons to know first.
    pub needs: Vec<LessonId>,
    /// Keys of the outcomes met.
    pub outcomes: Vec<String>,
    /// Kit used: item and how many.
    pub kit: Vec<KitUse>,
    /// True where a saw is in use, so that two lines are wanted.
    pub two_lines: bool,
    /// References as written.
    pub references: Vec<String>,
    /// What stands before the first heading, then a section a heading of level 1 or 2, or a block
    /// that has no heading of its own.
    pub sections: Vec<Section>,
    /// The `lesson` block.
    pub place: Place,
}

/// A kit item and how many of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct KitUse {
    /// Which.
    pub item: KitId,
    /// How many.
    pub count: u32,
}

/// A part of a lesson with a heading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Section {
    /// The heading's text, values filled in by the renderer; empty only before the first heading.
    pub heading: Vec<Inline>,
    /// Fragment name, unique in the lesson.
    pub id: String,
    /// Marked `{.sheet}`: goes on the technique sheet.
    pub on_sheet: bool,
    /// What stands in it, in order.
    pub parts: Vec<Part>,
    /// The heading, or the block that stands for one.
    pub place: Place,
}

/// A stretch of text as Markdown events, inline rig values taken out.
pub type Flow = Vec<Inline>;

/// A Markdown event, or a value of a rig inside the text. A pack has a hundred thousand of them, and an
/// event as the reader gives it takes 80 bytes: the usual ones stand here by themselves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Inline {
    /// Text.
    Text(Box<str>),
    /// The end of what another event began.
    End(TagEnd),
    /// The end of a line in the source.
    SoftBreak,
    /// Any other event of the Markdown reader.
    Event(#[serde(deserialize_with = "owned")] Box<Event<'static>>),
    /// `` `rig:NAME/path` ``
    Value(Box<RigValue>),
}

impl Inline {
    /// The event; `None` for a value.
    pub fn event(&self) -> Option<Event<'_>> {
        Some(match self {
            Self::Text(text) => Event::Text(CowStr::Borrowed(text)),
            Self::End(end) => Event::End(*end),
            Self::SoftBreak => Event::SoftBreak,
            Self::Event(event) => Event::clone(event),
            Self::Value(_) => return None,
        })
    }
}

impl From<Event<'static>> for Inline {
    fn from(event: Event<'static>) -> Self {
        match event {
            Event::Text(text) => Self::Text(text.into_string().into_boxed_str()),
            Event::End(end) => Self::End(end),
            Event::SoftBreak => Self::SoftBreak,
            other => Self::Event(Box::new(other)),
        }
    }
}

/// An event with texts of its own.
fn owned<'de, D: Deserializer<'de>>(from: D) -> Result<Box<Event<'static>>, D::Error> {
    Event::deserialize(from).map(|event| Box::new(event.into_static()))
}

/// A value of a rig, asked for in text, a question or a criterion.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RigValue {
    /// Which rig.
    pub rig: RigId,
    /// Which value.
    pub path: ValuePath,
    /// Where it was asked for.
    pub place: Place,
}

/// One thing in a section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Part {
    /// Text.
    Text(Flow),
    /// A rig's figures, where its block stands.
    Rig(RigId),
    /// Figures of a rig that stands elsewhere.
    Figure(FigureAsk),
    /// Ordered steps.
    Steps(Vec<Step>),
    /// Common faults.
    Faults(Vec<Fault>),
    /// Quiz.
    Questions(Vec<Question>),
    /// Assessor's criteria.
    Marking(Vec<Criterion>),
}

/// A `figure` block.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FigureAsk {
    /// Which rig.
    pub rig: RigId,
    /// Which kinds; the rig's own where the block names none.
    pub kinds: Vec<FigureKind>,
    /// Words under it.
    pub caption: Option<Flow>,
    /// Where it stands.
    pub place: Place,
}

/// One step. Its texts are Markdown and may hold values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// What to do.
    pub text: Flow,
    /// Why.
    pub why: Option<Flow>,
    /// What to check.
    pub check: Option<Flow>,
    /// Whether it is critical.
    pub critical: bool,
    /// Where it stands.
    pub place: Place,
}

/// One fault.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Fault {
    /// What is seen.
    pub seen: Flow,
    /// What it leads to.
    pub leads_to: Flow,
    /// How to put it right.
    pub put_right: Flow,
    /// Where it stands.
    pub place: Place,
}

/// One question.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Question {
    /// What is asked.
    pub ask: Flow,
    /// What is answered.
    pub answer: Answer,
    /// Said after the answer.
    pub because: Option<Flow>,
    /// Where it stands.
    pub place: Place,
}

/// The answer of a question.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Answer {
    /// One of several.
    Choice {
        /// Choices in the order written.
        choices: Vec<Flow>,
        /// Index of the right one.
        right: usize,
    },
    /// One of several, a rig's value being the right one.
    ChooseValue {
        /// The right one.
        right: RigValue,
        /// The author's own wrong ones with their places; the usual slips fill them up.
        own: Vec<(Quantity, Place)>,
    },
    /// True or false.
    Truth(bool),
    /// Things to put in order.
    Order {
        /// The things in the right order.
        items: Vec<Flow>,
    },
    /// A number with a tolerance.
    Number {
        /// What is right: a rig's value or a fixed quantity.
        right: NumberSource,
        /// Most that an answer may be off, SI.
        tolerance: f64,
    },
}

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum NumberSource {
    /// A rig's value.
    Rig(RigValue),
    /// Fixed in the block.
    Fixed(Quantity),
}

/// One criterion of the marking sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Criterion {
    /// What the assessor looks for.
    pub text: Flow,
    /// Whether failing it means not yet competent.
    pub critical: bool,
    /// A value to measure against, and how far off is still met, SI.
    pub measure: Option<(RigValue, f64)>,
    /// Key of the outcome that it shows.
    pub outcome: Option<String>,
    /// Where it stands.
    pub place: Place,
}

/// What a set of sources is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Scope {
    /// A folder with `pack.toml` and `lessons/`.
    Pack,
    /// One Markdown file on its own: no `pack.toml`, no kit, no other lessons.
    OneLesson,
}

impl Pack {
    /// The rig of an id.
    pub fn rig(&self, id: RigId) -> &Rig {
        &self.rigs[id.0]
    }

    /// The rig that shows how it is done right, for one that shows a mistake: the one that it names,
    /// else the first right one of its lesson.
    pub fn right_twin(&self, id: RigId) -> Option<RigId> {
        let rig = self.rig(id);
        if rig.wrong.is_empty() {
            return None;
        }
        let file = rig.place.file;
        let from = self.rigs.partition_point(|other| other.place.file < file);
        let own = (from..self.rigs.len()).map(RigId);
        let mut own = own.take_while(|id| self.rig(*id).place.file == file);
        let all = (0..self.rigs.len()).map(RigId);
        match &rig.right {
            // Most stand in the same lesson.
            Some((name, _)) => own.chain(all).find(|id| self.rig(*id).name == *name),
            None => own.find(|id| self.rig(*id).wrong.is_empty()),
        }
    }

    /// The lesson of an id.
    pub fn lesson(&self, id: LessonId) -> &Lesson {
        &self.lessons[id.0]
    }

    /// The kit item of an id.
    pub fn kit_item(&self, id: KitId) -> &KitItem {
        &self.kit[id.0]
    }
}

impl Lesson {
    /// Rigs whose blocks stand in this lesson, in order.
    pub fn rigs(&self) -> impl Iterator<Item = RigId> + '_ {
        self.sections
            .iter()
            .flat_map(|s| &s.parts)
            .filter_map(|part| match part {
                Part::Rig(id) => Some(*id),
                _ => None,
            })
    }

    /// Whether a rig's figures stand in this lesson: its block does, or a `figure` block asks for it.
    pub fn shows(&self, rig: RigId) -> bool {
        let mut parts = self.sections.iter().flat_map(|s| &s.parts);
        parts.any(|part| match part {
            Part::Rig(id) => *id == rig,
            Part::Figure(ask) => ask.rig == rig,
            _ => false,
        })
    }
}
