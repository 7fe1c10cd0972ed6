//! The front of the pack: what it is, its courses and sheets, how to read a sheet.

use serde::Serialize;

use crate::pack::{Course, LessonId};
use crate::press::PrintKind;
use crate::press::text::url_path;
use crate::press::view::{DASH, Document, Rich, pairings, pairs};
use crate::quantity::Units;
use crate::rig::FigureKind;

use super::begin::Subject;
use super::course::hours_text;
use super::list::{ListCell, ListRow, Listing};
use super::part::PartView;
use super::sheet::{Field, Neighbour, Sheet};
use super::shown::{Room, Shown};
use super::unit::Listed;
use super::{Site, gallery};

/// A course on the front of the pack.
#[derive(Debug, Serialize)]
pub(super) struct CourseRow {
    pub(super) id: String,
    pub(super) link: Option<Neighbour>,
    pub(super) title: String,
    pub(super) facts: String,
    pub(super) lessons: Vec<CourseLessonRow>,
}

/// A lesson in a course's register.
#[derive(Debug, Serialize)]
pub(super) struct CourseLessonRow {
    pub(super) lesson: Neighbour,
    pub(super) revision: String,
    pub(super) minutes: Option<String>,
    pub(super) sheet: Option<String>,
    pub(super) marking: Option<String>,
}

/// Builds the front; the letter is that of the zone that lists every lesson.
pub(super) fn sheet(site: &Site<'_>, listed: &Listed<'_>) -> (Sheet, String) {
    let pack = site.pack();
    let words = site.words;
    let mut sheet = site.begin(&Subject {
        path: "index.html".to_owned(),
        current: "pack",
        document: Document::Pack,
        title: &pack.title,
        code: "",
        place: (1, 1),
    });
    sheet.sub.clone_from(&pack.organisation);
    sheet.lead.clone_from(&pack.summary);
    sheet.description = pack.summary.clone().unwrap_or_default();
    sheet.fields = site.strip_fields("");
    sheet.fields.push(site.owner_field());
    let courses = words.fill(
        "front.courses_lessons",
        &[
            ("courses", &pack.courses.len().to_string()),
            (
                "lessons",
                &words.count("lessons.one", "lessons.many", pack.lessons.len()),
            ),
        ],
    );
    sheet
        .fields
        .push(Field::new(words.get("front.courses"), courses));
    let units = match pack.units {
        Units::Metric => "front.metric",
        Units::Imperial => "front.imperial",
    };
    sheet
        .fields
        .push(Field::new(words.get("front.units"), words.get(units)));

    sheet.zone(words.get("front.what"), vec![about(site)]);
    let in_courses = pack.courses.iter().enumerate();
    let mut parts: Vec<PartView> = in_courses
        .map(|(i, course)| PartView::Course {
            course: course_row(site, i, course),
        })
        .collect();
    let outside = site.outside_courses();
    if !outside.is_empty() {
        parts.push(PartView::Course {
            course: CourseRow {
                id: "outside".to_owned(),
                link: None,
                title: words.get("front.outside").to_owned(),
                facts: words.count("lessons.one", "lessons.many", outside.len()),
                lessons: outside.iter().map(|id| lesson_row(site, *id)).collect(),
            },
        });
    }
    let letter = sheet.zone(words.get("front.sheets"), parts);
    for course in &pack.courses {
        let text = [Rich::Text {
            text: course.title.clone(),
        }];
        let code = course.code.clone().unwrap_or_default();
        sheet.find(&code, &letter, "course", &text);
    }
    sheet.zone(
        words.get("front.more"),
        vec![PartView::Listing(more(site, listed))],
    );
    sheet.zone(words.get("front.read"), vec![PartView::Keys]);
    site.close(&mut sheet, Document::Pack);
    (sheet, letter)
}

