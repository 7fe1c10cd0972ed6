//! Kit as figures need it: what each part of a line may carry in use.
//!
//! ```text
//! Pack ─of→ Shelf ─works_to→ newtons of one item
//! ```

use serde::Serialize;

use crate::kit::{KitItem, KitKind};
use crate::pack::Pack;

/// The kit that rigs name, and the factors that turn a strength into what the part works to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Shelf<'a> {
    items: &'a [KitItem],
    /// Strength over working load; 0 where none is known.
    textile: f64,
    metal: f64,
}

impl<'a> Shelf<'a> {
    /// No kit: nothing is known of what parts may carry.
    pub const EMPTY: Self = Self {
        items: &[],
        textile: 0.0,
        metal: 0.0,
    };

    /// The kit of a pack, with the factors of its rule `low-strength`.
    pub fn of(pack: &'a Pack) -> Self {
        let factor = |key| pack.rulebook.limit("low-strength", key);
        Self {
            items: &pack.kit,
            textile: factor("textile"),
            metal: factor("metal"),
        }
    }

    /// The item of a name.
    pub fn item(&self, name: Option<&String>) -> Option<&'a KitItem> {
        let name = name?;
        self.items.iter().find(|item| item.name == *name)
    }

    /// The pack's harness, where there is only one to choose.
    pub fn harness(&self) -> Option<&'a KitItem> {
        let mut all = self.items.iter().filter(|i| i.kind == KitKind::Harness);
        all.next().filter(|_| all.next().is_none())
    }

    /// Strength over working load of textile and of metal parts.
    pub const fn factors(&self) -> (f64, f64) {
        (self.textile, self.metal)
    }

    /// What an item may carry in use, newtons: its working limit, else its strength over the factor
    /// of what it is made of; a connector's strength is that along its spine.
    pub fn works_to(&self, item: &KitItem) -> Option<f64> {
        let factor = if item.kind.is_metal() {
            self.metal
        } else {
            self.textile
        };
        let connector = item.connector.as_ref();
        let strength = connector.and_then(|c| c.major_n).or(item.strength_n);
        let reduced = strength.filter(|_| factor > 0.0).map(|n| n / factor);
        item.working_limit_n.or(reduced)
    }
}
