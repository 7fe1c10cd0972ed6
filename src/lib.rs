//! Lesson packs for rope-and-harness work in trees: lessons in; figures, pages and sheets out.
//!
//! ```text
//! files ─read→ Reading ─solve→ Vec<Solved> ─judge→ Proof (findings)
//!                                   │                    │
//!                              draw→ figures             v
//!              pages, sheets ─render─ Proof + figures ─write→ output (all or nothing)
//! ```
//!
//! Only the first and the last arrow touch the disk. Nothing here prints or reads the clock.

pub mod block;
pub mod cli;
pub mod digest;
pub mod disk;
pub mod figure;
pub mod finding;
pub mod kit;
pub mod pack;
pub mod press;
pub mod preview;
pub mod progress;
mod proofing;
pub mod quantity;
pub mod report;
pub mod rig;
pub mod rulebook;
pub mod rules;
pub mod statics;
pub mod store;
pub mod value;

pub use proofing::{MoveProblem, Zones, move_climber, proof, proof_told};
