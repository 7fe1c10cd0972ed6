//! What every print says of itself: title block, paper, language, cautions.

use serde::Serialize;

use crate::pack::Pack;

use super::words::Words;

/// Said on every print, beside the warning sign.
const TEACHING_AID: (&str, &str) = (
    "Teaching aid.",
    " The maker’s instructions, local codes and a competent supervisor come first.",
);

/// What the computed numbers leave out.
const LEFT_OUT: &str = "Pulls are for a climber who keeps still, with lines that do not stretch; \
    moving, slack and stretch add. Look at the wood of every anchor.";

/// Data that every template reads.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Head {
    /// `a4`.
    pub paper: &'static str,
    /// Language: `en`.
    pub language: String,
    /// Region of the language tag: `GB`.
    pub region: Option<String>,
    /// Title of the thing.
    pub title: String,
    /// Identification number.
    pub code: String,
    /// Kind of print: `Technique sheet`.
    pub document: &'static str,
    /// Who answers for it.
    pub owner: String,
    /// Who prepared it; empty where the pack does not say.
    pub prepared_by: String,
    /// Who approved it; empty where the pack does not say.
    pub approved_by: String,
    /// `Released` where somebody approved it and it is dated, else `Draft`.
    pub status: &'static str,
    /// Revision.
    pub revision: String,
    /// Date of issue.
    pub issued: String,
    /// Cautions; the first stands beside the sign.
    pub cautions: Vec<Vec<Words>>,
}

impl Head {
    /// The head of a print about `title`.
    pub fn new(pack: &Pack, document: &'static str, code: &str, title: &str) -> Self {
        let mut tag = pack.language.split('-');
        let language = tag.next().filter(|l| !l.is_empty()).unwrap_or("en");
        let region = tag.find(|part| part.len() == 2);
        let released = pack.approved_by.is_some() && pack.dated.is_some();
        Self {
            paper: "a4",
            language: language.to_lowercase(),
            region: region.map(str::to_uppercase),
            title: title.to_owned(),
            code: code.to_owned(),
            document,
            owner: pack
                .organisation
                .clone()
                .unwrap_or_else(|| pack.title.clone()),
            prepared_by: pack.prepared_by.clone().unwrap_or_default(),
            approved_by: pack.approved_by.clone().unwrap_or_default(),
            status: if released { "Released" } else { "Draft" },
            revision: pack.revision.clone().unwrap_or_default(),
            issued: pack.dated.map_or_else(String::new, |d| d.to_string()),
            cautions: cautions(pack),
        }
    }
}

/// The built-in cautions, then the pack's.
fn cautions(pack: &Pack) -> Vec<Vec<Words>> {
    let text = |text: &str| Words::Text {
        text: text.to_owned(),
    };
    let (name, rest) = TEACHING_AID;
    let aid = vec![
        Words::Strong {
            inside: vec![text(name)],
        },
        text(rest),
    ];
    let own = pack.caution.iter().map(|c| vec![text(c)]);
    [aid, vec![text(LEFT_OUT)]].into_iter().chain(own).collect()
}
