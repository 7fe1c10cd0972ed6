//! The output folder under a program that is killed and a disk that fills: the old output or the new
//! one, complete, never a mix.

#![allow(clippy::print_stdout)] // a test says how its rounds ended and what it left out

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

#[path = "../benches/packs/mod.rs"]
mod packs;

use packs::Random;

/// Rounds of killing: each ends at another moment of the press.
const ROUNDS: usize = 24;

fn press(home: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ropeleaf"));
    command
        .args(["press", "--only", "site"])
        .current_dir(home)
        .stdout(Stdio::null())
        .stderr(Stdio::piped());
    command
}

fn bytes_below(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = walkdir::WalkDir::new(folder).into_iter().flatten();
    let files = files.filter(|entry| entry.file_type().is_file());
    files
        .map(|entry| {
            let path = entry.path().strip_prefix(folder).expect("below");
            let bytes = fs::read(entry.path()).expect("readable");
            (path.to_string_lossy().into_owned(), bytes)
        })
        .collect()
}

/// A pack of one lesson without zones, quick to press also where nothing is optimised.
fn lay_out(home: &Path) {
    for (path, text) in packs::pack(5, 1) {
        let path = home.join("content").join(path);
        fs::create_dir_all(path.parent().expect("in a folder")).expect("a folder");
        let text = text.replace(", \"polygon\", \"zone\"]", "]");
        fs::write(path, text).expect("a file");
    }
}

fn revise(home: &Path, revision: &str) {
    let path = home.join("content/pack.toml");
    let text = fs::read_to_string(&path).expect("a pack");
    let text = text.replace("revision = \"A\"\ndated", "revision = \"B\"\ndated");
    let text = match revision {
        "A" => text.replace("revision = \"B\"\ndated", "revision = \"A\"\ndated"),
        _ => text,
    };
    fs::write(path, text).expect("a file");
}

/// A sentence more in the lesson, or not.
fn say_more(home: &Path, revision: &str) {
    const MORE: &str = "\nOne more sentence.\n";
    let path = home.join("content").join(packs::lesson_path(0));
    let text = fs::read_to_string(&path).expect("a lesson");
    let text = text.trim_end_matches(MORE).to_owned();
    let more = if revision == "A" { "" } else { MORE };
    fs::write(path, text + more).expect("a file");
}

#[test]
fn a_kill_at_any_moment_leaves_the_old_output_or_the_new_one() {
    // Every page changes, and a new output is made.
    kill_at_any_moment(revise);
    // One page changes, and the spare becomes the new output.
    kill_at_any_moment(say_more);
}

#[allow(clippy::disallowed_methods)] // measures how long a press takes, to kill it within
fn kill_at_any_moment(revise: fn(&Path, &str)) {
    let home = tempfile::tempdir().expect("a folder");
    let home = home.path();
    lay_out(home);
    let output = home.join("output");
    let began = std::time::Instant::now();
    assert!(press(home).status().expect("it starts").success());
    let took = began.elapsed();
    let first = bytes_below(&output);
    revise(home, "B");
    assert!(press(home).status().expect("it starts").success());
    let second = bytes_below(&output);
    assert_ne!(first, second, "the revision is on the pages");

    let mut random = Random::new(8);
    let (mut olds, mut news) = (0, 0);
    for round in 0..ROUNDS {
        revise(home, if round % 2 == 0 { "A" } else { "B" });
        let (old, new) = match bytes_below(&output) == first {
            true => (&first, &second),
            false => (&second, &first),
        };
        let mut child = press(home).spawn().expect("it starts");
        // Every other kill comes late, while the output is placed.
        let from = [0, 800][round / 2 % 2];
        let share = (from + random.below(1100 - from)) as f64 / 1000.0;
        std::thread::sleep(Duration::from_secs_f64(took.as_secs_f64() * share));
        let _ = child.kill();
        let _ = child.wait();
        let left = bytes_below(&output);
        assert!(&left == old || &left == new, "round {round}: a mix");
        olds += usize::from(&left == old);
        news += usize::from(&left == new);
    }
    println!("{olds} times the old output, {news} times the new one");
    // Whatever the kills left beside the output, the next press goes well and clears it away.
    revise(home, "A");
    let done = press(home).output().expect("it starts");
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    assert_eq!(bytes_below(&output), first);
    let left = fs::read_dir(home).expect("readable").flatten();
    let mut left: Vec<_> = left
        .map(|e| e.file_name().to_string_lossy().into_owned())
        .collect();
    left.sort();
    let spare = home.join(".output-spare");
    if spare.exists() {
        // Where there was something to do.
        assert_eq!(bytes_below(&spare), first);
        left.retain(|name| name != ".output-spare");
    }
    assert_eq!(left, [".output-store", "content", "output"]);
}

