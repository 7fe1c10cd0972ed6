//! A kit item's record as data: what EN 365 wants recorded, what is due, what it may carry.

use serde::Serialize;

use crate::finding::Place;
use crate::kit::KitItem;
use crate::press::words::Words;
use crate::rules::Proof;

use super::{kit_limits, sentence};

/// Findings of the proof that a record says at its top.
const SAID: [&str; 2] = ["past-life", "examine"];

/// The record of one item.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecordView {
    /// The item's name in the pack.
    pub key: String,
    /// Words for people.
    pub title: String,
    /// What the rules say about its dates.
    pub findings: Vec<String>,
    /// Serial number, dates, standards; a field that the pack leaves out is empty.
    pub fields: Vec<RecordField>,
    /// What it may carry.
    pub limits: String,
    /// Its examinations and repairs, the oldest first.
    pub examined: Vec<ExaminationRow>,
}

/// One line of an item's history; what the pack leaves out is empty.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ExaminationRow {
    /// The day.
    pub dated: String,
    /// Why.
    pub reason: String,
    /// Defects found, repairs done.
    pub found: String,
    /// The day by which the next is wanted.
    pub next: String,
    /// The competent person.
    pub by: String,
}

/// One field of a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RecordField {
    /// Its name, for people.
    pub name: &'static str,
    /// What stands in it.
    pub value: String,
}

/// Builds the record of an item.
pub fn record_view(item: &KitItem, proof: &Proof, words: Words) -> RecordView {
    let pack = &proof.reading.pack;
    let record = &item.record;
    let date = |date: Option<jiff::civil::Date>| date.map_or_else(String::new, |d| d.to_string());
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let every = pack.rulebook.limit("examine", "every") as i64;
    let fields = [
        ("print.code", item.name.clone()),
        ("print.serial", text(&record.serial)),
        ("print.model", text(&record.model)),
        ("print.maker", text(&record.maker)),
        ("print.contact", text(&record.contact)),
        ("print.user", text(&record.user)),
        ("print.made", date(record.made)),
        ("print.bought", date(record.bought)),
        ("print.first_used", date(record.first_used)),
        ("print.retire", date(item.retire_by())),
        ("print.next_exam", date(item.examine_by(every))),
        ("print.standards", item.standards.join(", ")),
    ];
    let here = proof.findings.iter().filter(|finding| {
        let own = |place: Place| place.file == item.place.file;
        finding.place.is_some_and(own) && SAID.contains(&finding.code)
    });
    RecordView {
        key: item.name.clone(),
        title: item.title.clone(),
        findings: here.map(sentence).collect(),
        fields: fields
            .into_iter()
            .map(|(key, value)| RecordField {
                name: words.get(key),
                value,
            })
            .collect(),
        limits: kit_limits(item, pack.units, words).join(" · "),
        examined: record
            .examined
            .iter()
            .map(|e| ExaminationRow {
                dated: e.dated.to_string(),
                reason: e
                    .reason
                    .clone()
                    .unwrap_or_else(|| words.get("print.thorough").to_owned()),
                found: text(&e.found),
                next: date(e.next),
                by: text(&e.by),
            })
            .collect(),
    }
}
