//! Work that was done already, by a digest of everything that it depends on.
//!
//! ```text
//! lesson, pack, program ─Inputs→ Digest ─Store→ its verdict, what its page is made of, or nothing:
//!                                              then it is judged, made
//! ```
//!
//! A store can be emptied at any time and only costs time. The preview keeps one in memory, bytes
//! and solved rigs included; the press keeps one in a file beside its output, which holds no bytes
//! but where in the last output they stand and their hash, so that unchanged files are linked over.

mod digest;
mod memo;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use serde::{Deserialize, Serialize};

pub use digest::{Digest, Indexes, Inputs, Named, asked, of_files};
pub use memo::Memo;

use crate::press::OutFile;
use crate::press::site::{Drawn, Facts, Sketch};
use crate::rules::KeptVerdict;
use crate::statics::Solved;

/// A file of the output without its bytes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileMark {
    /// Path relative to the output folder.
    pub path: String,
    /// SHA-256 of its bytes.
    pub sha256: Digest,
    /// Their number.
    pub bytes: u64,
}

impl FileMark {
    /// The mark of a file.
    pub fn of(file: &OutFile) -> Self {
        Self {
            path: file.path.clone(),
            sha256: Digest::of(&file.bytes),
            bytes: file.bytes.len() as u64,
        }
    }
}

/// Files that were made together.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Piece {
    /// Their marks, in a store that is kept in a file.
    pub marks: Vec<FileMark>,
    /// The files themselves, in a store in memory.
    #[serde(skip)]
    pub files: Vec<Arc<OutFile>>,
}

/// Everything that is made for one lesson of the site.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Made {
    /// What other pages need to know of it.
    pub facts: Facts,
    /// Its files.
    pub piece: Piece,
}

/// What outlasts the program.
#[derive(Debug, Default, Serialize, Deserialize)]
pub struct Kept {
    /// What the rules said of lessons.
    verdicts: BTreeMap<Digest, KeptVerdict>,
    /// What lessons are and name.
    sketches: BTreeMap<Digest, Sketch>,
    /// What was made for lessons.
    lessons: BTreeMap<Digest, Made>,
    /// The other pages of the site.
    pages: BTreeMap<Digest, Piece>,
}

/// Where files of the output go.
pub trait Sink: Sync {
    /// Takes a file.
    fn put(&self, file: OutFile);

    /// As [`Sink::put`], where the file's mark is known already.
    fn put_marked(&self, file: OutFile, _mark: &FileMark) {
        self.put(file);
    }

    /// As [`Sink::put`], for a file that somebody else holds too.
    fn share(&self, file: Arc<OutFile>) {
        self.put(Arc::unwrap_or_clone(file));
    }

    /// Takes files over from the last output, all of them or none; whether it did. Only files whose
    /// bytes are sure to be those of the mark are taken.
    fn keep(&self, marks: &[FileMark]) -> bool;
}

/// Work done before.
#[derive(Debug, Default)]
pub struct Store {
    in_memory: bool,
    lessons: Mutex<BTreeMap<Digest, Made>>,
    used: Mutex<BTreeMap<Digest, Made>>,
    /// The other pages of the site.
    pages: Memo<Piece>,
    /// What the rules said of lessons.
    pub(crate) verdicts: Memo<KeptVerdict>,
    /// What lessons are and name.
    pub(crate) sketches: Memo<Sketch>,
    /// Rigs solved with their zones.
    pub(crate) solved: Memo<Arc<Solved>>,
    /// Drawings; `None` where a kind says nothing about a rig.
    pub(crate) drawings: Memo<Option<Drawn>>,
}

impl Store {
    /// A store that keeps nothing but what [`Store::kept`] gives out afterwards.
    pub fn of(kept: Kept) -> Self {
        Self {
            lessons: Mutex::new(kept.lessons),
            pages: Memo::of(kept.pages),
            verdicts: Memo::of(kept.verdicts),
            sketches: Memo::of(kept.sketches),
            ..Self::default()
        }
    }

