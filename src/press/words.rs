//! Interface words: everything that pages say on their own, one file a language.
//!
//! ```text
//! theme/words/LANGUAGE.toml ─for_language→ Words ─→ templates (`w.…`), scripts, the view model
//! ```
//!
//! A file is a tree of TOML tables whose leaves are texts; `{name}` in a text is filled in by the
//! code that uses it. Every file has the keys of the English one.

use std::sync::LazyLock;

use serde_json::Value;

/// The languages that there are words for; the first is used where a pack's own is not among them.
const LANGUAGES: &[(&str, &str)] = &[("en", include_str!("../../theme/words/en.toml"))];

static READ: LazyLock<Vec<(&str, Value)>> = LazyLock::new(|| {
    let read = |text: &str| {
        let table = text.parse::<toml::Table>().unwrap_or_default();
        serde_json::to_value(table).unwrap_or_default()
    };
    LANGUAGES
        .iter()
        .map(|(tag, text)| (*tag, read(text)))
        .collect()
});

/// The words of one language.
#[derive(Debug, Clone, Copy)]
pub struct Words {
    tag: &'static str,
    tree: &'static Value,
}

impl Words {
    /// The words for a language tag such as `en` or `en-GB`; English where there are none.
    pub fn for_language(tag: &str) -> Self {
        let primary = tag.split('-').next().unwrap_or("");
        let own = READ.iter().find(|(t, _)| t.eq_ignore_ascii_case(primary));
        let (tag, tree) = own.unwrap_or(&READ[0]);
        Self { tag, tree }
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

#[cfg(test)]
mod tests {
    use super::*;

    fn keys(at: &Value, path: &str, out: &mut Vec<String>) {
        match at {
            Value::Object(map) => {
                for (key, inner) in map {
                    keys(inner, &format!("{path}.{key}"), out);
                }
            }
            _ => out.push(path.to_owned()),
        }
    }

    #[test]
    fn every_language_has_the_keys_of_the_first() {
        let all: Vec<Vec<String>> = READ
            .iter()
            .map(|(_, tree)| {
                let mut out = Vec::new();
                keys(tree, "", &mut out);
                out.sort();
                out
            })
            .collect();
        assert!(all[0].len() > 20, "the English words were not read");
        for other in &all {
            assert_eq!(&all[0], other);
        }
    }

    #[test]
    fn fills_names_in() {
        let words = Words::for_language("en-GB");
        assert_eq!(words.language(), "en");
        assert_eq!(words.count("lessons.one", "lessons.many", 1), "1 lesson");
        assert_eq!(words.count("lessons.one", "lessons.many", 3), "3 lessons");
    }
}
