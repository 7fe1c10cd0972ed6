//! A page as plain data: what the templates lay out.
//!
//! Strings named `html` are finished and safe ([`crate::press::text`] made them); all others are
//! escaped by the template engine.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::press::text::plain;
use crate::press::view::{ChangeRow, Rich, TitleBlock};

use crate::store::{Digest, Inputs};

use super::address::zone_letter;
use super::part::PartView;

/// One page.
#[derive(Debug, Serialize)]
pub(super) struct Sheet {
    /// Path below the site's folder.
    pub(super) path: String,
    /// The way from the page to the site's folder: empty, or `../`.
    pub(super) up: &'static str,
    /// Template that lays it out.
    pub(super) template: &'static str,
    /// Which link of the edge line it is: `pack`, `course`, `kit`, `figures`, `find`.
    pub(super) current: &'static str,
    /// Language tag.
    pub(super) lang: String,
    /// `rtl` for a language written from right to left.
    pub(super) dir: Option<&'static str>,
    /// The language of drawings, where it is not the page's.
    pub(super) figure_lang: Option<&'static str>,
    /// The document's title.
    pub(super) head_title: String,
    /// A sentence for machines.
    pub(super) description: String,
    /// What kind of sheet.
    pub(super) kind: String,
    /// The heading.
    pub(super) title: String,
    /// A line under it.
    pub(super) sub: Option<String>,
    /// A sentence or two.
    pub(super) lead: Option<String>,
    /// Fields at the right of the title.
    pub(super) fields: Vec<Field>,
    /// What to know first and what follows.
    pub(super) brief: Option<Brief>,
    /// Kinds of figure that the sheet can be narrowed to; empty where it shows none to choose from.
    pub(super) filter: Vec<Field>,
    /// Zones in order.
    pub(super) zones: Vec<Zone>,
    /// Letter of the cautions' zone.
    pub(super) caution_zone: String,
    /// The title block.
    pub(super) block: TitleBlock,
    /// The table of changes.
    pub(super) changes: Vec<ChangeRow>,
    /// Neighbours in the course.
    pub(super) turn: Vec<Neighbour>,
    /// Links of the edge line.
    pub(super) edge: Edge,
    /// Data for machines: schema.org as JSON-LD, safe inside a script element.
    pub(super) machine_html: Option<String>,
    /// Rigs whose climber a control on it moves.
    pub(super) moves: Vec<String>,
    /// Words that scripts of this page say, as JSON safe inside a script element.
    pub(super) say_html: Option<String>,
    /// Where every lesson is listed, on the page that finds.
    pub(super) all_lessons: Option<String>,
    /// Whether the pack brings a style sheet to go after ours.
    pub(super) more_style: bool,
    /// Names the reader's log of this pack and revision in the browser.
    pub(super) log_key: String,
    /// The script with drawings for phones, from the page.
    pub(super) phone_script: Option<String>,
    /// Those drawings, by name.
    #[serde(skip)]
    pub(super) for_phones: BTreeMap<String, String>,
    /// Words of the pack that the index finds this sheet by.
    #[serde(skip)]
    pub(super) found_by: Vec<Found>,
}

/// Something that the search can find.
#[derive(Debug, Clone)]
pub(super) struct Found {
    /// Fragment of the page.
    pub(super) fragment: String,
    /// Address as people cite it: `AS-04 C3`; empty on a sheet without a code.
    pub(super) address: String,
    /// Key of its kind among the words `find.kind.*`.
    pub(super) kind: String,
    /// What it says.
    pub(super) text: String,
}

/// One field of the title strip.
#[derive(Debug, Serialize)]
pub(super) struct Field {
    pub(super) name: String,
    pub(super) text: String,
    /// In large letters.
    pub(super) big: bool,
    /// Over the whole width.
    pub(super) wide: bool,
}

impl Field {
    pub(super) fn new(name: &str, text: impl Into<String>) -> Self {
        Self {
            name: name.to_owned(),
            text: text.into(),
            big: false,
            wide: false,
        }
    }

    pub(super) fn big(mut self) -> Self {
        self.big = true;
        self
    }

    pub(super) fn wide(mut self) -> Self {
        self.wide = true;
        self
    }
}

/// What to know first, what a reader will be able to do.
#[derive(Debug, Serialize)]
pub(super) struct Brief {
    pub(super) needs: Vec<Neighbour>,
    pub(super) outcomes: Vec<OutcomeRow>,
}

/// An outcome's key and words.
#[derive(Debug, Clone, Serialize)]
pub(super) struct OutcomeRow {
    pub(super) key: String,
    pub(super) text: String,
}

/// A link to another sheet.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Neighbour {
    /// Relative to the page.
    pub(super) href: String,
    pub(super) code: String,
    pub(super) title: String,
}

/// The edge line.
#[derive(Debug, Serialize)]
pub(super) struct Edge {
    pub(super) owner: String,
    pub(super) links: Vec<EdgeLink>,
}

/// One link of the edge line.
#[derive(Debug, Serialize)]
pub(super) struct EdgeLink {
    pub(super) key: &'static str,
    pub(super) href: String,
    pub(super) name: String,
}

