//! Writing an output folder, all of it or nothing.
//!
//! ```text
//! look (while the pack is read): the old output, its list, its spare
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
//! Where a store is kept, the old output stays beside the new one as a spare (`.NAME-spare`, links
//! to the same files), and the next one is made of it: then only what differs is touched.
//!
//! Over 500 lines: what each step leaves behind is what the next one, and the next press, may rely on.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use super::tree::{
    AsLeft, Listed, MANIFEST, Seen, Stat, Unfinished, clear, foreign_file, keep_spare, list,
    make_folders, manifest, marks_of, numbers, swap, take_away, weed,
};
use super::{DiskProblem, sibling};
use crate::press::OutFile;
use crate::store::{Digest, FileMark, Sink};

/// An output in its place.
pub(super) struct Placed {
    /// Its files, by path.
    pub(super) rows: BTreeMap<String, Row>,
    /// Of the bytes of its list.
    pub(super) list: Digest,
}

/// An output that is being written.
#[derive(Debug)]
pub struct Writing {
    folder: PathBuf,
    fresh: Unfinished,
    spare: PathBuf,
    /// Whether a spare is kept.
    keeps_spare: bool,
    _lock: Lock,
    /// The old output.
    old: BTreeMap<String, Old>,
    /// SHA-256 of its list.
    old_list: Digest,
    state: Mutex<State>,
}

/// An output as it stands before a press writes it.
#[derive(Debug)]
pub struct Standing {
    /// How the system told its folder and its list before it was looked at: another press since then
    /// would have put others in their place.
    sign: [Option<Stat>; 2],
    old: BTreeMap<String, Old>,
    /// SHA-256 of its list.
    list: Digest,
    /// The first file that its list does not name.
    foreign: Option<PathBuf>,
    /// Whether the spare holds its very files.
    has_spare: bool,
}

/// A file of the old output.
#[derive(Debug)]
struct Old {
    /// What its list says.
    mark: FileMark,
    /// How it is now; `None` where there is no such file.
    seen: Option<Seen>,
    /// Whether it is as it was when it was written.
    known: bool,
}

#[derive(Debug, Default)]
struct State {
    rows: BTreeMap<String, Row>,
    folders: BTreeSet<PathBuf>,
    problem: Option<DiskProblem>,
}

/// A file of the new output.
#[derive(Debug)]
pub(super) struct Row {
    sha256: Digest,
    bytes: u64,
    /// How it is, where the system tells.
    pub(super) stat: Option<Stat>,
    /// Whether it stands in the old output.
    kept: bool,
}

impl State {
    fn fail(&mut self, path: &Path, cause: io::Error) {
        self.problem
            .get_or_insert_with(|| DiskProblem::Io(path.into(), cause));
    }

    fn kept(&self) -> impl Iterator<Item = &str> {
        let kept = self.rows.iter().filter(|(_, row)| row.kept);
        kept.map(|(path, _)| path.as_str())
    }

    /// Looks again at the files of the output in its place: renaming, linking and taking a spare away
    /// have changed them for the system.
    ///
    /// - `kept_links`: whether those that were kept have the links that they had.
    fn look_again(&mut self, folder: &Path, kept_links: bool) {
        let rows = self
            .rows
            .iter_mut()
            .filter(|(_, row)| !(kept_links && row.kept));
        let rows: Vec<_> = rows.collect();
        rows.into_par_iter().for_each(|(path, row)| {
            let now = fs::symlink_metadata(folder.join(path)).ok();
            let now = now.and_then(|meta| Stat::of(&meta));
            row.stat = row
                .stat
                .and_then(|stat| now.filter(|now| now.is_but_for_links(stat)));
        });
    }
}

