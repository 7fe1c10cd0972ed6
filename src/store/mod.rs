//! Work that was done already, by a digest of everything that it depends on.
//!
//! ```text
//! lesson, pack, program ─Inputs→ Digest ─Store→ what was read of it, its verdict, what its page is made
//!                                              of, or nothing: then it is read, judged, made
//! ```
//!
//! A store can be emptied at any time and only costs time. The preview keeps one in memory, bytes
//! and solved rigs included; the press keeps one in a file beside its output ([`Log`]), which holds no
//! bytes but where in the last output they stand and their hash, so that unchanged files are linked
//! over.

mod digest;
mod fields;
mod log;
mod memo;

use std::io::Write;
use std::sync::{Arc, Mutex};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

pub use crate::digest::Digest;
pub use digest::{Indexes, Inputs, Named, asked, common};
pub use log::{Aside, Bytes, Log, OpenAside};
pub use memo::Memo;

use crate::pack::KeptLesson;
use crate::press::OutFile;
use crate::press::site::{Drawn, Facts, Sketch};
use crate::rules::KeptVerdict;
use crate::statics::Solved;

/// Drawings that a store in memory remembers of one press: those of the few lessons that somebody is
/// at work on. A large pack's own, each twice in its files, would double the memory.
const MOST_DRAWINGS: usize = 1000;

/// Rigs solved with their zones, likewise.
const MOST_SOLVED: usize = 200;

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
    fn keep(&self, marks: Vec<FileMark>) -> bool;
}

/// Work done before. One made by default remembers nothing.
#[derive(Debug, Default)]
pub struct Store {
    in_memory: bool,
    /// What outlasts the program.
    log: Option<Log>,
    /// Lessons as they were read.
    read: Memo<KeptLesson>,
    lessons: Memo<Made>,
    /// The other pages of the site.
    pages: Memo<Piece>,
    /// What the rules said of lessons.
    verdicts: Memo<KeptVerdict>,
    /// What lessons are and name.
    sketches: Memo<Sketch>,
    /// Rigs solved with their zones.
    pub(crate) solved: Memo<Arc<Solved>>,
    /// Drawings; `None` where a kind says nothing about a rig.
    pub(crate) drawings: Memo<Option<Drawn>>,
}

impl Store {
    /// A store for a program that ends with its press.
    pub fn logged(log: Log) -> Self {
        Self {
            log: Some(log),
            ..Self::default()
        }
    }

    /// Says where its log goes on.
    ///
    /// - `open`: as in [`Log::write_to`].
    pub fn write_to(&self, open: impl FnOnce(usize) -> std::io::Result<Box<dyn Write + Send>>) {
        if let Some(log) = &self.log {
            log.write_to(open);
        }
    }

    /// An empty store for a program that goes on.
    pub fn in_memory() -> Self {
        Self {
            in_memory: true,
            read: Memo::new(),
            lessons: Memo::new(),
            pages: Memo::new(),
            verdicts: Memo::new(),
            sketches: Memo::new(),
            solved: Memo::of(MOST_SOLVED),
            drawings: Memo::of(MOST_DRAWINGS),
            ..Self::default()
        }
    }

    /// Whether anything is remembered.
    pub(crate) const fn remembers(&self) -> bool {
        self.in_memory || self.log.is_some()
    }

    /// A lesson as it was read.
    pub(crate) fn read(&self, key: Digest) -> Option<KeptLesson> {
        self.find(&self.read, key)
    }

    /// Remembers a lesson as it was read.
    pub(crate) fn keep_read(&self, key: Digest, lesson: KeptLesson) {
        self.keep(&self.read, key, lesson);
    }

    /// What was made for a lesson, its files passed on to the sink; `None` where it is to be made.
    pub fn lesson(&self, key: Digest, sink: &dyn Sink) -> Option<Facts> {
        let made = self.find(&self.lessons, key)?;
        let all = self.passed_on(made.piece, sink);
        all.then_some(made.facts)
    }

    /// Remembers what was made for a lesson, and passes its files on.
    pub fn made(&self, key: Digest, facts: &Facts, files: Vec<OutFile>, sink: &dyn Sink) {
        let made = Made {
            facts: facts.clone(),
            piece: self.piece(files, sink),
        };
        self.keep(&self.lessons, key, made);
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
        let known = self.find(&self.pages, key);
        if !known.is_some_and(|piece| self.passed_on(piece, sink)) {
            let piece = self.piece(make()?, sink);
            self.keep(&self.pages, key, piece);
        }
        Ok(())
    }

    /// Passes on what was made before; whether all of it is there.
    fn passed_on(&self, piece: Piece, sink: &dyn Sink) -> bool {
        if !self.in_memory {
            return sink.keep(piece.marks);
        }
        for file in piece.files {
            sink.share(file);
        }
        true
    }

    /// Passes files on, and gives what is remembered of them.
    fn piece(&self, files: Vec<OutFile>, sink: &dyn Sink) -> Piece {
        let mut piece = Piece::default();
        if self.in_memory {
            let tight = |mut file: OutFile| {
                file.bytes.shrink_to_fit();
                Arc::new(file)
            };
            piece.files = files.into_iter().map(tight).collect();
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

    /// What the rules said of a lesson.
    pub(crate) fn verdict(&self, key: Digest) -> Option<KeptVerdict> {
        self.find(&self.verdicts, key)
    }

    /// Remembers what the rules said of a lesson.
    pub(crate) fn keep_verdict(&self, key: Digest, verdict: KeptVerdict) {
        self.keep(&self.verdicts, key, verdict);
    }

    /// What a lesson is and names.
    pub(crate) fn sketch(&self, key: Digest) -> Option<Sketch> {
        self.find(&self.sketches, key)
    }

    /// Remembers what a lesson is and names.
    pub(crate) fn keep_sketch(&self, key: Digest, sketch: Sketch) {
        self.keep(&self.sketches, key, sketch);
    }

    fn find<T: Clone + DeserializeOwned>(&self, memo: &Memo<T>, key: Digest) -> Option<T> {
        match &self.log {
            Some(log) => log.find(key),
            None => memo.find(key),
        }
    }

    fn keep<T: Clone + Serialize>(&self, memo: &Memo<T>, key: Digest, value: T) {
        match &self.log {
            Some(log) => log.keep(key, &value),
            None => memo.keep(key, value),
        }
    }

    /// Ends a press: what it did not use is forgotten.
    pub fn settle(&self) {
        self.read.settle();
        self.lessons.settle();
        self.pages.settle();
        self.verdicts.settle();
        self.sketches.settle();
        self.solved.settle();
        self.drawings.settle();
    }

    /// Ends the store: everything is in its log. The keys of what the press used, where the log is
    /// to be written again with these only.
    pub fn end(self) -> Option<Vec<Digest>> {
        self.log?.end()
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

    fn keep(&self, _: Vec<FileMark>) -> bool {
        false
    }
}
