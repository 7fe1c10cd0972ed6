//! The store of a press, in two files beside its output.
//!
//! ```text
//! sources, call ─again→ what was said last time: nothing differs, nothing is to be done
//!      └ something differs: kept ─→ Store ─press→ added to as the press goes on
//!                           last ─→ how files were ─finish→ written anew
//! ```
//!
//! All in them stands with its SHA-256, so that what is damaged counts as none. They hold no bytes of
//! the output; without the output they save nothing, and without them a press only takes longer. A
//! program made from other sources starts anew.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::output::{Placed, Standing, untouched};
use super::tree::{AsLeft, nanoseconds};
use super::{DiskProblem, Writing, sibling, write_file_by};
use crate::store::{Aside, Bytes, Digest, Log, OpenAside, Store};

/// What was read, judged and made of each lesson.
const KEPT: &str = "kept";

/// What the last press was asked, what it said, and how the files of its output were.
const LAST: &str = "last";

/// Bytes that are gathered before they are added to what is kept.
const OUT_BYTES: usize = 1 << 18;

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

/// The last press.
#[derive(Debug, Serialize, Deserialize)]
pub struct Last {
    /// Digest of everything that the press depended on, program included.
    asked: Digest,
    said: Said,
    left: AsLeft,
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

    /// The last press, if it is known.
    pub fn last(&self) -> Option<Last> {
        let path = self.0.as_ref()?.join(LAST);
        // Looked at before it is read: of one that was put in its place since then less is sure.
        let written = fs::metadata(&path).ok()?.modified().ok()?;
        let bytes = fs::read(path).ok()?;
        let (sum, body) = bytes.split_first_chunk()?;
        if Digest::of(body) != Digest(*sum) {
            return None;
        }
        let (made_from, mut last): (String, Last) = postcard::from_bytes(body).ok()?;
        last.left.written_ns = nanoseconds(written)?;
        (made_from == env!("ROPELEAF_MADE_FROM")).then_some(last)
    }

    /// The store of the last press; an empty one where there is none.
    pub fn store(&self) -> Store {
        let Some(folder) = &self.0 else {
            return Store::default();
        };
        let old: Box<dyn Bytes> = match kept(&folder.join(KEPT)) {
            Ok(old) => Box::new(old),
            Err(_) => Box::new(Vec::new()),
        };
        let near = folder.ancestors().find(|near| near.is_dir());
        // Of a relative path the last ancestor is the empty one, for the current folder.
        let near = near.unwrap_or(Path::new(".")).to_path_buf();
        let aside: OpenAside =
            Box::new(move || Ok(Box::new(tempfile::tempfile_in(near)?) as Box<dyn Aside>));
        Store::logged(Log::of(old, Some(aside)))
    }

    /// Looks at the output that is to be written, without touching it: while the pack is read.
    /// `None` where it cannot be read.
    pub fn look(output: &Path, last: Option<&Last>) -> Option<Standing> {
        Standing::of(output, last.map(|last| &last.left)).ok()
    }

    /// Begins to write the output, and what is kept.
    ///
    /// - `standing`: what [`Cache::look`] saw.
    ///
    /// # Errors
    /// As [`Writing::begin`]; nothing is written then.
    pub fn begin(
        &self,
        output: &Path,
        last: Option<Last>,
        standing: Option<Standing>,
        store: &Store,
    ) -> Result<Writing, DiskProblem> {
        let left = last.map(|last| last.left);
        let writing = Writing::begin_knowing(output, left.as_ref(), standing, self.0.is_some())?;
        if let Some(folder) = &self.0 {
            store.write_to(|good| {
                fs::create_dir_all(folder)?;
                let mut options = File::options();
                let file = options.create(true).append(true).open(folder.join(KEPT))?;
                file.set_len(good as u64)?;
                Ok(Box::new(io::BufWriter::with_capacity(OUT_BYTES, file)))
            });
        }
        Ok(writing)
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
        if let Some(used) = store.end() {
            self.keep(KEPT, |path, out| Log::only(&kept(path)?, &used, out));
        }
        let last = Last {
            asked,
            said,
            left: AsLeft {
                list,
                files: rows
                    .into_iter()
                    .filter_map(|(path, row)| Some((path, row.stat?)))
                    .collect(),
                written_ns: 0,
            },
        };
        self.keep(LAST, |_, out| {
            let body = postcard::to_allocvec(&(env!("ROPELEAF_MADE_FROM"), &last));
            let body = body.map_err(io::Error::other)?;
            out.write_all(&Digest::of(&body).0)?;
            out.write_all(&body)
        });
        Ok(last.said)
    }

    /// Writes a file of the store, if it can be written.
    ///
    /// - `write`: its bytes; of its path.
    fn keep(&self, name: &str, write: impl FnOnce(&Path, &mut dyn Write) -> io::Result<()>) {
        if let Some(folder) = &self.0 {
            let path = folder.join(name);
            let _ = write_file_by(&path, |out| write(&path, out));
        }
    }
}

/// What is kept, where it is.
#[cfg(unix)]
struct Kept {
    file: File,
    size: usize,
}

#[cfg(unix)]
impl Bytes for Kept {
    fn size(&self) -> usize {
        self.size
    }

    fn copy(&self, at: usize, room: &mut [u8]) -> io::Result<()> {
        use std::os::unix::fs::FileExt;
        self.file.read_exact_at(room, at as u64)
    }
}

#[cfg(unix)]
fn kept(path: &Path) -> io::Result<Kept> {
    let file = File::open(path)?;
    let size = usize::try_from(file.metadata()?.len()).unwrap_or(usize::MAX);
    Ok(Kept { file, size })
}

#[cfg(not(unix))]
fn kept(path: &Path) -> io::Result<Vec<u8>> {
    fs::read(path)
}

impl Last {
    /// What the press said, if it was asked the same and its output stands there untouched: every
    /// file as it was when it was written, and no other.
    pub fn again(&self, output: &Path, asked: Digest) -> Option<Said> {
        let same = self.asked == asked && untouched(output, &self.left);
        same.then(|| self.said.clone())
    }
}
