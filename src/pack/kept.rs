//! A lesson as it was read, for readings to come.
//!
//! ```text
//! file, its number, common files ─key→ (store) KeptLesson: rigs ─→ names of the pack
//!                                                          text ←is as it was, if those are─┘
//! ```
//!
//! What a lesson's text comes to depends on its own file, on what all lessons are read with, on the
//! names of the whole pack, and on the rigs that it speaks of. The first two are in the key; the
//! others are looked at when all rigs are known. Only a lesson about which the reader had nothing to
//! say is kept.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::flow::Names;
use super::{Lesson, RigId};
use crate::block::Text;
use crate::digest::Digest;
use crate::finding::{Place, Sources};
use crate::rig::Rig;
use crate::store::Inputs;

/// What was read of a lesson's file.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct KeptLesson {
    /// Its rigs, in order, each with the place of its name.
    pub(super) rigs: Vec<(Rig, Place)>,
    pub(super) outline: Outline,
    lesson: Lesson,
    /// Of the names that it was read with.
    names: Digest,
    /// Rigs that it speaks of, with their files: its own too, for another lesson may have one by the
    /// same name now.
    asked: Vec<(RigId, Digest)>,
}

/// What the whole pack is checked by, with the places.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(super) struct Outline {
    /// The lesson's code.
    pub(super) code: Option<Named>,
    /// Lessons to know first.
    pub(super) needs: Vec<Named>,
}

/// A name and where it stands.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Named {
    pub(super) name: String,
    pub(super) place: Place,
}

impl From<&Text> for Named {
    fn from(text: &Text) -> Self {
        Self {
            name: text.value.clone(),
            place: text.place,
        }
    }
}

impl KeptLesson {
    /// - `asked`: the rigs that its text asked for, own ones too, with their files.
    /// - `names`: of the names that it was read with.
    pub(super) fn of(
        lesson: &Lesson,
        outline: &Outline,
        rigs: Vec<(Rig, Place)>,
        asked: impl Iterator<Item = (RigId, usize)>,
        sources: &Sources,
        names: Digest,
    ) -> Self {
        Self {
            rigs,
            outline: outline.clone(),
            lesson: lesson.clone(),
            names,
            asked: asked
                .map(|(rig, file)| (rig, sources.digest(file)))
                .collect(),
        }
    }

    /// The lesson, if everything else that its text depends on is as it was.
    pub(super) fn lesson(self, rigs: &[Rig], sources: &Sources, names: Digest) -> Option<Lesson> {
        let as_it_was = |(rig, file): &(RigId, Digest)| {
            let rig = rigs.get(rig.0);
            rig.is_some_and(|rig| sources.digest(rig.place.file) == *file)
        };
        (self.names == names && self.asked.iter().all(as_it_was)).then_some(self.lesson)
    }
}

/// The digest of the names that the texts of a pack are read with, and of what they lead to.
pub(super) fn names_digest(names: &Names<'_>) -> Digest {
    let mut inputs = Inputs::of("names");
    let ids: &BTreeMap<String, Option<RigId>> = names.rig_ids;
    inputs.count(ids.len());
    for (name, id) in ids {
        // A rig with an error has a name and no number.
        inputs
            .bytes(name.as_bytes())
            .count(id.map_or(usize::MAX, |RigId(i)| i));
    }
    inputs.count(names.pictures.len());
    for (name, _) in names.pictures {
        inputs.bytes(name.as_bytes());
    }
    for list in [names.lessons.all(), names.outcomes] {
        inputs.count(list.len());
        for name in list {
            inputs.bytes(name.as_bytes());
        }
    }
    inputs.count(usize::from(names.whole_pack)).finish()
}
