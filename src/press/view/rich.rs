//! A stretch of lesson text as a tree of plain data, values of rigs filled in.
//!
//! ```text
//! Flow (events + asked values) ─rich→ Vec<Rich> ─→ HTML, plain text (crate::press::text)
//!                                               └→ JSON for the print templates
//! ```
//!
//! The tree is the only reading of the events: screen, paper and search say the same. Raw HTML has
//! no node, so that what an author writes as HTML comes out as text.

use pulldown_cmark::{CodeBlockKind, Event, Tag, TagEnd};
use serde::Serialize;

use crate::pack::{Flow, Inline};
use crate::quantity::quantity_text;
use crate::rules::Proof;
use crate::value;

use super::DASH;

/// A piece of text. In JSON each is an object whose `kind` is the variant in kebab-case.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Rich {
    /// A paragraph.
    Paragraph {
        /// What it says.
        inside: Vec<Rich>,
    },
    /// A heading below those that begin a section.
    Heading {
        /// 1 to 6, as written.
        level: u8,
        /// What it says.
        inside: Vec<Rich>,
    },
    /// A list.
    List {
        /// First number; `None` for a list without numbers.
        start: Option<u64>,
        /// What stands in each item.
        items: Vec<Vec<Rich>>,
    },
    /// A table; a row is a list of cells.
    Table {
        /// The heading row.
        head: Vec<Vec<Rich>>,
        /// The other rows.
        rows: Vec<Vec<Vec<Rich>>>,
    },
    /// A quotation.
    Quote {
        /// What it says.
        inside: Vec<Rich>,
    },
    /// Text that is kept as typed.
    Typed {
        /// The letters, with their line ends.
        text: String,
    },
    /// A break between two subjects.
    Rule,
    /// Plain letters.
    Text {
        /// The letters.
        text: String,
    },
    /// A value of a rig.
    Value {
        /// As a reader sees it, unit included.
        text: String,
    },
    /// Strong.
    Strong {
        /// What is strong.
        inside: Vec<Rich>,
    },
    /// Emphasised.
    Emphasis {
        /// What is emphasised.
        inside: Vec<Rich>,
    },
    /// Inline code.
    Code {
        /// The letters.
        text: String,
    },
    /// A link.
    Link {
        /// Where to, as written.
        to: String,
        /// What it says.
        inside: Vec<Rich>,
    },
    /// An author's picture.
    Picture {
        /// Path below `pictures/`.
        file: String,
        /// What it shows.
        alt: String,
    },
    /// A new line.
    Break,
    /// A mark that points to a footnote.
    Mark {
        /// The note's name.
        note: String,
    },
    /// A footnote's text.
    Note {
        /// Its name.
        note: String,
        /// What it says.
        inside: Vec<Rich>,
    },
    /// The box of a task list.
    Task {
        /// Whether it is ticked.
        done: bool,
    },
}

/// What is open while events are read.
enum Open {
    Pieces(Tag<'static>),
    List(Option<u64>, Vec<Vec<Rich>>),
    Table(Vec<Vec<Rich>>, Vec<Vec<Vec<Rich>>>),
    Row(Vec<Vec<Rich>>),
}

/// Reads a stretch of text. A value that a rig does not have is an error of the proof; should one
/// come this far it shows as a dash.
pub fn rich(flow: &Flow, proof: &Proof) -> Vec<Rich> {
    let mut reader = Reader {
        open: Vec::new(),
        inside: vec![Vec::new()],
    };
    for inline in flow {
        match inline {
            Inline::Value(asked) => {
                let pack = &proof.reading.pack;
                let found =
                    value::evaluate(pack.rig(asked.rig), &proof.solved(asked.rig), asked.path);
                let text = found.map_or_else(|| DASH.to_owned(), |q| quantity_text(q, pack.units));
                reader.push(Rich::Value { text });
            }
            other => other.event().iter().for_each(|event| reader.take(event)),
        }
    }
    while let Some(open) = reader.open.pop() {
        reader.close(open);
    }
    reader.inside.pop().unwrap_or_default()
}

/// The same text as one run without blocks: paragraphs and items become breaks. For places that
/// have room for a line or two: a step, a criterion, a heading.
pub fn rich_run(flow: &Flow, proof: &Proof) -> Vec<Rich> {
    as_run(rich(flow, proof))
}

/// A tree without its blocks: paragraphs and items become breaks.
pub fn as_run(pieces: Vec<Rich>) -> Vec<Rich> {
    let mut out = Vec::new();
    flatten(pieces, &mut out);
    while out.last() == Some(&Rich::Break) {
        out.pop();
    }
    out
}

fn flatten(pieces: Vec<Rich>, out: &mut Vec<Rich>) {
    for piece in pieces {
        match piece {
            Rich::Paragraph { inside }
            | Rich::Heading { inside, .. }
            | Rich::Quote { inside }
            | Rich::Note { inside, .. } => {
                flatten(inside, out);
                out.push(Rich::Break);
            }
            Rich::List { items, .. } => {
                for item in items {
                    flatten(item, out);
                    if out.last() != Some(&Rich::Break) {
                        out.push(Rich::Break);
                    }
                }
            }
            Rich::Table { head, rows } => {
                for row in std::iter::once(head).chain(rows) {
                    for cell in row {
                        flatten(cell, out);
                        out.push(Rich::Text { text: " ".into() });
                    }
                    out.push(Rich::Break);
                }
            }
            Rich::Typed { text } => out.push(Rich::Code { text }),
            Rich::Rule => out.push(Rich::Break),
            other => out.push(other),
        }
    }
}

struct Reader {
    open: Vec<Open>,
    /// Finished pieces at each open level; the first is the whole.
    inside: Vec<Vec<Rich>>,
}

impl Reader {
    fn push(&mut self, piece: Rich) {
        if let Some(inside) = self.inside.last_mut() {
            inside.push(piece);
        }
    }

