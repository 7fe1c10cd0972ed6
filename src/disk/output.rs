//! Writing an output folder, all of it or nothing.
//!
//! ```text
//! begin: lock, recover, refuse what is not ours
//! put ─same bytes in the last output→ kept ┐
//!     └else→ .NAME-new/…                   ├finish→ kept files linked over, list written, swapped
//! keep ────────────────────────────→ kept ┘         with the old one, the old one taken away
//! ```
//!
//! At every moment the folder is the old output or the new one. What was not written by ropeleaf
//! is never deleted: a folder that holds such a file is refused, and the old output is taken away
//! file by file as its own list names them.
//!
//! Over 500 lines: what makes the swap whole, its locks and what is mended after a crash lie together.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::UNIX_EPOCH;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use walkdir::WalkDir;

use super::{DiskProblem, sibling, slashes};
use crate::press::OutFile;
use crate::store::{Digest, FileMark, Sink};

/// Lists every file of an output folder with its hash: the press's own mark, so that a folder
/// without it is never replaced.
pub const MANIFEST: &str = "pressed.json";

/// Stands in a folder that is being written, so that the next press knows it as ours.
const UNFINISHED: &str = "unfinished.ropeleaf";

/// The list of an output that is being taken away.
const GOING: &str = "going.ropeleaf";

/// How the system tells a file: if this is unchanged, so are its bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Stat {
    bytes: u64,
    changed_ns: u64,
    number: u64,
}

/// The list of an output.
#[derive(Default, Serialize, Deserialize)]
struct Manifest {
    files: Vec<FileMark>,
}

/// An output in its place.
pub(super) struct Placed {
    /// Its files, by path.
    pub(super) marks: Vec<FileMark>,
    /// Of the bytes of its list.
    pub(super) list: Digest,
    /// How its files are, where the system tells.
    pub(super) files: BTreeMap<String, Stat>,
}

/// An output that is being written.
#[derive(Debug)]
pub struct Writing {
    folder: PathBuf,
    fresh: Fresh,
    lock: Lock,
    old: BTreeMap<String, FileMark>,
    /// How files of the old output were when they were written.
    stats: BTreeMap<String, Stat>,
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    rows: BTreeMap<String, FileMark>,
    kept: BTreeSet<String>,
    folders: BTreeSet<PathBuf>,
    stats: BTreeMap<String, Stat>,
    problem: Option<DiskProblem>,
}

impl State {
    fn fail(&mut self, path: &Path, cause: io::Error) {
        self.problem
            .get_or_insert_with(|| DiskProblem::Io(path.into(), cause));
    }
}

impl Writing {
    /// Begins to write an output.
    ///
    /// # Errors
    /// [`DiskProblem::NotOurs`] where the folder holds a file that is not in its own list
    /// ([`MANIFEST`]); [`DiskProblem::Busy`] while another press writes it; [`DiskProblem::Io`].
    pub fn begin(folder: &Path) -> Result<Self, DiskProblem> {
        Self::begin_knowing(folder, BTreeMap::new())
    }

    pub(super) fn begin_knowing(
        folder: &Path,
        stats: BTreeMap<String, Stat>,
    ) -> Result<Self, DiskProblem> {
        let io = |path: &Path| {
            let path = path.to_path_buf();
            move |e| DiskProblem::Io(path, e)
        };
        if let Some(parent) = sibling(folder, "new").parent() {
            fs::create_dir_all(parent).map_err(io(parent))?;
        }
        let lock = Lock::take(folder)?;
        let (fresh, aside) = (sibling(folder, "new"), sibling(folder, "old"));
        if !folder.exists() && aside.join(MANIFEST).exists() {
            // Ended between the two renames of a file system that cannot exchange.
            fs::rename(&aside, folder).map_err(io(folder))?;
        }
        for left in [&fresh, &aside] {
            clear(left)?;
        }
        let old = marks_in(&folder.join(MANIFEST));
        refuse_foreign(folder, &old)?;
        Ok(Self {
            folder: folder.into(),
            fresh: Fresh(fresh),
            lock,
            old,
            stats,
            state: Mutex::default(),
        })
    }

