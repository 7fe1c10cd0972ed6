//! A proof's numbers for machines and for a terminal.
//!
//! ```text
//! Proof ─json→ the format of the authors' guide      Proof ─table→ lines of text
//!       ─html→ the author's page of findings
//! ```

mod html;
mod json;
mod table;

pub use html::findings_html;
pub use json::{findings_json, statics_json};
pub use table::{findings_text, statics_text};

use crate::finding::Finding;
use crate::rig::Rig;
use crate::rules::Proof;

/// Findings whose place lies in a rig's block.
fn findings_of<'a>(proof: &'a Proof, rig: &'a Rig) -> impl Iterator<Item = &'a Finding> {
    let block = rig.block;
    proof.findings.iter().filter(move |finding| {
        finding
            .place
            .is_some_and(|at| at.file == block.file && (block.start..block.end).contains(&at.start))
    })
}
