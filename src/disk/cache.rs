//! The store of a press, in two files beside its output.
//!
//! ```text
//! sources, call ─again→ what was said last time: nothing differs, nothing is to be done
//!      └ something differs: kept ─→ Store ─press→ ─finish→ both
//!                           last ─→ how files were ─┘
//! ```
//!
//! Each begins with the SHA-256 of the rest, so that a damaged file counts as none. They
//! hold no bytes of the output; without the output they save nothing, and without them a press only
//! takes longer. A program made from other sources starts anew.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use super::output::{Placed, untouched};
use super::tree::Stat;
use super::{DiskProblem, Writing, sibling, write_file};
use crate::store::{Digest, Store};

/// What was judged and made for each lesson.
const KEPT: &str = "kept";

/// What the last press was asked, what it said, and how the files of its output were.
const LAST: &str = "last";

/// A folder for a store.
#[derive(Debug, Clone)]
pub struct Cache(Option<PathBuf>);

/// What a press said when it was done.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Said {
    /// On standard output.
    pub out: String,
    /// On standard error.
    pub err: String,
}

#[derive(Serialize, Deserialize)]
struct Last {
    /// Digest of everything that the press depended on, program included.
    asked: Digest,
    said: Said,
    /// SHA-256 of the output's list.
    list: Digest,
    files: BTreeMap<String, Stat>,
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

    /// What the last press said, if it was asked the same and its output stands there untouched:
    /// every file as it was when it was written, and no other.
    pub fn again(&self, output: &Path, asked: Digest) -> Option<Said> {
        let last: Last = self.read(LAST)?;
        let same = last.asked == asked && untouched(output, last.list, &last.files);
        same.then_some(last.said)
    }

    /// The store of the last press; an empty one where there is none.
    pub fn store(&self) -> Store {
        Store::of(self.read(KEPT).unwrap_or_default())
    }

    /// Begins to write the output.
    ///
    /// # Errors
    /// As [`Writing::begin`].
    pub fn begin(&self, output: &Path) -> Result<Writing, DiskProblem> {
        let files = self.read(LAST).map(|last: Last| last.files);
        Writing::begin_knowing(output, &files.unwrap_or_default(), self.0.is_some())
    }

    /// Puts the output in its place, then keeps the store and what is said of the output. That they
    /// cannot be written is no reason to fail: the next press takes longer.
    ///
    /// - `asked`: digest of everything that the press depended on.
    /// - `say`: what is said of the files of the output, by their paths.
    ///
    /// # Errors
    /// As [`Writing::finish`].
    pub fn finish(
        &self,
        store: Store,
        writing: Writing,
        asked: Digest,
        say: impl FnOnce(&[&str]) -> Said,
    ) -> Result<Said, DiskProblem> {
        let Placed { rows, list } = writing.finish_knowing()?;
        let paths: Vec<&str> = rows.keys().map(String::as_str).collect();
        let said = say(&paths);
        self.keep(KEPT, &store.kept());
        let last = Last {
            asked,
            said,
            list,
            files: rows
                .into_iter()
                .filter_map(|(path, row)| Some((path, row.stat?)))
                .collect(),
        };
        self.keep(LAST, &last);
        Ok(last.said)
    }

    fn read<T: DeserializeOwned>(&self, name: &str) -> Option<T> {
        let bytes = fs::read(self.0.as_ref()?.join(name)).ok()?;
        let (sum, body) = bytes.split_first_chunk()?;
        if Digest::of(body) != Digest(*sum) {
            return None;
        }
        let (made_from, kept): (String, T) = postcard::from_bytes(body).ok()?;
        (made_from == env!("ROPELEAF_MADE_FROM")).then_some(kept)
    }

    fn keep(&self, name: &str, value: &impl Serialize) {
        let Some(folder) = &self.0 else { return };
        let Ok(body) = postcard::to_allocvec(&(env!("ROPELEAF_MADE_FROM"), value)) else {
            return;
        };
        let mut bytes = Digest::of(&body).0.to_vec();
        bytes.extend(body);
        let made = fs::create_dir_all(folder);
        let _ = made.map(|()| write_file(&folder.join(name), &bytes));
    }
}