    /// Puts the new output in the place of the old one. Where nothing differs, nothing is touched.
    ///
    /// # Errors
    /// [`DiskProblem::Io`] for the first thing that failed, here or while files were taken, with the
    /// old output in place; [`DiskProblem::Left`] where the old output could not be taken away whole.
    pub fn finish(self) -> Result<Vec<FileMark>, DiskProblem> {
        self.finish_knowing().map(|placed| placed.marks)
    }

    pub(super) fn finish_knowing(self) -> Result<Placed, DiskProblem> {
        let mut state = std::mem::take(&mut *self.state());
        if let Some(problem) = state.problem.take() {
            return Err(problem);
        }
        let list = manifest(&state.rows);
        self.place(&state, &list)?;
        drop(self.lock);
        Ok(Placed {
            marks: state.rows.into_values().collect(),
            list: Digest::of(&list),
            files: state.stats,
        })
    }

    fn place(&self, state: &State, list: &[u8]) -> Result<(), DiskProblem> {
        let same = state.kept.len() == state.rows.len() && state.rows == self.old;
        if same && self.folder.exists() {
            return Ok(());
        }
        let failed = |path: &Path, cause| DiskProblem::Io(path.into(), cause);
        self.open_fresh().map_err(|e| failed(&self.fresh.0, e))?;
        let folders: BTreeSet<PathBuf> = state
            .kept
            .iter()
            .filter_map(|path| self.fresh.0.join(path).parent().map(Path::to_path_buf))
            .collect();
        for folder in folders {
            fs::create_dir_all(&folder).map_err(|e| failed(&folder, e))?;
        }
        let kept: Vec<&String> = state.kept.iter().collect();
        kept.par_iter().try_for_each(|path| {
            let (from, to) = (self.folder.join(path), self.fresh.0.join(path));
            let linked = fs::hard_link(&from, &to);
            linked
                .or_else(|_| fs::copy(&from, &to).map(drop))
                .map_err(|e| failed(&to, e))
        })?;
        let path = self.fresh.0.join(MANIFEST);
        fs::write(&path, list).map_err(|e| failed(&path, e))?;
        let mark = self.fresh.0.join(UNFINISHED);
        fs::remove_file(&mark).map_err(|e| failed(&mark, e))?;
        if let Err(cause) = swap(&self.fresh.0, &self.folder) {
            let _ = fs::write(&mark, "");
            return Err(failed(&self.folder, cause));
        }
        take_away(&self.fresh.0)
    }

    /// Makes the new folder with its mark, if it is not there.
    fn open_fresh(&self) -> io::Result<()> {
        if !self.fresh.0.exists() {
            fs::create_dir_all(&self.fresh.0)?;
            fs::write(self.fresh.0.join(UNFINISHED), "")?;
        }
        Ok(())
    }

    fn write(&self, file: &OutFile) -> io::Result<Option<Stat>> {
        let path = self.fresh.0.join(&file.path);
        let folder = path.parent().unwrap_or(&self.fresh.0).to_path_buf();
        {
            let mut state = self.state();
            if !state.folders.contains(&folder) {
                self.open_fresh()?;
                fs::create_dir_all(&folder)?;
                state.folders.insert(folder);
            }
        }
        fs::write(&path, &file.bytes)?;
        Ok(fs::metadata(&path).ok().and_then(|meta| stat_of(&meta)))
    }

    /// The mark's file in the old output, if its bytes are surely those: as it was when it was
    /// written, or read again. Its present state, where the system tells.
    fn unchanged(&self, mark: &FileMark) -> Option<Option<Stat>> {
        if self.old.get(&mark.path) != Some(mark) {
            return None;
        }
        let path = self.folder.join(&mark.path);
        let meta = fs::symlink_metadata(&path).ok()?;
        if !meta.is_file() || meta.len() != mark.bytes {
            return None;
        }
        let now = stat_of(&meta);
        let known = now.is_some() && self.stats.get(&mark.path).copied() == now;
        let same = known || Digest::of(&fs::read(&path).ok()?) == mark.sha256;
        same.then_some(now)
    }

