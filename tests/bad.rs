//! Packs with mistakes: each fixture of `tests/bad` states the codes and exact places it must produce.
//!
//! - `NAME.md` is read as the lesson `lessons/NAME.md` of a sound pack; its first line lists the
//!   findings: `<!-- unknown-key 7:1-7:4, no-unit 9:8-9:11 -->` (columns in characters, end not
//!   included).
//! - `NAME.toml` is read as the file that its first line names: `#! kit/cord.toml`; the next lines
//!   list the findings: `#! unknown-unit 5:20-5:23`.
//! - A folder is a pack of its own; `wanted.txt` lists the findings with their files.
//!
//! Every lesson is also read with CRLF endings, and with its rig blocks in a quote, in a list, and in
//! a list with CRLF endings: the places must stay the same, or move by the two columns of the mark.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use ropeleaf::block::CODES;
use ropeleaf::finding::{Finding, SourceFile, Sources};
use ropeleaf::pack::{self, Scope};

const HOME: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/bad");

/// The sound pack around a single bad file.
const SOUND: &[(&str, &str)] = &[
    (
        "pack.toml",
        "title = \"Crew school of Aldermoor Arboretum\"\n",
    ),
    (
        "kit/climbing-line.toml",
        "title = \"Climbing line, 13 mm\"\nkind = \"rope\"\nworking_limit = \"2 kN\"\n",
    ),
    (
        "lessons/sound.md",
        "```lesson\ntitle = \"Sound\"\ncode = \"AA-00\"\n```\n\n```rig sound-rig\n[climber]\n\
         mass = \"86 kg\"\nat = [2.2, 5.0]\n[point.top]\nat = [0.2, 10.5]\n[line.main]\n\
         run = [\"bridge\", \"top\"]\n```\n",
    ),
    (
        "courses/week.toml",
        "title = \"First week\"\nlessons = [\"sound\"]\n[[outcome]]\nkey = \"O1\"\ntext = \"Ties in\"\n",
    ),
];

fn fixtures(extension: &str) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(HOME)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| match extension {
            "" => path.is_dir(),
            _ => path.extension().is_some_and(|e| e == extension),
        })
        .collect();
    paths.sort();
    assert!(!paths.is_empty(), "no {extension} fixtures: wrong folder?");
    paths
}

fn pack_with(path: &str, text: &str) -> Sources {
    let sound = SOUND.iter().filter(|(p, _)| *p != path);
    let mut files: Vec<SourceFile> = sound
        .map(|(path, text)| file(path, text.as_bytes()))
        .collect();
    files.push(file(path, text.as_bytes()));
    Sources::new(files)
}

fn file(path: &str, bytes: &[u8]) -> SourceFile {
    SourceFile {
        path: path.to_owned(),
        bytes: bytes.to_vec(),
    }
}

/// `unknown-key 7:1-7:4`, with the file in front of the place where `path` asks for it.
fn place_of(finding: &Finding, sources: &Sources, path: bool) -> String {
    let Some(place) = finding.place else {
        return format!("{} pack", finding.code);
    };
    let (line, column) = sources.line_column(place.file, place.start);
    let (end_line, end_column) = sources.line_column(place.file, place.end);
    let name = if path {
        format!("{}:", sources.files()[place.file].path)
    } else {
        String::new()
    };
    format!(
        "{} {name}{line}:{column}-{end_line}:{end_column}",
        finding.code
    )
}

fn findings(sources: Sources, path: bool) -> Vec<String> {
    let reading = pack::read(sources, Scope::Pack);
    let places = reading.findings.iter();
    places
        .map(|f| place_of(f, &reading.sources, path))
        .collect()
}

fn wanted_in_lesson(text: &str) -> Vec<String> {
    let first = text.lines().next().unwrap_or("");
    let list = first.trim_start_matches("<!--").trim_end_matches("-->");
    list.split(',').map(|s| s.trim().to_owned()).collect()
}

#[test]
fn a_sound_pack_has_no_findings() {
    let sources = pack_with("pack.toml", SOUND[0].1);
    assert_eq!(findings(sources, true), Vec::<String>::new());
}

#[test]
fn lessons_report_exactly_what_they_declare() {
    for path in fixtures("md") {
        let text = fs::read_to_string(&path).unwrap();
        let got = findings(lesson(&path, &text), false);
        assert_eq!(got, wanted_in_lesson(&text), "{}", path.display());
    }
}

