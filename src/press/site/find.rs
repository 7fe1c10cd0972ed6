//! The find page and its index, worked out at press time.
//!
//! The index is a plain script (a page opened from a file cannot fetch): pages, places with their
//! text, and a sorted list of words with the places that each stands in.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::{Deserialize, Serialize};

use crate::press::view::Document;

use super::Site;
use super::begin::Subject;
use super::sheet::{self, Found, Sheet, script_json};

/// What the index says of one page.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct PageFound {
    path: String,
    title: String,
    code: String,
    lead: String,
    found: Vec<Found>,
}

impl PageFound {
    /// Takes it from a sheet.
    pub(super) fn of(sheet: &mut Sheet) -> Self {
        let code = match sheet.block.code.as_str() {
            crate::press::view::DASH => "",
            code => code,
        };
        Self {
            path: sheet.path.clone(),
            title: sheet.title.clone(),
            code: code.to_owned(),
            lead: sheet.lead.clone().unwrap_or_default(),
            found: std::mem::take(&mut sheet.found_by),
        }
    }
}

/// A page's path and title.
type Page = (String, String);

/// Page, fragment, address, kind, text.
type FoundPlace = (u32, String, String, String, String);

/// The index as its script says it.
#[derive(Serialize)]
struct Written {
    pages: Vec<Page>,
    places: Vec<FoundPlace>,
    words: Vec<(String, String)>,
}

/// What the index holds.
#[derive(Default)]
pub(super) struct Index {
    pages: Vec<Page>,
    places: Vec<FoundPlace>,
    /// For each word its places, in order.
    words: BTreeMap<String, Vec<u32>>,
}

impl Index {
    /// Adds a page.
    pub(super) fn add(&mut self, sheet: PageFound) {
        let page = self.pages.len() as u32;
        let whole = format!("{} {}. {}", sheet.title, sheet.code, sheet.lead);
        self.pages.push((sheet.path, sheet.title));
        self.place(
            page,
            Found {
                fragment: String::new(),
                address: sheet.code,
                kind: "sheet".to_owned(),
                text: whole,
            },
        );
        for found in sheet.found {
            self.place(page, found);
        }
    }

    fn place(&mut self, page: u32, found: Found) {
        let id = self.places.len() as u32;
        let mut add = |word: String| {
            let places = self.words.entry(word).or_default();
            if places.last() != Some(&id) {
                places.push(id);
            }
        };
        words_of(&found.text).for_each(&mut add);
        words_of(&found.address).for_each(&mut add);
        // An address is also found whole: `as-04`, `as-04 c3`.
        let lower = found.address.to_lowercase();
        let parts = lower.split(' ').filter(|part| !part.is_empty());
        parts.map(str::to_owned).for_each(&mut add);
        self.places
            .push((page, found.fragment, found.address, found.kind, found.text));
    }

    /// The script that hands the index to the page.
    pub(super) fn script(self) -> Vec<u8> {
        // Places of a word as differences: shorter, and still plain numbers.
        let words = self.words.into_iter().map(|(word, places)| {
            let mut last = 0;
            let mut steps = String::new();
            for place in places {
                let gap = if steps.is_empty() { "" } else { " " };
                let _ = write!(steps, "{gap}{}", place - last);
                last = place;
            }
            (word, steps)
        });
        let data = Written {
            pages: self.pages,
            places: self.places,
            words: words.collect(),
        };
        sheet::script_file("window.ropeleafIndex", &data)
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
