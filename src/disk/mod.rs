//! The only room that touches the disk: a pack's files in, the output out, all or nothing.
//!
//! ```text
//! folder ─read_pack→ Sources        files ─Writing→ folder (new beside old, then swapped)
//! ```

mod cache;
mod output;
mod tree;

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use walkdir::WalkDir;

use crate::finding::{SourceFile, Sources};
use crate::press::OutFile;

pub use cache::{Cache, Last, Said};
pub use output::{Standing, Writing, write_output};
pub use tree::MANIFEST;

/// Why the disk could not be read or written. Every variant names the path.
#[derive(Debug)]
pub enum DiskProblem {
    /// Reading or writing failed.
    Io(PathBuf, io::Error),
    /// The output folder holds something that the press did not write.
    NotOurs(PathBuf),
    /// The folder to start a pack in is not empty.
    NotEmpty(PathBuf),
    /// Another press is writing to the same output.
    Busy(PathBuf),
    /// The new output is in place; what is left of the old one holds files of somebody else's.
    Left(PathBuf),
}

impl std::fmt::Display for DiskProblem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Io(path, cause) => write!(f, "{}: {cause}", path.display()),
            Self::NotOurs(path) => write!(
                f,
                "{}: was not written by ropeleaf, so it is left alone; name another output folder, or move it away",
                path.display()
            ),
            Self::Busy(path) => write!(
                f,
                "{}: another press is writing it; wait for it to end",
                path.display()
            ),
            Self::Left(path) => write!(
                f,
                "{}: is what is left of the old output: files in it were not written by ropeleaf, so they were not deleted; the new output is in place",
                path.display()
            ),
            Self::NotEmpty(path) => {
                write!(
                    f,
                    "{}: is not empty; a new pack starts in an empty folder",
                    path.display()
                )
            }
        }
    }
}

impl std::error::Error for DiskProblem {}

/// Reads a pack folder, or one Markdown file on its own, whole.
///
/// Files and folders whose names begin with a dot, and editors' backups (`~` at the end), are
/// passed over.
///
/// # Errors
/// [`DiskProblem::Io`] for a path that cannot be read.
pub fn read_pack(root: &Path) -> Result<Sources, DiskProblem> {
    if root.is_file() {
        let bytes = fs::read(root).map_err(|e| DiskProblem::Io(root.into(), e))?;
        let path = root
            .file_name()
            .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        return Ok(Sources::new(vec![SourceFile { path, bytes }]));
    }
    let mut paths = Vec::new();
    let walk = WalkDir::new(root)
        .follow_links(true)
        .sort_by_file_name()
        .into_iter()
        .filter_entry(|e| e.depth() == 0 || is_read(&e.file_name().to_string_lossy()));
    for entry in walk {
        let entry = match entry {
            Ok(entry) => entry,
            // The lock of an editor is a link to nothing.
            Err(e) if e.depth() > 0 && e.path().is_some_and(|path| !has_read_name(path)) => {
                continue;
            }
            Err(e) => {
                let path = e.path().unwrap_or(root).to_path_buf();
                // The system's own words, without those of the walk round them.
                let words = e.to_string();
                let cause = e.into_io_error();
                let cause = cause.unwrap_or_else(|| io::Error::other(words));
                return Err(DiskProblem::Io(path, cause));
            }
        };
        if entry.file_type().is_file() {
            paths.push(entry.into_path());
        }
    }
    let files = paths.par_iter().map(|path| {
        let bytes = fs::read(path).map_err(|e| DiskProblem::Io(path.clone(), e))?;
        let path = slashes(path, root);
        Ok(SourceFile { path, bytes })
    });
    // Of several that cannot be read the first is said.
    let files: Vec<Result<SourceFile, DiskProblem>> = files.collect();
    Ok(Sources::new(files.into_iter().collect::<Result<_, _>>()?))
}

/// Whether a file or folder of this name is read: neither hidden nor an editor's backup.
pub fn is_read(name: &str) -> bool {
    !name.starts_with('.') && !name.ends_with('~')
}

fn has_read_name(path: &Path) -> bool {
    path.file_name()
        .is_none_or(|name| is_read(&name.to_string_lossy()))
}

/// A path below `root` with forward slashes.
fn slashes(path: &Path, root: &Path) -> String {
    let below = path.strip_prefix(root).unwrap_or(path);
    below
        .components()
        .map(|c| c.as_os_str().to_string_lossy())
        .collect::<Vec<_>>()
        .join("/")
}

/// Writes the files of a new pack into an empty or missing folder.
///
/// # Errors
/// [`DiskProblem::NotEmpty`] where anything stands there; [`DiskProblem::Io`] where the disk fails.
pub fn write_new_pack(folder: &Path, files: &[OutFile]) -> Result<(), DiskProblem> {
    let mut entries = fs::read_dir(folder).into_iter().flatten();
    if folder.is_file() || entries.next().is_some() {
        return Err(DiskProblem::NotEmpty(folder.into()));
    }
    for file in files {
        let path = folder.join(&file.path);
        let made = path.parent().map_or(Ok(()), fs::create_dir_all);
        made.and_then(|()| fs::write(&path, &file.bytes))
            .map_err(|e| DiskProblem::Io(path, e))?;
    }
    Ok(())
}

/// `output` gives `.output-new` beside it.
fn sibling(folder: &Path, what: &str) -> PathBuf {
    let absolute = std::path::absolute(folder).unwrap_or_else(|_| folder.to_path_buf());
    let name = absolute
        .file_name()
        .map_or_else(|| "output".into(), |n| n.to_string_lossy().into_owned());
    absolute.with_file_name(format!(".{name}-{what}"))
}

/// Writes one file, complete or not at all.
///
/// # Errors
/// [`DiskProblem::Io`] where the disk fails.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), DiskProblem> {
    write_file_by(path, |out| out.write_all(bytes))
}

/// As [`write_file`], bit by bit.
fn write_file_by(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), DiskProblem> {
    let part = sibling(path, "part");
    let written = fs::File::create(&part).and_then(|file| {
        let mut out = io::BufWriter::new(file);
        write(&mut out)?;
        out.flush()
    });
    let done = written.and_then(|()| fs::rename(&part, path));
    done.map_err(|e| {
        let _ = fs::remove_file(&part);
        DiskProblem::Io(path.into(), e)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pack_is_read_by_path_without_hidden_files() {
        let home = tempfile::tempdir().unwrap();
        fs::create_dir_all(home.path().join("lessons/.git")).unwrap();
        for name in [
            "pack.toml",
            "lessons/b.md",
            "lessons/a.md",
            "lessons/a.md~",
            "lessons/.git/x",
        ] {
            fs::write(home.path().join(name), name).unwrap();
        }
        let sources = read_pack(home.path()).unwrap();
        let paths: Vec<_> = sources.files().iter().map(|f| f.path.as_str()).collect();
        assert_eq!(paths, ["lessons/a.md", "lessons/b.md", "pack.toml"]);
    }

    #[cfg(unix)]
    #[test]
    fn an_editors_lock_is_passed_over_and_a_broken_link_is_not() {
        let home = tempfile::tempdir().unwrap();
        fs::write(home.path().join("pack.toml"), "").unwrap();
        let link = |name: &str| {
            std::os::unix::fs::symlink("nobody@nowhere.1:2", home.path().join(name)).unwrap();
        };
        link(".#pack.toml");
        assert_eq!(read_pack(home.path()).unwrap().files().len(), 1);
        link("kit.toml");
        let problem = read_pack(home.path()).unwrap_err().to_string();
        assert!(problem.contains("kit.toml"), "{problem}");
    }
}
