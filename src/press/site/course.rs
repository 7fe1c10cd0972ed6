//! A course's page: lessons in order, outcomes by lesson with the gaps, the reader's log.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::pack::{Course, Lesson, Part};
use crate::press::text::url_path;
use crate::press::view::{DASH, Document, Rich, cautions};
use crate::quantity::number_text;

use super::Site;
use super::begin::Subject;
use super::part::PartView;
use super::sheet::{Field, Neighbour, OutcomeRow, Sheet};

/// A lesson of a course.
#[derive(Debug, Serialize)]
pub(super) struct OrderRow {
    pub(super) n: usize,
    pub(super) lesson: Neighbour,
    pub(super) summary: Option<String>,
    pub(super) needs: String,
    pub(super) minutes: Option<String>,
    pub(super) outcomes: String,
}

/// An outcome over the lessons of a course.
#[derive(Debug, Serialize)]
pub(super) struct MatrixRow {
    pub(super) outcome: OutcomeRow,
    /// Per lesson: `none`, `taught` or `assessed`.
    pub(super) cells: Vec<MatrixCell>,
    pub(super) gap: bool,
    pub(super) verdict: String,
}

/// One lesson's part in an outcome.
#[derive(Debug, Serialize)]
pub(super) struct MatrixCell {
    pub(super) code: String,
    pub(super) state: &'static str,
}

/// Builds a course's page.
pub(super) fn sheet(site: &Site<'_>, index: usize) -> Sheet {
    let pack = site.pack();
    let course = &pack.courses[index];
    let words = site.words;
    let code = course.code.as_deref().unwrap_or_default();
    let mut sheet = site.begin(&Subject {
        path: format!("courses/{}.html", url_path(&course.name)),
        current: "course",
        document: Document::Course,
        title: &course.title,
        code,
        place: (index + 1, pack.courses.len()),
    });
    sheet.sub.clone_from(&pack.organisation);
    sheet.lead.clone_from(&course.summary);
    sheet.description = course.summary.clone().unwrap_or_default();
    sheet.fields = site.strip_fields(code);
    let lessons = course.lessons.len().to_string();
    sheet
        .fields
        .push(Field::new(words.get("course.lessons"), lessons));
    sheet.fields.push(site.owner_field());
    if let Some(hours) = course.hours {
        sheet.fields.push(Field::new(
            words.get("lesson.time"),
            hours_text(site, hours),
        ));
    }
    let minutes: u32 = course
        .lessons
        .iter()
        .filter_map(|id| pack.lesson(*id).minutes)
        .sum();
    if minutes > 0 {
        let text = words.fill("lesson.minutes", &[("n", &minutes.to_string())]);
        sheet
            .fields
            .push(Field::new(words.get("course.taught"), text));
    }
    if let Some(first) = course.lessons.first() {
        sheet.turn = vec![site.lesson_link("../", *first)];
    }

    sheet.zone(words.get("course.order"), vec![order(site, course)]);
    if !course.outcomes.is_empty() {
        let letter = sheet.zone(words.get("course.outcomes"), vec![matrix(site, course)]);
        for outcome in &course.outcomes {
            let text = [Rich::Text {
                text: format!("{} {}", outcome.key, outcome.text),
            }];
            sheet.find(code, &letter, "outcome", &text);
        }
    }
    let codes = course
        .lessons
        .iter()
        .map(|id| pack.lesson(*id).code.clone());
    let codes = codes.collect();
    sheet.zone(words.get("course.log"), vec![PartView::CourseLog { codes }]);
    let items = cautions(pack, Document::Course, words);
    sheet.caution_zone = sheet.zone(
        words.get("zone.cautions"),
        vec![PartView::Cautions { items }],
    );
    sheet
}

/// Hours with one decimal at most: `14 h`.
pub(super) fn hours_text(site: &Site<'_>, hours: f64) -> String {
    let text = number_text(hours, 1);
    let text = text.strip_suffix(".0").unwrap_or(&text);
    site.words.fill("course.hours", &[("n", text)])
}

fn order(site: &Site<'_>, course: &Course) -> PartView {
    let pack = site.pack();
    let words = site.words;
    let rows = course.lessons.iter().enumerate().map(|(i, id)| {
        let lesson = pack.lesson(*id);
        let needs: Vec<&str> = lesson
            .needs
            .iter()
            .map(|n| pack.lesson(*n).code.as_str())
            .collect();
        OrderRow {
            n: i + 1,
            lesson: site.lesson_link("../", *id),
            summary: lesson.summary.clone(),
            needs: if needs.is_empty() {
                words.get("course.nothing_first").to_owned()
            } else {
                words.fill("course.needs", &[("codes", &needs.join(", "))])
            },
            minutes: lesson
                .minutes
                .map(|m| words.fill("lesson.minutes", &[("n", &m.to_string())])),
            outcomes: if lesson.outcomes.is_empty() {
                DASH.to_owned()
            } else {
                lesson.outcomes.join(", ")
            },
        }
    });
    PartView::Order {
        rows: rows.collect(),
    }
}

/// Outcomes that criteria of a lesson show.
fn assessed(lesson: &Lesson) -> BTreeSet<&str> {
    let parts = lesson.sections.iter().flat_map(|section| &section.parts);
    let criteria = parts.flat_map(|part| match part {
        Part::Marking(criteria) => criteria.as_slice(),
        _ => &[],
    });
    criteria.filter_map(|c| c.outcome.as_deref()).collect()
}

fn matrix(site: &Site<'_>, course: &Course) -> PartView {
    let pack = site.pack();
    let words = site.words;
    let lessons: Vec<&Lesson> = course.lessons.iter().map(|id| pack.lesson(*id)).collect();
    let rows: Vec<MatrixRow> = course
        .outcomes
        .iter()
        .map(|outcome| {
            let state = |lesson: &&Lesson| {
                if assessed(lesson).contains(outcome.key.as_str()) {
                    "assessed"
                } else if lesson.outcomes.contains(&outcome.key) {
                    "taught"
                } else {
                    "none"
                }
            };
            let cells: Vec<MatrixCell> = lessons
                .iter()
                .map(|lesson| MatrixCell {
                    code: lesson.code.clone(),
                    state: state(lesson),
                })
                .collect();
            let codes = |state: &str| {
                let own = cells.iter().filter(|c| c.state == state);
                own.map(|c| c.code.as_str()).collect::<Vec<_>>().join(", ")
            };
            let is_assessed = cells.iter().any(|c| c.state == "assessed");
            let taught = codes("taught");
            let verdict = if is_assessed {
                words.get("course.assessed").to_owned()
            } else if taught.is_empty() {
                words.get("course.gap_taught").to_owned()
            } else {
                words.fill("course.gap_assessed", &[("codes", &taught)])
            };
            MatrixRow {
                outcome: OutcomeRow {
                    key: outcome.key.clone(),
                    text: outcome.text.clone(),
                },
                cells,
                gap: !is_assessed,
                verdict,
            }
        })
        .collect();
    let met = rows.iter().filter(|row| !row.gap).count();
    PartView::Matrix {
        codes: lessons.iter().map(|lesson| lesson.code.clone()).collect(),
        summary: words.fill(
            "course.summary",
            &[("n", &met.to_string()), ("all", &rows.len().to_string())],
        ),
        rows,
    }
}
