//! The view model: what a page or a sheet says, as plain data, numbers already written out.
//!
//! ```text
//! Proof ─view→ title block, cautions, numbers, steps, faults, questions, criteria, kit
//!                 ├→ HTML templates (crate::press::site)
//!                 └→ JSON for the print templates
//! ```
//!
//! Screen and paper share it, so they cannot disagree. Every number goes through
//! [`crate::value::evaluate`] and [`crate::quantity`] with the pack's units.

mod course;
mod day;
mod lesson;
mod numbers;
mod pair;
mod pairings;
mod record;
mod rich;
mod slips;
mod working;

use serde::Serialize;

use crate::finding::Finding;
use crate::pack::Pack;

pub use course::{Matrix, MatrixCell, MatrixRow, criteria, matrix};
pub use day::{CheckList, DayKit, DayPartView, DayView, PartKind, day_view};
pub use lesson::{
    AnswerView, CriterionView, FaultView, KitRow, NumberAnswer, QuestionView, StepView,
    criterion_view, fault_view, kit_limits, kit_row, lesson_texts, question_view, short_limit,
    shown_order, shown_scale, step_view,
};
pub use numbers::{Cell, CellValue, Group, LineColumn, NumbersTable, Row, legs, numbers};
pub use pair::{PairRow, PairSide, PairView, pair_view, pairs};
pub use pairings::{HitchColumn, PairingRow, Pairings, pairings};
pub use record::{ExaminationRow, RecordField, RecordView, record_view};
pub use rich::{Rich, as_run, letters, picture_file, rich, rich_run};
pub use slips::{ValueChoice, value_choices};
pub use working::working;

use super::words::Words;

/// Stands for a value that does not exist.
pub const DASH: &str = "–";

/// The kinds of sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Document {
    /// The front of the pack.
    Pack,
    /// A course.
    Course,
    /// A teaching day.
    Day,
    /// A lesson.
    Lesson,
    /// The kit register.
    Kit,
    /// All figures.
    Figures,
    /// The glossary.
    Terms,
    /// Lessons by kind, hitch and kit.
    Techniques,
    /// Rope against hitch and cord.
    Pairings,
    /// Standards and other sources.
    References,
    /// Mistakes beside the right way.
    Mistakes,
    /// A technique on one page.
    Technique,
    /// The assessor's page.
    Marking,
    /// Questions for learners.
    Questions,
    /// Their answers.
    Answers,
    /// The whole lesson on paper.
    Handout,
    /// A kit item's record card.
    Record,
    /// All lessons of a course on paper.
    Book,
    /// Outcomes of a course by lesson and criterion.
    Outcomes,
}

/// A drawing's title block: the fields of ISO 7200 that a pack knows, and the revision.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TitleBlock {
    /// Title.
    pub title: String,
    /// Identification number.
    pub code: String,
    /// Legal owner.
    pub owner: String,
    /// Document type, in words.
    pub document: String,
    /// Who made it.
    pub prepared_by: String,
    /// Who approved it.
    pub approved_by: String,
    /// Revision.
    pub revision: String,
    /// Language tag.
    pub language: String,
    /// Date of issue, ISO 8601.
    pub issued: String,
    /// Sheet and number of sheets.
    pub sheet: String,
}

/// One row of the table of changes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChangeRow {
    /// Revision.
    pub revision: String,
    /// Its date, ISO 8601.
    pub dated: String,
    /// What changed.
    pub what: String,
}

