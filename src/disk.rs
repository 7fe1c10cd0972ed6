//! The only room that touches the disk: a pack's files in, the output out, all or nothing.
//!
//! ```text
//! folder ─read_pack→ Sources        Vec<OutFile> ─write_output→ folder (new beside old, then swapped)
//! ```

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use walkdir::WalkDir;

use crate::finding::{SourceFile, Sources};
use crate::press::OutFile;

/// Lists every file of an output folder with its hash: the press's own mark, so that a folder
/// without it is never replaced.
pub const MANIFEST: &str = "pressed.json";

/// Why the disk could not be read or written. Every variant names the path.
#[derive(Debug)]
pub enum DiskProblem {
    /// Reading or writing failed.
    Io(PathBuf, io::Error),
    /// The output folder holds something that the press did not write.
    NotOurs(PathBuf),
    /// The folder to start a pack in is not empty.
    NotEmpty(PathBuf),
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
    let plain = |name: &str| !name.starts_with('.') && !name.ends_with('~');
    let mut files = Vec::new();
    let walk = WalkDir::new(root)
        .follow_links(true)
        .sort_by_file_name()
        .into_iter()
        .filter_entry(|e| e.depth() == 0 || plain(&e.file_name().to_string_lossy()));
    for entry in walk {
        let entry = entry.map_err(|e| {
            let path = e.path().unwrap_or(root).to_path_buf();
            DiskProblem::Io(path, e.into())
        })?;
        if entry.file_type().is_file() {
            let bytes =
                fs::read(entry.path()).map_err(|e| DiskProblem::Io(entry.path().into(), e))?;
            files.push(SourceFile {
                path: slashes(entry.path(), root),
                bytes,
            });
        }
    }
    Ok(Sources::new(files))
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

/// Writes the files as the whole content of `folder`: complete in a sibling first, then swapped,
/// so that the folder holds the old output or the new one and never a mix.
///
/// # Errors
/// [`DiskProblem::NotOurs`] where the folder holds a file that is not in its own list
/// ([`MANIFEST`]); [`DiskProblem::Io`] where the disk fails, with the old output in place.
pub fn write_output(folder: &Path, files: &[OutFile]) -> Result<(), DiskProblem> {
    refuse_foreign(folder)?;
    let fresh = sibling(folder, "new");
    let io = |path: &Path| {
        let path = path.to_path_buf();
        move |e| DiskProblem::Io(path, e)
    };
    if fresh.exists() {
        fs::remove_dir_all(&fresh).map_err(io(&fresh))?;
    }
    let written = fill(&fresh, files).and_then(|()| swap(&fresh, folder).map_err(io(folder)));
    if fresh.exists() {
        // After a swap this is the old output; after a failure the unfinished new one.
        fs::remove_dir_all(&fresh).map_err(io(&fresh))?;
    }
    written
}

fn fill(fresh: &Path, files: &[OutFile]) -> Result<(), DiskProblem> {
    let list = OutFile {
        path: MANIFEST.to_owned(),
        bytes: manifest(files),
    };
    for file in files.iter().chain([&list]) {
        let path = fresh.join(&file.path);
        let made = path.parent().map_or(Ok(()), fs::create_dir_all);
        made.and_then(|()| fs::write(&path, &file.bytes))
            .map_err(|e| DiskProblem::Io(path, e))?;
    }
    Ok(())
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
    let old = sibling(folder, "old");
    fs::rename(folder, &old)?;
    if let Err(cause) = fs::rename(fresh, folder) {
        fs::rename(&old, folder)?;
        return Err(cause);
    }
    fs::remove_dir_all(&old)
}

/// `output` gives `.output-new` beside it.
fn sibling(folder: &Path, what: &str) -> PathBuf {
    let absolute = std::path::absolute(folder).unwrap_or_else(|_| folder.to_path_buf());
    let name = absolute
        .file_name()
        .map_or_else(|| "output".into(), |n| n.to_string_lossy().into_owned());
    absolute.with_file_name(format!(".{name}-{what}"))
}

/// The list of an output: every path with the SHA-256 of its bytes and its size, by path.
fn manifest(files: &[OutFile]) -> Vec<u8> {
    let mut rows: Vec<_> = files.iter().collect();
    rows.sort_by(|a, b| a.path.cmp(&b.path));
    let rows: Vec<_> = rows
        .into_iter()
        .map(|file| {
            let hash: String = Sha256::digest(&file.bytes)
                .iter()
                .map(|b| format!("{b:02x}"))
                .collect();
            serde_json::json!({ "path": file.path, "sha256": hash, "bytes": file.bytes.len() })
        })
        .collect();
    let mut text =
        serde_json::to_vec_pretty(&serde_json::json!({ "files": rows })).unwrap_or_default();
    text.push(b'\n');
    text
}

/// Refuses a folder with any file that its own list does not name.
fn refuse_foreign(folder: &Path) -> Result<(), DiskProblem> {
    if !folder.exists() {
        return Ok(());
    }
    let listed = listed_paths(folder);
    for entry in WalkDir::new(folder).sort_by_file_name() {
        let entry = entry.map_err(|e| DiskProblem::Io(folder.into(), e.into()))?;
        let path = slashes(entry.path(), folder);
        if entry.depth() == 0 && !entry.file_type().is_dir() {
            return Err(DiskProblem::NotOurs(folder.into()));
        }
        if !entry.file_type().is_dir() && path != MANIFEST && !listed.contains(&path) {
            return Err(DiskProblem::NotOurs(entry.path().into()));
        }
    }
    Ok(())
}

fn listed_paths(folder: &Path) -> BTreeSet<String> {
    let list = fs::read(folder.join(MANIFEST)).unwrap_or_default();
    let list: serde_json::Value = serde_json::from_slice(&list).unwrap_or_default();
    let rows = list["files"].as_array().into_iter().flatten();
    rows.filter_map(|row| row["path"].as_str().map(str::to_owned))
        .collect()
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

/// Writes one file, complete or not at all.
///
/// # Errors
/// [`DiskProblem::Io`] where the disk fails.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), DiskProblem> {
    let part = sibling(path, "part");
    let done = fs::write(&part, bytes).and_then(|()| fs::rename(&part, path));
    done.map_err(|e| {
        let _ = fs::remove_file(&part);
        DiskProblem::Io(path.into(), e)
    })
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

    #[test]
    fn output_is_replaced_whole_and_foreign_files_are_kept() {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("output");
        write_output(
            &out,
            &[file("site/index.html", "one"), file("site/old.html", "x")],
        )
        .unwrap();
        write_output(&out, &[file("site/index.html", "two")]).unwrap();
        assert_eq!(
            fs::read_to_string(out.join("site/index.html")).unwrap(),
            "two"
        );
        assert!(!out.join("site/old.html").exists());

        fs::write(out.join("site/mine.txt"), "keep").unwrap();
        let refused = write_output(&out, &[file("site/index.html", "three")]);
        assert!(
            matches!(refused, Err(DiskProblem::NotOurs(path)) if path.ends_with("site/mine.txt"))
        );
        assert_eq!(
            fs::read_to_string(out.join("site/index.html")).unwrap(),
            "two"
        );
        let left: Vec<_> = fs::read_dir(home.path())
            .unwrap()
            .map(|e| e.unwrap().file_name())
            .collect();
        assert_eq!(
            left,
            ["output"],
            "no unfinished folder is left beside the output"
        );
    }

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
        let paths: Vec<_> = sources.files.iter().map(|f| f.path.as_str()).collect();
        assert_eq!(paths, ["lessons/a.md", "lessons/b.md", "pack.toml"]);
    }
}
