//! A page for each kit item: its record, what it may carry, what it goes with, where it is used.

use serde::Serialize;

use crate::kit::KitItem;
use crate::pack::{KitUse, LessonId};
use crate::press::text::url_path;
use crate::press::view::{DASH, Document, Rich, kit_limits, kit_row, record_view};

use super::Site;
use super::begin::Subject;
use super::list::{ListCell, ListRow, Listing};
use super::part::PartView;
use super::sheet::{Field, Neighbour, Sheet};
use super::techniques::kind_key;

/// Names with their values, and sentences over them.
#[derive(Debug, Serialize)]
pub(super) struct Facts {
    /// What the rules say.
    pub(super) said: Vec<String>,
    /// The language of those sentences, where it is not the page's.
    pub(super) said_lang: Option<&'static str>,
    /// How the item stands on the pack's date: `stop`, `soon` or `ok`.
    pub(super) state: &'static str,
    pub(super) rows: Vec<Fact>,
}

/// One name with what is to say.
#[derive(Debug, Serialize)]
pub(super) struct Fact {
    pub(super) name: String,
    pub(super) values: Vec<String>,
}

/// The path of an item's page below the site's folder.
pub(super) fn path(item: &KitItem) -> String {
    format!("kit/{}.html", url_path(&item.name))
}

impl Site<'_> {
    /// Lessons that list an item.
    pub(super) fn users_of(&self, item: &KitItem) -> impl Iterator<Item = LessonId> {
        let pack = self.pack();
        let lessons = pack.lessons.iter().enumerate();
        let using = lessons.filter(|(_, lesson)| {
            let mut items = lesson.kit.iter();
            items.any(|used| pack.kit_item(used.item).name == item.name)
        });
        using.map(|(i, _)| LessonId(i))
    }
}

/// Builds the page of an item.
pub(super) fn sheet(site: &Site<'_>, used: KitUse, place: (usize, usize)) -> Sheet {
    let pack = site.pack();
    let item = pack.kit_item(used.item);
    let words = site.words;
    let record = record_view(item, site.proof, words);
    let mut sheet = site.begin(&Subject {
        path: path(item),
        current: "kit",
        document: Document::Record,
        title: &item.title,
        code: "",
        place,
    });
    let limits = kit_limits(item, pack.units, words);
    sheet.sub = Some(words.get(kind_key(item.kind)).to_owned());
    sheet.lead = item.note.clone();
    sheet.description = std::iter::once(&item.title)
        .chain(&limits)
        .chain(&item.standards)
        .map(String::as_str)
        .collect::<Vec<_>>()
        .join(". ");
    sheet.fields = vec![Field::new(words.get("block.code"), &item.name).big()];
    sheet.fields.extend(site.strip_fields(""));
    sheet.fields.push(site.owner_field());

    // The code and the standards stand elsewhere on the page.
    let stands_elsewhere = ["print.code", "print.standards"].map(|key| words.get(key));
    let rows = record.fields.into_iter();
    let rows = rows.filter(|field| !stands_elsewhere.contains(&field.name));
    let rows = rows.map(|field| Fact {
        name: field.name.to_owned(),
        values: vec![or_dash(field.value)],
    });
    let facts = Facts {
        said: record.findings,
        said_lang: site.english(),
        state: super::kit::state_word(site, item),
        rows: rows.collect(),
    };
    sheet.zone(words.get("record.record"), vec![PartView::Facts(facts)]);

    let fact = |key, values: Vec<String>| Fact {
        name: words.get(key).to_owned(),
        values,
    };
    let mut rows = vec![
        fact("print.limits", limits),
        fact("print.standards", item.standards.clone()),
        fact("record.material", item.material.iter().cloned().collect()),
        fact(
            "record.tested",
            kit_row(used, site.proof, words).tested_with,
        ),
    ];
    rows.retain(|row| !row.values.is_empty());
    if !rows.is_empty() {
        let facts = Facts {
            said: Vec::new(),
            said_lang: None,
            state: "ok",
            rows,
        };
        sheet.zone(words.get("record.rated"), vec![PartView::Facts(facts)]);
    }

    let rows = record.examined.iter().rev().map(|e| ListRow {
        name: e.dated.clone(),
        cells: [&e.reason, &e.found, &e.next, &e.by]
            .map(|text| ListCell::text(or_dash(text.clone())))
            .into(),
        ..ListRow::default()
    });
    let listing = Listing {
        caption: words.get("print.examinations").to_owned(),
        head: [
            "print.date",
            "print.reason",
            "print.defects",
            "print.next_due",
            "print.examined_by",
        ]
        .map(|key| words.get(key).to_owned())
        .into(),
        rows: rows.collect(),
    };
    if !listing.rows.is_empty() {
        let title = words.get("print.examinations");
        sheet.zone(title, vec![PartView::Listing(listing)]);
    }

    let rows = site
        .by_code(site.users_of(item))
        .into_iter()
        .map(|lesson| ListRow {
            name: format!("{} {}", lesson.code, lesson.title),
            href: Some(format!("../{}", lesson.href)),
            ..ListRow::default()
        });
    let listing = Listing {
        caption: words.get("kit.used_in").to_owned(),
        head: vec![words.get("front.lesson").to_owned()],
        rows: rows.collect(),
    };
    if !listing.rows.is_empty() {
        sheet.zone(words.get("kit.used_in"), vec![PartView::Listing(listing)]);
    }
    let text = [Rich::Text {
        text: format!("{} {}", item.title, item.name),
    }];
    sheet.find("", "A", "kit", &text);
    site.close(&mut sheet, Document::Record);
    sheet.turn = vec![Neighbour {
        href: "../kit.html".to_owned(),
        code: String::new(),
        title: words.get("block.kit").to_owned(),
    }];
    sheet
}

fn or_dash(text: String) -> String {
    if text.is_empty() {
        DASH.to_owned()
    } else {
        text
    }
}