/// The title block of a sheet. A field that the pack leaves out holds a dash.
///
/// - `place`: which sheet of how many, both from 1.
pub fn title_block(
    pack: &Pack,
    document: Document,
    title: &str,
    code: &str,
    place: (usize, usize),
    words: Words,
) -> TitleBlock {
    let or_dash = |text: Option<&String>| text.cloned().unwrap_or_else(|| DASH.to_owned());
    let kind = match document {
        Document::Pack => "block.pack",
        Document::Course => "block.course",
        Document::Day => "block.day",
        Document::Lesson => "block.lesson",
        Document::Kit => "block.kit",
        Document::Figures => "block.figures",
        Document::Terms => "block.terms",
        Document::Techniques => "techniques.title",
        Document::References => "references.title",
        Document::Mistakes => "mistakes.title",
        Document::Technique => "print.sheet",
        Document::Marking => "print.marking",
        Document::Questions => "print.questions",
        Document::Answers => "print.answers",
        Document::Handout => "print.handout",
        Document::Record => "print.record",
        Document::Book => "print.book",
        Document::Outcomes => "print.outcomes",
        Document::Pairings => "print.pairings",
    };
    let (n, all) = (place.0.to_string(), place.1.to_string());
    TitleBlock {
        title: title.to_owned(),
        code: if code.is_empty() { DASH } else { code }.to_owned(),
        owner: or_dash(pack.organisation.as_ref()),
        document: words.get(kind).to_owned(),
        prepared_by: or_dash(pack.prepared_by.as_ref()),
        approved_by: or_dash(pack.approved_by.as_ref()),
        revision: or_dash(pack.revision.as_ref()),
        language: language(pack).to_owned(),
        issued: pack
            .dated
            .map_or_else(|| DASH.to_owned(), |d| d.to_string()),
        sheet: words.fill("block.sheet_of", &[("n", &n), ("all", &all)]),
    }
}

/// The pack's language tag, English where it states none.
pub fn language(pack: &Pack) -> &str {
    if pack.language.is_empty() {
        "en"
    } else {
        &pack.language
    }
}

/// The table of changes, as the pack orders it.
pub fn changes(pack: &Pack) -> Vec<ChangeRow> {
    let rows = pack.changes.iter().map(|change| ChangeRow {
        revision: change.revision.clone(),
        dated: change.dated.to_string(),
        what: change.what.clone(),
    });
    rows.collect()
}

/// The cautions of a sheet: our own for every sheet, those for its kind, then the pack's. A pack can
/// add to them and never take one away.
pub fn cautions(pack: &Pack, document: Document, words: Words) -> Vec<String> {
    let own = match document {
        Document::Course | Document::Outcomes => "caution.course",
        Document::Day => "caution.day",
        Document::Kit | Document::Record | Document::Pairings => "caution.kit",
        _ => "caution.lesson",
    };
    let built_in = words
        .list("caution.every")
        .into_iter()
        .chain(words.list(own));
    built_in
        .map(str::to_owned)
        .chain(pack.caution.iter().cloned())
        .collect()
}

/// What a finding says, as a sentence for readers: names of the blocks in words, between the quotes of print.
pub fn sentence(finding: &Finding) -> String {
    let mut out = String::new();
    let pieces: Vec<&str> = finding.message.split('"').collect();
    for (i, piece) in pieces.iter().enumerate() {
        match i % 2 {
            0 => out.push_str(piece),
            _ if i + 1 == pieces.len() => {
                out.push('"');
                out.push_str(piece);
            }
            _ if piece.contains(' ') => out.push_str(&format!("“{piece}”")),
            _ => out.push_str(&format!("“{}”", piece.replace(['-', '_'], " "))),
        }
    }
    let mut letters = out.chars();
    let first = letters.next().map(char::to_uppercase);
    let rest = letters.as_str();
    first
        .into_iter()
        .flatten()
        .chain(rest.chars())
        .collect::<String>()
        + "."
}

/// A name of a block as a heading: `second-line` becomes `Second line`.
pub fn heading_of(name: &str) -> String {
    let words = name.replace(['-', '_'], " ");
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finding_becomes_a_sentence_for_readers() {
        let said = |message: &str| {
            let finding = Finding {
                code: "x",
                severity: crate::finding::Severity::Error,
                place: None,
                message: message.to_owned(),
                help: None,
            };
            sentence(&finding)
        };
        assert_eq!(
            said("line \"main\" leaves \"upper-limb\" at 66°"),
            "Line “main” leaves “upper limb” at 66°."
        );
        assert_eq!(said("\"Cord, 8-mm\" is out"), "“Cord, 8-mm” is out.");
        assert_eq!(said("a 3/4\" pin"), "A 3/4\" pin.");
    }
}
