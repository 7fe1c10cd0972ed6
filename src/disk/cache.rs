//! The store of a press, in a file beside its output.
//!
//! ```text
//! folder/lessons.json ─open→ Store, how files were ─press→ ─save→ folder/lessons.json
//! ```
//!
//! The first line is the SHA-256 of the rest, so that a damaged file counts as none. It holds no
//! bytes of the output; without the output it saves nothing, and without it a press only takes
//! longer. A program made from other sources starts anew.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::output::Stat;
use super::{DiskProblem, Writing, sibling, write_file};
use crate::store::{Digest, FileMark, Made, Store};

/// The file in the cache's folder.
const FILE: &str = "lessons.json";

/// A folder for a store.
#[derive(Debug, Clone)]
pub struct Cache(Option<PathBuf>);

#[derive(Default, Serialize, Deserialize)]
struct Kept {
    made_from: String,
    lessons: Vec<(String, Made)>,
    stats: BTreeMap<String, Stat>,
}

impl Cache {
    /// The folder that goes with an output if nothing else is asked for: `.output-store` beside
    /// `output`.
    pub fn beside(output: &Path) -> Self {
        Self(Some(sibling(output, "store")))
    }

    /// A folder of the caller's.
    pub fn at(folder: &Path) -> Self {
        Self(Some(folder.into()))
    }

    /// None: everything is made anew.
    pub const fn none() -> Self {
        Self(None)
    }

    /// Reads the store, and begins to write the output.
    ///
    /// # Errors
    /// As [`Writing::begin`].
    pub fn open(&self, output: &Path) -> Result<(Store, Writing), DiskProblem> {
        let kept = self.read().unwrap_or_default();
        let entries = kept.lessons.into_iter();
        let entries = entries.filter_map(|(key, made)| Some((Digest::from_hex(&key)?, made)));
        let store = Store::of(entries.collect());
        Ok((store, Writing::begin_knowing(output, kept.stats)?))
    }

    fn read(&self) -> Option<Kept> {
        let bytes = fs::read(self.0.as_ref()?.join(FILE)).ok()?;
        let end = bytes.iter().position(|b| *b == b'\n')?;
        let (sum, body) = (&bytes[..end], &bytes[end + 1..]);
        if Digest::of(body).hex().as_bytes() != sum {
            return None;
        }
        let kept: Kept = serde_json::from_slice(body).ok()?;
        (kept.made_from == env!("ROPELEAF_MADE_FROM")).then_some(kept)
    }

    /// Puts the output in its place, then keeps the store. That the store cannot be written is no
    /// reason to fail: the next press takes longer.
    ///
    /// # Errors
    /// As [`Writing::finish`].
    pub fn finish(&self, store: Store, writing: Writing) -> Result<Vec<FileMark>, DiskProblem> {
        let (marks, stats) = writing.finish_knowing()?;
        if let Some(folder) = &self.0 {
            let lessons = store.entries().into_iter();
            let kept = Kept {
                made_from: env!("ROPELEAF_MADE_FROM").to_owned(),
                lessons: lessons.map(|(key, made)| (key.hex(), made)).collect(),
                stats,
            };
            let body = serde_json::to_vec(&kept).unwrap_or_default();
            let mut bytes = Digest::of(&body).hex().into_bytes();
            bytes.push(b'\n');
            bytes.extend(body);
            let made = fs::create_dir_all(folder);
            let _ = made.map(|()| write_file(&folder.join(FILE), &bytes));
        }
        Ok(marks)
    }
}
