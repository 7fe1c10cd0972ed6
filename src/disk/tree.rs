//! Folders of an output: what stands in one, whose it is, how one takes another's place.
//!
//! ```text
//! folder ─list→ path, file ─own list→ ours only, or refused
//! fresh ─swap→ folder ─old one→ taken away as its list names it, or kept as a spare
//! ```
//!
//! A spare is a folder beside the output with links to the same files, so that the next output is
//! made of it by touching only what differs. It takes no room but for its entries, and is trusted
//! only while each of its entries has the number of the output's file: whatever was edited, put or
//! left there by others makes it differ, and then it is taken away.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, DirEntry};
use std::io;
use std::path::{Path, PathBuf};
use std::time::UNIX_EPOCH;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::{DiskProblem, sibling};
use crate::store::{Digest, FileMark};

/// Lists every file of an output folder with its hash: the press's own mark, so that a folder
/// without it is never replaced.
pub const MANIFEST: &str = "pressed.json";

/// Stands in a folder that is being written, so that the next press knows it as ours.
const UNFINISHED: &str = "unfinished.ropeleaf";

/// The list of an output that is being taken away.
const GOING: &str = "going.ropeleaf";

/// Entries that one thread looks at in a row.
const ENTRIES_IN_A_ROW: usize = 128;

/// How the system tells a file: if this is unchanged, so are its bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Stat {
    bytes: u64,
    /// When its bytes were last written, as anybody can set it.
    modified_ns: u64,
    /// When anything of it last changed, its times and its links included: nobody can set that.
    pub(super) changed_ns: u64,
    pub(super) number: u64,
}

/// The files of an output as a press left them.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct AsLeft {
    /// SHA-256 of its list.
    pub(super) list: Digest,
    pub(super) files: BTreeMap<String, Stat>,
    /// When this was written, by the clock of the files.
    #[serde(skip)]
    pub(super) written_ns: u64,
}

impl AsLeft {
    /// Whether a file is as it was left, as far as the system tells.
    pub(super) fn knows(&self, path: &str, stat: Stat) -> bool {
        self.files.get(path) == Some(&stat)
    }

    /// Whether that is sure: what changes a file within the same tick of the clock cannot be told.
    pub(super) fn is_sure(&self, stat: Stat) -> bool {
        stat.changed_ns < self.written_ns
    }
}

/// A time of the system in nanoseconds; `None` for one before 1970.
pub(super) fn nanoseconds(time: std::time::SystemTime) -> Option<u64> {
    let since = time.duration_since(UNIX_EPOCH).ok()?;
    u64::try_from(since.as_nanos()).ok()
}

impl Stat {
    /// What the system says of a file; `None` where it says too little to tell one from another.
    pub(super) fn of(meta: &fs::Metadata) -> Option<Self> {
        #[cfg(unix)]
        {
            use std::os::unix::fs::MetadataExt;
            let (seconds, rest) = (meta.ctime(), meta.ctime_nsec());
            let changed = seconds.checked_mul(1_000_000_000)?.checked_add(rest)?;
            Some(Self {
                bytes: meta.len(),
                modified_ns: nanoseconds(meta.modified().ok()?)?,
                changed_ns: u64::try_from(changed).ok()?,
                number: meta.ino(),
            })
        }
        #[cfg(not(unix))]
        {
            let _ = meta;
            None
        }
    }

    /// Whether two are one file with the same bytes, whatever became of its links in between.
    pub(super) fn is_but_for_links(self, other: Self) -> bool {
        let changed_ns = other.changed_ns;
        Self { changed_ns, ..self } == other
    }
}

/// A plain file of a folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Seen {
    pub(super) bytes: u64,
    pub(super) stat: Option<Stat>,
}

impl Seen {
    /// `None` for anything but a plain file.
    pub(super) fn at(entry: &DirEntry) -> Option<Self> {
        let meta = entry.metadata().ok().filter(fs::Metadata::is_file)?;
        Some(Self {
            bytes: meta.len(),
            stat: Stat::of(&meta),
        })
    }
}

