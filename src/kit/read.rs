//! A `kit/NAME.toml` file to a typed [`KitItem`], every mistake noted.

use super::{Connector, Examination, KitItem, KitKind, KitPlaces, Pairing, Record};
use crate::block::{BlockText, Item, Problem, Table, walk};
use crate::finding::{Finding, Place};
use crate::quantity::Dimension;

/// Builds the kit item of a file, `name` being the file's stem; where a finding is an error, the
/// item means nothing but its name and its pairings.
///
/// Names of other kit items inside it are resolved by the pack.
pub fn read(name: &str, file: &BlockText) -> (KitItem, Vec<Finding>) {
    walk(file, |root| read_item(name, root))
}

fn read_item(name: &str, mut root: Table<'_>) -> KitItem {
    let title = root
        .need("title", "title = \"Climbing line, 13 mm\"")
        .and_then(|item| item.text());
    let kinds = KitKind::ALL.map(|kind| (kind.word(), kind));
    let kind = root
        .need("kind", "kind = \"rope\"")
        .and_then(|item| item.word(&kinds));
    let standards = root.texts("standards");
    let working_limit_n = root.positive("working_limit", Dimension::Force);
    let strength_item = root.take("strength");
    let strength_n = strength_item
        .as_ref()
        .and_then(|item| item.positive(Dimension::Force));
    if let (Some(limit), Some(strength), Some(item)) = (working_limit_n, strength_n, &strength_item)
        && strength < limit
    {
        item.report(&Problem::Conflict {
            message: "the strength is below the working limit".to_owned(),
            help: "`working_limit` is the most in use, `strength` the breaking strength when new"
                .to_owned(),
        });
    }
    let rated_mass_kg = root.positive("rated_mass", Dimension::Mass);
    let diameter_m = root.positive("diameter", Dimension::Length);
    let length_m = root.positive("length", Dimension::Length);
    let modulus_n = root.positive("modulus", Dimension::Force);
    let material = root.string("material");
    let stretch = root.take("stretch").and_then(|item| {
        let stretch = item.quantity(Dimension::Share)?;
        if stretch < 0.0 {
            item.out_of_range("a share of zero or more");
            return None;
        }
        Some(stretch)
    });
    let hold_only = root.flag("hold_only");
    let anchor_device = root.flag("anchor_device");
    let connector = root.table("connector").map(read_connector);
    let efficiency = root
        .take("efficiency")
        .and_then(|item| crate::rig::read_efficiency(&item));
    let friction = root.take("friction").and_then(|item| item.number_from(0.0));
    let tested = root.table_list("tested");
    let tested_with = tested.into_iter().filter_map(read_pairing).collect();
    let mut places = KitPlaces::default();
    let (first_use, making, examine) = read_life(&mut root, &mut places);
    let own = root.table("record");
    places.record = own.as_ref().map(Table::place);
    let mut record = own.map(read_record).unwrap_or_default();
    let history = root.table_list("examination").into_iter();
    record.examined.extend(history.filter_map(read_examination));
    record.examined.sort_by_key(|e| e.dated);
    let note = root.string("note");
    let place = title.as_ref().map_or_else(|| root.place(), |t| t.place);
    root.finish();
    KitItem {
        name: name.to_owned(),
        title: title.map_or_else(|| name.to_owned(), |t| t.value),
        kind: kind.unwrap_or(KitKind::Other),
        place,
        places,
        standards: standards.into_iter().map(|t| t.value).collect(),
        working_limit_n,
        strength_n,
        rated_mass_kg,
        diameter_m,
        length_m,
        modulus_n,
        material,
        stretch,
        hold_only,
        anchor_device: anchor_device || kind == Some(KitKind::AnchorDevice),
        connector,
        efficiency,
        friction,
        tested_with,
        life_from_first_use_months: first_use,
        life_from_making_months: making,
        examine_every_months: examine,
        record,
        note,
    }
}

/// `[connector]`: the strengths marked on it.
fn read_connector(mut table: Table<'_>) -> Connector {
    let connector = Connector {
        major_n: table.positive("major", Dimension::Force),
        minor_n: table.positive("minor", Dimension::Force),
        gate_open_n: table.positive("gate_open", Dimension::Force),
        gate: table.string("gate"),
    };
    table.finish();
    connector
}

/// `[[tested]]`: a rope of the pack's kit and a hitch.
fn read_pairing(mut table: Table<'_>) -> Option<Pairing> {
    let rope = table
        .need("rope", "rope = \"climbing-line\"")
        .and_then(|item| item.text());
    let hitch = table
        .need("hitch", "hitch = \"Prusik\"")
        .and_then(|item| item.text());
    table.finish();
    let rope = rope?;
    Some(Pairing {
        hitch: hitch?.value,
        place: rope.place,
        rope: rope.value,
    })
}

/// `[life]`: from first use, from making, examination interval, months.
fn read_life(
    root: &mut Table<'_>,
    places: &mut KitPlaces,
) -> (Option<i64>, Option<i64>, Option<i64>) {
    let Some(mut table) = root.table("life") else {
        return (None, None, None);
    };
    let mut months = |key, place: &mut Option<Place>| {
        let item: Item<'_> = table.take(key)?;
        *place = Some(item.place());
        item.months()
    };
    let life = (
        months("from_first_use", &mut places.from_first_use),
        months("from_making", &mut places.from_making),
        months("examine_every", &mut None),
    );
    table.finish();
    life
}

/// `[record]`.
fn read_record(mut table: Table<'_>) -> Record {
    let serial = table.string("serial");
    let model = table.string("model");
    let maker = table.string("maker");
    let contact = table.string("contact");
    let user = table.string("user");
    let made = table.take("made").and_then(|item| item.date());
    let bought = table.take("bought").and_then(|item| item.date());
    let first_item = table.take("first_used");
    let first_used = first_item.as_ref().and_then(Item::date);
    if let (Some(made), Some(first), Some(item)) = (made, first_used, &first_item)
        && first < made
    {
        item.report(&Problem::Conflict {
            message: "the first use is before the making".to_owned(),
            help: "check both dates".to_owned(),
        });
    }
    let examined = table.take("examined").and_then(|item| item.list());
    let examined = examined.unwrap_or_default();
    let examined = examined
        .iter()
        .filter_map(|item| Some((item.date()?, item.place())));
    let record = Record {
        serial,
        model,
        maker,
        contact,
        made,
        bought,
        first_used,
        user,
        examined: examined
            .map(|(dated, place)| Examination {
                dated,
                place: Some(place),
                ..Examination::default()
            })
            .collect(),
    };
    table.finish();
    record
}

/// `[[examination]]`: one line of the item's history.
fn read_examination(mut table: Table<'_>) -> Option<Examination> {
    let dated_item = table.need("dated", "dated = 2026-01-12");
    let dated = dated_item.as_ref().and_then(Item::date);
    let reason = table.string("reason");
    let found = table.string("found");
    let by = table.string("by");
    let next_item = table.take("next");
    let next = next_item.as_ref().and_then(Item::date);
    if let (Some(dated), Some(next), Some(item)) = (dated, next, &next_item)
        && next <= dated
    {
        item.report(&Problem::Conflict {
            message: "the next examination is not after this one".to_owned(),
            help: "check both dates".to_owned(),
        });
    }
    table.finish();
    Some(Examination {
        dated: dated?,
        place: dated_item.map(|item| item.place()),
        reason,
        found,
        by,
        next,
    })
}
