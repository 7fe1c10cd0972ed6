//! The kit of a pack while it is read: a broken item keeps its name, so that what refers to it is
//! not reported too.

use crate::block::Problem;
use crate::kit::KitItem;

/// What is known of the kit.
#[derive(Debug, Default)]
pub(super) struct KitRoom {
    /// Items without an error.
    pub(super) items: Vec<KitItem>,
    /// Names of the others.
    pub(super) broken: Vec<String>,
}

impl KitRoom {
    /// Whether there is an item of this name, readable or not.
    pub(super) fn knows(&self, name: &str) -> bool {
        self.items.iter().any(|item| item.name == name) || self.broken.iter().any(|b| b == name)
    }

    /// The problem of a name that no item has.
    pub(super) fn unknown(&self, name: &str) -> Problem {
        let items = self.items.iter().map(|item| item.name.clone());
        Problem::UnknownName {
            what: "kit item",
            name: name.to_owned(),
            valid: items.chain(self.broken.iter().cloned()).collect(),
        }
    }
}
