//! What the pack stands on: standards, makers' instructions, what lessons cite, the rules' sources.

use std::collections::BTreeMap;

use crate::kit::KitItem;
use crate::pack::LessonId;
use crate::press::text::url_path;
use crate::press::view::{DASH, Document, Rich};
use crate::rulebook::RULES;

use super::Site;
use super::begin::Subject;
use super::list::{ListCell, ListRow, Listing};
use super::part::PartView;
use super::sheet::{Neighbour, Sheet};

/// Builds the page.
pub(super) fn sheet(site: &Site<'_>) -> Sheet {
    let words = site.words;
    let mut sheet = site.begin(&Subject {
        path: "references.html".to_owned(),
        current: "",
        document: Document::References,
        title: words.get("references.title"),
        code: "",
        place: (1, 1),
    });
    sheet.lead = Some(words.get("references.lead").to_owned());
    sheet.description = words.get("references.lead").to_owned();
    sheet.fields = site.strip_fields("");
    sheet.fields.push(site.owner_field());
    for (title, listing) in [
        ("references.standards", standards(site)),
        ("references.makers", makers(site)),
        ("references.cited", cited(site)),
        ("references.rules", rules(site)),
    ] {
        if listing.rows.is_empty() {
            continue;
        }
        let letter = sheet.next_letter();
        for row in &listing.rows {
            let text = [Rich::Text {
                text: format!("{} {}", row.name, row.small.as_deref().unwrap_or_default()),
            }];
            sheet.find("", &letter, "reference", &text);
        }
        sheet.zone(words.get(title), vec![PartView::Listing(listing)]);
    }
    site.close(&mut sheet, Document::References);
    sheet
}

fn heads(site: &Site<'_>, keys: &[&'static str]) -> Vec<String> {
    keys.iter()
        .map(|key| site.words.get(key).to_owned())
        .collect()
}

/// A link to an item's page, by its title.
fn item_link(item: &KitItem) -> Neighbour {
    Neighbour {
        href: super::record::path(item),
        code: item.title.clone(),
        title: String::new(),
    }
}

fn standards(site: &Site<'_>) -> Listing {
    let mut by_standard: BTreeMap<&str, Vec<Neighbour>> = BTreeMap::new();
    for item in &site.pack().kit {
        for standard in &item.standards {
            by_standard
                .entry(standard)
                .or_default()
                .push(item_link(item));
        }
    }
    let rows = by_standard.into_iter().map(|(standard, items)| ListRow {
        name: standard.to_owned(),
        cells: vec![ListCell::titles(items)],
        ..ListRow::default()
    });
    Listing {
        caption: site.words.get("references.standards").to_owned(),
        head: heads(site, &["references.standard", "references.marked_on"]),
        rows: rows.collect(),
    }
}

/// Every item goes by its maker's instructions; the register says how to tell which they are.
fn makers(site: &Site<'_>) -> Listing {
    let text = |text: &Option<String>| text.clone().unwrap_or_else(|| DASH.to_owned());
    let rows = site.pack().kit.iter().map(|item| ListRow {
        name: item.title.clone(),
        href: Some(super::record::path(item)),
        cells: vec![
            ListCell::text(text(&item.record.maker)),
            ListCell::text(text(&item.record.serial)),
        ],
        ..ListRow::default()
    });
    Listing {
        caption: site.words.get("references.makers").to_owned(),
        head: heads(site, &["kit_zone.item", "print.maker", "print.serial"]),
        rows: rows.collect(),
    }
}

fn cited(site: &Site<'_>) -> Listing {
    let mut by_source: BTreeMap<&str, Vec<LessonId>> = BTreeMap::new();
    for (i, lesson) in site.pack().lessons.iter().enumerate() {
        for source in &lesson.references {
            by_source.entry(source).or_default().push(LessonId(i));
        }
    }
    let rows = by_source.into_iter().map(|(source, lessons)| ListRow {
        name: source.to_owned(),
        cells: vec![ListCell::codes(site.by_code(lessons.into_iter()))],
        ..ListRow::default()
    });
    Listing {
        caption: site.words.get("references.cited").to_owned(),
        head: heads(site, &["references.source", "references.cited_in"]),
        rows: rows.collect(),
    }
}

/// The rules with what each stands on; the pack's own source where it set another limit.
fn rules(site: &Site<'_>) -> Listing {
    let book = &site.pack().rulebook;
    let rows = RULES.iter().map(|rule| {
        let basis = book.basis(rule.name);
        let whose = if basis == rule.basis {
            "references.built_in"
        } else {
            "references.of_pack"
        };
        ListRow {
            id: Some(format!("rule-{}", url_path(rule.name))),
            name: rule.name.to_owned(),
            small: Some(rule.finds.to_owned()),
            cells: vec![ListCell::text(basis), ListCell::text(site.words.get(whose))],
            lang: site.english(),
            ..ListRow::default()
        }
    });
    Listing {
        caption: site.words.get("references.rules").to_owned(),
        head: heads(
            site,
            &[
                "references.rule",
                "references.source",
                "references.limit_of",
            ],
        ),
        rows: rows.collect(),
    }
}
