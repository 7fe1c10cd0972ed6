//! How long technique sheets take, and whether memory stays flat; method and last figures in
//! `benches/README.md`.
//!
//!     cargo bench --bench prints -- [LESSONS ...]
//!
//! Each row is a process of its own: a made-up pack is proofed, one sheet is set to load fonts and
//! templates, then the sheets of all lessons are set as `press` sets them, on all cores, and each PDF
//! is dropped when it is done. Memory is the largest resident set that Linux reports: before the
//! sheets, after the first hundred and after all of them. Flat means that the last two are alike.

// A bench measures and prints.
#![allow(clippy::disallowed_methods, clippy::print_stdout)]

mod packs;

use std::process::Command;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use ropeleaf::Zones;
use ropeleaf::finding::{SourceFile, Sources};
use ropeleaf::pack::{LessonId, Scope};
use ropeleaf::press::print::{Batch, sheets};
use ropeleaf::press::{OutFile, PrintKind};
use ropeleaf::progress::{Progress, Silent, Stage};

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
    println!(
        "| sheets | s | processor, s | memory before, MB | after {EARLY}, MB | after all, MB | PDFs, MB |"
    );
    println!("| ---: | ---: | ---: | ---: | ---: | ---: | ---: |");
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
    let proof = ropeleaf::proof(Sources::new(files), Scope::Pack, Zones::Shown);
    assert!(!proof.has_errors(), "a made-up pack is in order");
    let batch = |lesson| Batch {
        lesson,
        kind: Some(PrintKind::Sheet),
        ..Batch::default()
    };
    sheets(&proof, batch(Some(LessonId(0))), &drop, &Silent).expect("it fits");
    let before = peak_mb();
    let (began, used) = (Instant::now(), processor_s());
    let (watch, bytes) = (Watch::default(), AtomicUsize::new(0));
    let take = |file: OutFile| {
        bytes.fetch_add(file.bytes.len(), Ordering::Relaxed);
    };
    let prints = sheets(&proof, batch(None), &take, &watch).expect("all fit");
    let (took, used) = (began.elapsed().as_secs_f64(), processor_s() - used);
    assert_eq!(prints.list.iter().count(), lessons);
    let early = *watch.early_mb.lock().expect("nothing panics");
    println!(
        "| {lessons} | {took:.1} | {used:.1} | {before:.0} | {early:.0} | {:.0} | {:.0} |",
        peak_mb(),
        bytes.into_inner() as f64 / 1e6
    );
}

/// Sheets after which memory is looked at for the first time.
const EARLY: usize = 100;

/// Looks at memory after the first sheets.
#[derive(Default)]
struct Watch {
    done: AtomicUsize,
    early_mb: Mutex<f64>,
}

impl Progress for Watch {
    fn begin(&self, _: Stage, _: usize) {}

    fn advance(&self) {
        let n = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        if n == EARLY {
            *self.early_mb.lock().expect("nothing panics") = peak_mb();
        }
    }

    fn end(&self) {}
}

/// Processor time of this process so far, s (`utime` and `stime` of Linux, in ticks of 10 ms).
fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").expect("Linux");
    let after_name = stat.rsplit(')').next().expect("a name in brackets");
    let ticks = after_name.split_whitespace().skip(11).take(2);
    let ticks = ticks.map(|ticks| ticks.parse::<f64>().expect("ticks"));
    ticks.sum::<f64>() / 100.0
}

/// The largest resident set of this process so far, MB (`VmHWM` of Linux, in kB).
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux");
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kb = line.and_then(|rest| rest.split_whitespace().next()?.parse::<f64>().ok());
    kb.expect("a number of kB") * 1024.0 / 1e6
}
