//! A course as a table: outcomes against lessons, the criteria that show them, and the gaps.

use serde::Serialize;

use crate::pack::{Course, Lesson, Pack, Part};
use crate::press::words::Words;

/// Outcomes of a course by lesson.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Matrix {
    /// Codes of the lessons, in order: the columns.
    pub codes: Vec<String>,
    /// How many outcomes are assessed, as a sentence.
    pub summary: String,
    /// The outcomes, in order.
    pub rows: Vec<MatrixRow>,
}

/// An outcome over the lessons of a course.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MatrixRow {
    /// Its key: `O1`.
    pub key: String,
    /// Its words.
    pub text: String,
    /// One a lesson.
    pub cells: Vec<MatrixCell>,
    /// Whether nothing assesses it.
    pub gap: bool,
    /// `assessed`, or what is missing.
    pub verdict: String,
}

/// One lesson's part in an outcome.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MatrixCell {
    /// The lesson's code.
    pub code: String,
    /// `none`, `taught` or `assessed`.
    pub state: &'static str,
    /// Numbers of the criteria that show it: `G1`.
    pub criteria: Vec<String>,
}

/// Builds the table of a course.
pub fn matrix(pack: &Pack, course: &Course, words: Words) -> Matrix {
    let lessons: Vec<&Lesson> = course.lessons.iter().map(|id| pack.lesson(*id)).collect();
    let rows: Vec<MatrixRow> = course
        .outcomes
        .iter()
        .map(|outcome| {
            let cells: Vec<MatrixCell> = lessons.iter().map(|l| cell(l, &outcome.key)).collect();
            let codes = |state: &str| {
                let own = cells.iter().filter(|c| c.state == state);
                own.map(|c| c.code.as_str()).collect::<Vec<_>>().join(", ")
            };
            let gap = cells.iter().all(|c| c.state != "assessed");
            let taught = codes("taught");
            let verdict = if !gap {
                words.get("course.assessed").to_owned()
            } else if taught.is_empty() {
                words.get("course.gap_taught").to_owned()
            } else {
                words.fill("course.gap_assessed", &[("codes", &taught)])
            };
            MatrixRow {
                key: outcome.key.clone(),
                text: outcome.text.clone(),
                cells,
                gap,
                verdict,
            }
        })
        .collect();
    let met = rows.iter().filter(|row| !row.gap).count().to_string();
    let all = rows.len().to_string();
    Matrix {
        codes: lessons.iter().map(|lesson| lesson.code.clone()).collect(),
        summary: words.fill("course.summary", &[("n", &met), ("all", &all)]),
        rows,
    }
}

fn cell(lesson: &Lesson, key: &str) -> MatrixCell {
    let criteria: Vec<String> = (1..)
        .zip(criteria(lesson))
        .filter(|(_, criterion)| criterion.outcome.as_deref() == Some(key))
        .map(|(n, _)| format!("G{n}"))
        .collect();
    let state = if !criteria.is_empty() {
        "assessed"
    } else if lesson.outcomes.iter().any(|own| own == key) {
        "taught"
    } else {
        "none"
    };
    MatrixCell {
        code: lesson.code.clone(),
        state,
        criteria,
    }
}

/// All criteria of a lesson, in order: the first is G1.
pub fn criteria(lesson: &Lesson) -> impl Iterator<Item = &crate::pack::Criterion> {
    let parts = lesson.sections.iter().flat_map(|section| &section.parts);
    parts.flat_map(|part| match part {
        Part::Marking(criteria) => criteria.as_slice(),
        _ => &[],
    })
}
