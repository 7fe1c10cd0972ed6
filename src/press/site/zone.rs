//! A section of the author's as a zone: its text, holds, figures and blocks in order.

use serde::Serialize;

use crate::pack::{FigureAsk, LessonId, Part, RigId, Section};
use crate::press::text::plain;
use crate::press::view::{NumbersTable, Rich, numbers, rich, rich_run};
use crate::rig::FigureKind;

use super::address::{Lines, zone_letter};
use super::blocks::Around;
use super::part::PartView;
use super::sheet::{Sheet, Zone};
use super::shown::{FigureView, Room, Shown};
use super::terms::link_first_uses;
use super::{Site, explore};

/// Most lines that the numbers table shows as columns beside a figure.
const MOST_COLUMNS: usize = 3;

/// A rig: its figures with the numbers beside the first.
#[derive(Debug, Serialize)]
pub(super) struct PlateView {
    pub(super) rig: String,
    pub(super) title: String,
    pub(super) figure: Option<FigureView>,
    pub(super) more: Vec<FigureView>,
    pub(super) numbers: NumbersTable,
    /// Whether lines are rows, because there are more than the columns have room for.
    pub(super) turned: bool,
    /// The map of the control that moves the climber.
    pub(super) map_html: Option<String>,
}

/// One side of do and don't.
#[derive(Debug, Serialize)]
pub(super) struct Half {
    pub(super) title: String,
    pub(super) figure: Option<FigureView>,
    pub(super) lines: Vec<String>,
}

/// One section of the author's as a zone.
pub(super) fn zone(
    site: &Site<'_>,
    id: LessonId,
    section: &Section,
    sheet: &mut Sheet,
    shown: &mut Shown,
) {
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
    let titled = [Rich::Text {
        text: title.clone(),
    }];
    sheet.find(&lesson.code, &letter, "zone", &titled);
    let mut lines = Lines::of(&letter);
    let mut parts = Vec::new();
    let mut rest = section.parts.iter().peekable();
    while let Some(part) = rest.next() {
        let view = match part {
            Part::Text(flow) => {
                let mut pieces = rich(flow, site.proof);
                if pieces.is_empty() {
                    continue;
                }
                sheet.find(&lesson.code, &letter, "text", &pieces);
                link_first_uses(&mut pieces, &mut shown.unlinked);
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
            Part::Rig(rig) => rig_part(site, *rig, shown),
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

fn rig_part(site: &Site<'_>, id: RigId, shown: &mut Shown) -> PartView {
    let pack = site.pack();
    let rig = pack.rig(id);
    if let Some(twin) = pack.right_twin(id) {
        return PartView::Pair {
            right: half(site, twin, shown),
            wrong: half(site, id, shown),
        };
    }
    let mut figures = rig
        .show
        .iter()
        .filter_map(|kind| shown.figure(site, id, *kind, Room::Wide));
    let figure = figures.next();
    let more: Vec<FigureView> = figures.collect();
    let table = numbers(rig, &site.solved(id), pack.units, site.words);
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
    let table = numbers(rig, &site.solved(id), pack.units, site.words);
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
