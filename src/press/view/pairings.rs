//! Which rope goes with which hitch and cord, as the makers' tested lists in the kit files say.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::kit::{KitItem, KitKind};
use crate::pack::Pack;

/// Ropes against hitches.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pairings {
    /// The columns: every hitch that a cord was tested with, by cord, then hitch.
    pub hitches: Vec<HitchColumn>,
    /// The ropes, in order of the register.
    pub rows: Vec<PairingRow>,
}

/// A hitch tied with a cord.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HitchColumn {
    /// The hitch.
    pub hitch: String,
    /// The cord.
    pub cord: String,
}

/// A rope's part in the table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairingRow {
    /// The rope.
    pub rope: String,
    /// One a column: `tested`, `hold` (tested, for holding only) or `none`.
    pub cells: Vec<&'static str>,
}

/// Builds the table; `None` for a pack without ropes or without any tested list.
pub fn pairings(pack: &Pack) -> Option<Pairings> {
    let kit = &pack.kit;
    let ropes: Vec<&KitItem> = kit.iter().filter(|i| i.kind == KitKind::Rope).collect();
    let mut columns: BTreeMap<(usize, &str), &KitItem> = BTreeMap::new();
    for (i, cord) in kit.iter().enumerate() {
        for pairing in &cord.tested_with {
            columns.insert((i, pairing.hitch.as_str()), cord);
        }
    }
    if ropes.is_empty() || columns.is_empty() {
        return None;
    }
    let cell = |rope: &KitItem, hitch: &str, cord: &KitItem| {
        let mut tested = cord.tested_with.iter();
        match tested.any(|p| p.rope == rope.name && p.hitch == hitch) {
            true if cord.hold_only => "hold",
            true => "tested",
            false => "none",
        }
    };
    let rows = ropes.iter().map(|rope| PairingRow {
        rope: rope.title.clone(),
        cells: columns
            .iter()
            .map(|((_, hitch), cord)| cell(rope, hitch, cord))
            .collect(),
    });
    let hitches = columns.iter().map(|((_, hitch), cord)| HitchColumn {
        hitch: (*hitch).to_owned(),
        cord: cord.title.clone(),
    });
    Some(Pairings {
        rows: rows.collect(),
        hitches: hitches.collect(),
    })
}
