//! Kit record cards: a page an item, with what EN 365 wants recorded and room to write.

use serde::Serialize;

use crate::press::view::{Document, RecordView, record_view};
use crate::press::words::Words;
use crate::rules::Proof;

use super::head::Head;
use super::world::Manuscript;

#[derive(Serialize)]
struct Cards {
    #[serde(flatten)]
    head: Head,
    items: Vec<RecordView>,
}

/// Gathers the record cards of a pack with kit.
///
/// # Errors
/// Those of writing plain data as JSON: none that is known.
pub fn manuscript(proof: &Proof, words: Words) -> Result<Manuscript, serde_json::Error> {
    let pack = &proof.reading.pack;
    let title = words.get("print.record");
    let cards = Cards {
        head: Head::new(pack, Document::Record, "", title, words),
        items: pack
            .kit
            .iter()
            .map(|item| record_view(item, proof, words))
            .collect(),
    };
    Ok(Manuscript {
        template: "kit.typ",
        data: serde_json::to_value(&cards)?,
        images: Vec::new(),
        ident: format!("{} kit records", pack.title),
    })
}
