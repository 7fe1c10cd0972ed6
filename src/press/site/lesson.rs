//! A lesson's page: the author's sections as zones, then kit, references and files.

use crate::pack::LessonId;
use crate::press::text::url_path;
use crate::press::view::{Document, kit_row};

use super::begin::Subject;
use super::files::files;
use super::machine::machine;
use super::part::PartView;
use super::sheet::{Brief, Field, Neighbour, OutcomeRow, Sheet, script_json};
use super::shown::Shown;
use super::zone::zone;
use super::{Site, data};

/// Builds a lesson's page.
pub(super) fn sheet(site: &Site<'_>, id: LessonId) -> Sheet {
    let pack = site.pack();
    let lesson = pack.lesson(id);
    let words = site.words;
    let in_course = site.courses_of(id).next();
    let place = in_course.map_or((id.0 + 1, pack.lessons.len()), |(course, at)| {
        (at + 1, pack.courses[course].lessons.len())
    });
    let mut sheet = site.begin(&Subject {
        path: super::lesson_path(lesson),
        current: "course",
        document: Document::Lesson,
        title: &lesson.title,
        code: &lesson.code,
        place,
    });
    let (n, all) = (place.0.to_string(), place.1.to_string());
    sheet.kind = words.fill("lesson.kind", &[("n", &n), ("all", &all)]);
    sheet.sub = in_course.map(|(course, _)| pack.courses[course].title.clone());
    sheet.lead = lesson.summary.clone();
    sheet.description = lesson.summary.clone().unwrap_or_default();
    sheet.fields = fields(site, id);
    let needs = lesson
        .needs
        .iter()
        .map(|need| site.lesson_link("../", *need));
    let brief = Brief {
        needs: needs.collect(),
        outcomes: outcomes(site, id),
    };
    sheet.brief = (!brief.needs.is_empty() || !brief.outcomes.is_empty()).then_some(brief);
    sheet.turn = neighbours(site, id);

    let mut shown = Shown::default();
    shown.unlinked = super::terms::unlinked(site.pack());
    for section in &lesson.sections {
        zone(site, id, section, &mut sheet, &mut shown);
    }
    own_zones(site, id, &mut sheet);
    if !shown.for_phones.is_empty() {
        sheet.phone_script = Some(format!("../phones/{}.js", url_path(&lesson.name)));
        sheet.for_phones = shown.for_phones;
    }
    let parts = sheet.zones.iter().flat_map(|zone| &zone.parts);
    let moved = parts.filter_map(|part| match part {
        PartView::Plate(plate) if plate.map_html.is_some() => Some(plate.rig.clone()),
        _ => None,
    });
    sheet.moves = moved.collect();
    sheet.machine_html = Some(machine(site, id));
    sheet.say_html = words.tree().get("questions").map(script_json);
    sheet
}

fn fields(site: &Site<'_>, id: LessonId) -> Vec<Field> {
    let lesson = site.pack().lesson(id);
    let words = site.words;
    let mut fields = site.strip_fields(&lesson.code);
    if let Some(level) = &lesson.level {
        fields.push(Field::new(words.get("lesson.level"), level.as_str()));
    }
    fields.push(site.owner_field());
    if let Some(minutes) = lesson.minutes {
        let text = words.fill("lesson.minutes", &[("n", &minutes.to_string())]);
        fields.push(Field::new(words.get("lesson.time"), text));
    }
    let two = if lesson.two_lines {
        "lesson.two_lines_yes"
    } else {
        "lesson.two_lines_no"
    };
    fields.push(Field::new(words.get("lesson.two_lines"), words.get(two)));
    fields
}

/// Outcomes that the lesson meets, in words where a course has them.
pub(super) fn outcomes(site: &Site<'_>, id: LessonId) -> Vec<OutcomeRow> {
    let pack = site.pack();
    let known = site
        .courses_of(id)
        .flat_map(|(course, _)| &pack.courses[course].outcomes);
    let known: Vec<_> = known.collect();
    let keys = pack.lesson(id).outcomes.iter();
    keys.map(|key| OutcomeRow {
        key: key.clone(),
        text: known
            .iter()
            .find(|outcome| outcome.key == *key)
            .map_or_else(String::new, |outcome| outcome.text.clone()),
    })
    .collect()
}

fn neighbours(site: &Site<'_>, id: LessonId) -> Vec<Neighbour> {
    let Some((course, at)) = site.courses_of(id).next() else {
        return Vec::new();
    };
    let course = &site.pack().courses[course];
    let before = at.checked_sub(1).map(|i| course.lessons[i]);
    let after = course.lessons.get(at + 1).copied();
    let both = before.into_iter().chain(after);
    both.map(|id| site.lesson_link("../", id)).collect()
}

/// Kit, cautions, references, files: zones that every lesson has after the author's.
fn own_zones(site: &Site<'_>, id: LessonId, sheet: &mut Sheet) {
    let pack = site.pack();
    let lesson = pack.lesson(id);
    let words = site.words;
    let rows: Vec<_> = lesson
        .kit
        .iter()
        .map(|used| kit_row(*used, site.proof, words))
        .collect();
    if !rows.is_empty() {
        let tested = rows.iter().any(|row| !row.tested_with.is_empty());
        sheet.zone(words.get("zone.kit"), vec![PartView::Kit { rows, tested }]);
    }
    site.close(sheet, Document::Lesson);
    if !lesson.references.is_empty() {
        let items = lesson.references.clone();
        sheet.zone(
            words.get("zone.references"),
            vec![PartView::References { items }],
        );
    }
    let mut parts = Vec::new();
    let rows = files(site, id);
    if !rows.is_empty() {
        parts.push(PartView::Files { rows });
    }
    for rig in lesson.rigs() {
        parts.push(PartView::Data {
            tables: Box::new(data::tables(site, rig)),
        });
    }
    parts.push(PartView::Log {
        code: lesson.code.clone(),
    });
    sheet.zone(words.get("zone.files"), parts);
}
