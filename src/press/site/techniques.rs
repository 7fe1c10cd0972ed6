//! Lessons by what kind of hold they teach, by hitch and by kit item.

use std::collections::{BTreeMap, BTreeSet};

use crate::kit::KitKind;
use crate::pack::{Lesson, LessonId, Pack};
use crate::press::view::{Document, Rich, legs};
use crate::rig::{Rig, Space};

use super::Site;
use super::begin::Subject;
use super::list::{ListCell, ListRow, Listing};
use super::part::PartView;
use super::sheet::Sheet;

/// A kind of technique: the words' key for its name and for what it means, and how it is told.
struct Kind {
    name: &'static str,
    means: &'static str,
    is: fn(&Rig) -> bool,
}

/// Kinds in the order of the page. A lesson is of a kind if one of its rigs is, mistakes apart.
const KINDS: [Kind; 7] = [
    Kind {
        name: "techniques.one",
        means: "techniques.one_means",
        is: |rig| rig.lines.len() == 1,
    },
    Kind {
        name: "techniques.two",
        means: "techniques.two_means",
        is: |rig| rig.lines.len() == 2,
    },
    Kind {
        name: "techniques.more",
        means: "techniques.more_means",
        is: |rig| rig.lines.len() > 2,
    },
    Kind {
        name: "techniques.doubled",
        means: "techniques.doubled_means",
        is: |rig| rig.line_ids().any(|id| legs(rig, id) > 1),
    },
    Kind {
        name: "techniques.feet",
        means: "techniques.feet_means",
        is: |rig| rig.feet.is_some(),
    },
    Kind {
        name: "techniques.hanging",
        means: "techniques.hanging_means",
        is: |rig| rig.points.iter().any(|point| point.hangs),
    },
    Kind {
        name: "techniques.space",
        means: "techniques.space_means",
        is: |rig| rig.space == Space::Spatial,
    },
];

/// The rigs of a lesson that show how it is done.
fn right_rigs<'a>(pack: &'a Pack, lesson: &'a Lesson) -> impl Iterator<Item = &'a Rig> {
    let rigs = lesson.rigs().map(|id| pack.rig(id));
    rigs.filter(|rig| rig.wrong.is_empty())
}

/// Builds the page.
pub(super) fn sheet(site: &Site<'_>) -> Sheet {
    let words = site.words;
    let mut sheet = site.begin(&Subject {
        path: "techniques.html".to_owned(),
        current: "",
        document: Document::Techniques,
        title: words.get("techniques.title"),
        code: "",
        place: (1, 1),
    });
    sheet.lead = Some(words.get("techniques.lead").to_owned());
    sheet.description = words.get("techniques.lead").to_owned();
    sheet.fields = site.strip_fields("");
    sheet.fields.push(site.owner_field());
    let parts = [
        ("techniques.by_kind", by_kind(site)),
        ("techniques.by_hitch", by_hitch(site)),
        ("techniques.by_kit", by_kit(site)),
    ];
    for (title, listing) in parts {
        if listing.rows.is_empty() {
            continue;
        }
        let letter = sheet.next_letter();
        for row in &listing.rows {
            let text = [Rich::Text {
                text: row.name.clone(),
            }];
            sheet.find("", &letter, "technique", &text);
        }
        sheet.zone(words.get(title), vec![PartView::Listing(listing)]);
    }
    site.close(&mut sheet, Document::Techniques);
    sheet
}

fn by_kind(site: &Site<'_>) -> Listing {
    let pack = site.pack();
    let words = site.words;
    let rows = KINDS.iter().filter_map(|kind| {
        let lessons = pack.lessons.iter().enumerate();
        let own = lessons.filter(|(_, lesson)| right_rigs(pack, lesson).any(kind.is));
        let links = site.by_code(own.map(|(i, _)| LessonId(i)));
        (!links.is_empty()).then(|| ListRow {
            name: words.get(kind.name).to_owned(),
            small: Some(words.get(kind.means).to_owned()),
            cells: vec![ListCell::titles(links)],
            ..ListRow::default()
        })
    });
    Listing {
        caption: words.get("techniques.by_kind").to_owned(),
        head: ["techniques.kind", "techniques.taught_in"]
            .map(|key| words.get(key).to_owned())
            .into(),
        rows: rows.collect(),
    }
}

fn by_hitch(site: &Site<'_>) -> Listing {
    let pack = site.pack();
    let words = site.words;
    let mut hitches: BTreeMap<&str, BTreeSet<LessonId>> = BTreeMap::new();
    for (i, lesson) in pack.lessons.iter().enumerate() {
        let lines = right_rigs(pack, lesson).flat_map(|rig| &rig.lines);
        for hitch in lines.filter_map(|line| line.hitch.as_deref()) {
            hitches.entry(hitch).or_default().insert(LessonId(i));
        }
    }
    let rows = hitches.into_iter().map(|(hitch, lessons)| ListRow {
        name: hitch.to_owned(),
        cells: vec![ListCell::titles(site.by_code(lessons.into_iter()))],
        ..ListRow::default()
    });
    Listing {
        caption: words.get("techniques.by_hitch").to_owned(),
        head: ["techniques.hitch", "techniques.taught_in"]
            .map(|key| words.get(key).to_owned())
            .into(),
        rows: rows.collect(),
    }
}

fn by_kit(site: &Site<'_>) -> Listing {
    let pack = site.pack();
    let words = site.words;
    let mut items: Vec<_> = pack.kit.iter().collect();
    items.sort_by(|a, b| (a.kind, &a.title).cmp(&(b.kind, &b.title)));
    let rows = items.into_iter().map(|item| ListRow {
        name: item.title.clone(),
        href: Some(super::record::path(item)),
        small: Some(words.get(kind_key(item.kind)).to_owned()),
        cells: vec![ListCell::codes(super::kit::used_in(site, item))],
        ..ListRow::default()
    });
    Listing {
        caption: words.get("techniques.by_kit").to_owned(),
        head: ["kit_zone.item", "techniques.taught_in"]
            .map(|key| words.get(key).to_owned())
            .into(),
        rows: rows.collect(),
    }
}

/// The words for a kind of kit.
pub(super) const fn kind_key(kind: KitKind) -> &'static str {
    match kind {
        KitKind::Rope => "kit_kind.rope",
        KitKind::Cord => "kit_kind.cord",
        KitKind::Lanyard => "kit_kind.lanyard",
        KitKind::Connector => "kit_kind.connector",
        KitKind::Harness => "kit_kind.harness",
        KitKind::Pulley => "kit_kind.pulley",
        KitKind::Ring => "kit_kind.ring",
        KitKind::AnchorDevice => "kit_kind.anchor_device",
        KitKind::Helmet => "kit_kind.helmet",
        KitKind::Other => "kit_kind.other",
    }
}
