//! Digests of typed values: two values with the same digest give the same work.
//!
//! ```text
//! value ─Serialize→ fields in order ─places out, indexes to what they name→ SHA-256
//! ```
//!
//! Every type of a pack derives `Serialize`, which gives each field, so that a field added later is in
//! the digest without anybody thinking of it. Places in the source are left out: a lesson is the
//! same when a line above it is added. An index of a rig, lesson or kit item stands for the digest
//! of what it names, so that a change there is seen here.

use std::collections::BTreeSet;

use serde::Serialize;
use sha2::{Digest as _, Sha256};

use crate::digest::Digest;
use crate::finding::Sources;

use super::fields::fields;

/// What the indexes inside a value stand for.
#[derive(Debug, Clone, Default)]
pub struct Named {
    /// For each rig of the pack.
    pub rigs: Vec<Digest>,
    /// For each lesson.
    pub lessons: Vec<Digest>,
    /// For each kit item.
    pub kit: Vec<Digest>,
}

/// What a value names by index.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Indexes {
    /// Rigs of the pack.
    pub rigs: BTreeSet<usize>,
    /// Lessons.
    pub lessons: BTreeSet<usize>,
    /// Kit items.
    pub kit: BTreeSet<usize>,
}

impl Indexes {
    /// Everything that a typed value names.
    pub fn of(value: &impl Serialize) -> Self {
        fields(value, &Named::default()).1
    }
}

/// Takes in everything that a piece of work depends on.
pub struct Inputs(Sha256);

impl Inputs {
    /// Begins with the kind of work; the program itself is always among the inputs.
    pub fn of(work: &str) -> Self {
        let mut inputs = Self(Sha256::new());
        inputs.bytes(env!("ROPELEAF_MADE_FROM").as_bytes());
        inputs.bytes(work.as_bytes());
        inputs
    }

    /// Bytes, apart from those before and after.
    pub fn bytes(&mut self, bytes: &[u8]) -> &mut Self {
        self.0.update((bytes.len() as u64).to_le_bytes());
        self.0.update(bytes);
        self
    }

    /// A number.
    pub fn count(&mut self, count: usize) -> &mut Self {
        self.0.update((count as u64).to_le_bytes());
        self
    }

    /// Another digest.
    pub fn digest(&mut self, digest: Digest) -> &mut Self {
        self.0.update(digest.0);
        self
    }

    /// A typed value.
    pub fn typed(&mut self, value: &impl Serialize, named: &Named) -> &mut Self {
        self.bytes(&fields(value, named).0)
    }

    /// The digest of everything taken in.
    pub fn finish(&self) -> Digest {
        Digest(self.0.clone().finalize().into())
    }
}

/// Of everything that a press depends on: the program, the call, each file of the pack.
pub fn asked(sources: &Sources, call: &impl Serialize) -> Digest {
    let mut inputs = Inputs::of("press");
    inputs.typed(call, &Named::default());
    for (file, digest) in sources.with_digests() {
        inputs.bytes(file.path.as_bytes()).digest(digest);
    }
    inputs.finish()
}

/// The folders of files that a lesson does not depend on but by name, or as the one that it is.
const OTHER_FOLDERS: [&str; 4] = ["lessons/", "courses/", "pictures/", "own/"];

/// Of the files that every lesson is read and judged with: pack, rules, kit.
pub fn common(sources: &Sources) -> Digest {
    let mut common = Inputs::of("common");
    for (file, digest) in sources.with_digests() {
        if !OTHER_FOLDERS
            .iter()
            .any(|other| file.path.starts_with(other))
        {
            common.bytes(file.path.as_bytes()).digest(digest);
        }
    }
    common.finish()
}
