//! Which rope goes with which hitch and cord: the table, and where each tested pairing is used.

use crate::pack::{LessonId, Pack};
use crate::press::view::{Document, Rich, pairings};

use super::Site;
use super::begin::Subject;
use super::files::print_row;
use super::list::{ListCell, ListRow, Listing};
use super::part::PartView;
use super::sheet::Sheet;

/// Builds the page; `None` for a pack without ropes or without any tested list.
pub(super) fn sheet(site: &Site<'_>) -> Option<Sheet> {
    let pack = site.pack();
    let words = site.words;
    let table = pairings(pack)?;
    let mut sheet = site.begin(&Subject {
        path: "pairings.html".to_owned(),
        current: "kit",
        document: Document::Pairings,
        title: words.get("kit.pairs"),
        code: "",
        place: (1, 1),
    });
    sheet.lead = Some(words.get("kit.pairs_how").to_owned());
    sheet.description = words.get("kit.pairs_how").to_owned();
    sheet.fields = site.strip_fields("");
    sheet.fields.push(site.owner_field());
    sheet.zone(words.get("pairings.table"), vec![PartView::Pairings(table)]);
    let rows = tested(site, pack);
    let letter = sheet.next_letter();
    for row in &rows {
        let text = [Rich::Text {
            text: format!("{}, {}", row.name, row.small.as_deref().unwrap_or_default()),
        }];
        sheet.find("", &letter, "kit", &text);
    }
    let listing = Listing {
        caption: words.get("pairings.tested").to_owned(),
        head: ["pairings.pairing", "pairings.use", "kit.used_in"]
            .map(|key| words.get(key).to_owned())
            .into(),
        rows,
    };
    sheet.zone(
        words.get("pairings.tested"),
        vec![PartView::Listing(listing)],
    );
    let name = words.get("print.pairings").to_owned();
    let row = print_row(site, "", site.prints.kit_pairings(), name, "files.pairings");
    if let Some(row) = row {
        sheet.zone(
            words.get("files.prints"),
            vec![PartView::Files { rows: vec![row] }],
        );
    }
    site.close(&mut sheet, Document::Pairings);
    Some(sheet)
}

/// Every tested pairing: rope and hitch, in which cord, where rigs use it.
fn tested(site: &Site<'_>, pack: &Pack) -> Vec<ListRow> {
    let words = site.words;
    let mut rows = Vec::new();
    for cord in &pack.kit {
        for pairing in &cord.tested_with {
            let rope = pack.kit.iter().find(|item| item.name == pairing.rope);
            let rope = rope.map_or(pairing.rope.as_str(), |item| item.title.as_str());
            let lessons = pack.lessons.iter().enumerate().filter(|(_, lesson)| {
                let rigs = lesson.rigs().map(|id| pack.rig(id));
                let mut lines = rigs.flat_map(|rig| &rig.lines);
                lines.any(|line| {
                    line.kit.as_deref() == Some(&pairing.rope)
                        && line.hitch.as_deref() == Some(&pairing.hitch)
                        && line.assembly.cord.as_deref() == Some(&cord.name)
                })
            });
            let state = if cord.hold_only {
                "kit.holding"
            } else {
                "kit.tested"
            };
            rows.push(ListRow {
                name: words.fill("pairings.on", &[("hitch", &pairing.hitch), ("rope", rope)]),
                small: Some(cord.title.clone()),
                cells: vec![
                    ListCell::text(words.get(state)),
                    ListCell::codes(site.by_code(lessons.map(|(i, _)| LessonId(i)))),
                ],
                ..ListRow::default()
            });
        }
    }
    rows
}