impl Standing {
    /// Looks at an output without touching it.
    ///
    /// - `left`: how the last press left the output.
    ///
    /// # Errors
    /// As [`list`].
    pub(super) fn of(folder: &Path, left: Option<&AsLeft>) -> Result<Self, DiskProblem> {
        let sign = sign(folder);
        let read_list = || {
            let bytes = fs::read(folder.join(MANIFEST)).unwrap_or_default();
            (marks_of(&bytes), Digest::of(&bytes))
        };
        let ((listed, own_list), found) = rayon::join(read_list, || list(folder, Seen::at));
        let found = found?;
        let foreign = foreign_file(&found, &listed).map(|path| folder.join(path));
        // What was left says something of the marks of its own list only.
        let left = left.filter(|left| left.list == own_list);
        let old = listed.into_iter().map(|(path, mark)| {
            let seen = found.get(&path).copied().flatten();
            let stat = seen.and_then(|seen| seen.stat);
            let sure =
                |(left, stat): (&AsLeft, Stat)| left.knows(&path, stat) && left.is_sure(stat);
            let known = left.zip(stat).is_some_and(sure);
            (path, Old { mark, seen, known })
        });
        let old = old.collect();
        Ok(Self {
            has_spare: links_in_spare(folder, &old).is_some(),
            sign,
            old,
            list: own_list,
            foreign,
        })
    }

    /// Whether no press has written the output since.
    fn holds(&self, folder: &Path) -> bool {
        self.sign.iter().all(Option::is_some) && self.sign == sign(folder)
    }
}

/// How the system tells an output's folder and list.
fn sign(folder: &Path) -> [Option<Stat>; 2] {
    [folder, &folder.join(MANIFEST)].map(|path| Stat::of(&fs::symlink_metadata(path).ok()?))
}

/// The entries of an output's spare, if they are the very files of the output.
fn links_in_spare(
    folder: &Path,
    old: &BTreeMap<String, Old>,
) -> Option<BTreeMap<String, Option<u64>>> {
    let links = numbers(&sibling(folder, "spare")).ok()?;
    let number = |old: &Old| Some(old.seen?.stat?.number);
    let mut found = links.iter().filter(|(path, _)| *path != MANIFEST);
    let same = old.iter().all(|(path, old)| {
        let link = found.next();
        link.is_some_and(|(at, link)| at == path && link.is_some() && *link == number(old))
    });
    (same && found.next().is_none() && links.contains_key(MANIFEST)).then_some(links)
}

impl Writing {
    /// Begins to write an output.
    ///
    /// # Errors
    /// [`DiskProblem::NotOurs`] where the folder holds a file that is not in its own list
    /// ([`MANIFEST`]); [`DiskProblem::Busy`] while another press writes it; [`DiskProblem::Io`].
    pub fn begin(folder: &Path) -> Result<Self, DiskProblem> {
        Self::begin_knowing(folder, None, None, false)
    }

    /// As [`Writing::begin`].
    ///
    /// - `left`: how the last press left the output.
    /// - `standing`: the output, if it was looked at before.
    /// - `spare`: whether a spare is kept.
    pub(super) fn begin_knowing(
        folder: &Path,
        left: Option<&AsLeft>,
        standing: Option<Standing>,
        spare: bool,
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
        let standing = match standing.filter(|standing| standing.holds(folder)) {
            Some(standing) => standing,
            None => Standing::of(folder, left)?,
        };
        if let Some(foreign) = standing.foreign {
            return Err(DiskProblem::NotOurs(foreign));
        }
        let spare_folder = sibling(folder, "spare");
        if !(spare && standing.has_spare) {
            clear(&spare_folder)?;
        }
        Ok(Self {
            folder: folder.into(),
            fresh: Unfinished::at(fresh),
            spare: spare_folder,
            keeps_spare: spare,
            _lock: lock,
            old: standing.old,
            old_list: standing.list,
            state: Mutex::default(),
        })
    }

