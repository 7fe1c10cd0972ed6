//! The answers of a pack's rigs, each solved when it is first asked for.

use std::sync::OnceLock;

use crate::pack::{Pack, RigId};
use crate::proofing::thin;
use crate::rig::Rig;
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
        let solved = solved(pack.rig(id), *zone);
        answer.get_or_init(|| solved)
    }

    /// Takes another answer for a rig.
    pub(crate) fn set(&mut self, id: RigId, answer: Answer) {
        self.0[id.0].answer = OnceLock::from(answer);
    }
}

/// Solves a rig for a proof: everything but the fine field behind its zone, which would fill the
/// memory of a large pack.
fn solved(rig: &Rig, zone: bool) -> Answer {
    let mut answer = statics::solve(rig, Ask { loss: true, zone })?;
    thin(&mut answer);
    Ok(answer)
}
