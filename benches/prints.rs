//! How long technique sheets take, and whether memory stays flat; method and last figures in
//! `benches/README.md`.
//!
//!     cargo bench --bench prints -- [LESSONS ...]
//!
//! Each row is a process of its own: a made-up pack is proofed, one sheet is set to load fonts and
//! templates, then the sheets of all lessons are set as `press` sets them, on all cores. Memory is the
//! largest resident set that Linux reports, before the sheets and after them; the PDFs themselves
//! are held until the press writes them, so they are told apart.

// A bench measures and prints.
#![allow(clippy::disallowed_methods, clippy::print_stdout)]

mod packs;

use std::process::Command;
use std::time::Instant;

use ropeleaf::Zones;
use ropeleaf::finding::{SourceFile, Sources};
use ropeleaf::pack::{LessonId, Scope};
use ropeleaf::press::PrintKind;
use ropeleaf::press::print::{Batch, sheets};
use ropeleaf::progress::Silent;

const SEED: u64 = 8;
const SIZES: [usize; 4] = [100, 200, 500, 1000];
/// Marks the call that measures one row.
const ROW: &str = "row";

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if let Some(at) = args.iter().position(|arg| arg == ROW) {
        return row(args[at + 1].parse().expect("a number of lessons"));
    }
    let mut sizes: Vec<usize> = args.iter().filter_map(|arg| arg.parse().ok()).collect();
    if sizes.is_empty() {
        sizes = SIZES.to_vec();
    }
    println!("| sheets | s | ms a sheet | memory before, MB | memory after, MB | PDFs, MB |");
    println!("| ---: | ---: | ---: | ---: | ---: | ---: |");
    for lessons in sizes {
        let own = std::env::current_exe().expect("this program");
        let done = Command::new(own).args([ROW, &lessons.to_string()]).output();
        let done = done.expect("it starts again");
        assert!(
            done.status.success(),
            "{}",
            String::from_utf8_lossy(&done.stderr)
        );
        print!("{}", String::from_utf8_lossy(&done.stdout));
    }
}

/// Measures the sheets of a pack.
fn row(lessons: usize) {
    let files = packs::pack(SEED, lessons).into_iter();
    let files = files.map(|(path, text)| SourceFile {
        path,
        bytes: text.into_bytes(),
    });
    let mut files: Vec<SourceFile> = files.collect();
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let proof = ropeleaf::proof(Sources { files }, Scope::Pack, Zones::Shown);
    assert!(!proof.has_errors(), "a made-up pack is in order");
    let batch = |lesson| Batch {
        lesson,
        kind: Some(PrintKind::Sheet),
    };
    sheets(&proof, batch(Some(LessonId(0))), &Silent).expect("it fits");
    let before = peak_mb();
    let began = Instant::now();
    let prints = sheets(&proof, batch(None), &Silent).expect("all fit");
    let took = began.elapsed().as_secs_f64();
    assert_eq!(prints.files.len(), lessons);
    let bytes: usize = prints.files.iter().map(|file| file.bytes.len()).sum();
    println!(
        "| {lessons} | {took:.1} | {:.0} | {before:.0} | {:.0} | {:.0} |",
        took * 1e3 / lessons as f64,
        peak_mb(),
        bytes as f64 / 1e6
    );
}

/// The largest resident set of this process so far, MB (`VmHWM` of Linux, in kB).
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux");
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kb = line.and_then(|rest| rest.split_whitespace().next()?.parse::<f64>().ok());
    kb.expect("a number of kB") * 1024.0 / 1e6
}
