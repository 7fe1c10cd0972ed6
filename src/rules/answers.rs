//! The answers of a pack's rigs, each solved when it is first asked for, and let go when nothing
//! that is likely to come needs it.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use crate::pack::{Pack, RigId};
use crate::statics::{self, Ask, Loss, Solved, StaticsProblem};

type Answer = Result<Arc<Solved>, StaticsProblem>;

/// One answer a rig, in the order of [`Pack::rigs`]. A pack whose lessons were judged before need
/// not be solved again but for the pages that are made anew.
#[derive(Debug, Clone)]
pub(crate) struct Answers(Vec<Cell>);

#[derive(Debug)]
struct Cell {
    /// Whether the zone is worked out too.
    zone: bool,
    answer: Mutex<Known>,
}

/// What is known of an answer.
#[derive(Debug, Clone, Default)]
enum Known {
    #[default]
    Nothing,
    /// What follows each loss, nine tenths of the time that an answer takes; the rest is solved in
    /// no time.
    Losses(Vec<Loss>),
    Whole(Answer),
}

impl Cell {
    fn answer(&self) -> MutexGuard<'_, Known> {
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
        let losses = {
            let mut known = cell.answer();
            if let Known::Whole(answer) = &*known {
                return answer.clone();
            }
            match std::mem::take(&mut *known) {
                Known::Losses(losses) => Some(losses),
                _ => None,
            }
        };
        // Solved outside the cell: a zone is swept in parallel, and a thread that waits there may
        // take up work that asks for this very answer.
        let ask = Ask {
            loss: losses.is_none(),
            zone: cell.zone,
        };
        let mut solved = statics::solve(pack.rig(id), ask);
        if let (Ok(solved), Some(losses)) = (&mut solved, losses) {
            solved.loss = losses;
        }
        let solved = solved.map(Arc::new);
        let mut known = cell.answer();
        if let Known::Whole(answer) = &*known {
            return answer.clone();
        }
        *known = Known::Whole(solved.clone());
        solved
    }

    /// Takes another answer for a rig.
    pub(crate) fn set(&mut self, id: RigId, answer: Result<Solved, StaticsProblem>) {
        *self.0[id.0].answer() = Known::Whole(answer.map(Arc::new));
    }

    /// Lets an answer go that takes little time to solve again: one without a zone.
    pub(crate) fn release_quick(&self, id: RigId) {
        let cell = &self.0[id.0];
        if cell.zone {
            return;
        }
        let mut known = cell.answer();
        *known = match std::mem::take(&mut *known) {
            Known::Whole(Ok(solved)) => Known::Losses(Arc::unwrap_or_clone(solved).loss),
            Known::Losses(losses) => Known::Losses(losses),
            _ => Known::Nothing,
        };
    }

    /// Lets an answer go; who asks for it again has it solved again.
    pub(crate) fn release(&self, id: RigId) {
        *self.0[id.0].answer() = Known::Nothing;
    }
}