/// The number by which the system knows an entry's file, without asking for the file itself.
#[cfg(unix)]
fn number(entry: &DirEntry) -> Option<u64> {
    use std::os::unix::fs::DirEntryExt;
    Some(entry.ino())
}

#[cfg(not(unix))]
fn number(_: &DirEntry) -> Option<u64> {
    None
}

/// Every file below a folder by its path with forward slashes, and what `look` sees of it; nothing
/// where there is no folder. Links are files here, whatever they lead to.
///
/// # Errors
/// [`DiskProblem::NotOurs`] where the folder is none; [`DiskProblem::Io`] where it cannot be read.
pub(super) fn list<T: Send>(
    folder: &Path,
    look: impl Fn(&DirEntry) -> T + Sync,
) -> Result<BTreeMap<String, T>, DiskProblem> {
    match fs::symlink_metadata(folder) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(BTreeMap::new()),
        Err(e) => return Err(DiskProblem::Io(folder.into(), e)),
        Ok(meta) if !meta.is_dir() => return Err(DiskProblem::NotOurs(folder.into())),
        Ok(_) => {}
    }
    let mut found = Vec::new();
    let mut folders = vec![String::new()];
    while let Some(below) = folders.pop() {
        let here = folder.join(&below);
        let entries = fs::read_dir(&here).and_then(Iterator::collect);
        let entries: Vec<DirEntry> = entries.map_err(|e| DiskProblem::Io(here, e))?;
        let entries = entries.par_iter().with_min_len(ENTRIES_IN_A_ROW);
        let seen = entries.map(|entry| {
            let name = entry.file_name();
            let path = match below.as_str() {
                "" => name.to_string_lossy().into_owned(),
                below => format!("{below}/{}", name.to_string_lossy()),
            };
            let kind = entry.file_type();
            let kind = kind.map_err(|e| DiskProblem::Io(folder.join(&path), e))?;
            Ok((path, (!kind.is_dir()).then(|| look(entry))))
        });
        for (path, file) in seen.collect::<Result<Vec<_>, DiskProblem>>()? {
            match file {
                Some(file) => found.push((path, file)),
                None => folders.push(path),
            }
        }
    }
    Ok(found.into_iter().collect())
}

/// The files of a folder by the numbers of the system.
///
/// # Errors
/// As [`list`].
pub(super) fn numbers(folder: &Path) -> Result<BTreeMap<String, Option<u64>>, DiskProblem> {
    list(folder, number)
}

/// The first file of an output that its own list does not name.
pub(super) fn foreign_file<'a, T, M>(
    found: &'a BTreeMap<String, T>,
    listed: &BTreeMap<String, M>,
) -> Option<&'a str> {
    let mut ours = listed.keys().peekable();
    // Both are in order.
    let foreign = |path: &&String| {
        while ours.next_if(|listed| listed < path).is_some() {}
        *path != MANIFEST && ours.peek() != Some(path)
    };
    found.keys().find(foreign).map(String::as_str)
}

/// The list of an output.
#[derive(Default, Deserialize)]
struct Manifest {
    files: Vec<FileMark>,
}

/// A file as a list says it.
#[derive(Serialize)]
pub(super) struct Listed<'a> {
    pub(super) path: &'a str,
    pub(super) sha256: Digest,
    pub(super) bytes: u64,
}

/// The list of an output: every path with the SHA-256 of its bytes and its size.
///
/// - `files`: by path.
pub(super) fn manifest<'a>(files: impl Iterator<Item = Listed<'a>>) -> Vec<u8> {
    #[derive(Serialize)]
    struct List<'a> {
        files: Vec<Listed<'a>>,
    }
    let files = files.collect();
    let mut text = serde_json::to_vec_pretty(&List { files }).unwrap_or_default();
    text.push(b'\n');
    text
}

