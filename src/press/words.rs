//! Interface words: everything that pages say on their own, one file a language.
//!
//! ```text
//! theme/words/LANGUAGE.toml ─for_language→ Words ─→ templates (`w.…`), scripts, the view model
//! own/words/LANGUAGE.toml of a pack ─of_pack→ over them
//! ```
//!
//! A file is a tree of TOML tables whose leaves are texts; `{name}` in a text is filled in by the
//! code that uses it. Every file has the keys of the English one.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::{LazyLock, Mutex, PoisonError};

use serde_json::Value;
use toml::de::{DeTable, DeValue};

use crate::finding::nearest;
use crate::pack::Pack;

use super::{own, view};

/// The languages that there are words for; the first is used where a pack's own is not among them.
const LANGUAGES: &[(&str, &str)] = &[
    ("en", include_str!("../../theme/words/en.toml")),
    ("de", include_str!("../../theme/words/de.toml")),
];

/// The table whose texts a pack can add to and not replace.
const CAUTIONS: &str = "caution";

static READ: LazyLock<Vec<(&str, Value)>> = LazyLock::new(|| {
    let read = LANGUAGES.iter().map(|(tag, text)| (*tag, tree_of(text)));
    read.collect()
});

/// Words of packs of their own, by language and text. They stay as long as the program: a run meets
/// one such file, the preview one more for each change of it.
static OF_PACKS: Mutex<BTreeMap<(String, String), Words>> = Mutex::new(BTreeMap::new());

fn tree_of(text: &str) -> Value {
    let table = text.parse::<toml::Table>().unwrap_or_default();
    serde_json::to_value(table).unwrap_or_default()
}

/// The part of a language tag that words are kept by: `de` of `de-AT`.
fn primary(tag: &str) -> &str {
    tag.split('-').next().unwrap_or(tag)
}

/// The tags whose words serve a language, the closest first: `de-AT`, `de`.
pub(super) fn tags(language: &str) -> [&str; 2] {
    [language, primary(language)]
}

/// Whether the program brings words for a language.
pub fn has_language(tag: &str) -> bool {
    LANGUAGES
        .iter()
        .any(|(own, _)| own.eq_ignore_ascii_case(primary(tag)))
}

/// The words of one language.
#[derive(Debug, Clone, Copy)]
pub struct Words {
    tag: &'static str,
    tree: &'static Value,
}

impl Words {
    /// The words for a language tag such as `en` or `en-GB`; English where there are none.
    pub fn for_language(tag: &str) -> Self {
        let own = READ
            .iter()
            .find(|(t, _)| t.eq_ignore_ascii_case(primary(tag)));
        let (tag, tree) = own.unwrap_or(&READ[0]);
        Self { tag, tree }
    }

    /// The words of a pack: its own before ours, where it brings some for its language.
    pub fn of_pack(pack: &Pack) -> Self {
        let language = view::language(pack);
        let ours = Self::for_language(language);
        let paths = tags(language).map(|tag| format!("words/{tag}.toml"));
        let Some(text) = paths.iter().find_map(|path| own::text(pack, path)) else {
            return ours;
        };
        let mut known = OF_PACKS.lock().unwrap_or_else(PoisonError::into_inner);
        let key = (language.to_owned(), text.to_owned());
        *known.entry(key).or_insert_with(|| {
            let mut tree = ours.tree.clone();
            merge(&mut tree, &tree_of(text));
            Self {
                tag: Box::leak(language.to_owned().into_boxed_str()),
                tree: Box::leak(Box::new(tree)),
            }
        })
    }

