//! The answers of a pack's rigs, each solved when it is first asked for.

use std::sync::OnceLock;

use crate::pack::{Pack, RigId};
use crate::statics::{self, Ask, Solved, StaticsProblem};

type Answer = Result<Solved, StaticsProblem>;

/// One answer a rig, in the order of [`Pack::rigs`]. A pack whose lessons were judged before need
/// not be solved again but for the pages that are made anew.
#[derive(Debug, Clone)]
pub(crate) struct Answers(Vec<Cell>);

#[derive(Debug, Clone)]
struct Cell {
    /// Whether the zone is worked out too.
    zone: bool,
    answer: OnceLock<Answer>,
}

impl Answers {
    /// Nothing solved yet.
    ///
    /// - `zones`: for each rig, whether its zone is worked out.
    pub(crate) fn new(zones: impl IntoIterator<Item = bool>) -> Self {
        let cell = |zone| Cell {
            zone,
            answer: OnceLock::new(),
        };
        Self(zones.into_iter().map(cell).collect())
    }

    /// The answer of a rig.
    pub(crate) fn of(&self, pack: &Pack, id: RigId) -> &Answer {
        let Cell { zone, answer } = &self.0[id.0];
        if let Some(known) = answer.get() {
            return known;
        }
        // Solved outside the cell: a zone is swept in parallel, and a thread that waits there may
        // take up work that asks for this very answer.
        let ask = Ask {
            loss: true,
            zone: *zone,
        };
        let solved = statics::solve(pack.rig(id), ask);
        answer.get_or_init(|| solved)
    }

    /// Takes another answer for a rig.
    pub(crate) fn set(&mut self, id: RigId, answer: Answer) {
        self.0[id.0].answer = OnceLock::from(answer);
    }
}