/// What the list of an output says, of its bytes; nothing where there is none.
pub(super) fn marks_of(list: &[u8]) -> BTreeMap<String, FileMark> {
    let list: Manifest = serde_json::from_slice(list).unwrap_or_default();
    let rows = list.files.into_iter();
    rows.map(|mark| (mark.path.clone(), mark)).collect()
}

/// As [`marks_of`], of the list's path.
fn marks_in(list: &Path) -> BTreeMap<String, FileMark> {
    marks_of(&fs::read(list).unwrap_or_default())
}

/// A folder that is being written; while it is marked so it goes with the press.
#[derive(Debug)]
pub(super) struct Unfinished(PathBuf);

impl Unfinished {
    /// One that may not be there yet.
    pub(super) fn at(folder: PathBuf) -> Self {
        Self(folder)
    }

    pub(super) fn path(&self) -> &Path {
        &self.0
    }

    /// Whether a folder is marked so.
    pub(super) fn is(folder: &Path) -> bool {
        folder.join(UNFINISHED).exists()
    }

    /// Makes the folder with its mark, if it is not there.
    pub(super) fn open(&self) -> io::Result<()> {
        if !self.0.exists() {
            fs::create_dir_all(&self.0)?;
            self.mark()?;
        }
        Ok(())
    }

    /// Marks the folder: all that stands in it is ours.
    pub(super) fn mark(&self) -> io::Result<()> {
        fs::write(self.0.join(UNFINISHED), "")
    }

    /// Takes the mark off: the folder is complete.
    pub(super) fn done(&self) -> io::Result<()> {
        fs::remove_file(self.0.join(UNFINISHED))
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        if Self::is(&self.0) {
            let _ = remove_marked(&self.0);
        }
    }
}

/// Removes a folder that is marked as ours, its mark last: what is left by a kill is ours still.
fn remove_marked(folder: &Path) -> io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        if entry.file_type()?.is_dir() {
            fs::remove_dir_all(entry.path())?;
        } else if entry.file_name() != UNFINISHED {
            fs::remove_file(entry.path())?;
        }
    }
    fs::remove_file(folder.join(UNFINISHED))?;
    fs::remove_dir(folder)
}

/// Puts `fresh` in the place of `folder`; where there was one, `fresh` is the old one afterwards.
pub(super) fn swap(fresh: &Path, folder: &Path) -> io::Result<()> {
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

/// Takes out of a folder what is not wanted there, and folders that are empty then.
///
/// - `have`: the files that stand in it; all of them ours.
/// - `want`: whether a file stays.
pub(super) fn weed<T: Sync>(
    folder: &Path,
    have: &BTreeMap<String, T>,
    want: impl Fn(&str, &T) -> bool + Sync,
) -> io::Result<()> {
    let gone: Vec<&str> = have
        .par_iter()
        .filter(|(path, file)| !want(path, file))
        .map(|(path, _)| path.as_str())
        .collect();
    gone.par_iter()
        .try_for_each(|path| fs::remove_file(folder.join(path)))?;
    let parents = |path| Path::new(path).ancestors().skip(1);
    let emptied: BTreeSet<&Path> = gone.iter().flat_map(|path| parents(*path)).collect();
    for below in emptied.iter().rev().filter(|p| !p.as_os_str().is_empty()) {
        // One that holds other files stays.
        let _ = fs::remove_dir(folder.join(below));
    }
    Ok(())
}

/// Makes the folders that files are to stand in.
pub(super) fn make_folders<'a>(
    folder: &Path,
    paths: impl Iterator<Item = &'a str>,
) -> io::Result<()> {
    let below: BTreeSet<&Path> = paths.filter_map(|path| Path::new(path).parent()).collect();
    below
        .into_iter()
        .try_for_each(|below| fs::create_dir_all(folder.join(below)))
}