    /// The language of these words.
    pub const fn language(self) -> &'static str {
        self.tag
    }

    /// The whole tree, for templates.
    pub const fn tree(self) -> &'static Value {
        self.tree
    }

    /// A text by its dotted key: `"numbers.share"`. A key that does not exist is a slip in our own
    /// code, shown as the key.
    pub fn get(self, key: &'static str) -> &'static str {
        let found = key.split('.').try_fold(self.tree, |at, part| at.get(part));
        debug_assert!(found.is_some_and(Value::is_string), "no words for {key}");
        found.and_then(Value::as_str).unwrap_or(key)
    }

    /// All texts of a list.
    pub fn list(self, key: &'static str) -> Vec<&'static str> {
        let found = key.split('.').try_fold(self.tree, |at, part| at.get(part));
        debug_assert!(found.is_some_and(Value::is_array), "no list of words {key}");
        let texts = found.and_then(Value::as_array).into_iter().flatten();
        texts.filter_map(Value::as_str).collect()
    }

    /// A text with its `{name}`s filled in.
    pub fn fill(self, key: &'static str, values: &[(&str, &str)]) -> String {
        let mut out = String::new();
        let mut rest = self.get(key);
        while let Some((before, after)) = rest.split_once('{') {
            let (name, tail) = after.split_once('}').unwrap_or((after, ""));
            let value = values.iter().find(|(n, _)| *n == name).map(|(_, v)| *v);
            debug_assert!(value.is_some(), "nothing to fill {{{name}}} of {key} with");
            out.push_str(before);
            out.push_str(value.unwrap_or_default());
            rest = tail;
        }
        out.push_str(rest);
        out
    }

    /// One of two texts by number: `KEY.one` for 1, else `KEY.many`; `{n}` is the number.
    pub fn count(self, one: &'static str, many: &'static str, n: usize) -> String {
        self.fill(if n == 1 { one } else { many }, &[("n", &n.to_string())])
    }
}

/// Puts the texts of `over` in the place of those of `base`; what `base` does not have is left out.
fn merge(base: &mut Value, over: &Value) {
    let (Value::Object(base), Value::Object(over)) = (base, over) else {
        return;
    };
    for (key, text) in over {
        if let Some(own) = base.get_mut(key) {
            if own.is_object() {
                merge(own, text);
            } else {
                own.clone_from(text);
            }
        }
    }
}

/// Something wrong in a pack's file of words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Fault {
    /// Bytes of the file.
    pub(super) at: Range<usize>,
    /// What is wrong.
    pub(super) message: String,
    /// What to write instead.
    pub(super) help: Option<String>,
}

/// What is wrong in a pack's words for a language: TOML that cannot be read, texts that are not
/// ours, places to fill in that are missing or made up, cautions taken away.
pub(super) fn faults(text: &str, language: &str) -> Vec<Fault> {
    let table = match DeTable::parse(text) {
        Ok(table) => table,
        Err(error) => {
            let at = error.span().unwrap_or(0..0);
            let message = error.message().to_owned();
            let help = None;
            return vec![Fault { at, message, help }];
        }
    };
    let mut found = Vec::new();
    let ours = Words::for_language(language).tree;
    table_faults(
        table.get_ref(),
        ours,
        "",
        has_language(language),
        &mut found,
    );
    found
}

fn table_faults(
    table: &DeTable<'_>,
    ours: &Value,
    path: &str,
    known_language: bool,
    found: &mut Vec<Fault>,
) {
    for (key, value) in table {
        let name: &str = key.get_ref();
        let dotted = if path.is_empty() {
            name.to_owned()
        } else {
            format!("{path}.{name}")
        };
        let mut say = |at: Range<usize>, message: String, help: Option<String>| {
            found.push(Fault { at, message, help });
        };
        let Some(own) = ours.get(name) else {
            let keys = ours.as_object().into_iter().flat_map(|map| map.keys());
            let near = nearest(name, keys.map(String::as_str));
            let help = near.map(|near| format!("the nearest name is {near}"));
            say(
                key.span(),
                format!("no text of ours is named {dotted}"),
                help,
            );
            continue;
        };
        if dotted == CAUTIONS && known_language {
            let help = "add yours with `caution` in pack.toml".to_owned();
            let message = "the built-in cautions cannot be replaced".to_owned();
            say(key.span(), message, Some(help));
            continue;
        }
        match (own, value.get_ref()) {
            (Value::Object(_), DeValue::Table(inner)) => {
                table_faults(inner, own, &dotted, known_language, found);
            }
            (Value::String(base), DeValue::String(text)) => {
                let (want, have) = (places(base), places(text));
                if want != have {
                    let help = format!("ours is filled in at {}", listed(&want));
                    let message = format!("{dotted} is filled in at {}", listed(&have));
                    say(value.span(), message, Some(help));
                }
            }
            (Value::Array(base), DeValue::Array(texts)) => {
                let all_texts = texts
                    .iter()
                    .all(|t| matches!(t.get_ref(), DeValue::String(_)));
                if !all_texts || texts.len() < base.len() {
                    let message = format!("{dotted} holds {} texts at least", base.len());
                    say(value.span(), message, None);
                }
            }
            (Value::Object(_), _) => say(value.span(), format!("{dotted} is a table"), None),
            (Value::Array(_), _) => say(value.span(), format!("{dotted} is a list of texts"), None),
            _ => say(value.span(), format!("{dotted} is a text"), None),
        }
    }
}

