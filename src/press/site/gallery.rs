//! Figures of the pack by lesson and rig, with a filter by kind: on one page, or on one for each course
//! where that one would be too long to look through.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::figure;
use crate::pack::{Course, LessonId, RigId};
use crate::press::text::url_path;
use crate::press::view::{Document, Rich};
use crate::rig::FigureKind;

use super::Site;
use super::begin::Subject;
use super::list::{ListCell, ListRow, Listing};
use super::part::PartView;
use super::sheet::{Field, Neighbour, Sheet};
use super::unit::Listed;

/// Most lessons whose figures stand on one page. With five to eight figures each they are 300 to 480 pictures,
/// which is about what a reader still scrolls through and a browser lays out at once.
const LESSONS_ON_ONE_PAGE: usize = 60;

/// The page of all figures, or of their courses.
const ALL: &str = "figures.html";

/// The page of figures of lessons that stand in no course, where there are several pages.
const OUTSIDE: &str = "figures-outside.html";

/// A rig's figures on the page of all figures.
#[derive(Debug, Serialize)]
pub(super) struct GalleryRow {
    pub(super) rig: String,
    pub(super) title: String,
    pub(super) lesson: Neighbour,
    pub(super) figures: Vec<GalleryFigure>,
}

/// One of them.
#[derive(Debug, Serialize)]
pub(super) struct GalleryFigure {
    pub(super) src: String,
    pub(super) kind: &'static str,
    pub(super) kind_name: String,
    pub(super) alt: String,
    pub(super) wrong: bool,
    pub(super) width: u16,
    pub(super) height: u16,
}

/// Whether the figures of so many lessons stand on several pages.
pub(super) const fn is_split(lessons: usize) -> bool {
    lessons > LESSONS_ON_ONE_PAGE
}