#[test]
fn places_stay_true_with_crlf_in_lists_and_in_quotes() {
    for path in fixtures("md") {
        let text = fs::read_to_string(&path).unwrap();
        let wanted = wanted_in_lesson(&text);
        let crlf = |text: &str| text.replace('\n', "\r\n");
        let got = findings(lesson(&path, &crlf(&text)), false);
        assert_eq!(got, wanted, "{} with CRLF", path.display());
        for (first, other) in [("> ", "> "), ("- ", "  ")] {
            let (wrapped, moved) = wrap_rigs(&text, first, other);
            let wanted: Vec<String> = wanted.iter().map(|w| move_place(w, &moved)).collect();
            let got = findings(lesson(&path, &wrapped), false);
            assert_eq!(got, wanted, "{} after {first:?}", path.display());
            let got = findings(lesson(&path, &crlf(&wrapped)), false);
            assert_eq!(got, wanted, "{} after {first:?} with CRLF", path.display());
        }
    }
}

fn lesson(path: &Path, text: &str) -> Sources {
    let stem = path.file_stem().unwrap().to_string_lossy();
    pack_with(&format!("lessons/{stem}.md"), text)
}

/// Puts a mark of two characters before every line of each rig block; returns the lines that moved.
fn wrap_rigs(text: &str, first: &str, other: &str) -> (String, BTreeSet<usize>) {
    let mut out = String::new();
    let mut moved = BTreeSet::new();
    let mut inside = false;
    for (i, line) in text.lines().enumerate() {
        let opens = !inside && line.starts_with("```rig");
        if opens || inside {
            moved.insert(i + 1);
            out.push_str(if opens { first } else { other });
        }
        out.push_str(line);
        out.push('\n');
        inside = opens || inside && line != "```";
    }
    (out, moved)
}

/// The wanted finding with its columns moved by two where its line was.
fn move_place(wanted: &str, moved: &BTreeSet<usize>) -> String {
    let Some((code, place)) = wanted.split_once(' ') else {
        return wanted.to_owned();
    };
    let ends = place.split('-').map(|end| {
        let (line, column) = end.split_once(':').unwrap();
        let (line, column): (usize, usize) = (line.parse().unwrap(), column.parse().unwrap());
        let by = if moved.contains(&line) { 2 } else { 0 };
        format!("{line}:{}", column + by)
    });
    format!("{code} {}", ends.collect::<Vec<_>>().join("-"))
}

#[test]
fn other_files_report_exactly_what_they_declare() {
    for path in fixtures("toml") {
        let text = fs::read_to_string(&path).unwrap();
        let mut notes = text.lines().filter_map(|line| line.strip_prefix("#! "));
        let name = notes.next().expect("the first line names the file");
        let wanted: Vec<String> = notes.map(str::to_owned).collect();
        assert!(!wanted.is_empty(), "{}", path.display());
        for text in [text.clone(), text.replace('\n', "\r\n")] {
            let got = findings(pack_with(name, &text), false);
            assert_eq!(got, wanted, "{}", path.display());
        }
    }
}

#[test]
fn packs_report_exactly_what_they_declare() {
    for root in fixtures("") {
        let wanted = fs::read_to_string(root.join("wanted.txt")).unwrap();
        let mut files = Vec::new();
        collect(&root, &root, &mut files);
        let got = findings(Sources::new(files), true);
        assert_eq!(
            got,
            wanted.lines().collect::<Vec<_>>(),
            "{}",
            root.display()
        );
    }
}

fn collect(root: &Path, folder: &Path, files: &mut Vec<SourceFile>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(root, &path, files);
        } else if path.file_name().is_some_and(|n| n != "wanted.txt") {
            let below = path.strip_prefix(root).unwrap().to_string_lossy();
            files.push(file(&below.replace('\\', "/"), &fs::read(&path).unwrap()));
        }
    }
}

#[test]
fn every_code_has_a_fixture_and_a_line_in_the_authors_guide() {
    let mut seen = BTreeSet::new();
    for path in fixtures("md") {
        let wanted = wanted_in_lesson(&fs::read_to_string(&path).unwrap());
        seen.extend(
            wanted
                .iter()
                .filter_map(|w| Some(w.split_once(' ')?.0.to_owned())),
        );
    }
    for path in fixtures("toml") {
        let text = fs::read_to_string(&path).unwrap();
        let notes = text.lines().filter_map(|line| line.strip_prefix("#! "));
        seen.extend(notes.filter_map(|w| Some(w.split_once(' ')?.0.to_owned())));
    }
    for root in fixtures("") {
        let wanted = fs::read_to_string(root.join("wanted.txt")).unwrap();
        seen.extend(
            wanted
                .lines()
                .filter_map(|w| Some(w.split_once(' ')?.0.to_owned())),
        );
    }
    let guide = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/authors-guide.md");
    let guide = fs::read_to_string(guide).unwrap();
    for code in CODES {
        assert!(seen.contains(*code), "no fixture of tests/bad has {code}");
        assert!(
            guide.contains(&format!("| `{code}` |")),
            "{code} is not in the authors' guide"
        );
    }
}
