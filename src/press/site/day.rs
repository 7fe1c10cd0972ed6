//! A teaching day's page: aims, the hours, kit for the group, what to fill in before anyone climbs.

use serde::Serialize;

use crate::pack::Course;
use crate::press::text::url_path;
use crate::press::view::{CheckList, DayView, Document, PartKind, Rich, day_view};

use super::Site;
use super::begin::Subject;
use super::files::print_row;
use super::list::{ListCell, ListRow, Listing};
use super::part::PartView;
use super::sheet::{Field, Neighbour, OutcomeRow, Sheet};

/// What a day is for.
#[derive(Debug, Serialize)]
pub(super) struct Aims {
    pub(super) aims: Vec<String>,
    pub(super) outcomes: Vec<OutcomeRow>,
}

/// Lists to fill in by hand.
#[derive(Debug, Serialize)]
pub(super) struct FillIn {
    pub(super) lists: Vec<CheckList>,
}

/// The path of a day's page below the site's folder; `index` from 0.
pub(super) fn path(course: &Course, index: usize) -> String {
    format!("courses/{}-day-{}.html", url_path(&course.name), index + 1)
}

/// The days of a course as a register on the course's page; `None` where none is planned.
pub(super) fn listing(site: &Site<'_>, course: &Course) -> Option<Listing> {
    let words = site.words;
    let rows = (0..course.days.len()).map(|index| {
        let view = day_view(site.pack(), course, index, words);
        let file = path(course, index);
        ListRow {
            name: view.title.clone(),
            href: file.rsplit('/').next().map(str::to_owned),
            cells: vec![
                ListCell::text(hours(&view)),
                ListCell::text(view.taught),
                ListCell::text(view.group.to_string()),
            ],
            ..ListRow::default()
        }
    });
    let rows: Vec<ListRow> = rows.collect();
    (!rows.is_empty()).then(|| Listing {
        caption: words.get("day.days").to_owned(),
        head: ["block.day", "day.times", "course.taught", "day.group"]
            .map(|key| words.get(key).to_owned())
            .into(),
        rows,
    })
}

fn hours(view: &DayView) -> String {
    format!("{}–{}", view.begins, view.ends)
}

/// Builds the page of a day.
pub(super) fn sheet(site: &Site<'_>, course: &Course, index: usize) -> Sheet {
    let words = site.words;
    let view = day_view(site.pack(), course, index, words);
    let mut sheet = site.begin(&Subject {
        path: path(course, index),
        current: "course",
        document: Document::Day,
        title: &view.title,
        code: &view.course_code,
        place: (view.number, view.days),
    });
    sheet.sub = Some(view.course.clone());
    sheet.description = format!("{}: {}", view.title, view.aims.join(". "));
    sheet.fields = site.strip_fields(&view.course_code);
    let mut field = |key, text: String| sheet.fields.push(Field::new(words.get(key), text));
    field("day.times", hours(&view));
    if let Some(end) = &view.latest_end {
        field("day.latest", end.clone());
    }
    field("day.group", view.group.to_string());
    let most = [
        ("n", &*view.instructors.to_string()),
        ("most", &*view.per_instructor.to_string()),
    ];
    field("day.instructors", words.fill("day.instructors_for", &most));
    field("course.taught", view.taught.clone());
    field("day.pauses", view.pauses.clone());
    sheet.fields.push(site.owner_field());

    let outcomes = view.outcomes.iter().map(|(key, text)| OutcomeRow {
        key: key.clone(),
        text: text.clone(),
    });
    let aims = Aims {
        aims: view.aims.clone(),
        outcomes: outcomes.collect(),
    };
    if !aims.aims.is_empty() || !aims.outcomes.is_empty() {
        sheet.zone(words.get("day.aims"), vec![PartView::Aims(aims)]);
    }
    let lists = view.checks.iter().filter(|list| !list.lines.is_empty());
    let lists: Vec<CheckList> = lists.cloned().collect();
    if !lists.is_empty() {
        let letter = sheet.zone(
            words.get("day.before"),
            vec![PartView::FillIn(FillIn { lists })],
        );
        for list in &view.checks {
            for line in &list.lines {
                let text = [Rich::Text { text: line.clone() }];
                sheet.find(&view.course_code, &letter, "check", &text);
            }
        }
    }
    sheet.zone(
        words.get("day.hours_of"),
        vec![PartView::Listing(parts(site, &view))],
    );
    let mut kit = Vec::new();
    if !view.kit.is_empty() {
        kit.push(PartView::Listing(kit_of(site, &view)));
    }
    if !view.bring.is_empty() {
        kit.push(PartView::Bring {
            items: view.bring.clone(),
        });
    }
    if !kit.is_empty() {
        sheet.zone(words.get("day.kit"), kit);
    }
    let print = site.prints.of_course(course, &format!("day-{}", index + 1));
    let row = print_row(site, "../", print, view.title.clone(), "files.day");
    if let Some(row) = row {
        sheet.zone(
            words.get("files.prints"),
            vec![PartView::Files { rows: vec![row] }],
        );
    }
    site.close(&mut sheet, Document::Day);
    sheet.turn = neighbours(site, course, index);
    sheet
}

fn parts(site: &Site<'_>, view: &DayView) -> Listing {
    let words = site.words;
    let rows = view.parts.iter().map(|part| {
        let title = match &part.code {
            Some(code) => format!("{code} {}", part.title),
            None => part.title.clone(),
        };
        let page = part.lesson.as_ref();
        ListRow {
            name: title,
            href: page.map(|name| format!("../lessons/{}.html", url_path(name))),
            small: match (part.kind, &part.share) {
                (_, Some(share)) => Some(share.clone()),
                (PartKind::Pause, None) => Some(words.get("day.pause").to_owned()),
                _ => None,
            },
            cells: vec![
                ListCell::text(format!("{}–{}", part.from, part.to)),
                ListCell::text(part.length.clone()),
            ],
            ..ListRow::default()
        }
    });
    Listing {
        caption: words.get("day.hours_of").to_owned(),
        head: ["day.part", "day.times", "lesson.time"]
            .map(|key| words.get(key).to_owned())
            .into(),
        rows: rows.collect(),
    }
}

fn kit_of(site: &Site<'_>, view: &DayView) -> Listing {
    let words = site.words;
    let rows = view.kit.iter().map(|item| ListRow {
        name: item.name.clone(),
        href: Some(format!("../kit/{}.html", url_path(&item.key))),
        cells: vec![
            ListCell::text(item.count.to_string()),
            ListCell::text(item.each.clone()),
            ListCell::text(item.lessons.join(", ")),
        ],
        ..ListRow::default()
    });
    Listing {
        caption: words.get("day.kit").to_owned(),
        head: [
            "kit_zone.item",
            "kit_zone.count",
            "day.counted",
            "kit.used_in",
        ]
        .map(|key| words.get(key).to_owned())
        .into(),
        rows: rows.collect(),
    }
}

/// The day before, the course, the day after.
fn neighbours(site: &Site<'_>, course: &Course, index: usize) -> Vec<Neighbour> {
    let link = |file: String, title: &str| Neighbour {
        href: file.rsplit('/').next().unwrap_or_default().to_owned(),
        code: String::new(),
        title: title.to_owned(),
    };
    let before = index.checked_sub(1);
    let after = (index + 1 < course.days.len()).then_some(index + 1);
    let day = |i: usize| link(path(course, i), &course.days[i].title);
    let own = link(
        format!("{}.html", url_path(&course.name)),
        site.words.get("block.course"),
    );
    let before = before.map(day).into_iter();
    before.chain([own]).chain(after.map(day)).collect()
}