    fn take(&self, mark: FileMark, stat: Option<Stat>, kept: bool) {
        let mut state = self.state();
        if kept {
            state.kept.insert(mark.path.clone());
        }
        if let Some(stat) = stat {
            state.stats.insert(mark.path.clone(), stat);
        }
        state.rows.insert(mark.path.clone(), mark);
    }

    fn state(&self) -> std::sync::MutexGuard<'_, State> {
        self.state
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

impl Sink for Writing {
    fn put(&self, file: OutFile) {
        let mark = FileMark::of(&file);
        self.put_marked(file, &mark);
    }

    fn put_marked(&self, file: OutFile, mark: &FileMark) {
        if let Some(stat) = self.unchanged(mark) {
            return self.take(mark.clone(), stat, true);
        }
        if self.state().problem.is_some() {
            return;
        }
        match self.write(&file) {
            Ok(stat) => self.take(mark.clone(), stat, false),
            Err(cause) => self.state().fail(&self.folder.join(&file.path), cause),
        }
    }

    fn keep(&self, marks: &[FileMark]) -> bool {
        let found: Option<Vec<_>> = marks.iter().map(|mark| self.unchanged(mark)).collect();
        let Some(found) = found else {
            return false;
        };
        for (mark, stat) in marks.iter().zip(found) {
            self.take(mark.clone(), stat, true);
        }
        true
    }
}

/// Writes the files as the whole content of `folder`.
///
/// # Errors
/// As [`Writing::begin`] and [`Writing::finish`].
pub fn write_output(folder: &Path, files: &[OutFile]) -> Result<(), DiskProblem> {
    let writing = Writing::begin(folder)?;
    for file in files {
        writing.put(file.clone());
    }
    writing.finish().map(drop)
}

/// What the system says of a file; `None` where it says too little to tell one from another.
fn stat_of(meta: &fs::Metadata) -> Option<Stat> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        let changed = meta.modified().ok()?.duration_since(UNIX_EPOCH).ok()?;
        Some(Stat {
            bytes: meta.len(),
            changed_ns: u64::try_from(changed.as_nanos()).ok()?,
            number: meta.ino(),
        })
    }
    #[cfg(not(unix))]
    None
}

/// Whether an output has just these files, each as it was, and nothing of an ended press is left
/// beside it.
///
/// - `list`: SHA-256 of its list.
pub(super) fn untouched(folder: &Path, list: Digest, files: &BTreeMap<String, Stat>) -> bool {
    if ["new", "old"]
        .iter()
        .any(|what| sibling(folder, what).exists())
    {
        return false;
    }
    let Ok(bytes) = fs::read(folder.join(MANIFEST)) else {
        return false;
    };
    if Digest::of(&bytes) != list {
        return false;
    }
    let mut found = 0;
    for entry in WalkDir::new(folder) {
        let Ok(entry) = entry else { return false };
        if entry.file_type().is_dir() {
            continue;
        }
        let path = slashes(entry.path(), folder);
        if path == MANIFEST {
            continue;
        }
        let now = entry.metadata().ok().filter(fs::Metadata::is_file);
        let now = now.and_then(|meta| stat_of(&meta));
        if now.is_none() || files.get(&path).copied() != now {
            return false;
        }
        found += 1;
    }
    found == files.len()
}

