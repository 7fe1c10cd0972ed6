//! Right and wrong side by side: a rig that shows a mistake, its right twin, and the numbers in
//! which they differ.
//!
//! ```text
//! Pack ─pairs→ (wrong, right) ─pair_view, with the proof→ PairView ─→ gallery, lesson, sheet
//! ```

use serde::Serialize;

use crate::pack::{Pack, RigId};
use crate::quantity::quantity_text;
use crate::rig::{LineId, Rig, ValuePath};
use crate::rules::Proof;
use crate::value;

use super::{heading_of, legs, sentence};
use crate::press::words::Words;

/// A mistake and how it is done right.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairView {
    /// How it is done right.
    pub right: PairSide,
    /// The mistake.
    pub wrong: PairSide,
    /// Numbers that both have and that differ as printed.
    pub rows: Vec<PairRow>,
}

/// One side of a pair.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairSide {
    /// The rig's name: its figures.
    pub rig: String,
    /// Its title.
    pub title: String,
    /// What the rules say about it, a sentence each, with the numbers; empty on the right side.
    pub says: Vec<String>,
}

/// One number on both sides.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PairRow {
    /// What it is.
    pub name: String,
    /// On the right side.
    pub right: String,
    /// On the wrong side.
    pub wrong: String,
}

/// Every rig that shows a mistake with its right twin, in the order of the pack: wrong, right.
pub fn pairs(pack: &Pack) -> Vec<(RigId, RigId)> {
    let ids = (0..pack.rigs.len()).map(RigId);
    ids.filter_map(|id| Some((id, pack.right_twin(id)?)))
        .collect()
}

/// A wrong rig beside its right twin; `None` for a rig without one.
pub fn pair_view(proof: &Proof, wrong: RigId, words: Words) -> Option<PairView> {
    let pack = &proof.reading.pack;
    let right = pack.right_twin(wrong)?;
    let side = |id: RigId| {
        let rig = pack.rig(id);
        PairSide {
            rig: rig.name.clone(),
            title: rig.title.clone(),
            says: proof.mistakes[id.0].iter().map(sentence).collect(),
        }
    };
    let rows = rows(proof, right, wrong, words);
    Some(PairView {
        right: side(right),
        wrong: side(wrong),
        rows,
    })
}

/// A value by name, with its path in one rig.
struct Named {
    name: String,
    path: ValuePath,
}

/// Values that a trainee compares: spreads, then of each line angle, pull and drop after its loss.
fn named(rig: &Rig, words: Words) -> Vec<Named> {
    let met: Vec<LineId> = rig.line_ids().filter(|id| legs(rig, *id) > 0).collect();
    let title = |id: &LineId| heading_of(&rig.line(*id).name);
    let mut all = Vec::new();
    for (i, a) in met.iter().enumerate() {
        for b in &met[i + 1..] {
            let fields = [("one", &*title(a)), ("other", &*title(b))];
            all.push(Named {
                name: words.fill("pair.spread", &fields),
                path: ValuePath::Spread(*a, *b),
            });
        }
    }
    for id in &met {
        let fields = [("line", &*title(id))];
        for (key, path) in [
            ("pair.angle", ValuePath::Angle(*id)),
            ("pair.on_climber", ValuePath::OnClimber(*id)),
            ("pair.drop", ValuePath::LossDrop(*id)),
        ] {
            let name = words.fill(key, &fields);
            all.push(Named { name, path });
        }
    }
    all
}

fn rows(proof: &Proof, right: RigId, wrong: RigId, words: Words) -> Vec<PairRow> {
    let pack = &proof.reading.pack;
    let text = |id: RigId, path| {
        let quantity = value::evaluate(pack.rig(id), &proof.solved(id), path)?;
        Some(quantity_text(quantity, pack.units))
    };
    let others = named(pack.rig(wrong), words);
    let rows = named(pack.rig(right), words).into_iter();
    rows.filter_map(|own| {
        let other = others.iter().find(|other| other.name == own.name)?;
        let row = PairRow {
            right: text(right, own.path)?,
            wrong: text(wrong, other.path)?,
            name: own.name,
        };
        (row.right != row.wrong).then_some(row)
    })
    .collect()
}
