//! Breaking rig texts as by hand, systematically: every key, name, unit and number in turn.
//!
//! Each mutation must give an error that touches the broken token, at its line and column. A name
//! where it is declared is broken where it is used, so there the error must be at a use.

use std::ops::Range;

use ropeleaf::finding::{Severity, SourceFile, Sources};
use ropeleaf::pack::{self, Scope};

const HEAD: &str = "```lesson\ntitle = \"Mutations\"\ncode = \"AA-90\"\n```\n\n";

const KIT: &[(&str, &str)] = &[
    (
        "kit/climbing-line.toml",
        "title = \"Climbing line\"\nkind = \"rope\"\nworking_limit = \"2 kN\"\n",
    ),
    (
        "kit/hitch-cord.toml",
        "title = \"Hitch cord\"\nkind = \"cord\"\n",
    ),
    (
        "kit/steel-connector.toml",
        "title = \"Steel connector\"\nkind = \"connector\"\n",
    ),
];

/// A held planar rig with every key that such a rig may have.
const HELD: &str = r#"```rig held
title = "Held between two limbs"
show = ["setup", "pulls", "zone"]
expect = ["main/pull < 0.8 kN", "spread/main/second = 66 deg +- 4", "top/load > 300 N"]
wrong = ["wide-spread"]
[climber]
mass = "70..100 kg"
at = [2.2, 5.0]
com = [0.0, 0.1]
facing = "left"
[feet]
at = [1.9, 4.1]
on = "stem"
normal = [0.2, 1.0]
friction = 0.5
[point.top]
at = [0.2, 10.5]
on = "stem"
over = "pulley"
efficiency = 0.92
loop = "1.2 m"
closed_by = "steel-connector"
gate = "away"
[point.side]
at = [4.9, 7.6]
on = "side-limb"
over = "limb"
friction = 0.3
turns = 1
[point.ring]
at = [1.2, 7.0]
hangs = true
grips = ["second"]
[line.main]
run = ["bridge", "top", "bridge"]
kit = "climbing-line"
hitch = "Prusik"
cord = "hitch-cord"
connectors = ["steel-connector"]
stopper = true
slides = false
slack = "200 mm"
retrieve = ["top"]
adjust = "0.5..30 m"
limit = "1.5 kN"
[line.second]
run = ["centre", "ring", "side"]
[tree]
stems = [{ name = "stem", from = [0, 0], to = [0, 13], diameter = ["620 mm", "300 mm"] }]
limbs = [{ name = "side-limb", from = [0.2, 4.8], to = [5.5, 8.0], diameter = "22 cm" }]
ground = 0.0
[zone]
spread = "120 deg"
work_reach = "0.7 m"
```
"#;

/// A hung rig in space with a grip.
const HUNG: &str = r#"```rig hung
expect = ["tether/pull >= 0.1 kN", "top/load/angle < 90 deg", "loss/main/drop < 5 m"]
[climber]
mass = "86 kg"
[point.a]
at = [0.0, -1.0, 9.0]
[point.b]
at = [3.5, 0.5, 8.5]
[point.top]
at = [1.0, 3.0, 10.0]
over = "pulley"
[point.grip]
hangs = true
grips = ["across"]
[line.across]
run = ["a", "grip", "b"]
length = ["2.4 m", "2.2 m"]
[line.tether]
run = ["bridge", "grip"]
length = "1.0 m"
[line.main]
run = ["front-left", "top", "front-right"]
length = "9.4 m"
```
"#;

/// Keys whose texts are free words.
const FREE: &[&str] = &["title", "hitch", "species"];

/// Units and one of another kind.
const UNITS: &[(&str, &str)] = &[
    ("kg", "m"),
    ("m", "kg"),
    ("mm", "kN"),
    ("cm", "deg"),
    ("kN", "m"),
    ("N", "kg"),
    ("deg", "m"),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sort {
    Word,
    Number,
    /// A name where it is declared.
    Declared,
}

#[derive(Debug)]
struct Token {
    start: usize,
    text: String,
    sort: Sort,
}

/// Every key, name, unit and number of a rig block.
fn tokens(block: &str) -> Vec<Token> {
    let mut found = Vec::new();
    let mut at = 0;
    for line in block.split_inclusive('\n') {
        let key = line.split('=').next().unwrap().trim();
        let free = FREE.contains(&key);
        let header = line.starts_with('[');
        if !line.starts_with("```") {
            let end = if free {
                line.find('=').unwrap()
            } else {
                // A comment is free words too.
                line.find(" #").unwrap_or(line.len())
            };
            for (start, text) in words(&line[..end]) {
                let before = &line[..start];
                let declared = header && before.contains('.') || before.ends_with("name = \"");
                let sort = if declared {
                    Sort::Declared
                } else if text.starts_with(|c: char| c.is_ascii_digit()) {
                    Sort::Number
                } else {
                    Sort::Word
                };
                found.push(Token {
                    start: at + start,
                    text: text.to_owned(),
                    sort,
                });
            }
        }
        at += line.len();
    }
    found
}