    fn begin(&mut self, open: Open) {
        self.open.push(open);
        self.inside.push(Vec::new());
    }

    fn take(&mut self, event: &Event<'_>) {
        let text = |text: &str| Rich::Text {
            text: text.to_owned(),
        };
        match event {
            Event::Start(tag) => self.start(tag),
            Event::End(end) => self.end(*end),
            Event::Text(t) | Event::Html(t) | Event::InlineHtml(t) => self.push(text(t)),
            Event::InlineMath(t) | Event::DisplayMath(t) | Event::Code(t) => {
                self.push(Rich::Code {
                    text: t.to_string(),
                });
            }
            Event::SoftBreak => self.push(text(" ")),
            Event::HardBreak => self.push(Rich::Break),
            Event::Rule => self.push(Rich::Rule),
            Event::FootnoteReference(note) => self.push(Rich::Mark {
                note: note.to_string(),
            }),
            Event::TaskListMarker(done) => self.push(Rich::Task { done: *done }),
        }
    }

    fn start(&mut self, tag: &Tag<'_>) {
        match tag {
            Tag::List(start) => self.begin(Open::List(*start, Vec::new())),
            Tag::Table(_) => self.begin(Open::Table(Vec::new(), Vec::new())),
            Tag::TableHead | Tag::TableRow => self.begin(Open::Row(Vec::new())),
            other => self.begin(Open::Pieces(other.clone().into_static())),
        }
    }

    fn end(&mut self, _end: TagEnd) {
        if let Some(open) = self.open.pop() {
            self.close(open);
        }
    }

    /// Closes the innermost open thing and hands it to the one around it.
    fn close(&mut self, open: Open) {
        let inside = self.inside.pop().unwrap_or_default();
        match open {
            Open::Pieces(Tag::Item) => match self.open.last_mut() {
                Some(Open::List(_, items)) => items.push(inside),
                _ => self.extend(inside),
            },
            Open::Pieces(Tag::TableCell) => match self.open.last_mut() {
                Some(Open::Row(cells)) => cells.push(inside),
                _ => self.extend(inside),
            },
            Open::Pieces(tag) => self.close_pieces(tag, inside),
            Open::List(start, items) => self.push(Rich::List { start, items }),
            Open::Table(head, rows) => self.push(Rich::Table { head, rows }),
            Open::Row(cells) => {
                if let Some(Open::Table(head, rows)) = self.open.last_mut() {
                    if head.is_empty() && rows.is_empty() {
                        *head = cells;
                    } else {
                        rows.push(cells);
                    }
                }
            }
        }
    }

    fn close_pieces(&mut self, tag: Tag<'static>, inside: Vec<Rich>) {
        let piece = match tag {
            Tag::Paragraph => Rich::Paragraph { inside },
            Tag::Heading { level, .. } => Rich::Heading {
                level: level as u8,
                inside,
            },
            Tag::BlockQuote(_) => Rich::Quote { inside },
            Tag::CodeBlock(CodeBlockKind::Fenced(_) | CodeBlockKind::Indented) => Rich::Typed {
                text: letters(&inside),
            },
            Tag::Strong => Rich::Strong { inside },
            Tag::Emphasis => Rich::Emphasis { inside },
            Tag::Link { dest_url, .. } => Rich::Link {
                to: dest_url.to_string(),
                inside,
            },
            Tag::Image { dest_url, .. } => Rich::Picture {
                file: picture_file(&dest_url).to_owned(),
                alt: letters(&inside),
            },
            Tag::FootnoteDefinition(note) => Rich::Note {
                note: note.to_string(),
                inside,
            },
            _ => return self.extend(inside),
        };
        self.push(piece);
    }

    fn extend(&mut self, pieces: Vec<Rich>) {
        if let Some(inside) = self.inside.last_mut() {
            inside.extend(pieces);
        }
    }
}

/// The path below `pictures/` of a picture's destination as written.
pub fn picture_file(dest: &str) -> &str {
    let path = dest.trim_start_matches("../").trim_start_matches("./");
    path.strip_prefix("pictures/").unwrap_or(path)
}

/// All letters of a tree, without any mark.
pub fn letters(pieces: &[Rich]) -> String {
    let mut out = String::new();
    gather(pieces, &mut out);
    out
}

fn gather(pieces: &[Rich], out: &mut String) {
    let space = |out: &mut String| {
        if !out.is_empty() && !out.ends_with(char::is_whitespace) {
            out.push(' ');
        }
    };
    for piece in pieces {
        match piece {
            Rich::Text { text }
            | Rich::Value { text }
            | Rich::Code { text }
            | Rich::Typed { text } => out.push_str(text),
            Rich::Strong { inside } | Rich::Emphasis { inside } | Rich::Link { inside, .. } => {
                gather(inside, out);
            }
            Rich::Paragraph { inside }
            | Rich::Heading { inside, .. }
            | Rich::Quote { inside }
            | Rich::Note { inside, .. } => {
                space(out);
                gather(inside, out);
                space(out);
            }
            Rich::List { items, .. } => {
                for item in items {
                    space(out);
                    gather(item, out);
                }
                space(out);
            }
            Rich::Table { head, rows } => {
                for cell in std::iter::once(head).chain(rows).flatten() {
                    space(out);
                    gather(cell, out);
                }
                space(out);
            }
            Rich::Picture { alt, .. } => out.push_str(alt),
            Rich::Break | Rich::Rule => space(out),
            Rich::Mark { .. } | Rich::Task { .. } => {}
        }
    }
}