/// The lessons of the first course beside its first figure.
fn about(site: &Site<'_>) -> PartView {
    let pack = site.pack();
    let all: Vec<LessonId> = match pack.courses.first() {
        Some(course) => course.lessons.clone(),
        None => (0..pack.lessons.len()).map(LessonId).collect(),
    };
    // The picture of the pack: the first hold that is not a mistake, set-up before pulls.
    let rigs = all.iter().flat_map(|id| pack.lesson(*id).rigs());
    let right = rigs.filter(|id| pack.rig(*id).wrong.is_empty());
    let most_lines = right.max_by_key(|id| (pack.rig(*id).lines.len().min(2), usize::MAX - id.0));
    let figure = most_lines.and_then(|id| {
        let kinds = [FigureKind::Setup, FigureKind::Pulls];
        let mut shown = Shown::default();
        kinds
            .iter()
            .find_map(|kind| shown.figure(site, id, *kind, Room::Small))
    });
    PartView::About {
        figure,
        lessons: all.iter().map(|id| site.lesson_link("", *id)).collect(),
    }
}

/// The sheets that look across the lessons.
fn more(site: &Site<'_>, listed: &Listed<'_>) -> Listing {
    let pack = site.pack();
    let words = site.words;
    let sheets = [
        (
            true,
            "techniques.html",
            "techniques.title",
            "techniques.lead",
        ),
        (!pack.kit.is_empty(), "kit.html", "block.kit", "kit.lead"),
        (
            pairings(pack).is_some(),
            "pairings.html",
            "kit.pairs",
            "front.pairs",
        ),
        (
            !listed.is_empty(),
            "figures.html",
            "figures.title",
            gallery::lead(listed),
        ),
        (
            !pairs(pack).is_empty(),
            "mistakes.html",
            "mistakes.title",
            "mistakes.lead",
        ),
        (
            !pack.glossary.is_empty(),
            "terms.html",
            "terms.title",
            "terms.lead",
        ),
        (
            true,
            "references.html",
            "references.title",
            "references.lead",
        ),
    ];
    let there = sheets.into_iter().filter(|(there, ..)| *there);
    let rows = there.map(|(_, href, name, lead)| ListRow {
        name: words.get(name).to_owned(),
        href: Some(href.to_owned()),
        cells: vec![ListCell::text(words.get(lead))],
        ..ListRow::default()
    });
    Listing {
        caption: words.get("front.more").to_owned(),
        head: ["block.sheet", "front.says"]
            .map(|key| words.get(key).to_owned())
            .into(),
        rows: rows.collect(),
    }
}

fn course_row(site: &Site<'_>, index: usize, course: &Course) -> CourseRow {
    let words = site.words;
    let mut facts = words.count("lessons.one", "lessons.many", course.lessons.len());
    if let Some(hours) = course.hours {
        facts.push_str(&format!(", {}", hours_text(site, hours)));
    }
    CourseRow {
        id: format!("course-{}", index + 1),
        link: Some(Neighbour {
            href: format!("courses/{}.html", url_path(&course.name)),
            code: course.code.clone().unwrap_or_default(),
            title: course.title.clone(),
        }),
        title: course.title.clone(),
        facts,
        lessons: course
            .lessons
            .iter()
            .map(|id| lesson_row(site, *id))
            .collect(),
    }
}

fn lesson_row(site: &Site<'_>, id: LessonId) -> CourseLessonRow {
    let pack = site.pack();
    let lesson = pack.lesson(id);
    let print = |kind| {
        let (file, _) = site.prints.of(lesson, kind)?;
        Some(format!("print/{}", url_path(file)))
    };
    CourseLessonRow {
        lesson: site.lesson_link("", id),
        revision: pack.revision.clone().unwrap_or_else(|| DASH.to_owned()),
        minutes: lesson
            .minutes
            .map(|m| site.words.fill("lesson.minutes", &[("n", &m.to_string())])),
        sheet: print(PrintKind::Sheet),
        marking: print(PrintKind::Marking),
    }
}
