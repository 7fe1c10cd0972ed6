//! What every print says of itself: title block, paper, language, cautions, interface words.

use serde::Serialize;
use serde_json::Value;

use crate::pack::{Pack, Paper};
use crate::press::view::{self, Document, Rich, TitleBlock};
use crate::press::words::Words;

/// Data that every template reads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Head {
    /// The title block's fields.
    #[serde(flatten)]
    fields: TitleBlock,
    /// Released or draft, in words.
    status: &'static str,
    /// Paper: `a4` or `letter`.
    paper: &'static str,
    /// Language of the text: `en`.
    lang: String,
    /// Region of the language tag: `GB`.
    region: Option<String>,
    /// Cautions; the first stands beside the sign.
    cautions: Vec<Vec<Rich>>,
    /// Names of the title block's fields.
    block: Value,
    /// Words of the templates.
    w: Value,
}

impl Head {
    /// The head of a print about `title`.
    pub fn new(pack: &Pack, document: Document, code: &str, title: &str, words: Words) -> Self {
        let mut tag = view::language(pack).split('-');
        let lang = tag.next().unwrap_or("en").to_lowercase();
        let region = tag.find(|part| part.len() == 2).map(str::to_uppercase);
        let released = pack.approved_by.is_some() && pack.dated.is_some();
        let tree = |key: &str| words.tree().get(key).cloned().unwrap_or_default();
        Self {
            fields: view::title_block(pack, document, title, code, (1, 1), words),
            status: words.get(if released {
                "print.released"
            } else {
                "print.draft"
            }),
            paper: match pack.paper {
                Paper::A4 => "a4",
                Paper::UsLetter => "letter",
            },
            lang,
            region,
            cautions: cautions(pack, document, words),
            block: tree("block"),
            w: tree("print"),
        }
    }
}

/// In the handout, the book and the plan all that pages say; elsewhere the shortest that says it. The pack's own always
/// stand last.
fn cautions(pack: &Pack, document: Document, words: Words) -> Vec<Vec<Rich>> {
    let line = words.get("caution.line");
    let own = || pack.caution.iter().cloned();
    let short = |first: &'static str, rest: Vec<&'static str>| {
        let built_in = std::iter::once(first).chain(rest).map(str::to_owned);
        built_in.chain(own()).collect()
    };
    let mut all: Vec<String> = match document {
        Document::Handout | Document::Day => view::cautions(pack, document, words),
        Document::Book => {
            let built_in = ["caution.every", "caution.lesson", "caution.course"];
            let built_in = built_in.into_iter().flat_map(|key| words.list(key));
            built_in.map(str::to_owned).chain(own()).collect()
        }
        Document::Marking => short(words.get("print.caution_marking"), vec![line]),
        Document::Record | Document::Pairings => short(line, words.list("caution.kit")),
        Document::Outcomes => short(line, words.list("caution.course")),
        _ => short(line, words.list("print.caution_sheet")),
    };
    let first = if all.is_empty() {
        String::new()
    } else {
        all.remove(0)
    };
    let text = |text: String| Rich::Text { text };
    std::iter::once(strong_start(&first))
        .chain(all.into_iter().map(|caution| vec![text(caution)]))
        .collect()
}

/// A caution with its first sentence strong.
fn strong_start(caution: &str) -> Vec<Rich> {
    let (first, rest) = caution
        .split_once(". ")
        .map_or((caution.to_owned(), String::new()), |(a, b)| {
            (format!("{a}."), format!(" {b}"))
        });
    vec![
        Rich::Strong {
            inside: vec![Rich::Text { text: first }],
        },
        Rich::Text { text: rest },
    ]
}
