//! A course's page: lessons in order, outcomes by lesson with the gaps, the reader's log.

use serde::Serialize;

use crate::pack::Course;
use crate::press::text::url_path;
use crate::press::view::{DASH, Document, Rich, matrix};
use crate::quantity::number_text;

use super::begin::Subject;
use super::files::{FileRow, print_row};
use super::part::PartView;
use super::sheet::{Field, Neighbour, Sheet};
use super::unit::Listed;
use super::{Site, gallery};

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

/// Builds a course's page.
pub(super) fn sheet(site: &Site<'_>, listed: &Listed<'_>, index: usize) -> Sheet {
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
    sheet
        .turn
        .extend(gallery::course_link(site, listed, course));

    sheet.zone(words.get("course.order"), vec![order(site, course)]);
    if !course.outcomes.is_empty() {
        let letter = sheet.zone(
            words.get("course.outcomes"),
            vec![PartView::Matrix(matrix(pack, course, words))],
        );
        for outcome in &course.outcomes {
            let text = [Rich::Text {
                text: format!("{} {}", outcome.key, outcome.text),
            }];
            sheet.find(code, &letter, "outcome", &text);
        }
    }
    if let Some(listing) = super::day::listing(site, course) {
        sheet.zone(words.get("day.days"), vec![PartView::Listing(listing)]);
    }
    let prints = [
        ("book", "print.book", "files.book"),
        ("outcomes", "print.outcomes", "files.outcomes"),
    ];
    let rows = prints.into_iter().filter_map(|(kind, name, use_for)| {
        let name = format!("{code} {}", words.get(name))
            .trim_start()
            .to_owned();
        print_row(
            site,
            "../",
            site.prints.of_course(course, kind),
            name,
            use_for,
        )
    });
    let rows: Vec<FileRow> = rows.collect();
    if !rows.is_empty() {
        sheet.zone(words.get("files.prints"), vec![PartView::Files { rows }]);
    }
    let codes = course
        .lessons
        .iter()
        .map(|id| pack.lesson(*id).code.clone());
    let codes = codes.collect();
    sheet.zone(words.get("course.log"), vec![PartView::CourseLog { codes }]);
    site.close(&mut sheet, Document::Course);
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