/// Puts `fresh` in the place of `folder`; where there was one, `fresh` is the old one afterwards.
fn swap(fresh: &Path, folder: &Path) -> io::Result<()> {
    if !folder.exists() {
        return fs::rename(fresh, folder);
    }
    #[cfg(target_os = "linux")]
    {
        use rustix::fs::{CWD, RenameFlags, renameat_with};
        match renameat_with(CWD, fresh, CWD, folder, RenameFlags::EXCHANGE) {
            // A file system without the exchange falls through to two renames.
            Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS) => {}
            done => return Ok(done?),
        }
    }
    let aside = sibling(folder, "old");
    fs::rename(folder, &aside)?;
    if let Err(cause) = fs::rename(fresh, folder) {
        fs::rename(&aside, folder)?;
        return Err(cause);
    }
    fs::rename(&aside, fresh)
}

/// Takes away an old output: the files that its list names and the folders that are empty then.
fn take_away(folder: &Path) -> Result<(), DiskProblem> {
    if !folder.exists() {
        return Ok(());
    }
    let failed = |path: &Path, cause| DiskProblem::Io(path.into(), cause);
    let (list, going) = (folder.join(MANIFEST), folder.join(GOING));
    if list.exists() {
        fs::rename(&list, &going).map_err(|e| failed(&going, e))?;
    }
    let old = marks_in(&going);
    let paths: Vec<&String> = old.keys().collect();
    paths.par_iter().try_for_each(|path| {
        let path = folder.join(path);
        match fs::remove_file(&path) {
            Err(cause) if cause.kind() != io::ErrorKind::NotFound => Err(failed(&path, cause)),
            _ => Ok(()),
        }
    })?;
    let folders = WalkDir::new(folder).contents_first(true).min_depth(1);
    for entry in folders.into_iter().flatten() {
        if entry.file_type().is_dir() {
            // One that holds a file of somebody else's stays.
            let _ = fs::remove_dir(entry.path());
        }
    }
    if going.exists() {
        fs::remove_file(&going).map_err(|e| failed(&going, e))?;
    }
    fs::remove_dir(folder).map_err(|_| DiskProblem::Left(folder.into()))
}

/// Takes away what a press that was ended left beside the output.
fn clear(left: &Path) -> Result<(), DiskProblem> {
    if !left.exists() {
        return Ok(());
    }
    if left.join(UNFINISHED).exists() {
        return fs::remove_dir_all(left).map_err(|e| DiskProblem::Io(left.into(), e));
    }
    if !left.join(GOING).exists() {
        refuse_foreign(left, &marks_in(&left.join(MANIFEST)))?;
    }
    take_away(left)
}

/// The folder that is being written; unless it was swapped it goes with the press.
#[derive(Debug)]
struct Fresh(PathBuf);

impl Drop for Fresh {
    fn drop(&mut self) {
        if self.0.join(UNFINISHED).exists() {
            let _ = fs::remove_dir_all(&self.0);
        }
    }
}

/// The list of an output: every path with the SHA-256 of its bytes and its size, by path.
fn manifest(rows: &BTreeMap<String, FileMark>) -> Vec<u8> {
    let files = rows.values().cloned().collect();
    let mut text = serde_json::to_vec_pretty(&Manifest { files }).unwrap_or_default();
    text.push(b'\n');
    text
}

/// What a list says.
fn marks_in(list: &Path) -> BTreeMap<String, FileMark> {
    let list = fs::read(list).unwrap_or_default();
    let list: Manifest = serde_json::from_slice(&list).unwrap_or_default();
    let rows = list.files.into_iter();
    rows.map(|mark| (mark.path.clone(), mark)).collect()
}

/// Refuses a folder with any file that its own list does not name.
fn refuse_foreign(folder: &Path, listed: &BTreeMap<String, FileMark>) -> Result<(), DiskProblem> {
    if !folder.exists() {
        return Ok(());
    }
    for entry in WalkDir::new(folder).sort_by_file_name() {
        let entry = entry.map_err(|e| DiskProblem::Io(folder.into(), e.into()))?;
        let path = slashes(entry.path(), folder);
        if entry.depth() == 0 && !entry.file_type().is_dir() {
            return Err(DiskProblem::NotOurs(folder.into()));
        }
        if !entry.file_type().is_dir() && path != MANIFEST && !listed.contains_key(&path) {
            return Err(DiskProblem::NotOurs(entry.path().into()));
        }
    }
    Ok(())
}

