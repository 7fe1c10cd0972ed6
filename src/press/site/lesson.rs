//! A lesson's page: the author's sections as zones, then kit, cautions, references and files.

use serde_json::json;

use crate::pack::{FigureAsk, LessonId, Part, RigId, Section};
use crate::press::PrintKind;
use crate::press::text::{plain, url_path};
use crate::press::view::{
    Document, cautions, heading_of, kit_row, numbers, rich, rich_run, step_view,
};
use crate::rig::FigureKind;

use super::address::{Lines, zone_letter};
use super::blocks::Around;
use super::sheet::{
    Brief, Field, FigureView, FileRow, Half, OutcomeRow, PartView, PlateView, Sheet, Subject, Zone,
    script_json,
};
use super::shown::{Room, Shown};
use super::{Site, data, explore};

/// Most lines that the numbers table shows as columns beside a figure.
const MOST_COLUMNS: usize = 3;

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
fn outcomes(site: &Site<'_>, id: LessonId) -> Vec<OutcomeRow> {
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

fn neighbours(site: &Site<'_>, id: LessonId) -> Vec<super::sheet::Neighbour> {
    let Some((course, at)) = site.courses_of(id).next() else {
        return Vec::new();
    };
    let course = &site.pack().courses[course];
    let before = at.checked_sub(1).map(|i| course.lessons[i]);
    let after = course.lessons.get(at + 1).copied();
    let both = before.into_iter().chain(after);
    both.map(|id| site.lesson_link("../", id)).collect()
}

/// One section of the author's as a zone.
fn zone(site: &Site<'_>, id: LessonId, section: &Section, sheet: &mut Sheet, shown: &mut Shown) {
    let lesson = site.pack().lesson(id);
    let letter = zone_letter(sheet.zones.len());
    let heading = rich_run(&section.heading, site.proof);
    let title = if heading.is_empty() {
        site.words.get(own_title(section)).to_owned()
    } else {
        plain(&heading)
    };
    let title_html = if heading.is_empty() {
        title.clone()
    } else {
        site.html(sheet.up, &letter, &heading)
    };
    let titled = [crate::press::view::Rich::Text {
        text: title.clone(),
    }];
    sheet.find(&lesson.code, &letter, "zone", &titled);
    let mut lines = Lines::of(&letter);
    let mut parts = Vec::new();
    let mut rest = section.parts.iter().peekable();
    while let Some(part) = rest.next() {
        let view = match part {
            Part::Text(flow) => {
                let pieces = rich(flow, site.proof);
                if pieces.is_empty() {
                    continue;
                }
                sheet.find(&lesson.code, &letter, "text", &pieces);
                let html = site.html(sheet.up, &format!("{letter}{}", parts.len()), &pieces);
                let beside = rest.peek().and_then(|next| beside(site, next, shown));
                match beside {
                    Some(figure) => {
                        rest.next();
                        PartView::Beside { html, figure }
                    }
                    None => PartView::Text { html },
                }
            }
            Part::Rig(rig) => rig_part(site, id, *rig, shown),
            Part::Figure(ask) => match figure_part(site, ask, sheet.up, shown) {
                Some(view) => view,
                None => continue,
            },
            blocks => {
                let mut around = Around {
                    site,
                    sheet: &mut *sheet,
                    code: &lesson.code,
                    lines: &mut lines,
                };
                match blocks {
                    Part::Steps(steps) => around.steps(steps),
                    Part::Faults(faults) => around.faults(faults),
                    Part::Questions(questions) => around.questions(questions),
                    Part::Marking(criteria) => around.marking(criteria),
                    Part::Text(_) | Part::Rig(_) | Part::Figure(_) => continue,
                }
            }
        };
        parts.push(view);
    }
    if parts.is_empty() {
        return;
    }
    sheet.zones.push(Zone {
        heading_id: if section.id.is_empty() {
            format!("{letter}-h")
        } else {
            section.id.clone()
        },
        letter,
        title,
        title_html,
        parts,
    });
}

/// A title for a section that has no heading, by what stands in it.
fn own_title(section: &Section) -> &'static str {
    let named = section.parts.iter().find_map(|part| match part {
        Part::Text(_) => None,
        Part::Rig(_) | Part::Figure(_) => Some("zone.hold"),
        Part::Steps(_) => Some("zone.steps"),
        Part::Faults(_) => Some("zone.faults"),
        Part::Questions(_) => Some("zone.questions"),
        Part::Marking(_) => Some("zone.marking"),
    });
    named.unwrap_or("zone.first")
}

