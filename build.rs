//! Names the program by what it is made from, so that nothing kept by another program is taken for
//! its own: a number over the sources, templates, theme and the versions of what they build on.

// Building reads the environment; the library is what does not.
#![allow(clippy::disallowed_methods)]

use std::env;
use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path;

const MADE_FROM: [&str; 5] = ["Cargo.lock", "Cargo.toml", "src", "templates", "theme"];

fn main() {
    let mut hasher = DefaultHasher::new();
    for path in MADE_FROM {
        println!("cargo::rerun-if-changed={path}");
        add(Path::new(path), &mut hasher);
    }
    for name in ["TARGET", "CARGO_FEATURE_PRINT", "RUSTC"] {
        env::var(name).unwrap_or_default().hash(&mut hasher);
    }
    println!(
        "cargo::rustc-env=ROPELEAF_MADE_FROM={:016x}",
        hasher.finish()
    );
}

fn add(path: &Path, hasher: &mut DefaultHasher) {
    path.hash(hasher);
    if let Ok(entries) = fs::read_dir(path) {
        let mut below: Vec<_> = entries.flatten().map(|entry| entry.path()).collect();
        below.sort();
        for path in below {
            add(&path, hasher);
        }
    } else {
        fs::read(path).unwrap_or_default().hash(hasher);
    }
}
