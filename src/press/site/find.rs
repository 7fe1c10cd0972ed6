//! The find page and its index, worked out at press time.
//!
//! The index is a plain script (a page opened from a file cannot fetch): pages, places with their
//! text, and a sorted list of words with the places that each stands in.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::json;

use crate::press::view::Document;

use super::Site;
use super::begin::Subject;
use super::sheet::{Sheet, script_json};

/// What the index holds.
pub(super) struct Index {
    pages: Vec<(String, String)>,
    /// Page, fragment, address, kind, text.
    places: Vec<(usize, String, String, &'static str, String)>,
    words: BTreeMap<String, BTreeSet<usize>>,
}

impl Index {
    /// Gathers what all sheets say.
    pub(super) fn of(sheets: &[Sheet]) -> Self {
        let mut index = Self {
            pages: Vec::new(),
            places: Vec::new(),
            words: BTreeMap::new(),
        };
        for sheet in sheets {
            let page = index.pages.len();
            index.pages.push((sheet.path.clone(), sheet.title.clone()));
            let lead = sheet.lead.clone().unwrap_or_default();
            let code = if sheet.block.code == crate::press::view::DASH {
                ""
            } else {
                &sheet.block.code
            };
            let whole = format!("{} {code}. {lead}", sheet.title);
            index.place(page, "", code, "sheet", &whole);
            for found in &sheet.found_by {
                index.place(
                    page,
                    &found.fragment,
                    &found.address,
                    found.kind,
                    &found.text,
                );
            }
        }
        index
    }

    fn place(
        &mut self,
        page: usize,
        fragment: &str,
        address: &str,
        kind: &'static str,
        text: &str,
    ) {
        let id = self.places.len();
        for word in words_of(text).chain(words_of(address)) {
            self.words.entry(word).or_default().insert(id);
        }
        // An address is also found whole: `as-04`, `as-04 c3`.
        for part in address.to_lowercase().split(' ').filter(|p| !p.is_empty()) {
            self.words.entry(part.to_owned()).or_default().insert(id);
        }
        self.places.push((
            page,
            fragment.to_owned(),
            address.to_owned(),
            kind,
            text.to_owned(),
        ));
    }

    /// The script that hands the index to the page.
    pub(super) fn script(&self) -> String {
        // Places of a word as differences: shorter, and still plain numbers.
        let words: Vec<_> = self
            .words
            .iter()
            .map(|(word, places)| {
                let mut last = 0;
                let steps = places.iter().map(|place| {
                    let step = place - last;
                    last = *place;
                    step.to_string()
                });
                json!([word, steps.collect::<Vec<_>>().join(" ")])
            })
            .collect();
        let data = json!({"pages": self.pages, "places": self.places, "words": words});
        format!("window.ropeleafIndex = {};\n", script_json(&data))
    }
}

/// The words of a text as the page's script cuts them: letters and digits of any language, lower
/// case, marks taken off.
fn words_of(text: &str) -> impl Iterator<Item = String> + '_ {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
}

/// Builds the find page.
///
/// - `lessons_zone`: letter of the front's zone that lists every lesson.
/// - `cautions_zone`: letter of the front's cautions.
pub(super) fn sheet(site: &Site<'_>, lessons_zone: &str, cautions_zone: String) -> Sheet {
    let words = site.words;
    let mut sheet = site.begin(&Subject {
        path: "find.html".to_owned(),
        current: "find",
        document: Document::Pack,
        title: words.get("find.title"),
        code: "",
        place: (1, 1),
    });
    sheet.template = "find.html";
    sheet.caution_zone = cautions_zone;
    sheet.all_lessons = Some(format!("index.html#{lessons_zone}"));
    sheet.description = words.get("find.help").to_owned();
    sheet.say_html = words.tree().get("find").map(script_json);
    sheet
}
