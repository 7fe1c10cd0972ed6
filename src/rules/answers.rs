//! The answers of a pack's rigs, each solved when it is first asked for, and let go when nothing
//! that is likely to come needs it.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::pack::{Pack, RigId};
use crate::statics::{self, Ask, Solved, StaticsProblem};

type Answer = Result<Arc<Solved>, StaticsProblem>;

/// One answer a rig, in the order of [`Pack::rigs`]. A pack whose lessons were judged before need
/// not be solved again but for the pages that are made anew.
#[derive(Debug, Clone)]
pub(crate) struct Answers(Vec<Cell>);

#[derive(Debug)]
struct Cell {
    /// Whether the zone is worked out too.
    zone: bool,
    answer: Mutex<Option<Answer>>,
}

impl Cell {
    fn answer(&self) -> MutexGuard<'_, Option<Answer>> {
        // An answer is put in whole, so that a panic elsewhere leaves nothing half done.
        self.answer.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Clone for Cell {
    fn clone(&self) -> Self {
        Self {
            zone: self.zone,
            answer: Mutex::new(self.answer().clone()),
        }
    }
}

impl Answers {
    /// Nothing solved yet.
    ///
    /// - `zones`: for each rig, whether its zone is worked out.
    pub(crate) fn new(zones: impl IntoIterator<Item = bool>) -> Self {
        let cell = |zone| Cell {
            zone,
            answer: Mutex::default(),
        };
        Self(zones.into_iter().map(cell).collect())
    }

    /// The answer of a rig.
    pub(crate) fn of(&self, pack: &Pack, id: RigId) -> Answer {
        let cell = &self.0[id.0];
        let known = cell.answer().clone();
        if let Some(known) = known {
            return known;
        }
        // Solved outside the cell: a zone is swept in parallel, and a thread that waits there may
        // take up work that asks for this very answer.
        let ask = Ask {
            loss: true,
            zone: cell.zone,
        };
        let solved = statics::solve(pack.rig(id), ask).map(Arc::new);
        cell.answer().get_or_insert(solved).clone()
    }

    /// Takes another answer for a rig.
    pub(crate) fn set(&mut self, id: RigId, answer: Result<Solved, StaticsProblem>) {
        *self.0[id.0].answer() = Some(answer.map(Arc::new));
    }

    /// Lets an answer go that takes little time to solve again: one without a zone.
    pub(crate) fn release_quick(&self, id: RigId) {
        if !self.0[id.0].zone {
            self.release(id);
        }
    }

    /// Lets an answer go; who asks for it again has it solved again.
    pub(crate) fn release(&self, id: RigId) {
        *self.0[id.0].answer() = None;
    }
}