/// Keeps two presses from writing to one output: a locked file beside it, taken away at the end.
#[derive(Debug)]
struct Lock {
    path: PathBuf,
    _file: File,
}

impl Lock {
    fn take(folder: &Path) -> Result<Self, DiskProblem> {
        let path = sibling(folder, "lock");
        let failed = |e| DiskProblem::Io(path.clone(), e);
        let file = File::create(&path).map_err(failed)?;
        match file.try_lock() {
            Ok(()) => Ok(Self { path, _file: file }),
            Err(fs::TryLockError::WouldBlock) => Err(DiskProblem::Busy(folder.into())),
            // A file system without locks: as it was before there was one.
            Err(fs::TryLockError::Error(_)) => Ok(Self { path, _file: file }),
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.path);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(path: &str, text: &str) -> OutFile {
        OutFile {
            path: path.into(),
            bytes: text.into(),
        }
    }

    fn names(home: &Path) -> Vec<String> {
        let entries = fs::read_dir(home).unwrap().flatten();
        let mut names: Vec<_> = entries
            .map(|e| e.file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn output_is_replaced_whole_and_foreign_files_are_kept() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        let read = |path: &str| fs::read_to_string(out.join(path)).unwrap();
        let both = [file("site/index.html", "one"), file("site/old.html", "x")];
        write_output(&out, &both).unwrap();
        write_output(&out, &[file("site/index.html", "two")]).unwrap();
        assert_eq!(read("site/index.html"), "two");
        assert!(!out.join("site/old.html").exists());

        fs::write(out.join("site/mine.txt"), "keep").unwrap();
        let refused = write_output(&out, &[file("site/index.html", "three")]);
        assert!(
            matches!(refused, Err(DiskProblem::NotOurs(path)) if path.ends_with("site/mine.txt"))
        );
        assert_eq!(read("site/index.html"), "two");
        assert_eq!(
            names(home.path()),
            ["output"],
            "something is left beside it"
        );
    }

    #[test]
    fn a_file_changed_by_hand_is_written_again_whatever_its_size() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        let files = [file("a", "one"), file("b", "same")];
        write_output(&out, &files).unwrap();
        fs::write(out.join("a"), "ONE").unwrap();
        write_output(&out, &files).unwrap();
        assert_eq!(fs::read_to_string(out.join("a")).unwrap(), "one");
    }

    #[test]
    fn a_file_that_came_while_the_press_went_on_is_left_with_a_word() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        write_output(&out, &[file("site/a", "one")]).unwrap();
        let writing = Writing::begin(&out).unwrap();
        fs::write(out.join("site/mine"), "keep").unwrap();
        writing.put(file("site/a", "two"));
        assert!(matches!(writing.finish(), Err(DiskProblem::Left(_))));
        assert_eq!(fs::read_to_string(out.join("site/a")).unwrap(), "two");
        let left = home.path().join(".output-new/site/mine");
        assert_eq!(fs::read_to_string(left).unwrap(), "keep");
        // It stays in the way of the next press, which says so.
        assert!(matches!(Writing::begin(&out), Err(DiskProblem::NotOurs(_))));
    }

    #[test]
    fn two_presses_do_not_write_to_one_output() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        let first = Writing::begin(&out).unwrap();
        assert!(matches!(Writing::begin(&out), Err(DiskProblem::Busy(_))));
        drop(first);
        Writing::begin(&out).unwrap();
    }

    #[test]
    fn an_output_that_was_set_aside_comes_back() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        write_output(&out, &[file("a", "one")]).unwrap();
        fs::rename(&out, home.path().join(".output-old")).unwrap();
        let writing = Writing::begin(&out).unwrap();
        assert_eq!(fs::read_to_string(out.join("a")).unwrap(), "one");
        drop(writing);
    }
}
