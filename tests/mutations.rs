//! Breaking a rig text by hand, systematically: every key, name, unit and number in turn.
//!
//! Each mutation must give an error that touches the broken token, at its line and column. A name
//! where it is declared is broken where it is used, so there the error must be at a use.

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
                line.len()
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

/// All errors as `(code, first byte, last byte)` in the lesson's text.
fn errors(text: &str) -> Vec<(&'static str, usize, usize)> {
    let mut files: Vec<SourceFile> = KIT.iter().map(|(path, text)| file(path, text)).collect();
    files.push(file("pack.toml", "title = \"Mutations\"\n"));
    files.push(file("lessons/mutations.md", text));
    let reading = pack::read(Sources::new(files), Scope::Pack);
    let found = reading.findings.iter();
    found
        .filter(|f| f.severity == Severity::Error)
        .filter_map(|f| {
            let place = f.place?;
            let path = &reading.sources.files[place.file].path;
            (path == "lessons/mutations.md").then_some((f.code, place.start, place.end))
        })
        .collect()
}

fn file(path: &str, text: &str) -> SourceFile {
    SourceFile {
        path: path.to_owned(),
        bytes: text.into(),
    }
}

/// Breaks every token of a block and returns how many mutations were made.
fn break_everything(block: &str) -> usize {
    let sound = format!("{HEAD}{block}");
    assert_eq!(errors(&sound), [], "the rig is sound to begin with");
    let mut count = 0;
    for token in tokens(block) {
        for slip in slips(&token) {
            let start = HEAD.len() + token.start;
            let end = start + token.text.len();
            let text = format!("{}{slip}{}", &sound[..start], &sound[end..]);
            let found = errors(&text);
            let line = sound[..start].matches('\n').count() + 1;
            let what = format!(
                "line {line}: `{}` written as `{slip}`: {found:?}",
                token.text
            );
            count += 1;
            if token.sort == Sort::Declared {
                let used = |(_, from, to): &(&str, usize, usize)| {
                    text[*from..*to]
                        .split(|c: char| !is_name(c))
                        .any(|w| w == token.text)
                };
                assert!(found.iter().any(used), "no error where it is used: {what}");
            } else {
                let stop = start + slip.len();
                let touches = |(_, from, to): &(&str, usize, usize)| {
                    *from <= stop && start <= *to && !text[*from..*to].contains('\n')
                };
                assert!(found.iter().any(touches), "no error at the token: {what}");
            }
        }
    }
    count
}

fn is_name(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '-' | '_')
}

#[test]
fn every_slip_in_a_held_rig_is_found_where_it_stands() {
    assert!(break_everything(HELD) > 300, "the mutations were not made");
}

#[test]
fn every_slip_in_a_hung_rig_is_found_where_it_stands() {
    assert!(break_everything(HUNG) > 130, "the mutations were not made");
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
            let found = errors(&format!("{HEAD}{}", rest.concat()));
            assert!(!found.is_empty(), "without {line:?}");
            count += 1;
        }
    }
    assert!(count > 30, "only {count} lines were taken out");
}