/// The names in braces of a text, each once, in order of the alphabet.
fn places(text: &str) -> Vec<&str> {
    let mut names: Vec<&str> = text
        .split('{')
        .skip(1)
        .filter_map(|rest| rest.split_once('}').map(|(name, _)| name))
        .collect();
    names.sort_unstable();
    names.dedup();
    names
}

fn listed(names: &[&str]) -> String {
    if names.is_empty() {
        return "no place".to_owned();
    }
    let each = names.iter().map(|name| format!("{{{name}}}"));
    each.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every text by its dotted key with the places to fill in; a list's texts by their number.
    fn texts<'a>(at: &'a Value, path: &str, out: &mut Vec<(String, Vec<&'a str>)>) {
        match at {
            Value::Object(map) => {
                for (key, inner) in map {
                    texts(inner, &format!("{path}.{key}"), out);
                }
            }
            Value::Array(list) => {
                for (i, inner) in list.iter().enumerate() {
                    texts(inner, &format!("{path}.{i}"), out);
                }
            }
            leaf => out.push((path.to_owned(), places(leaf.as_str().unwrap_or_default()))),
        }
    }

    #[test]
    fn every_language_has_the_texts_of_the_first_filled_in_at_the_same_places() {
        let all: Vec<_> = READ
            .iter()
            .map(|(_, tree)| {
                let mut out = Vec::new();
                texts(tree, "", &mut out);
                out.sort();
                out
            })
            .collect();
        assert!(all[0].len() > 200, "the English words were not read");
        assert!(all.len() > 1, "there is a second language");
        for other in &all[1..] {
            for (ours, theirs) in all[0].iter().zip(other) {
                assert_eq!(ours, theirs);
            }
            assert_eq!(all[0].len(), other.len());
        }
    }

    #[test]
    fn no_text_of_a_language_is_left_as_it_is_in_another() {
        // Words that are the same in both, by nature: names, signs, units, places to fill in.
        let alike = |english: &str| {
            let own = english
                .split('{')
                .map(|s| s.rsplit('}').next().unwrap_or_default());
            let letters = own.flat_map(str::chars).filter(|c| c.is_alphabetic());
            letters.count() < 12
        };
        let mut pairs = Vec::new();
        fn walk<'a>(a: &'a Value, b: &'a Value, path: &str, out: &mut Vec<(String, &'a str)>) {
            match (a, b) {
                (Value::Object(a), Value::Object(b)) => {
                    for (key, inner) in a {
                        walk(inner, &b[key], &format!("{path}.{key}"), out);
                    }
                }
                (Value::String(a), Value::String(b)) if a == b => out.push((path.to_owned(), a)),
                _ => {}
            }
        }
        walk(&READ[0].1, &READ[1].1, "", &mut pairs);
        pairs.retain(|(_, text)| !alike(text));
        assert!(pairs.is_empty(), "not translated: {pairs:?}");
    }

    #[test]
    fn faults_of_a_packs_words_have_their_place() {
        let text =
            "[page]\nskip = \"Zum Blatt\"\nskipp = \"x\"\n[print]\npage_of = \"Seite {n}\"\n";
        let found = faults(text, "en");
        let at: Vec<&str> = found.iter().map(|f| &text[f.at.clone()]).collect();
        assert_eq!(at, ["skipp", "\"Seite {n}\""]);
        assert_eq!(found[0].help.as_deref(), Some("the nearest name is skip"));
        assert_eq!(
            found[1].help.as_deref(),
            Some("ours is filled in at {all}, {n}")
        );
        assert!(faults("[caution]\nline = \"x\"\n", "en").len() == 1);
        assert!(faults("[caution]\nline = \"x\"\n", "fr").is_empty());
        assert!(faults("[page\n", "en").len() == 1);
    }

    #[test]
    fn fills_names_in() {
        let words = Words::for_language("en-GB");
        assert_eq!(words.language(), "en");
        assert_eq!(words.count("lessons.one", "lessons.many", 1), "1 lesson");
        assert_eq!(words.count("lessons.one", "lessons.many", 3), "3 lessons");
    }
}