/// Makes a folder hold the very files of an output, or takes it away: then there is no spare, and
/// the next press takes longer.
///
/// - `spare`: an output that was, or nothing.
/// - `old`: by the files that its list named.
/// - `output`: where the files are.
/// - `files`: those of the output, list included, with their numbers.
///
/// # Errors
/// [`DiskProblem::Left`] where something in it is not ours; [`DiskProblem::Io`] where it cannot be
/// taken away.
pub(super) fn keep_spare<T>(
    spare: &Unfinished,
    old: &BTreeMap<String, T>,
    output: &Path,
    files: &BTreeMap<&str, u64>,
) -> Result<(), DiskProblem> {
    let folder = spare.path();
    let have = numbers(folder)?;
    if foreign_file(&have, old).is_some() {
        return take_away(folder);
    }
    let made = || {
        fs::create_dir_all(folder)?;
        spare.mark()?;
        weed(folder, &have, |path, number| {
            number.is_some() && files.get(path).copied() == *number
        })?;
        let missing: Vec<&str> = files
            .iter()
            .filter(|(path, number)| have.get(**path).copied().flatten() != Some(**number))
            .map(|(path, _)| *path)
            .collect();
        make_folders(folder, missing.iter().copied())?;
        missing
            .par_iter()
            .try_for_each(|path| fs::hard_link(output.join(path), folder.join(path)))?;
        spare.done()
    };
    made().or_else(|_| clear(folder))
}

/// Takes away an old output: the files that its list names and the folders that are empty then.
pub(super) fn take_away(folder: &Path) -> Result<(), DiskProblem> {
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
    remove_empty(folder);
    if going.exists() {
        fs::remove_file(&going).map_err(|e| failed(&going, e))?;
    }
    fs::remove_dir(folder).map_err(|_| DiskProblem::Left(folder.into()))
}

/// Removes the empty folders below one; one that holds a file of somebody else's stays.
fn remove_empty(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            remove_empty(&entry.path());
            let _ = fs::remove_dir(entry.path());
        }
    }
}

/// Takes away what a press that was ended left beside the output.
pub(super) fn clear(left: &Path) -> Result<(), DiskProblem> {
    if !left.exists() {
        return Ok(());
    }
    if Unfinished::is(left) {
        return remove_marked(left).map_err(|e| DiskProblem::Io(left.into(), e));
    }
    if !left.join(GOING).exists() {
        let listed = marks_in(&left.join(MANIFEST));
        if let Some(path) = foreign_file(&list(left, |_| ())?, &listed) {
            return Err(DiskProblem::NotOurs(left.join(path)));
        }
    }
    take_away(left)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_is_listed_by_path_with_what_is_below() {
        let home = tempfile::tempdir().unwrap();
        fs::create_dir_all(home.path().join("b/c")).unwrap();
        for path in ["b/c/d", "a", "b/e"] {
            fs::write(home.path().join(path), path).unwrap();
        }
        let found = list(home.path(), |e| Seen::at(e).map(|seen| seen.bytes)).unwrap();
        let want = [("a", 1), ("b/c/d", 5), ("b/e", 3)];
        let want = want.map(|(path, bytes)| (path.to_owned(), Some(bytes)));
        assert_eq!(found, want.into_iter().collect());
        assert!(list(&home.path().join("none"), |_| ()).unwrap().is_empty());
        let file = list(&home.path().join("a"), |_| ());
        assert!(matches!(file, Err(DiskProblem::NotOurs(_))));
    }
    #[test]
    fn a_file_that_no_list_names_is_foreign() {
        let map = |paths: &[&str]| -> BTreeMap<String, ()> {
            paths.iter().map(|path| ((*path).to_owned(), ())).collect()
        };
        let listed = map(&["a", "c/d", "f"]);
        for (found, foreign) in [
            (&["a", "c/d", "f", MANIFEST][..], None),
            (&["f"], None),
            (&[], None),
            (&["a", "b", "c/e"], Some("b")),
            (&["c/d", "c/e"], Some("c/e")),
            (&["g"], Some("g")),
        ] {
            assert_eq!(foreign_file(&map(found), &listed), foreign);
        }
    }
}
