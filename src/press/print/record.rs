//! Kit record cards: a page an item, with what EN 365 wants recorded and room to write.

use serde::Serialize;

use crate::kit::KitItem;
use crate::press::view::{Document, kit_limits};
use crate::press::words::Words;
use crate::rules::Proof;

use super::head::Head;
use super::world::Manuscript;

/// Findings of the proof that a card says at its top.
const SAID: [&str; 2] = ["past-life", "examine"];

#[derive(Serialize)]
struct Cards {
    #[serde(flatten)]
    head: Head,
    items: Vec<Card>,
}

#[derive(Serialize)]
struct Card {
    key: String,
    title: String,
    findings: Vec<String>,
    fields: Vec<Field>,
    limits: String,
    examined: Vec<String>,
}

#[derive(Serialize)]
struct Field {
    name: &'static str,
    value: String,
}

/// Gathers the record cards of a pack; `None` for a pack without kit.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn manuscript(proof: &Proof, words: Words) -> Result<Option<Manuscript>, serde_json::Error> {
    let pack = &proof.reading.pack;
    if pack.kit.is_empty() {
        return Ok(None);
    }
    let title = words.get("print.record");
    let cards = Cards {
        head: Head::new(pack, Document::Record, "", title, words),
        items: pack
            .kit
            .iter()
            .map(|item| card(item, proof, words))
            .collect(),
    };
    Ok(Some(Manuscript {
        template: "kit.typ",
        data: serde_json::to_value(&cards)?,
        images: Vec::new(),
        ident: format!("{} kit records", pack.title),
    }))
}

fn card(item: &KitItem, proof: &Proof, words: Words) -> Card {
    let pack = &proof.reading.pack;
    let record = &item.record;
    let date = |date: Option<jiff::civil::Date>| date.map_or_else(String::new, |d| d.to_string());
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let every = pack.rulebook.limit("examine", "every") as i64;
    let fields = [
        ("print.code", item.name.clone()),
        ("print.serial", text(&record.serial)),
        ("print.maker", text(&record.maker)),
        ("print.made", date(record.made)),
        ("print.bought", date(record.bought)),
        ("print.first_used", date(record.first_used)),
        ("print.retire", date(item.retire_by())),
        ("print.next_exam", date(item.examine_by(every))),
        ("print.standards", item.standards.join(", ")),
    ];
    let limits = kit_limits(item, pack.units, words).join(" · ");
    let here = proof
        .findings
        .iter()
        .filter(|finding| finding.place == Some(item.place) && SAID.contains(&finding.code));
    Card {
        key: item.name.clone(),
        title: item.title.clone(),
        findings: here.map(|finding| finding.message.clone()).collect(),
        fields: fields
            .into_iter()
            .map(|(key, value)| Field {
                name: words.get(key),
                value,
            })
            .collect(),
        limits,
        examined: record.examined.iter().map(ToString::to_string).collect(),
    }
}
