//! The find page and its index, worked out at press time.
//!
//! The index is a plain script (a page opened from a file cannot fetch): pages, places with their
//! text, and a sorted list of words with the places that each stands in.

use std::cmp::Ordering;
use std::collections::HashMap;
use std::fmt::Write as _;
use std::ops::Range;

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
        let mut words = PageWords::default();
        for (id, found) in (0..).zip(found) {
            words.add(id, &found);
            let place = (&found.fragment, &found.address, &found.kind, &found.text);
            places.push_str(&script_text(&place)[1..]);
            places.push('\n');
        }
        // Kept for every page to the end of a press.
        places.shrink_to_fit();
        Self {
            page: script_text(&(path, title)),
            places,
            words: words.lines(),
        }
    }
}

/// The words of one page with the places that each stands in.
#[derive(Default)]
struct PageWords {
    /// Their letters, one word after the other.
    letters: String,
    /// Words as they come.
    all: Vec<Word>,
}

/// A word at a place.
struct Word {
    /// Its first bytes, the first in front, so that most words are told apart by one number. No
    /// word has a zero byte.
    begin: u64,
    /// Where its letters stand.
    letters: Range<u32>,
    place: u32,
}

impl Word {
    fn of<'a>(&self, letters: &'a str) -> &'a str {
        &letters[self.letters.start as usize..self.letters.end as usize]
    }

    /// By letters, whatever the places.
    fn cmp(&self, other: &Self, letters: &str) -> Ordering {
        let rest = || self.of(letters).cmp(other.of(letters));
        self.begin.cmp(&other.begin).then_with(rest)
    }

    fn is_same(&self, other: &Self, letters: &str) -> bool {
        self.begin == other.begin && self.of(letters) == other.of(letters)
    }
}

impl PageWords {
    /// Adds the words of a place.
    fn add(&mut self, id: u32, found: &Found) {
        // As the page's script cuts them: letters and digits of any language, lower case, marks
        // taken off.
        for text in [&found.text, &found.address] {
            let words = text.split(|c: char| !c.is_alphanumeric());
            words.for_each(|word| self.add_word(word, id));
        }
        // An address is also found whole: `as-04`, `as-04 c3`.
        let parts = found.address.split(' ');
        parts.for_each(|part| self.add_word(part, id));
    }

    fn add_word(&mut self, word: &str, id: u32) {
        if word.is_empty() {
            return;
        }
        let start = self.letters.len();
        if word.is_ascii() {
            self.letters.push_str(word);
            self.letters[start..].make_ascii_lowercase();
        } else {
            self.letters.push_str(&word.to_lowercase());
        }
        let mut begin = [0; 8];
        let bytes = self.letters[start..].bytes();
        begin
            .iter_mut()
            .zip(bytes)
            .for_each(|(to, byte)| *to = byte);
        self.all.push(Word {
            begin: u64::from_be_bytes(begin),
            letters: start as u32..self.letters.len() as u32,
            place: id,
        });
    }

    /// As [`PageFound::words`] has them.
    fn lines(mut self) -> String {
        let letters = &self.letters;
        self.all
            .sort_unstable_by(|a, b| a.cmp(b, letters).then(a.place.cmp(&b.place)));
        self.all
            .dedup_by(|b, a| a.place == b.place && a.is_same(b, letters));
        let mut out = String::with_capacity(letters.len());
        for word in self.all.chunk_by(|a, b| a.is_same(b, letters)) {
            let ends = [word[0].place, word[word.len() - 1].place];
            let steps = word.windows(2).map(|pair| pair[1].place - pair[0].place);
            out.push_str(word[0].of(letters));
            for number in ends.into_iter().chain(steps) {
                out.push(' ');
                push_number(&mut out, number);
            }
            out.push('\n');
        }
        out.shrink_to_fit();
        out
    }
}

fn push_number(out: &mut String, number: u32) {
    if number >= 10 {
        push_number(out, number / 10);
    }
    out.push(char::from(b'0' + (number % 10) as u8));
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
        // Room for all of it: of a large pack a text that grows takes its size twice over.
        let pages: usize = self.pages.iter().map(|page| page.len() + 1).sum();
        let number = self.pages.len().to_string().len();
        let places: usize = self.places.iter().map(|lines| lines.len()).sum();
        let places = places + self.count as usize * (number + "[,,".len());
        let of_words = words.iter();
        let of_words = of_words.map(|(word, steps)| 2 * word.len() + steps.text.len() + 10);
        let words_room: usize = of_words.sum();
        let mut out = String::with_capacity(pages + places + words_room + 100);
        out.push_str("window.ropeleafIndex = {\"pages\":[");
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
