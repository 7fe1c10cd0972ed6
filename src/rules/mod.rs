//! Judging a solved pack: findings with numbers, at their places.
//!
//! ```text
//! Reading + Vec<Solved> ─judge→ Proof
//! ```

use crate::finding::{Finding, Severity};
use crate::pack::Reading;
use crate::statics::Solved;

/// A pack read, solved and judged: everything that figures, pages and sheets are made from.
#[derive(Debug, Clone)]
pub struct Proof {
    /// What was read, its findings included.
    pub reading: Reading,
    /// One answer a rig, in the order of [`crate::pack::Pack::rigs`].
    pub solved: Vec<Solved>,
    /// The reader's findings and the rules', in order of place.
    pub findings: Vec<Finding>,
}

impl Proof {
    /// Whether anything stops the press.
    pub fn has_errors(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Error)
    }
}

/// Judges a solved pack.
pub fn judge(reading: Reading, solved: Vec<Solved>) -> Proof {
    let findings = reading.findings.clone();
    Proof {
        reading,
        solved,
        findings,
    }
}
