//! How long pressing the site takes, and how much memory, for packs of 10, 100, 1,000 and 10,000
//! lessons; method and last figures in `benches/README.md`.
//!
//!     cargo bench --no-default-features --bench press -- [LESSONS ...]
//!     cargo bench --no-default-features --bench press -- lay-out LESSONS FOLDER
//!
//! The second call only writes a pack, to look at or to profile with.
//!
//! It runs the program itself, as its user would: once from nothing, once more with nothing changed,
//! once with one lesson changed. In the same run it times the floor: Markdown of the same text
//! through the same reader, and writing the same bytes to as many files.

// A bench measures and prints.
#![allow(clippy::disallowed_methods, clippy::print_stdout)]

mod packs;

use std::fs;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

const SEED: u64 = 8;
const SIZES: [usize; 4] = [10, 100, 1000, 10_000];

fn main() {
    let args: Vec<String> = std::env::args().collect();
    if let Some(at) = args.iter().position(|arg| arg == "lay-out") {
        let lessons = args[at + 1].parse().expect("a number of lessons");
        return lay_out(Path::new(&args[at + 2]), lessons);
    }
    let asked = std::env::args().filter_map(|arg| arg.parse().ok());
    let mut sizes: Vec<usize> = asked.collect();
    if sizes.is_empty() {
        sizes = SIZES.to_vec();
    }
    println!(
        "| lessons | cold, s | memory, MB | nothing changed, s | one lesson changed, s | floor, s | files | MB |"
    );
    println!("| ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |");
    for lessons in sizes {
        println!("{}", row(lessons));
    }
}

/// Writes a pack.
fn lay_out(content: &Path, lessons: usize) {
    for (path, text) in packs::pack(SEED, lessons) {
        let path = content.join(path);
        fs::create_dir_all(path.parent().expect("in a folder")).expect("a folder");
        fs::write(path, text).expect("a file");
    }
}

/// Measures one size of pack.
fn row(lessons: usize) -> String {
    let home = tempfile::tempdir().expect("a folder for the pack");
    let content = home.path().join("content");
    lay_out(&content, lessons);
    let (cold, memory) = press(home.path());
    let (unchanged, _) = press(home.path());
    let lesson = content.join(packs::lesson_path(lessons / 2));
    let text = fs::read_to_string(&lesson).expect("a lesson");
    let text = text.replacen("You hang", "You still hang", 1) + "\nOne more sentence.\n";
    fs::write(&lesson, text).expect("a lesson");
    let (changed, _) = press(home.path());
    let (floor, files, bytes) = floor(home.path());
    let s = |time: Duration| format!("{:.2}", time.as_secs_f64());
    format!(
        "| {lessons} | {} | {memory} | {} | {} | {} | {files} | {:.0} |",
        s(cold),
        s(unchanged),
        s(changed),
        s(floor),
        bytes as f64 / 1e6
    )
}

/// Runs the program; how long it took, and the memory that it says it held.
fn press(home: &Path) -> (Duration, String) {
    let began = Instant::now();
    let done = Command::new(env!("CARGO_BIN_EXE_ropeleaf"))
        .args(["press", "--only", "site", "--timings"])
        .current_dir(home)
        .output()
        .expect("the program starts");
    let took = began.elapsed();
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(done.status.success(), "{said}");
    if std::env::var_os("STAGES").is_some() {
        println!("{said}");
    }
    let memory = said.lines().find_map(|line| line.strip_prefix("memory"));
    let memory = memory.and_then(|rest| rest.split_whitespace().next());
    (took, memory.unwrap_or("–").to_owned())
}

/// The least that any program would do: Markdown of every lesson to HTML, and the same bytes
/// written to as many files.
fn floor(home: &Path) -> (Duration, usize, u64) {
    let output: Vec<_> = walkdir::WalkDir::new(home.join("output"))
        .into_iter()
        .map(|entry| entry.expect("readable"))
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| {
            (
                entry.path().to_owned(),
                entry.metadata().expect("readable").len(),
            )
        })
        .collect();
    let bytes = output.iter().map(|(_, size)| size).sum();
    let largest = output.iter().map(|(_, size)| *size).max().unwrap_or(0);
    let filler = vec![b'x'; largest as usize];
    let began = Instant::now();
    let mut html = String::new();
    for entry in fs::read_dir(home.join("content/lessons")).expect("lessons") {
        let text = fs::read_to_string(entry.expect("readable").path()).expect("a lesson");
        html.clear();
        pulldown_cmark::html::push_html(&mut html, pulldown_cmark::Parser::new(&text));
        assert!(!html.is_empty());
    }
    for (path, size) in &output {
        let below = path.strip_prefix(home).expect("below the folder");
        let path = home.join("floor").join(below);
        fs::create_dir_all(path.parent().expect("in a folder")).expect("a folder");
        fs::write(path, &filler[..*size as usize]).expect("a file");
    }
    (began.elapsed(), output.len(), bytes)
}