/// A single small figure that follows a text stands beside it.
fn beside(site: &Site<'_>, next: &Part, shown: &mut Shown) -> Option<FigureView> {
    let Part::Figure(FigureAsk {
        rig,
        kinds,
        caption: None,
        ..
    }) = next
    else {
        return None;
    };
    match kinds[..] {
        [kind @ FigureKind::Polygon] => shown.figure(site, *rig, kind, Room::Small),
        _ => None,
    }
}

fn rig_part(site: &Site<'_>, lesson: LessonId, id: RigId, shown: &mut Shown) -> PartView {
    let pack = site.pack();
    let rig = pack.rig(id);
    if !rig.wrong.is_empty() {
        let mut right = pack.lesson(lesson).rigs();
        if let Some(twin) = right.find(|id| pack.rig(*id).wrong.is_empty()) {
            return PartView::Pair {
                right: half(site, twin, shown),
                wrong: half(site, id, shown),
            };
        }
    }
    let mut figures = rig
        .show
        .iter()
        .filter_map(|kind| shown.figure(site, id, *kind, Room::Wide));
    let figure = figures.next();
    let more: Vec<FigureView> = figures.collect();
    let table = numbers(rig, site.proof.solved(id), pack.units, site.words);
    PartView::Plate(Box::new(PlateView {
        rig: rig.name.clone(),
        title: rig.title.clone(),
        turned: table.columns.len() > MOST_COLUMNS,
        map_html: explore::map_html(site, id),
        figure,
        more,
        numbers: table,
    }))
}

/// One side of do and don't: the drawing, what the rule says, the main numbers.
fn half(site: &Site<'_>, id: RigId, shown: &mut Shown) -> Half {
    let pack = site.pack();
    let rig = pack.rig(id);
    let wrong = rig.wrong.iter().filter_map(|(name, _)| {
        let rule = crate::rulebook::rule_named(name)?;
        Some(site.words.fill("pair.breaks", &[("what", rule.finds)]))
    });
    let mut lines: Vec<String> = wrong.collect();
    let table = numbers(rig, site.proof.solved(id), pack.units, site.words);
    lines.extend(table.notes.first().cloned());
    let groups = table.groups.first();
    let pulls = groups.and_then(|g| g.rows.iter().find(|row| row.key == "pull"));
    if let Some(row) = pulls {
        let each = table
            .columns
            .iter()
            .zip(&row.cells)
            .filter_map(|(c, cell)| {
                let value = cell.values.first()?;
                Some(format!("{} {}", c.name, value.text))
            });
        let each: Vec<String> = each.collect();
        lines.push(format!("{}: {}.", row.name, each.join(", ")));
    }
    Half {
        title: rig.title.clone(),
        figure: shown.figure(site, id, FigureKind::Pulls, Room::Small),
        lines,
    }
}

