//! The rigs of a pack: those of lessons that were read before as they were, the others checked.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::kit_room::KitRoom;
use super::lesson_files::State;
use super::markdown::Piece;
use super::read::Reader;
use super::{RigId, Scope, checks};
use crate::block::Problem;
use crate::finding::{Finding, Place};
use crate::kit::KitItem;
use crate::rig::{self, Around, Rig};
use crate::rulebook;

/// A rig block that was checked.
struct Checked {
    /// The name and its place.
    name: Option<(String, Place)>,
    /// `None` where it has an error.
    rig: Option<Rig>,
    findings: Vec<Finding>,
}

/// The rigs of a pack.
#[derive(Default)]
pub(super) struct Rigs {
    pub(super) all: Vec<Rig>,
    /// Where the name of each stands.
    name_places: Vec<Place>,
    /// `None` for one with an error.
    pub(super) ids: BTreeMap<String, Option<RigId>>,
}

impl Rigs {
    /// The rigs of a file, each with the place of its name.
    pub(super) fn of_file(&self, file: usize) -> Vec<(Rig, Place)> {
        let from = self.all.partition_point(|rig| rig.place.file < file);
        let to = self.all.partition_point(|rig| rig.place.file <= file);
        let places = self.name_places[from..to].iter().copied();
        self.all[from..to].iter().cloned().zip(places).collect()
    }
}

/// The rig blocks of a lesson file, in order.
fn check_rigs(pieces: &[Piece], around: Around<'_>) -> Vec<Checked> {
    let fences = pieces.iter().filter_map(|piece| match piece {
        Piece::Fence(fence) if fence.word == "rig" => Some(fence),
        _ => None,
    });
    let checked = fences.map(|fence| {
        let name = fence.name.as_ref().map_or(fence.word, |(name, _)| name);
        let (rig, findings) = rig::check(name, &fence.body, around);
        Checked {
            name: fence.name.clone(),
            rig,
            findings,
        }
    });
    checked.collect()
}

impl Reader<'_> {
    /// The rigs of all lessons, with their names.
    pub(super) fn rigs(&mut self, states: &mut [State], kit: &KitRoom) -> Rigs {
        let by_name = kit.items.iter().map(|item| (item.name.as_str(), item));
        let by_name: BTreeMap<&str, &KitItem> = by_name.collect();
        let rule_names: Vec<&str> = rulebook::RULES.iter().map(|r| r.name).collect();
        let around = Around {
            kit: &by_name,
            broken_kit: &kit.broken,
            has_kit: self.scope == Scope::Pack,
            rules: &rule_names,
        };
        let checked = states.par_iter_mut().map(|state| match state {
            State::Known(known) => {
                let rigs = std::mem::take(&mut known.rigs).into_iter();
                let checked = rigs.map(|(rig, name_place)| Checked {
                    name: Some((rig.name.clone(), name_place)),
                    rig: Some(rig),
                    findings: Vec::new(),
                });
                checked.collect::<Vec<_>>()
            }
            State::Draft(draft) => check_rigs(&draft.pieces, around),
        });
        let checked: Vec<Vec<Checked>> = checked.collect();
        let mut rigs = Rigs::default();
        let mut first_places: BTreeMap<String, Place> = BTreeMap::new();
        for Checked {
            name,
            rig,
            mut findings,
        } in checked.into_iter().flatten()
        {
            let Some((name, place)) = &name else {
                // That it has no name is noted; what stands in it is checked all the same.
                self.findings.append(&mut findings);
                continue;
            };
            if !rig::is_plain_name(name) {
                let problem = Problem::BadName {
                    what: "rig",
                    name: name.clone(),
                    why: "only small letters, digits, hyphens and underlines can stand in it",
                };
                self.report(&problem, *place);
            }
            if let Some(first) = first_places.get(name) {
                let problem = Problem::DuplicateName {
                    what: "rig",
                    name: name.clone(),
                    first: checks::where_is(*first, self.sources),
                };
                self.report(&problem, *place);
            }
            self.findings.append(&mut findings);
            if first_places.contains_key(name) {
                continue;
            }
            first_places.insert(name.clone(), *place);
            let id = rig.map(|rig| {
                rigs.all.push(rig);
                rigs.name_places.push(*place);
                RigId(rigs.all.len() - 1)
            });
            rigs.ids.insert(name.clone(), id);
        }
        rigs
    }
}
