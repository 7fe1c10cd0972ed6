//! The program as its user meets it: commands, exit statuses, what is written and what is left alone.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn ropeleaf(args: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_ropeleaf"))
        .args(args)
        .current_dir(folder)
        .output()
        .expect("the program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("the program prints UTF-8")
}

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("content")
}

fn copy_folder(from: &Path, to: &Path) {
    for entry in walkdir::WalkDir::new(from).sort_by_file_name() {
        let entry = entry.expect("the demo pack can be read");
        let target = to.join(entry.path().strip_prefix(from).expect("below its root"));
        if entry.file_type().is_dir() {
            fs::create_dir_all(target).expect("a folder can be made");
        } else {
            fs::copy(entry.path(), target).expect("a file can be copied");
        }
    }
}

/// Every file below a folder with its bytes.
fn bytes_below(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(|e| e.expect("readable"));
    files
        .filter(|e| e.file_type().is_file())
        .map(|e| {
            let path = e.path().strip_prefix(folder).expect("below its root");
            (
                path.to_string_lossy().into_owned(),
                fs::read(e.path()).expect("readable"),
            )
        })
        .collect()
}

#[test]
fn help_names_every_command_and_option() {
    let home = tempfile::tempdir().unwrap();
    let all = text(&ropeleaf(&["--help"], home.path()).stdout);
    let options = [
        ("start", vec!["<DIR>"]),
        ("proof", vec!["[CONTENT]", "--format"]),
        (
            "press",
            vec![
                "[CONTENT]",
                "--output",
                "--cache",
                "--no-cache",
                "--only",
                "--lesson",
            ],
        ),
        (
            "figure",
            vec![
                "<PATH>", "--rig", "--kind", "--format", "--width", "--ground", "--output",
            ],
        ),
        ("statics", vec!["<PATH>", "--rig", "--format", "--at"]),
    ];
    for (command, wanted) in options {
        assert!(all.contains(command), "--help does not name {command}");
        let help = ropeleaf(&[command, "--help"], home.path());
        assert_eq!(help.status.code(), Some(0));
        for option in wanted {
            assert!(
                text(&help.stdout).contains(option),
                "{command} --help does not name {option}"
            );
        }
    }
    assert!(all.contains("Exit status"));
}

#[test]
fn a_wrong_call_is_2() {
    let home = tempfile::tempdir().unwrap();
    let content = demo();
    let content = content.to_str().unwrap();
    for args in [
        &["pres"][..],
        &["press", "no-such-folder"],
        &["press", content, "--lesson", "no-such-lesson"],
        &[
            "press",
            content,
            "--lesson",
            "three-lines",
            "--only",
            "site",
        ],
        &["figure", content, "--rig", "no-such-rig"],
        &["figure", content, "--rig", "x", "--kind", "pull"],
        &["statics", content, "--rig", "no-such-rig"],
        &["statics", content, "--at", "1"],
    ] {
        let done = ropeleaf(args, home.path());
        assert_eq!(
            done.status.code(),
            Some(2),
            "{args:?}: {}",
            text(&done.stderr)
        );
        assert!(!done.stderr.is_empty(), "{args:?} says nothing");
    }
    assert_eq!(
        fs::read_dir(home.path()).unwrap().count(),
        0,
        "a wrong call writes nothing"
    );
}

#[test]
fn what_is_not_there_is_said_in_plain_words() {
    let home = tempfile::tempdir().unwrap();
    let said = |args: &[&str]| text(&ropeleaf(args, home.path()).stderr);
    let missing = said(&["proof", "no-such-folder"]);
    let found = fs::read_dir(home.path().join("no-such-folder")).unwrap_err();
    assert_eq!(missing, format!("error: no-such-folder: {found}\n"));
    let content = demo();
    let content = content.to_str().unwrap();
    let silent = said(&["figure", content, "--rig", "redirect", "--kind", "effort"]);
    assert!(
        silent.starts_with("error: rig \"redirect\" has no effort figure: "),
        "{silent}"
    );
}

#[test]
fn one_lesson_is_pressed_alone_and_an_unknown_one_gets_the_nearest_name() {
    let home = tempfile::tempdir().unwrap();
    let content = demo();
    let content = content.to_str().unwrap();
    let wrong = ropeleaf(&["press", content, "--lesson", "three-line"], home.path());
    let said = text(&wrong.stderr);
    assert!(
        said.contains("the nearest is \"three-lines\""),
        "unexpected: {said}"
    );
    // By the name of its file and by its code.
    for name in ["three-lines", "AS-06"] {
        let done = ropeleaf(&["press", content, "--lesson", name], home.path());
        assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
        let output = home.path().join("output");
        assert!(!output.join("site").exists());
        let figures = bytes_below(&output.join("figures"));
        assert!(!figures.is_empty(), "{name} has figures");
        assert!(
            figures.keys().all(|file| !file.contains("two-limb")),
            "a rig of another lesson: {figures:?}",
            figures = figures.keys()
        );
    }
}