/// A zone.
#[derive(Debug, Serialize)]
pub(super) struct Zone {
    /// Its letter, also its fragment.
    pub(super) letter: String,
    /// Fragment of its heading.
    pub(super) heading_id: String,
    pub(super) title: String,
    pub(super) title_html: String,
    pub(super) parts: Vec<PartView>,
}

impl Sheet {
    /// Adds a zone of ours and returns its letter.
    pub(super) fn zone(&mut self, title: &str, parts: Vec<PartView>) -> String {
        let letter = zone_letter(self.zones.len());
        self.zones.push(Zone {
            heading_id: format!("{letter}-h"),
            letter: letter.clone(),
            title: title.to_owned(),
            title_html: crate::press::text::escape(title),
            parts,
        });
        letter
    }

    /// The letter that the next zone gets.
    pub(super) fn next_letter(&self) -> String {
        zone_letter(self.zones.len())
    }

    /// How long its drawings are.
    pub(super) fn drawn_bytes(&self) -> usize {
        let parts = self.zones.iter().flat_map(|zone| &zone.parts);
        parts.map(PartView::drawn_bytes).sum()
    }

    /// The digest of everything that the page shows.
    pub(super) fn shown(&self, inputs: &mut Inputs) -> Digest {
        let page = serde_json::to_vec(&(self, &self.for_phones)).unwrap_or_default();
        inputs.bytes(&page).finish()
    }

    /// Notes something to be found.
    pub(super) fn find(&mut self, code: &str, fragment: &str, kind: &'static str, pieces: &[Rich]) {
        let text = plain(pieces);
        if !text.is_empty() {
            self.found_by.push(Found {
                fragment: fragment.to_owned(),
                address: if code.is_empty() {
                    String::new()
                } else {
                    format!("{code} {fragment}")
                },
                kind: kind.to_owned(),
                text,
            });
        }
    }
}

/// Data as a script of its own has it; put into a page it would not end its element.
pub(super) fn script_text(data: &impl Serialize) -> String {
    // Maps with texts as keys always have JSON.
    let json = serde_json::to_string(data).unwrap_or_default();
    match json.contains("</") {
        true => json.replace("</", "<\\/"),
        false => json,
    }
}

/// A script of its own that gives a name its data.
pub(super) fn script_file(name: &str, data: &impl Serialize) -> Vec<u8> {
    let text = script_text(data);
    let mut out = String::with_capacity(name.len() + text.len() + 8);
    for part in [name, " = ", &text, ";\n"] {
        out.push_str(part);
    }
    out.into_bytes()
}

/// As [`script_file`] of texts by name, for long ones: each is gone through once.
pub(super) fn texts_file(name: &str, texts: &BTreeMap<String, String>) -> Vec<u8> {
    let room = texts.iter().map(|(key, text)| key.len() + text.len());
    let room: usize = room.sum();
    let mut out = Vec::with_capacity(name.len() + room + room / 8 + 64);
    out.extend_from_slice(name.as_bytes());
    out.extend_from_slice(b" = {");
    for (i, (key, text)) in texts.iter().enumerate() {
        if i > 0 {
            out.push(b',');
        }
        push_script_text(&mut out, key);
        out.push(b':');
        push_script_text(&mut out, text);
    }
    out.extend_from_slice(b"};\n");
    out
}

/// Bytes that a text of a script may not hold as they are, or not everywhere.
const NOT_PLAIN: [bool; 256] = {
    let mut bytes = [false; 256];
    let mut byte = 0;
    while byte < 256 {
        bytes[byte] = byte < 0x20 || matches!(byte as u8, b'"' | b'\\' | b'/');
        byte += 1;
    }
    bytes
};

/// One text as [`script_text`] has it.
fn push_script_text(out: &mut Vec<u8>, text: &str) {
    let bytes = text.as_bytes();
    out.push(b'"');
    let (mut written, mut at) = (0, 0);
    while let Some(plain) = bytes[at..].iter().position(|b| NOT_PLAIN[usize::from(*b)]) {
        at += plain + 1;
        let byte = bytes[at - 1];
        if byte == b'/' && !bytes[..at - 1].ends_with(b"<") {
            continue;
        }
        out.extend_from_slice(&bytes[written..at - 1]);
        match byte {
            b'\n' => out.extend_from_slice(b"\\n"),
            0..0x20 => out.extend_from_slice(format!("\\u{byte:04x}").as_bytes()),
            _ => out.extend_from_slice(&[b'\\', byte]),
        }
        written = at;
    }
    out.extend_from_slice(&bytes[written..]);
    out.push(b'"');
}

/// JSON that cannot end a script element or be taken for markup.
pub(super) fn script_json(value: &serde_json::Value) -> String {
    value
        .to_string()
        .replace('<', "\\u003c")
        .replace('>', "\\u003e")
        .replace('&', "\\u0026")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_texts_are_written_as_short_ones_are() {
        let text = "<g id=\"a\">\\ é\n</g>/<</a \u{1f} //";
        let texts = BTreeMap::from([
            ("1 </".to_owned(), text.to_owned()),
            ("b".into(), String::new()),
        ]);
        assert_eq!(texts_file("x", &texts), script_file("x", &texts));
        assert_eq!(texts_file("x", &BTreeMap::new()), b"x = {};\n");
    }
}