/// Runs of letters, digits, hyphens and underlines, and numbers with their point.
fn words(line: &str) -> Vec<(usize, &str)> {
    let bytes = line.as_bytes();
    let mut found = Vec::new();
    let mut i = 0;
    while i < bytes.len() {
        let start = i;
        if bytes[i].is_ascii_digit() {
            let decimal =
                |i: usize| bytes[i] == b'.' && bytes.get(i + 1).is_some_and(u8::is_ascii_digit);
            while i < bytes.len() && (bytes[i].is_ascii_digit() || decimal(i)) {
                i += 1;
            }
        } else if bytes[i].is_ascii_alphabetic() {
            let inner = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_');
            while i < bytes.len() && inner(bytes[i]) {
                i += 1;
            }
        } else {
            i += 1;
            continue;
        }
        found.push((start, &line[start..i]));
    }
    found
}

/// What a slip of the pen makes of a token.
fn slips(token: &Token) -> Vec<String> {
    let text = &token.text;
    if token.sort == Sort::Number {
        return vec![format!("{}x{}", &text[..1], &text[1..]), format!("{text}x")];
    }
    let mut slips = vec![format!("{text}q")];
    if let Some((_, other)) = UNITS.iter().find(|(unit, _)| unit == text) {
        slips.push((*other).to_owned());
        return slips;
    }
    if text.len() > 1 {
        slips.push(text[1..].to_owned());
        slips.push(format!("{}{}{}", &text[1..2], &text[..1], &text[2..]));
    }
    slips.retain(|slip| slip != text);
    slips
}

/// A pack of which one lesson is broken.
struct Bench {
    files: Vec<SourceFile>,
    lesson: String,
}