#[test]
fn the_demo_pack_presses_the_same_bytes_anywhere() {
    let home = tempfile::tempdir().unwrap();
    copy_folder(&demo(), &home.path().join("elsewhere/my pack"));
    let once = ropeleaf(
        &["press", demo().to_str().unwrap(), "--output", "once"],
        home.path(),
    );
    assert_eq!(once.status.code(), Some(0), "{}", text(&once.stderr));
    let again = Command::new(env!("CARGO_BIN_EXE_ropeleaf"))
        .args(["press", "elsewhere/my pack", "--output", "elsewhere/out"])
        .current_dir(home.path())
        .env("USER", "somebody-else")
        .env("HOME", home.path())
        .env("TZ", "Pacific/Auckland")
        .env("LANG", "de_DE.UTF-8")
        .output()
        .unwrap();
    assert_eq!(again.status.code(), Some(0), "{}", text(&again.stderr));
    let (a, b) = (
        bytes_below(&home.path().join("once")),
        bytes_below(&home.path().join("elsewhere/out")),
    );
    assert!(
        a.contains_key("site/index.html"),
        "no front page among {:?}",
        a.keys()
    );
    assert!(
        a.keys()
            .any(|path| path.starts_with("figures/") && path.ends_with(".svg"))
    );
    assert_eq!(a.keys().collect::<Vec<_>>(), b.keys().collect::<Vec<_>>());
    for (path, bytes) in &a {
        assert!(bytes == &b[path], "{path} differs between two presses");
    }
}

#[test]
fn quiet_says_nothing_and_timings_name_the_stages() {
    let home = tempfile::tempdir().unwrap();
    ropeleaf(&["start", "pack"], home.path());
    let quiet = ropeleaf(&["press", "pack", "--only", "site", "--quiet"], home.path());
    assert_eq!(quiet.status.code(), Some(0), "{}", text(&quiet.stderr));
    assert_eq!(text(&quiet.stdout), "");
    assert!(home.path().join("output/site/index.html").exists());

    let timed = ropeleaf(
        &["--timings", "press", "pack", "--only", "site", "--no-cache"],
        home.path(),
    );
    assert!(text(&timed.stdout).contains("site/index.html"));
    let err = text(&timed.stderr);
    for stage in ["read", "solve", "write", "all"] {
        let line = err.lines().find(|line| line.starts_with(stage));
        assert!(line.is_some_and(|l| l.contains(" s")), "no {stage}: {err}");
    }
    assert!(
        !err.contains('\r'),
        "a bar where there is no terminal: {err}"
    );
}

#[test]
fn a_press_with_nothing_to_do_says_what_the_last_one_said() {
    let home = tempfile::tempdir().unwrap();
    copy_folder(&demo(), &home.path().join("content"));
    let press = |args: &[&str]| {
        let args = [&["--timings", "press", "--only", "site"], args].concat();
        let done = ropeleaf(&args, home.path());
        assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
        let stages = "read solve prints pages write all memory";
        let err = text(&done.stderr);
        let (timings, findings): (Vec<_>, Vec<_>) = err.lines().partition(|line| {
            let word = line.split(' ').next().unwrap_or_default();
            stages.split(' ').any(|stage| stage == word)
        });
        let solved = timings.iter().any(|line| line.starts_with("solve"));
        (text(&done.stdout), findings.join("\n"), solved)
    };
    let (out, findings, solved) = press(&[]);
    assert!(solved && !findings.is_empty());
    assert_eq!(press(&[]), (out.clone(), findings, false));
    let (other, _, solved) = press(&["--output", "other"]);
    assert!(solved && other != out, "another output is another press");
}

#[test]
fn a_pack_with_an_error_leaves_the_output_as_it_was() {
    let home = tempfile::tempdir().unwrap();
    let pack = home.path().join("content");
    copy_folder(&demo(), &pack);
    assert_eq!(ropeleaf(&["press"], home.path()).status.code(), Some(0));
    let before = bytes_below(&home.path().join("output"));

    let lesson = fs::read_dir(pack.join("lessons"))
        .unwrap()
        .next()
        .unwrap()
        .unwrap()
        .path();
    let broken = fs::read_to_string(&lesson)
        .unwrap()
        .replacen("[climber]", "[climbr]", 1);
    fs::write(&lesson, broken).unwrap();
    let done = ropeleaf(&["press"], home.path());
    assert_eq!(done.status.code(), Some(1));
    let err = text(&done.stderr);
    assert!(err.contains("climbr") && err.contains("climber"), "{err}");
    assert_eq!(before, bytes_below(&home.path().join("output")));

    let proof = ropeleaf(&["proof"], home.path());
    assert_eq!(proof.status.code(), Some(1));
    let json = ropeleaf(&["proof", "--format", "json"], home.path());
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("proof prints JSON");
    let rows = json["findings"].as_array().unwrap();
    let error = rows.iter().find(|row| row["severity"] == "error");
    let error = error.expect("an error is among the findings");
    assert!(
        error["at"].as_str().unwrap().starts_with("lessons/"),
        "{error}"
    );
}