    /// Puts the new output in the place of the old one. Where nothing differs, nothing is touched.
    ///
    /// # Errors
    /// [`DiskProblem::Io`] for the first thing that failed, here or while files were taken, with the
    /// old output in place; [`DiskProblem::Left`] where the old output could not be taken away whole.
    pub fn finish(self) -> Result<(), DiskProblem> {
        self.finish_knowing().map(drop)
    }

    pub(super) fn finish_knowing(self) -> Result<Placed, DiskProblem> {
        let mut state = std::mem::take(&mut *self.state());
        if let Some(problem) = state.problem.take() {
            return Err(problem);
        }
        let same = state.rows.len() == self.old.len() && state.rows.values().all(|row| row.kept);
        let of_spare = self.keeps_spare && 2 * state.kept().count() > state.rows.len();
        let (list, links) = rayon::join(
            || {
                manifest(state.rows.iter().map(|(path, row)| Listed {
                    path,
                    sha256: row.sha256,
                    bytes: row.bytes,
                }))
            },
            || (of_spare && !same).then(|| links_in_spare(&self.folder, &self.old)),
        );
        let (links, own_list) = (links.flatten(), Digest::of(&list));
        let (folder, kept_links) = (self.folder.clone(), links.is_some());
        if !(same && own_list == self.old_list) {
            self.place(&state, &list, links)?;
        }
        state.look_again(&folder, kept_links);
        Ok(Placed {
            list: own_list,
            rows: state.rows,
        })
    }

    /// - `links`: the entries of the spare, if the output is to be made of it.
    fn place(
        self,
        state: &State,
        list: &[u8],
        links: Option<BTreeMap<String, Option<u64>>>,
    ) -> Result<(), DiskProblem> {
        let failed = |path: &Path, cause| DiskProblem::Io(path.into(), cause);
        let spare = Unfinished::at(self.spare.clone());
        let mut linked = true;
        let dressed = match links {
            Some(links) => {
                let dressed = self.dress(&spare, &links, state, list);
                dressed.map_err(|e| failed(spare.path(), e))?;
                true
            }
            None => {
                linked = self.complete(state, list)?;
                false
            }
        };
        let new = if dressed { &spare } else { &self.fresh };
        if let Err(cause) = swap(new.path(), &self.folder) {
            let _ = new.mark();
            return Err(failed(&self.folder, cause));
        }
        let files = (self.keeps_spare && linked).then(|| self.files_in_place(state));
        let Some(files) = files.flatten() else {
            return take_away(new.path());
        };
        if !dressed {
            clear(spare.path())?;
            if self.fresh.path().exists() {
                fs::rename(self.fresh.path(), spare.path()).map_err(|e| failed(spare.path(), e))?;
            }
        }
        keep_spare(&spare, &self.old, &self.folder, &files)
    }

    /// Makes the new output complete in its own folder: kept files are linked over, or copied where
    /// the file system has no links. Whether all could be linked.
    fn complete(&self, state: &State, list: &[u8]) -> Result<bool, DiskProblem> {
        let failed = |path: &Path, cause| DiskProblem::Io(path.into(), cause);
        let fresh = self.fresh.path();
        let opened = self.fresh.open();
        opened
            .and_then(|()| make_folders(fresh, state.kept()))
            .map_err(|e| failed(fresh, e))?;
        let linked = AtomicBool::new(true);
        let kept: Vec<&str> = state.kept().collect();
        kept.par_iter().try_for_each(|path| {
            let (from, to) = (self.folder.join(path), fresh.join(path));
            fs::hard_link(&from, &to)
                .or_else(|_| {
                    linked.store(false, Ordering::Relaxed);
                    fs::copy(&from, &to).map(drop)
                })
                .map_err(|e| failed(&to, e))
        })?;
        let path = fresh.join(MANIFEST);
        fs::write(&path, list).map_err(|e| failed(&path, e))?;
        self.fresh.done().map_err(|e| failed(fresh, e))?;
        Ok(linked.into_inner())
    }