/// Figures of a `figure` block; `None` where none of its kinds says anything about the rig.
fn figure_part(site: &Site<'_>, ask: &FigureAsk, up: &str, shown: &mut Shown) -> Option<PartView> {
    let rig = site.pack().rig(ask.rig);
    let kinds = if ask.kinds.is_empty() {
        &rig.show
    } else {
        &ask.kinds
    };
    let figures: Vec<_> = kinds
        .iter()
        .filter_map(|kind| shown.figure(site, ask.rig, *kind, Room::Wide))
        .collect();
    let caption = ask.caption.as_ref();
    let caption = caption.map(|flow| site.html(up, &rig.name, &rich_run(flow, site.proof)));
    (!figures.is_empty()).then_some(PartView::Figures {
        figures,
        caption_html: caption,
    })
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
    let items = cautions(pack, Document::Lesson, words);
    sheet.caution_zone = sheet.zone(
        words.get("zone.cautions"),
        vec![PartView::Cautions { items }],
    );
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

/// What can be taken away: prints that were pressed, figures.
fn files(site: &Site<'_>, id: LessonId) -> Vec<FileRow> {
    let lesson = site.pack().lesson(id);
    let words = site.words;
    let kinds = [
        (PrintKind::Sheet, "print.sheet", "files.sheet"),
        (PrintKind::Marking, "print.marking", "files.marking"),
        (PrintKind::Handout, "print.handout", "files.handout"),
        (PrintKind::Questions, "print.questions", "files.questions"),
        (PrintKind::Answers, "print.answers", "files.answers"),
    ];
    let prints = kinds.into_iter().filter_map(|(kind, name, use_for)| {
        let (file, bytes) = site.prints.of(lesson, kind)?;
        Some(FileRow {
            href: format!("../print/{}", crate::press::text::url_path(file)),
            name: format!("{} {}", lesson.code, words.get(name).to_lowercase()),
            use_for: words.get(use_for).to_owned(),
            size: words.fill("files.pdf", &[("size", &kilobytes(bytes.len()))]),
        })
    });
    let mut rows: Vec<FileRow> = prints.collect();
    for rig in lesson.rigs() {
        let drawn = site
            .figures
            .iter()
            .filter(|(own, kind, _)| *own == rig && site.pack().rig(rig).show.contains(kind));
        rows.extend(
            drawn
                .map(|(_, _, drawing)| FileRow {
                    href: format!(
                        "../figures/{}.svg",
                        crate::press::text::url_path(&drawing.id)
                    ),
                    name: heading_of(&drawing.id),
                    use_for: words.fill("files.figure", &[("title", drawing.title.as_str())]),
                    size: words.fill("files.svg", &[("size", &kilobytes(drawing.svg.len()))]),
                })
                .collect::<Vec<_>>(),
        );
    }
    rows
}

/// Whole kilobytes, one at least.
fn kilobytes(bytes: usize) -> String {
    format!("{}\u{a0}kB", bytes.div_ceil(1000))
}

/// schema.org data of a lesson: a learning resource, and its steps as a how-to.
fn machine(site: &Site<'_>, id: LessonId) -> String {
    let pack = site.pack();
    let lesson = pack.lesson(id);
    let parts = lesson.sections.iter().flat_map(|section| &section.parts);
    let steps = parts.flat_map(|part| match part {
        Part::Steps(steps) => steps.as_slice(),
        _ => &[],
    });
    let steps: Vec<_> = steps
        .map(|step| {
            let view = step_view(step, site.proof);
            json!({"@type": "HowToStep", "text": plain(&view.text)})
        })
        .collect();
    let mut resource = json!({
        "@context": "https://schema.org",
        "@type": "LearningResource",
        "name": lesson.title,
        "identifier": lesson.code,
        "inLanguage": crate::press::view::language(pack),
        "isPartOf": {"@type": "LearningResource", "name": pack.title},
    });
    let mut put = |key: &str, value: Option<serde_json::Value>| {
        if let (Some(value), Some(map)) = (value, resource.as_object_mut()) {
            map.insert(key.to_owned(), value);
        }
    };
    put("description", lesson.summary.as_ref().map(|s| json!(s)));
    put("educationalLevel", lesson.level.as_ref().map(|l| json!(l)));
    put(
        "timeRequired",
        lesson.minutes.map(|m| json!(format!("PT{m}M"))),
    );
    put("version", pack.revision.as_ref().map(|r| json!(r)));
    put("datePublished", pack.dated.map(|d| json!(d.to_string())));
    put(
        "publisher",
        pack.organisation
            .as_ref()
            .map(|name| json!({"@type": "Organization", "name": name})),
    );
    put(
        "hasPart",
        (!steps.is_empty()).then(|| json!({"@type": "HowTo", "name": lesson.title, "step": steps})),
    );
    script_json(&resource)
}
