//! Pressing: a proof into a site, prints and figures, all in memory.
//!
//! ```text
//! Proof ─press→ Vec<OutFile> ─write→ output (all or nothing)
//! ```

/// One file of the output.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutFile {
    /// Path relative to the output folder, with forward slashes.
    pub path: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}
