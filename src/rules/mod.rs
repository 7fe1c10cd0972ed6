//! Judging a solved pack: findings with numbers, at their places.
//!
//! ```text
//! Reading + Vec<Solved> ─judge→ Proof
//! ```

use crate::finding::{Finding, Severity};
use crate::pack::{Reading, RigId};
use crate::statics::{Solved, StaticsProblem};

/// A pack read, solved and judged: everything that figures, pages and sheets are made from.
#[derive(Debug, Clone)]
pub struct Proof {
    /// What was read, its findings included.
    pub reading: Reading,
    /// One answer a rig, in the order of [`crate::pack::Pack::rigs`].
    pub answers: Vec<Result<Solved, StaticsProblem>>,
    /// The reader's findings and the rules', in order of place.
    pub findings: Vec<Finding>,
}

impl Proof {
    /// Whether anything stops the press.
    pub fn has_errors(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Error)
    }

    /// The answer of a rig, for the stages after proofing.
    ///
    /// # Panics
    /// Where the rig has none. That is an error finding, so [`Proof::has_errors`] keeps such a
    /// pack from the press.
    pub fn solved(&self, rig: RigId) -> &Solved {
        self.answers[rig.0]
            .as_ref()
            .expect("a proof without errors has every rig solved")
    }
}

/// Judges a solved pack.
pub fn judge(reading: Reading, answers: Vec<Result<Solved, StaticsProblem>>) -> Proof {
    let findings = reading.findings.clone();
    Proof {
        reading,
        answers,
        findings,
    }
}