/// A code with the first byte and the byte behind the last.
type Found = (&'static str, usize, usize);

impl Bench {
    /// A pack of one lesson that holds the block, and the text of that lesson.
    fn around(block: &str) -> (Self, String) {
        let mut files: Vec<SourceFile> = KIT.iter().map(|(path, text)| file(path, text)).collect();
        files.push(file("pack.toml", "title = \"Mutations\"\n"));
        let lesson = "lessons/mutations.md".to_owned();
        (Self { files, lesson }, format!("{HEAD}{block}"))
    }

    /// All errors in the lesson.
    fn errors(&self, text: &str) -> Vec<Found> {
        let others = self.files.iter().filter(|f| f.path != self.lesson);
        let mut files: Vec<SourceFile> = others.cloned().collect();
        files.push(file(&self.lesson, text));
        let reading = pack::read(Sources::new(files), Scope::Pack);
        let found = reading.findings.iter();
        found
            .filter(|f| f.severity == Severity::Error)
            .filter_map(|f| {
                let place = f.place?;
                let path = &reading.sources.files()[place.file].path;
                (*path == self.lesson).then_some((f.code, place.start, place.end))
            })
            .collect()
    }

    /// Breaks every token of the block at `block`, each in `most` ways at most, and returns how many mutations were made.
    fn break_everything(&self, sound: &str, block: Range<usize>, most: usize) -> usize {
        assert_eq!(self.errors(sound), [], "the lesson is sound to begin with");
        let mut count = 0;
        for token in tokens(&sound[block.clone()]) {
            let start = block.start + token.start;
            let end = start + token.text.len();
            if token.sort == Sort::Declared && !is_used(sound, &sound[block.clone()], &token.text) {
                continue;
            }
            for slip in slips(&token).into_iter().take(most) {
                let text = format!("{}{slip}{}", &sound[..start], &sound[end..]);
                let found = self.errors(&text);
                let line = sound[..start].matches('\n').count() + 1;
                let what = format!(
                    "{} line {line}: `{}` written as `{slip}`: {found:?}",
                    self.lesson, token.text
                );
                count += 1;
                let stop = start + slip.len();
                let right = |(_, from, to): &Found| {
                    if token.sort == Sort::Declared {
                        let mut words = text[*from..*to].split(|c: char| !is_name(c));
                        return words.any(|w| w == token.text);
                    }
                    *from <= stop && start <= *to && !text[*from..*to].contains('\n')
                };
                assert!(found.iter().any(right), "no error at its place: {what}");
            }
        }
        count
    }
}

/// Whether a name of a rig is used anywhere but where it is declared: in the rig's block, or in a
/// value of that rig elsewhere in the lesson.
fn is_used(lesson: &str, block: &str, name: &str) -> bool {
    let quoted = format!("\"{name}\"");
    let users = ["run", "grips", "on", "retrieve"];
    let named = block.lines().any(|line| {
        let key = line.split('=').next().unwrap().trim();
        users.contains(&key) && line.contains(&quoted)
    });
    let rig = block["```rig ".len()..].lines().next().unwrap().trim();
    let in_value = |value: &str| {
        let path = value.split(['`', '"']).next().unwrap_or("");
        path.split('/').any(|part| part == name)
    };
    let mark = format!("rig:{rig}/");
    let mut values = lesson.split(&mark).skip(1);
    let expected = block.lines().find(|line| line.starts_with("expect"));
    named
        || values.any(in_value)
        || expected.is_some_and(|e| e.split(|c| !is_name(c)).any(|w| w == name))
}

fn file(path: &str, text: &str) -> SourceFile {
    SourceFile {
        path: path.to_owned(),
        bytes: text.into(),
    }
}

fn is_name(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '-' | '_')
}

fn break_block(block: &str) -> usize {
    let (bench, text) = Bench::around(block);
    bench.break_everything(&text, HEAD.len()..text.len(), usize::MAX)
}

#[test]
fn every_slip_in_a_held_rig_is_found_where_it_stands() {
    assert!(break_block(HELD) > 300, "the mutations were not made");
}

#[test]
fn every_slip_in_a_hung_rig_is_found_where_it_stands() {
    assert!(break_block(HUNG) > 130, "the mutations were not made");
}

#[test]
fn every_slip_in_a_rig_of_the_demo_pack_is_found_where_it_stands() {
    let home = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
    let sources = ropeleaf::disk::read_pack(std::path::Path::new(home)).unwrap();
    let mut rigs = 0;
    let lessons = sources.files().iter().filter(|f| f.path.ends_with(".md"));
    for lesson in lessons {
        let bench = Bench {
            files: sources.files().to_vec(),
            lesson: lesson.path.clone(),
        };
        let text = String::from_utf8(lesson.bytes.clone()).unwrap();
        for (start, _) in text.match_indices("```rig ") {
            let end = start + 3 + text[start + 3..].find("```").unwrap();
            assert!(bench.break_everything(&text, start..end, 1) > 50);
            rigs += 1;
        }
    }
    assert!(rigs >= 3, "the demo pack has rigs");
}

/// Keys without which a rig is not whole.
const NEEDED: &[&str] = &["mass", "at", "normal", "run", "length", "stems", "limbs"];

#[test]
fn every_needed_line_that_is_taken_out_is_missed() {
    let mut count = 0;
    for block in [HELD, HUNG] {
        let lines: Vec<&str> = block.split_inclusive('\n').collect();
        for (i, line) in lines.iter().enumerate() {
            let key = line.split('=').next().unwrap().trim();
            if !NEEDED.contains(&key) && !line.starts_with('[') {
                continue;
            }
            let mut rest = lines.clone();
            rest.remove(i);
            let (bench, text) = Bench::around(&rest.concat());
            let found = bench.errors(&text);
            assert!(!found.is_empty(), "without {line:?}");
            count += 1;
        }
    }
    assert!(count > 30, "only {count} lines were taken out");
}