/// The key of the words that say what the page of all figures shows.
pub(super) const fn lead(listed: &Listed<'_>) -> &'static str {
    match listed.split {
        true => "figures.courses_lead",
        false => "figures.lead",
    }
}

/// A link to the figures of a course, from a page in a folder of the site; `None` where they have no
/// page of their own.
pub(super) fn course_link(
    site: &Site<'_>,
    listed: &Listed<'_>,
    course: &Course,
) -> Option<Neighbour> {
    let there = listed.split && count(site, listed, &course.lessons) > 0;
    there.then(|| Neighbour {
        href: format!("../{}", course_path(course)),
        code: course.code.clone().unwrap_or_default(),
        title: site.words.get("block.figures").to_owned(),
    })
}

/// The path of a course's figures below the site's folder.
fn course_path(course: &Course) -> String {
    format!("figures/{}.html", url_path(&course.name))
}

/// How many figures lessons have.
fn count(site: &Site<'_>, listed: &Listed<'_>, lessons: &[LessonId]) -> usize {
    let rigs = lessons.iter().flat_map(|id| site.pack().lesson(*id).rigs());
    rigs.map(|rig| listed.of_rig(rig).len()).sum()
}

/// The page of all figures; `None` for a pack without figures.
pub(super) fn sheet(site: &Site<'_>, listed: &Listed<'_>) -> Option<Sheet> {
    let all = site.lessons_by_code();
    let figures = count(site, listed, &all);
    if figures == 0 {
        return None;
    }
    let words = site.words;
    let mut sheet = begin(site, ALL.to_owned(), words.get("figures.title"));
    say(site, &mut sheet, words.get(lead(listed)), figures);
    if listed.split {
        let listing = courses(site, listed);
        for row in &listing.rows {
            let text = [Rich::Text {
                text: row.name.clone(),
            }];
            sheet.find("", "A", "figure", &text);
        }
        let title = words.get("figures.by_course");
        sheet.zone(title, vec![PartView::Listing(listing)]);
    } else {
        lessons(site, listed, &all, &mut sheet);
    }
    site.close(&mut sheet, Document::Figures);
    Some(sheet)
}

/// The figures of a course; `None` where they have no page of their own.
pub(super) fn course_sheet(site: &Site<'_>, listed: &Listed<'_>, course: &Course) -> Option<Sheet> {
    let figures = count(site, listed, &course.lessons);
    if !listed.split || figures == 0 {
        return None;
    }
    let words = site.words;
    let name = course_name(course);
    let title = words.fill("figures.of_course", &[("course", &name)]);
    let lead = words.fill("figures.of_course_lead", &[("course", &name)]);
    let mut sheet = begin(site, course_path(course), &title);
    say(site, &mut sheet, &lead, figures);
    lessons(site, listed, &course.lessons, &mut sheet);
    site.close(&mut sheet, Document::Figures);
    sheet.turn = vec![
        all_link(site, "../"),
        Neighbour {
            href: format!("../courses/{}.html", url_path(&course.name)),
            code: course.code.clone().unwrap_or_default(),
            title: course.title.clone(),
        },
    ];
    Some(sheet)
}

/// The figures of lessons in no course; `None` where they have no page of their own.
pub(super) fn outside_sheet(site: &Site<'_>, listed: &Listed<'_>) -> Option<Sheet> {
    let outside = site.outside_courses();
    let figures = count(site, listed, &outside);
    if !listed.split || figures == 0 {
        return None;
    }
    let words = site.words;
    let name = words.get("front.outside");
    let title = words.fill("figures.of_course", &[("course", name)]);
    let mut sheet = begin(site, OUTSIDE.to_owned(), &title);
    say(site, &mut sheet, words.get("figures.outside_lead"), figures);
    lessons(site, listed, &outside, &mut sheet);
    site.close(&mut sheet, Document::Figures);
    sheet.turn = vec![all_link(site, "")];
    Some(sheet)
}

fn begin(site: &Site<'_>, path: String, title: &str) -> Sheet {
    site.begin(&Subject {
        path,
        current: "figures",
        document: Document::Figures,
        title,
        code: "",
        place: (1, 1),
    })
}

/// What the title strip says.
fn say(site: &Site<'_>, sheet: &mut Sheet, lead: &str, figures: usize) {
    sheet.lead = Some(lead.to_owned());
    sheet.description = lead.to_owned();
    sheet.fields = site.strip_fields("");
    sheet.fields.push(Field::new(
        site.words.get("block.figures"),
        figures.to_string(),
    ));
    sheet.fields.push(site.owner_field());
}

fn all_link(site: &Site<'_>, up: &str) -> Neighbour {
    Neighbour {
        href: format!("{up}{ALL}"),
        code: String::new(),
        title: site.words.get("figures.title").to_owned(),
    }
}

fn course_name(course: &Course) -> String {
    match &course.code {
        Some(code) => format!("{code} {}", course.title),
        None => course.title.clone(),
    }
}

/// The courses with their pages of figures.
fn courses(site: &Site<'_>, listed: &Listed<'_>) -> Listing {
    let words = site.words;
    let row = |name: String, href: String, lessons: &[LessonId]| {
        let figures = count(site, listed, lessons);
        ListRow {
            name,
            href: (figures > 0).then_some(href),
            cells: vec![
                ListCell::text(lessons.len().to_string()),
                ListCell::text(figures.to_string()),
            ],
            ..ListRow::default()
        }
    };
    let courses = site.pack().courses.iter();
    let mut rows: Vec<ListRow> = courses
        .map(|course| row(course_name(course), course_path(course), &course.lessons))
        .collect();
    let outside = site.outside_courses();
    if !outside.is_empty() {
        let name = words.get("front.outside").to_owned();
        rows.push(row(name, OUTSIDE.to_owned(), &outside));
    }
    Listing {
        caption: words.get("figures.by_course").to_owned(),
        head: ["block.course", "course.lessons", "block.figures"]
            .map(|key| words.get(key).to_owned())
            .into(),
        rows,
    }
}

/// A zone for each lesson that has figures, and the filter of their kinds.
fn lessons(site: &Site<'_>, listed: &Listed<'_>, ids: &[LessonId], sheet: &mut Sheet) {
    let mut kinds = BTreeSet::new();
    for id in ids {
        let lesson = site.pack().lesson(*id);
        let own = lesson.rigs().filter(|rig| !listed.of_rig(*rig).is_empty());
        let rows: Vec<GalleryRow> = own
            .map(|rig| {
                kinds.extend(listed.of_rig(rig).iter().map(|drawing| drawing.kind));
                row(site, listed, sheet.up, *id, rig)
            })
            .collect();
        if rows.is_empty() {
            continue;
        }
        let title = format!("{} {}", lesson.code, lesson.title);
        let letter = sheet.next_letter();
        for row in &rows {
            let text = [Rich::Text {
                text: row.title.clone(),
            }];
            sheet.find("", &letter, "figure", &text);
        }
        sheet.zone(&title, vec![PartView::Gallery { rows }]);
    }
    let kinds = kinds
        .into_iter()
        .map(|kind| Field::new(kind.word(), site.words.get(kind_name(kind))));
    sheet.filter = kinds.collect();
}

/// The words for a kind of figure.
pub(super) fn kind_name(kind: FigureKind) -> &'static str {
    match kind {
        FigureKind::Setup => "figures.setup",
        FigureKind::Pulls => "figures.pulls",
        FigureKind::Polygon => "figures.polygon",
        FigureKind::Zone => "figures.zone",
        FigureKind::Loss => "figures.loss",
        FigureKind::Space => "figures.space",
        FigureKind::Effort => "figures.effort",
        FigureKind::Strip => "figures.strip",
    }
}

fn row(site: &Site<'_>, listed: &Listed<'_>, up: &str, lesson: LessonId, id: RigId) -> GalleryRow {
    let rig = site.pack().rig(id);
    let figures = listed.of_rig(id).iter().map(|drawing| GalleryFigure {
        src: format!(
            "{up}figures/{}.svg",
            url_path(&figure::id_of(rig, drawing.kind))
        ),
        kind: drawing.kind.word(),
        kind_name: site.words.get(kind_name(drawing.kind)).to_owned(),
        alt: drawing.description.clone(),
        wrong: !rig.wrong.is_empty(),
        width: drawing.size_mm.0,
        height: drawing.size_mm.1,
    });
    GalleryRow {
        rig: rig.name.clone(),
        title: rig.title.clone(),
        lesson: site.lesson_link(up, lesson),
        figures: figures.collect(),
    }
}