    /// Makes the new output of the spare, which holds the files of the old one.
    fn dress(
        &self,
        spare: &Unfinished,
        links: &BTreeMap<String, Option<u64>>,
        state: &State,
        list: &[u8],
    ) -> io::Result<()> {
        let (fresh, folder) = (self.fresh.path(), spare.path());
        spare.mark()?;
        let kept = |path: &str| state.rows.get(path).is_some_and(|row| row.kept);
        weed(folder, links, |path, _| kept(path))?;
        let written = state.rows.keys().map(String::as_str);
        let written: Vec<&str> = written.filter(|path| !kept(path)).collect();
        make_folders(folder, written.iter().copied())?;
        written
            .par_iter()
            .try_for_each(|path| fs::rename(fresh.join(path), folder.join(path)))?;
        fs::write(folder.join(MANIFEST), list)?;
        spare.done()
    }

    /// The files of the new output by their numbers; `None` where the system has none.
    fn files_in_place<'a>(&self, state: &'a State) -> Option<BTreeMap<&'a str, u64>> {
        let list = fs::symlink_metadata(self.folder.join(MANIFEST)).ok()?;
        let numbers = state.rows.iter();
        let numbers = numbers.map(|(path, row)| Some((path.as_str(), row.stat?.number)));
        numbers
            .chain([Stat::of(&list).map(|list| (MANIFEST, list.number))])
            .collect()
    }

    fn write(&self, file: &OutFile) -> io::Result<Option<Stat>> {
        let path = self.fresh.path().join(&file.path);
        let folder = path.parent().unwrap_or(self.fresh.path()).to_path_buf();
        {
            let mut state = self.state();
            if !state.folders.contains(&folder) {
                self.fresh.open()?;
                fs::create_dir_all(&folder)?;
                state.folders.insert(folder);
            }
        }
        fs::write(&path, &file.bytes)?;
        Ok(fs::metadata(&path).ok().and_then(|meta| Stat::of(&meta)))
    }

    /// How the mark's file is in the old output, if its bytes are surely those: as it was when it
    /// was written, or read again.
    fn unchanged(&self, mark: &FileMark) -> Option<Seen> {
        let old = self.old.get(&mark.path)?;
        let seen = old.seen?;
        if old.mark != *mark || seen.bytes != mark.bytes {
            return None;
        }
        let read = || fs::read(self.folder.join(&mark.path)).ok();
        let same = old.known || Digest::of(&read()?) == mark.sha256;
        same.then_some(seen)
    }

    fn take(&self, mark: FileMark, stat: Option<Stat>, kept: bool) {
        let row = Row {
            sha256: mark.sha256,
            bytes: mark.bytes,
            stat,
            kept,
        };
        self.state().rows.insert(mark.path, row);
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
        if let Some(seen) = self.unchanged(mark) {
            return self.take(mark.clone(), seen.stat, true);
        }
        if self.state().problem.is_some() {
            return;
        }
        match self.write(&file) {
            Ok(stat) => self.take(mark.clone(), stat, false),
            Err(cause) => self.state().fail(&self.folder.join(&file.path), cause),
        }
    }

    fn keep(&self, marks: Vec<FileMark>) -> bool {
        let found: Option<Vec<_>> = marks.iter().map(|mark| self.unchanged(mark)).collect();
        let Some(found) = found else {
            return false;
        };
        for (mark, seen) in marks.into_iter().zip(found) {
            self.take(mark, seen.stat, true);
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

/// Whether an output is as it was left, and nothing of an ended press stands beside it.
pub(super) fn untouched(folder: &Path, left: &AsLeft) -> bool {
    let beside = |what: &&str| sibling(folder, what).exists();
    if ["new", "old"].iter().any(beside) || Unfinished::is(&sibling(folder, "spare")) {
        return false;
    }
    let own_list = fs::read(folder.join(MANIFEST)).unwrap_or_default();
    if Digest::of(&own_list) != left.list {
        return false;
    }
    let Ok(mut found) = list(folder, Seen::at) else {
        return false;
    };
    found.remove(MANIFEST);
    let mut unsure = Vec::new();
    let mut is_known = |(path, seen): (&String, &Option<Seen>)| {
        let stat = seen.and_then(|seen| seen.stat);
        let stat = stat.filter(|stat| left.knows(path, *stat));
        if stat.is_some_and(|stat| !left.is_sure(stat)) {
            unsure.push(path.clone());
        }
        stat.is_some()
    };
    found.len() == left.files.len()
        && found.iter().all(&mut is_known)
        && are_as_listed(folder, &own_list, &unsure)
}

/// Whether files of an output have the bytes that its list says.
fn are_as_listed(folder: &Path, list: &[u8], paths: &[String]) -> bool {
    if paths.is_empty() {
        return true;
    }
    let marks = marks_of(list);
    paths.par_iter().all(|path| {
        let bytes = fs::read(folder.join(path)).ok();
        let mark = marks.get(path).zip(bytes);
        mark.is_some_and(|(mark, bytes)| mark.sha256 == Digest::of(&bytes))
    })
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
        loop {
            let file = File::create(&path).map_err(|e| DiskProblem::Io(path.clone(), e))?;
            match file.try_lock() {
                // A press that ended just now took the file away, and another may lock the next one.
                Ok(()) if !stands_at(&file, &path) => {}
                // A file system without locks: as it was before there was one.
                Ok(()) | Err(fs::TryLockError::Error(_)) => return Ok(Self { path, _file: file }),
                Err(fs::TryLockError::WouldBlock) => return Err(DiskProblem::Busy(folder.into())),
            }
        }
    }
}

/// Whether a path leads to this very file; always so where the system does not tell.
fn stands_at(file: &File, path: &Path) -> bool {
    let number = |meta: io::Result<fs::Metadata>| Some(Stat::of(&meta.ok()?)?.number);
    number(file.metadata()) == number(fs::metadata(path))
}

impl Drop for Lock {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.path);
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicUsize;

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
    fn no_two_hold_a_lock_whatever_the_moment() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        let (inside, taken) = (AtomicUsize::new(0), AtomicUsize::new(0));
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    for _ in 0..2_000 {
                        let Ok(lock) = Lock::take(&out) else {
                            continue;
                        };
                        assert_eq!(inside.fetch_add(1, Ordering::SeqCst), 0);
                        taken.fetch_add(1, Ordering::SeqCst);
                        std::thread::yield_now();
                        inside.fetch_sub(1, Ordering::SeqCst);
                        drop(lock);
                    }
                });
            }
        });
        assert!(taken.into_inner() > 0);
        assert!(names(home.path()).is_empty());
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

    /// The numbers of an output's files and of its spare's.
    fn both(out: &Path) -> [BTreeMap<String, Option<u64>>; 2] {
        [out.into(), sibling(out, "spare")].map(|folder| numbers(&folder).unwrap())
    }

    fn press(out: &Path, files: &[OutFile]) -> Result<(), DiskProblem> {
        let writing = Writing::begin_knowing(out, None, None, true)?;
        files.iter().for_each(|file| writing.put(file.clone()));
        writing.finish()
    }

    #[test]
    fn the_spare_holds_the_very_files_of_the_output() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        let mut files = ["a", "b/c", "b/d/e", "f"]
            .map(|path| file(path, path))
            .to_vec();
        let mut at = Vec::new();
        for round in ["first", "second", "third"] {
            files[1] = file(&files[1].path, round);
            files[2] = file(&format!("b/{round}/e"), round);
            press(&out, &files).unwrap();
            let [own, spare] = both(&out);
            assert_eq!(own, spare, "{round}");
            assert_eq!(own.len(), files.len() + 1, "{round}");
            assert_eq!(names(home.path()), [".output-spare", "output"], "{round}");
            assert_eq!(names(&out.join("b")), ["c", round]);
            assert_eq!(names(&sibling(&out, "spare").join("b")), ["c", round]);
            at.push(own["a"]);
        }
        assert_eq!(at[0], at[2], "what did not change is the same file");
        // A press without a store leaves none.
        write_output(&out, &files).unwrap();
        assert_eq!(names(home.path()), ["output"]);
    }

    #[test]
    fn a_file_of_somebody_elses_in_the_spare_is_not_deleted() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        press(&out, &[file("a", "one"), file("b", "b"), file("c", "c")]).unwrap();
        let mine = sibling(&out, "spare").join("mine");
        fs::write(&mine, "keep").unwrap();
        let refused = press(&out, &[file("a", "two")]);
        assert!(matches!(refused, Err(DiskProblem::NotOurs(path)) if path == mine));
        assert_eq!(fs::read_to_string(out.join("a")).unwrap(), "one");
        fs::remove_file(&mine).unwrap();

        let writing = Writing::begin_knowing(&out, None, None, true).unwrap();
        fs::write(out.join("late"), "keep").unwrap();
        for (path, text) in [("a", "two"), ("b", "b"), ("c", "c")] {
            writing.put(file(path, text));
        }
        assert!(matches!(writing.finish(), Err(DiskProblem::Left(_))));
        assert_eq!(fs::read_to_string(out.join("a")).unwrap(), "two");
        let left = sibling(&out, "spare").join("late");
        assert_eq!(fs::read_to_string(left).unwrap(), "keep");
    }
    #[test]
    fn an_output_that_another_press_wrote_since_it_was_looked_at_is_looked_at_again() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        let (first, second) = (
            [file("a", "one"), file("b", "b")],
            [file("a", "two"), file("b", "b")],
        );
        press(&out, &first).unwrap();
        let files = list(&out, Seen::at).unwrap().into_iter();
        let files = files.filter_map(|(path, seen)| Some((path, seen?.stat?)));
        let left = AsLeft {
            list: Digest::of(&fs::read(out.join(MANIFEST)).unwrap()),
            files: files.collect(),
            written_ns: u64::MAX,
        };
        for (between, first_is_known) in [(&first, true), (&second, false)] {
            let standing = Standing::of(&out, Some(&left)).unwrap();
            press(&out, between).unwrap();
            assert_eq!(standing.holds(&out), first_is_known);
            let writing = Writing::begin_knowing(&out, Some(&left), Some(standing), true).unwrap();
            assert_eq!(writing.old["a"].known, first_is_known);
            first.iter().for_each(|file| writing.put(file.clone()));
            writing.finish().unwrap();
            assert_eq!(fs::read_to_string(out.join("a")).unwrap(), "one");
        }
    }

    #[test]
    fn what_may_have_changed_within_a_tick_of_the_clock_is_read_again() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        let files = [file("a", "one"), file("b", "b")];
        write_output(&out, &files).unwrap();
        fs::write(out.join("a"), "ONE").unwrap();
        for (text, since, is_untouched) in [
            // Noted as it is now: that says nothing while the clock has not gone on.
            ("ONE", 0, false),
            ("ONE", 1, true),
            ("one", 0, true),
        ] {
            fs::write(out.join("a"), text).unwrap();
            let seen = list(&out, Seen::at).unwrap().into_iter();
            let stats = seen.filter(|(path, _)| path != MANIFEST);
            let stats: BTreeMap<String, Stat> = stats
                .filter_map(|(path, seen)| Some((path, seen?.stat?)))
                .collect();
            let left = AsLeft {
                list: Digest::of(&fs::read(out.join(MANIFEST)).unwrap()),
                written_ns: stats["a"].changed_ns + since,
                files: stats,
            };
            assert_eq!(untouched(&out, &left), is_untouched, "{text}, {since} ns");
            let standing = Standing::of(&out, Some(&left)).unwrap();
            assert_eq!(standing.old["a"].known, since > 0);
        }
    }
}
