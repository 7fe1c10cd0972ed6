//! One table: keys are taken by name, what nobody took is an unknown key.

use std::cell::RefCell;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Doc, Item, Problem, Text};
use crate::finding::{Place, nearest};
use crate::quantity::Dimension;

/// A table that is being read. Call [`Table::finish`] when done.
#[derive(Debug)]
pub struct Table<'t> {
    doc: &'t Doc<'t>,
    name: String,
    place: Place,
    entries: Vec<Entry<'t>>,
    known: Vec<&'static str>,
    missing: RefCell<Vec<(&'static str, String)>>,
}

#[derive(Debug)]
struct Entry<'t> {
    key: &'t str,
    place: Place,
    value: &'t Spanned<DeValue<'t>>,
    taken: bool,
}

impl<'t> Table<'t> {
    pub(super) fn new(
        doc: &'t Doc<'t>,
        name: String,
        place: Place,
        table: &'t DeTable<'t>,
    ) -> Self {
        let mut entries: Vec<Entry<'t>> = table
            .iter()
            .map(|(key, value)| Entry {
                key: key.get_ref(),
                place: doc.map.place(key.span()),
                value,
                taken: false,
            })
            .collect();
        entries.sort_by_key(|e| e.place);
        Self {
            doc,
            name,
            place,
            entries,
            known: Vec::new(),
            missing: RefCell::default(),
        }
    }

    /// The table's header, or the key that holds it.
    pub const fn place(&self) -> Place {
        self.place
    }

    /// Notes a problem at a place of this text.
    pub fn report(&self, problem: &Problem, place: Place) {
        self.doc.report(problem, place);
    }

    /// The value of a key, if it is there.
    pub fn take(&mut self, key: &'static str) -> Option<Item<'t>> {
        self.known.push(key);
        let entry = self.entries.iter_mut().find(|e| e.key == key)?;
        entry.taken = true;
        Some(Item::new(self.doc, key.to_owned(), entry.value))
    }

    /// The value of a key that must be there; `example` shows how to write it.
    pub fn need(&mut self, key: &'static str, example: &str) -> Option<Item<'t>> {
        let item = self.take(key);
        if item.is_none() {
            self.missing(key, example);
        }
        item
    }

    /// Notes that a key is missing. It is said at the end, and not at all where an unknown key
    /// is most likely that one.
    pub fn missing(&self, key: &'static str, example: &str) {
        self.missing.borrow_mut().push((key, example.to_owned()));
    }

    /// A text, if it is there.
    pub fn text(&mut self, key: &'static str) -> Option<Text> {
        self.take(key).and_then(|item| item.text())
    }

    /// The words of a text, if it is there.
    pub fn string(&mut self, key: &'static str) -> Option<String> {
        self.text(key).map(|t| t.value)
    }

    /// True or false, false if it is not there.
    pub fn flag(&mut self, key: &'static str) -> bool {
        self.take(key)
            .and_then(|item| item.boolean())
            .unwrap_or(false)
    }

    /// A quantity above zero, if it is there.
    pub fn positive(&mut self, key: &'static str, want: Dimension) -> Option<f64> {
        self.take(key).and_then(|item| item.positive(want))
    }

    /// A whole number from 1, if it is there.
    pub fn count(&mut self, key: &'static str) -> Option<u32> {
        self.take(key).and_then(|item| item.count())
    }

    /// A list of texts, empty if it is not there.
    pub fn texts(&mut self, key: &'static str) -> Vec<Text> {
        self.take(key).map(|item| item.texts()).unwrap_or_default()
    }

    /// A table under a key, if it is there; messages call it `[key]` or `[outer.key]`.
    pub fn table(&mut self, key: &'static str) -> Option<Table<'t>> {
        self.take(key)
            .and_then(|item| item.table(format!("[{key}]")))
    }

    /// The tables of `[key.NAME]`, in order of place; messages call each `[key.NAME]`.
    pub fn named_tables(&mut self, key: &'static str) -> Vec<(Text, Table<'t>)> {
        let Some(outer) = self.table(key) else {
            return Vec::new();
        };
        let doc = outer.doc;
        let entries = outer.entries.into_iter();
        let tables = entries.filter_map(|entry| {
            let name = Text::of_key(entry.key, entry.place);
            let item = Item::new(doc, format!("{key}.{}", entry.key), entry.value);
            let table = item.table(format!("[{key}.{}]", entry.key))?;
            Some((name, table))
        });
        tables.collect()
    }

    /// The tables of `[[key]]`, in order; inside another list `[[outer.key]]`.
    pub fn table_list(&mut self, key: &'static str) -> Vec<Table<'t>> {
        let Some(item) = self.take(key) else {
            return Vec::new();
        };
        let outer = self.name.strip_prefix("[[");
        let outer = outer.and_then(|name| name.strip_suffix("]]"));
        let name = outer.map_or_else(
            || format!("[[{key}]]"),
            |outer| format!("[[{outer}.{key}]]"),
        );
        let items = item.list().unwrap_or_default().into_iter();
        items.filter_map(|item| item.table(name.clone())).collect()
    }

    /// Reports every entry not taken as a name that there is not: for tables whose keys are names.
    ///
    /// - `what`: the kind of thing that the keys name, such as "rule".
    pub fn finish_names(&mut self, what: &'static str) {
        for entry in self.entries.iter_mut().filter(|e| !e.taken) {
            entry.taken = true;
            let problem = Problem::UnknownName {
                what,
                name: entry.key.to_owned(),
                valid: self.known.iter().map(|k| (*k).to_owned()).collect(),
            };
            self.doc.report(&problem, entry.place);
        }
    }

    /// Ends the reading: every key that nobody took is unknown. Returns the keys that these were
    /// most likely meant to be.
    pub fn finish(self) -> Vec<String> {
        let mut meant = Vec::new();
        for entry in self.entries.iter().filter(|e| !e.taken) {
            let problem = Problem::UnknownKey {
                table: self.name.clone(),
                key: entry.key.to_owned(),
                known: self.known.iter().map(|k| (*k).to_owned()).collect(),
            };
            self.doc.report(&problem, entry.place);
            let absent = self.known.iter().copied();
            let absent = absent.filter(|key| self.entries.iter().all(|e| e.key != *key));
            meant.extend(nearest(entry.key, absent).map(str::to_owned));
        }
        for (key, example) in self.missing.into_inner() {
            if meant.iter().any(|m| m == key) {
                continue;
            }
            let problem = Problem::MissingKey {
                table: self.name.clone(),
                key: key.to_owned(),
                example,
            };
            self.doc.report(&problem, self.place);
        }
        meant
    }
}
