//! A stretch of lesson text for the templates: a tree of plain data, values filled in.

use pulldown_cmark::{Event, Tag, TagEnd};
use serde::Serialize;

use crate::pack::{Flow, Inline};
use crate::quantity::quantity_text;
use crate::rules::Proof;
use crate::value;

/// A piece of text. The template's `rich` sets it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
pub enum Words {
    /// Plain.
    Text {
        /// The letters.
        text: String,
    },
    /// A value of a rig.
    Value {
        /// As a reader sees it.
        text: String,
    },
    /// Strong.
    Strong {
        /// What is strong.
        inside: Vec<Words>,
    },
    /// Emphasised.
    Emphasis {
        /// What is emphasised.
        inside: Vec<Words>,
    },
    /// A new line.
    Break,
}

/// Turns a stretch of text into the templates' data. Paragraphs become breaks between words; a
/// value that a rig does not have is a finding of the proof and never gets this far.
pub fn words(flow: &Flow, proof: &Proof) -> Vec<Words> {
    let mut open: Vec<Vec<Words>> = vec![Vec::new()];
    for inline in flow {
        match inline {
            Inline::Value(asked) => {
                let pack = &proof.reading.pack;
                let found =
                    value::evaluate(pack.rig(asked.rig), proof.solved(asked.rig), asked.path);
                let text = found.map_or_else(String::new, |q| quantity_text(q, pack.units));
                push(&mut open, Words::Value { text });
            }
            Inline::Event(event, _) => take(&mut open, event),
        }
    }
    while open.len() > 1 {
        let inside = open.pop().unwrap_or_default();
        if let Some(outer) = open.last_mut() {
            outer.extend(inside);
        }
    }
    let mut words = open.pop().unwrap_or_default();
    while words.last() == Some(&Words::Break) {
        words.pop();
    }
    words
}

fn push(open: &mut [Vec<Words>], piece: Words) {
    if let Some(inside) = open.last_mut() {
        inside.push(piece);
    }
}

fn take(open: &mut Vec<Vec<Words>>, event: &Event<'static>) {
    match event {
        Event::Text(text) | Event::Code(text) => push(
            open,
            Words::Text {
                text: text.to_string(),
            },
        ),
        Event::SoftBreak => push(
            open,
            Words::Text {
                text: " ".to_owned(),
            },
        ),
        Event::HardBreak | Event::End(TagEnd::Paragraph | TagEnd::Item) => push(open, Words::Break),
        Event::Start(Tag::Strong | Tag::Emphasis) => open.push(Vec::new()),
        Event::End(end @ (TagEnd::Strong | TagEnd::Emphasis)) if open.len() > 1 => {
            let inside = open.pop().unwrap_or_default();
            push(
                open,
                if *end == TagEnd::Strong {
                    Words::Strong { inside }
                } else {
                    Words::Emphasis { inside }
                },
            );
        }
        _ => {}
    }
}
