//! The pack that `start` lays out, carried inside the program.

use include_dir::{Dir, include_dir};

use super::OutFile;

static STARTER: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/templates/start");

/// Every file of a new pack, by path: one worked lesson that proofs clean and teaches the format.
pub fn starter_pack() -> Vec<OutFile> {
    let mut files = Vec::new();
    collect(&STARTER, &mut files);
    files.sort_by(|a, b| a.path.cmp(&b.path));
    files
}

fn collect(dir: &Dir<'_>, files: &mut Vec<OutFile>) {
    for file in dir.files() {
        let path = file.path().to_string_lossy().replace('\\', "/");
        files.push(OutFile {
            path,
            bytes: file.contents().to_vec(),
        });
    }
    for inner in dir.dirs() {
        collect(inner, files);
    }
}