#[test]
fn a_kill_while_leftovers_are_taken_away_leaves_them_ours() {
    const FOLDERS: usize = 12;
    const FILES: usize = 300;
    let home = tempfile::tempdir().expect("a folder");
    let home = home.path();
    lay_out(home);
    let (left, mark) = (home.join(".output-new"), "unfinished.ropeleaf");
    let files = || walkdir::WalkDir::new(&left).into_iter().flatten();
    let mut seen = 0;
    for round in 0..8 {
        for folder in 0..FOLDERS {
            let folder = left.join(format!("site-{folder}"));
            fs::create_dir_all(&folder).expect("a folder");
            for file in 0..FILES {
                fs::write(folder.join(file.to_string()), "").expect("a file");
            }
        }
        fs::write(left.join(mark), "").expect("a file");
        let (all, share) = (files().count(), round + 1);
        let mut child = press(home).spawn().expect("it starts");
        while files().count() > all - all * share / 10 && child.try_wait().expect("ours").is_none()
        {
        }
        let _ = child.kill();
        let _ = child.wait();
        let foreign = files().any(|entry| entry.file_type().is_file());
        assert!(!foreign || left.join(mark).exists(), "round {round}");
        seen += u32::from(foreign);
    }
    println!("{seen} kills while something was left");
    let done = press(home).output().expect("it starts");
    assert!(done.status.success(), "{done:?}");
    assert!(!left.exists());
}

/// Unmounts at the end of the test, also of one that fails.
struct Mounted<'a>(&'a Path);

impl Drop for Mounted<'_> {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0).status();
    }
}

#[test]
fn a_full_disk_leaves_the_old_output_and_says_so() {
    let home = tempfile::tempdir().expect("a folder");
    let small = home.path().join("small");
    fs::create_dir(&small).expect("a folder");
    let mount = Command::new("mount")
        .args(["-t", "tmpfs", "-o", "size=1500k", "tmpfs"])
        .arg(&small)
        .stderr(Stdio::null())
        .status();
    if !mount.is_ok_and(|status| status.success()) {
        println!("skipped: a small file system can only be mounted by root");
        return;
    }
    let _mounted = Mounted(&small);
    lay_out(&small);
    assert!(press(&small).status().expect("it starts").success());
    let before = bytes_below(&small.join("output"));
    // Every page changes, and there is no room for all of them twice.
    revise(&small, "B");
    fs::write(small.join("filler"), vec![0; 350_000])
        .or_else(|_| fs::write(small.join("filler"), b""))
        .expect("a file");
    let mut filler = 0;
    while fs::write(small.join(format!("filler-{filler}")), vec![1; 20_000]).is_ok() {
        filler += 1;
    }
    let done = press(&small).output().expect("it starts");
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(done.status.code(), Some(2), "{said}");
    assert!(
        said.contains("No space left") || said.contains("os error 28"),
        "{said}"
    );
    assert_eq!(bytes_below(&small.join("output")), before);
    assert!(
        !small.join(".output-new").exists(),
        "the unfinished output is left"
    );
}
