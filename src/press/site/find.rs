//! The find page and its index, worked out at press time.
//!
//! The index is a plain script (a page opened from a file cannot fetch): pages, places with their
//! text, and a sorted list of words with the places that each stands in.

use std::collections::{BTreeMap, HashMap};
use std::fmt::Write as _;

use serde::{Deserialize, Serialize};

use crate::press::view::Document;

use super::Site;
use super::begin::Subject;
use super::sheet::{Found, Sheet, script_json, script_text};

/// What the index says of one page, ready to be joined with that of others.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(crate) struct PageFound {
    /// Path and title as JSON.
    page: String,
    /// For each place a line: fragment, address, kind and text as JSON, without the bracket and the
    /// number of the page that go before.
    places: String,
    /// For each word a line: the word, the first and the last of its places, counted from 0 on this
    /// page, and the steps from each to the next, all with a space between.
    words: String,
}

impl PageFound {
    /// Takes it from a sheet.
    pub(super) fn of(sheet: &mut Sheet) -> Self {
        let code = match sheet.block.code.as_str() {
            crate::press::view::DASH => "",
            code => code,
        };
        let lead = sheet.lead.as_deref().unwrap_or_default();
        let whole = Found {
            fragment: String::new(),
            address: code.to_owned(),
            kind: "sheet".to_owned(),
            text: format!("{} {code}. {lead}", sheet.title),
        };
        let found = std::mem::take(&mut sheet.found_by);
        let all = std::iter::once(whole).chain(found);
        Self::with(&sheet.path, &sheet.title, all)
    }

    fn with(path: &str, title: &str, found: impl Iterator<Item = Found>) -> Self {
        let mut places = String::new();
        let mut words: BTreeMap<String, Vec<u32>> = BTreeMap::new();
        for (id, found) in (0..).zip(found) {
            add_words(&mut words, id, &found);
            let place = (&found.fragment, &found.address, &found.kind, &found.text);
            places.push_str(&script_text(&place)[1..]);
            places.push('\n');
        }
        // Kept for every page to the end of a press.
        places.shrink_to_fit();
        Self {
            page: script_text(&(path, title)),
            places,
            words: lines(words),
        }
    }
}

/// Adds the words of a place.
fn add_words(words: &mut BTreeMap<String, Vec<u32>>, id: u32, found: &Found) {
    let mut add = |word: String| {
        let places = words.entry(word).or_default();
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
}

/// Words with their places as [`PageFound::words`] has them.
fn lines(words: BTreeMap<String, Vec<u32>>) -> String {
    let mut out = String::new();
    for (word, places) in words {
        let (Some(first), Some(last)) = (places.first(), places.last()) else {
            continue;
        };
        let _ = write!(out, "{word} {first} {last}");
        for pair in places.windows(2) {
            let _ = write!(out, " {}", pair[1] - pair[0]);
        }
        out.push('\n');
    }
    out.shrink_to_fit();
    out
}

/// Where a word stands in the whole index.
#[derive(Default)]
struct Steps {
    /// Its places as differences: shorter, and still plain numbers.
    text: String,
    last: u32,
}

/// The index, page by page.
#[derive(Default)]
pub(super) struct Index<'a> {
    pages: Vec<&'a str>,
    /// The lines of each page.
    places: Vec<&'a str>,
    /// How many lines those are.
    count: u32,
    words: HashMap<&'a str, Steps>,
}

impl<'a> Index<'a> {
    /// Adds a page.
    pub(super) fn add(&mut self, found: &'a PageFound) {
        let base = self.count;
        self.pages.push(&found.page);
        self.places.push(&found.places);
        self.count += found.places.split_terminator('\n').count() as u32;
        for line in found.words.split_terminator('\n') {
            let mut parts = line.splitn(4, ' ');
            let word = parts.next().unwrap_or_default();
            let mut number = || parts.next().and_then(|n| n.parse::<u32>().ok());
            let (Some(first), Some(last)) = (number(), number()) else {
                continue;
            };
            let steps = self.words.entry(word).or_default();
            let gap = if steps.text.is_empty() { "" } else { " " };
            let _ = write!(steps.text, "{gap}{}", base + first - steps.last);
            if let Some(rest) = parts.next() {
                steps.text.push(' ');
                steps.text.push_str(rest);
            }
            steps.last = base + last;
        }
    }

    /// The script that hands the index to the page.
    pub(super) fn script(self) -> Vec<u8> {
        let mut words: Vec<(&str, Steps)> = self.words.into_iter().collect();
        words.sort_unstable_by_key(|(word, _)| *word);
        let mut out = "window.ropeleafIndex = {\"pages\":[".to_owned();
        list(&mut out, self.pages, |out, page| out.push_str(page));
        out.push_str("],\"places\":[");
        let places = self.places.iter().enumerate();
        let places = places.flat_map(|(page, lines)| {
            let lines = lines.split_terminator('\n');
            lines.map(move |place| (page, place))
        });
        list(&mut out, places, |out, (page, place)| {
            let _ = write!(out, "[{page},{place}");
        });
        out.push_str("],\"words\":[");
        list(&mut out, words, |out, (word, steps)| {
            let _ = write!(out, "[{},\"{}\"]", script_text(&word), steps.text);
        });
        out.push_str("]};\n");
        out.into_bytes()
    }
}

/// Writes items with a comma between.
fn list<T>(out: &mut String, items: impl IntoIterator<Item = T>, write: impl Fn(&mut String, T)) {
    for (i, item) in items.into_iter().enumerate() {
        if i > 0 {
            out.push(',');
        }
        write(out, item);
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

#[cfg(test)]
mod tests {
    use super::*;

    fn page(path: &str, title: &str, found: &[(&str, &str)]) -> PageFound {
        let found = found.iter().map(|(address, text)| Found {
            fragment: "A".to_owned(),
            address: (*address).to_owned(),
            kind: "zone".to_owned(),
            text: (*text).to_owned(),
        });
        PageFound::with(path, title, found)
    }

    #[test]
    fn the_index_counts_places_through_all_pages() {
        let one = page(
            "a.html",
            "A</b>",
            &[("", "hang, Hang"), ("", "pull \"low\""), ("", "hang low")],
        );
        let two = page("b.html", "B", &[("AS-1 A", "low"), ("", "hang")]);
        let mut index = Index::default();
        index.add(&one);
        index.add(&two);
        let want = "window.ropeleafIndex = {\"pages\":[[\"a.html\",\"A<\\/b>\"],[\"b.html\",\"B\"]],\"places\":[\
            [0,\"A\",\"\",\"zone\",\"hang, Hang\"],[0,\"A\",\"\",\"zone\",\"pull \\\"low\\\"\"],\
            [0,\"A\",\"\",\"zone\",\"hang low\"],[1,\"A\",\"AS-1 A\",\"zone\",\"low\"],[1,\"A\",\"\",\"zone\",\"hang\"]],\
            \"words\":[[\"1\",\"3\"],[\"a\",\"3\"],[\"as\",\"3\"],[\"as-1\",\"3\"],[\"hang\",\"0 2 2\"],\
            [\"low\",\"1 1 1\"],[\"pull\",\"1\"]]};\n";
        assert_eq!(String::from_utf8(index.script()).as_deref(), Ok(want));
    }
}