#[test]
fn a_foreign_output_folder_is_refused() {
    let home = tempfile::tempdir().unwrap();
    fs::create_dir(home.path().join("letters")).unwrap();
    fs::write(home.path().join("letters/dear.txt"), "keep me").unwrap();
    let done = ropeleaf(
        &["press", demo().to_str().unwrap(), "--output", "letters"],
        home.path(),
    );
    assert_eq!(done.status.code(), Some(2));
    assert!(text(&done.stderr).contains("dear.txt"));
    assert_eq!(
        fs::read_to_string(home.path().join("letters/dear.txt")).unwrap(),
        "keep me"
    );
}

#[test]
fn a_started_pack_proofs_clean_and_presses() {
    let home = tempfile::tempdir().unwrap();
    assert_eq!(
        ropeleaf(&["start", "mine"], home.path()).status.code(),
        Some(0)
    );
    let proof = ropeleaf(&["proof", "mine"], home.path());
    let said = text(&proof.stdout);
    assert_eq!(proof.status.code(), Some(0), "{said}");
    assert!(
        said.contains("1 lesson, ") && said.contains("0 errors, 0 warnings"),
        "{said}"
    );
    let press = ropeleaf(&["press", "mine"], home.path());
    assert_eq!(press.status.code(), Some(0), "{}", text(&press.stderr));
    assert_eq!(
        ropeleaf(&["start", "mine"], home.path()).status.code(),
        Some(2),
        "never written over"
    );
}

/// A vector of two or three numbers as `[x, y, z]`.
fn vector(value: &serde_json::Value) -> [f64; 3] {
    let n: Vec<f64> = value
        .as_array()
        .expect("a place")
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect();
    match n[..] {
        [x, z] => [x, 0.0, z],
        [x, y, z] => [x, y, z],
        _ => panic!("{value} is not a place"),
    }
}

/// Balance at the climber, from the printed pulls and places alone: independent of the solver.
#[test]
fn every_printed_equilibrium_balances() {
    let home = tempfile::tempdir().unwrap();
    let done = ropeleaf(
        &["statics", demo().to_str().unwrap(), "--format", "json"],
        home.path(),
    );
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let json: serde_json::Value =
        serde_json::from_slice(&done.stdout).expect("statics prints JSON");
    let rigs = json["rigs"].as_object().unwrap();
    assert!(rigs.len() >= 3, "the demo pack has {} rigs", rigs.len());
    let mut balanced = 0;
    for (name, rig) in rigs {
        if rig["holds"] != true || !rig["feet"].is_null() {
            continue;
        }
        let weight = rig["climber"]["weight_kn"].as_f64().unwrap();
        let climber = vector(&rig["climber"]["at_m"]);
        let place = |node: &str| {
            rig["points"]
                .get(node)
                .map_or(climber, |point| vector(&point["at_m"]))
        };
        let mut sum = [0.0, 0.0, -weight];
        for span in rig["spans"].as_array().unwrap() {
            let (from, to) = (span["from"].as_str().unwrap(), span["to"].as_str().unwrap());
            let far = match (rig["points"].get(from), rig["points"].get(to)) {
                (None, Some(_)) => place(to),
                (Some(_), None) => place(from),
                _ => continue,
            };
            let away = [
                far[0] - climber[0],
                far[1] - climber[1],
                far[2] - climber[2],
            ];
            let length = away.iter().map(|d| d * d).sum::<f64>().sqrt();
            let pull = span["pull_kn"].as_f64().unwrap();
            for (total, d) in sum.iter_mut().zip(away) {
                *total += pull * d / length;
            }
        }
        let residual = sum.iter().map(|d| d * d).sum::<f64>().sqrt();
        assert!(
            residual <= 1e-9 * weight,
            "{name}: residual {residual:e} kN of {weight} kN"
        );
        balanced += 1;
    }
    assert!(
        balanced >= 3,
        "only {balanced} rigs of the demo pack hold with the feet off"
    );
}

#[test]
fn a_figure_is_written_where_it_was_asked_for() {
    let home = tempfile::tempdir().unwrap();
    let content = demo();
    let content = content.to_str().unwrap();
    let statics = ropeleaf(&["statics", content, "--format", "json"], home.path());
    let json: serde_json::Value = serde_json::from_slice(&statics.stdout).unwrap();
    let rig = json["rigs"]
        .as_object()
        .unwrap()
        .keys()
        .next()
        .unwrap()
        .clone();
    let svg = ["figure", content, "--rig", &rig, "--output", "f.svg"];
    assert_eq!(ropeleaf(&svg, home.path()).status.code(), Some(0));
    let svg = fs::read_to_string(home.path().join("f.svg")).unwrap();
    assert!(svg.starts_with("<svg") && svg.contains("<title") && svg.contains("<desc"));
    let png = [
        "figure", content, "--rig", &rig, "--format", "png", "--width", "640", "--output", "f.png",
    ];
    assert_eq!(ropeleaf(&png, home.path()).status.code(), Some(0));
    let png = fs::read(home.path().join("f.png")).unwrap();
    assert_eq!(&png[1..4], b"PNG");
    assert_eq!(u32::from_be_bytes(png[16..20].try_into().unwrap()), 640);
}

#[test]
fn main_stays_thin() {
    let main =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/main.rs")).unwrap();
    assert!(main.lines().count() < 120);
}