    /// An empty store for a program that goes on.
    pub fn in_memory() -> Self {
        Self {
            in_memory: true,
            pages: Memo::new(),
            verdicts: Memo::new(),
            sketches: Memo::new(),
            solved: Memo::new(),
            drawings: Memo::new(),
            ..Self::default()
        }
    }

    /// What was made for a lesson, its files passed on to the sink; `None` where it is to be made.
    pub fn lesson(&self, key: Digest, sink: &dyn Sink) -> Option<Facts> {
        let made = lock(&self.lessons).get(&key).cloned()?;
        if !self.passed_on(&made.piece, sink) {
            return None;
        }
        let facts = made.facts.clone();
        lock(&self.used).insert(key, made);
        Some(facts)
    }

    /// Remembers what was made for a lesson, and passes its files on.
    pub fn made(&self, key: Digest, facts: &Facts, files: Vec<OutFile>, sink: &dyn Sink) {
        let made = Made {
            facts: facts.clone(),
            piece: self.piece(files, sink),
        };
        lock(&self.used).insert(key, made);
    }

    /// Passes the files of a page on to the sink: those that were made before, or those made now.
    ///
    /// # Errors
    /// Those of the making.
    pub fn page<E>(
        &self,
        key: Digest,
        sink: &dyn Sink,
        make: impl FnOnce() -> Result<Vec<OutFile>, E>,
    ) -> Result<(), E> {
        let known = self.pages.find(key);
        if !known.is_some_and(|piece| self.passed_on(&piece, sink)) {
            let piece = self.piece(make()?, sink);
            self.pages.keep(key, piece);
        }
        Ok(())
    }

    /// Passes on what was made before; whether all of it is there.
    fn passed_on(&self, piece: &Piece, sink: &dyn Sink) -> bool {
        if !self.in_memory {
            return sink.keep(&piece.marks);
        }
        for file in &piece.files {
            sink.share(file.clone());
        }
        true
    }

    /// Passes files on, and gives what is remembered of them.
    fn piece(&self, files: Vec<OutFile>, sink: &dyn Sink) -> Piece {
        let mut piece = Piece::default();
        if self.in_memory {
            piece.files = files.into_iter().map(Arc::new).collect();
            for file in &piece.files {
                sink.share(file.clone());
            }
        } else {
            for file in files {
                let mark = FileMark::of(&file);
                sink.put_marked(file, &mark);
                piece.marks.push(mark);
            }
        }
        piece
    }

    /// Ends a press: what it did not use is forgotten.
    pub fn settle(&self) {
        let used = std::mem::take(&mut *lock(&self.used));
        *lock(&self.lessons) = used;
        self.pages.settle();
        self.verdicts.settle();
        self.sketches.settle();
        self.solved.settle();
        self.drawings.settle();
    }

    /// What the next press can use, after [`Store::settle`].
    pub fn kept(self) -> Kept {
        let lessons = self.lessons.into_inner();
        Kept {
            pages: self.pages.entries(),
            verdicts: self.verdicts.entries(),
            sketches: self.sketches.entries(),
            lessons: lessons.unwrap_or_else(std::sync::PoisonError::into_inner),
        }
    }
}

/// A panic elsewhere leaves nothing half done under these locks.
fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// Gathers an output in memory.
#[derive(Debug, Default)]
pub struct InMemory(Mutex<Vec<Arc<OutFile>>>);

impl InMemory {
    /// The files, by path.
    pub fn files(self) -> Vec<OutFile> {
        let files = self.shared().into_iter();
        files.map(Arc::unwrap_or_clone).collect()
    }

    /// As [`InMemory::files`], those of a store without a copy.
    pub fn shared(self) -> Vec<Arc<OutFile>> {
        let mut files = self
            .0
            .into_inner()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        files.sort_by(|a, b| a.path.cmp(&b.path));
        files
    }
}

impl Sink for InMemory {
    fn put(&self, file: OutFile) {
        self.share(Arc::new(file));
    }

    fn share(&self, file: Arc<OutFile>) {
        lock(&self.0).push(file);
    }

    fn keep(&self, _: &[FileMark]) -> bool {
        false
    }
}
