//! The assessor's marking sheet: one page to write on.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::figure::Detail;
use crate::finding::Finding;
use crate::pack::{Criterion, Lesson, LessonId, Pack};
use crate::press::view::{CriterionView, Document, criteria, criterion_view};
use crate::press::words::Words;
use crate::rig::FigureKind;
use crate::rules::Proof;

use super::head::Head;
use super::images::{Image, Images, Room, Twin};
use super::technique::rigs;
use super::world::Manuscript;

/// The lesson's hold, beside the lines to write on.
const HOLD: Room = Room {
    widths_mm: &[54.0, 46.0, 39.0],
    height_mm: 54.0,
    detail: Detail::Small,
    twin: Twin::Alone,
};

#[derive(Serialize)]
struct Marking {
    #[serde(flatten)]
    head: Head,
    figure: Option<Image>,
    criteria: Vec<CriterionRow>,
    outcomes: Vec<OutcomeRow>,
}

#[derive(Serialize)]
struct CriterionRow {
    #[serde(flatten)]
    view: CriterionView,
    /// What to write down: `measured, kN`.
    write: Option<String>,
}

#[derive(Serialize)]
struct OutcomeRow {
    key: String,
    text: String,
    shown_by: String,
}

/// Gathers the marking sheet of a lesson with criteria.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn manuscript(
    proof: &Proof,
    id: LessonId,
    words: Words,
) -> Result<Manuscript, serde_json::Error> {
    let pack = &proof.reading.pack;
    let lesson = pack.lesson(id);
    let criteria: Vec<&Criterion> = criteria(lesson).collect();
    let mut images = Images::default();
    let kinds = [FigureKind::Pulls, FigureKind::Space];
    let marking = Marking {
        head: Head::new(pack, Document::Marking, &lesson.code, &lesson.title, words),
        figure: rigs(pack, lesson)
            .0
            .and_then(|rig| images.fit(proof, rig, &kinds, HOLD)),
        outcomes: outcomes(pack, id, &criteria),
        criteria: criteria
            .into_iter()
            .map(|criterion| row(criterion, proof, words))
            .collect(),
    };
    Ok(Manuscript {
        template: "marking.typ",
        data: serde_json::to_value(&marking)?,
        images: images.files,
        ident: format!("{} marking sheet", lesson.code),
    })
}

fn row(criterion: &Criterion, proof: &Proof, words: Words) -> CriterionRow {
    let view = criterion_view(criterion, proof);
    let write = view.measure.as_ref().map(|text| {
        let unit = text.rsplit(|c: char| c == '\u{a0}' || c.is_ascii_digit());
        words.fill(
            "print.measured",
            &[("unit", unit.into_iter().next().unwrap_or_default())],
        )
    });
    CriterionRow { view, write }
}

/// Outcomes that the criteria show, in order of key, with the criteria's numbers.
fn outcomes(pack: &Pack, id: LessonId, criteria: &[&Criterion]) -> Vec<OutcomeRow> {
    let mut shown: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (i, criterion) in criteria.iter().enumerate() {
        if let Some(key) = &criterion.outcome {
            shown.entry(key).or_default().push(format!("G{}", i + 1));
        }
    }
    let rows = shown.into_iter().filter_map(|(key, by)| {
        Some(OutcomeRow {
            text: outcome_text(pack, id, key)?.to_owned(),
            key: key.to_owned(),
            shown_by: by.join(", "),
        })
    });
    rows.collect()
}

/// An outcome's words, from the courses that hold the lesson.
pub fn outcome_text<'a>(pack: &'a Pack, id: LessonId, key: &str) -> Option<&'a str> {
    let courses = pack.courses.iter().filter(|c| c.lessons.contains(&id));
    courses
        .flat_map(|course| &course.outcomes)
        .find(|outcome| outcome.key == key)
        .map(|outcome| outcome.text.as_str())
}

/// What to say of criteria that do not fit on the page.
///
/// `note` is what the template left: heights of its parts and `over_mm`, the missing room.
pub fn overflow(lesson: &Lesson, note: &serde_json::Value) -> Finding {
    let mm = |key: &str| {
        note.get(key)
            .and_then(serde_json::Value::as_f64)
            .unwrap_or(0.0)
    };
    let criteria: Vec<&Criterion> = criteria(lesson).collect();
    let message = format!(
        "the marking sheet of {} is {:.0} mm too long for one page: {} criteria take {:.0} mm, the outcomes {:.0} mm",
        lesson.code,
        mm("over_mm").ceil(),
        criteria.len(),
        mm("criteria_mm"),
        mm("outcomes_mm"),
    );
    let place = criteria.last().map_or(lesson.place, |c| c.place);
    Finding::error("sheet-too-long", place, message)
        .with_help("shorten the longest criteria, or bring two of them together")
}
