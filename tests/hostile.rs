//! Whatever stands in the files, reading comes back with findings: no panic, no place outside a
//! file or inside a character.

use proptest::prelude::*;
use ropeleaf::finding::{SourceFile, Sources, show};
use ropeleaf::pack::{self, Scope};

/// A lesson that uses every block.
const LESSON: &str = "```lesson\ntitle = \"Édges\"\ncode = \"AA-91\"\nneeds = [\"lesson\"]\nkit = [\"rope\"]\n```\n\n\
# Head {.sheet #one}\n\nText `rig:two/main/pull`[^1], <b>x</b> ![p](pictures/a.png).\n\n[^1]: Note.\n\n\
1. one\n\n   ```rig two\n   expect = [\"main/pull < 1 kN\"]\n   [climber]\n   mass = \"86 kg\"\n   at = [2.2, 5.0]\n\
\x20  [point.top]\n   at = [0.2, 10.5]\n   [line.main]\n   run = [\"bridge\", \"top\", \"bridge\"]\n   ```\n\n2. two\n\n\
> ```steps\n> [[step]]\n> do = \"\"\"\n> Clïmb \\\n>   to \\u00e9 `rig:two/top/load`.\"\"\"\n> ```\n\n\
```faults\n[[fault]]\nseen = \"a\"\nleads_to = 'b'\nput_right = \"c\\n\\td\"\n```\n\n\
```questions\n[[question]]\nask = \"a\"\nnumber = \"rig:two/main/length\"\ntolerance = \"5 cm\"\n\
[[question]]\nask = \"b\"\norder = [\"c\", \"d\"]\n```\n\n\
```marking\n[[criterion]]\ntext = \"a\"\nmeasure = \"rig:two/main/angle\"\ntolerance = \"5 deg\"\n```\n\n\
```figure two\ncaption = \"c\"\n```\n\n| a | b |\n| - | - |\n| `rig:two/main/share` | - [ ] |\n";

const KIT: &str = "title = \"Rope\"\nkind = \"rope\"\nstretch = \"3 %\"\n[life]\nfrom_making = \"10 years\"\n[record]\nmade = 2025-01-01\n";
const PACK: &str = "title = \"Pack\"\ndated = 2026-03-01\n[[change]]\nrevision = \"A\"\ndated = 2026-03-01\nwhat = \"x\"\n";

/// Stretches that often break readers.
const PIECES: &[&str] = &[
    "\"",
    "'",
    "\"\"\"",
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    ".",
    "..",
    "\n",
    "\r\n",
    "\r",
    "\t",
    "`",
    "```",
    "```rig x\n",
    "> ",
    "- ",
    "#",
    "\\",
    "\\u",
    "é",
    "木",
    "\u{301}",
    "\0",
    "1e999",
    "-",
    "nan",
    "9999999999999999999",
    "rig:",
    "/",
    "<!--",
    "-->",
    "<",
    "{.sheet}",
    "|",
    "inf",
    "0x",
    "µ",
    "°",
    "\u{feff}",
];

fn check(lesson: Vec<u8>, kit: Vec<u8>, pack: Vec<u8>) -> Result<(), TestCaseError> {
    for scope in [Scope::Pack, Scope::OneLesson] {
        let folder = if scope == Scope::Pack { "lessons/" } else { "" };
        let files = [
            (format!("{folder}lesson.md"), lesson.clone()),
            ("kit/rope.toml".to_owned(), kit.clone()),
            ("pack.toml".to_owned(), pack.clone()),
            ("rules.toml".to_owned(), kit.clone()),
            ("glossary.toml".to_owned(), pack.clone()),
            ("courses/week.toml".to_owned(), pack.clone()),
        ];
        let files = files.map(|(path, bytes)| SourceFile { path, bytes });
        let reading = pack::read(Sources::new(files.into()), scope);
        for finding in &reading.findings {
            if let Some(place) = finding.place {
                let text = reading.sources.text(place.file);
                prop_assert!(text.is_char_boundary(place.start), "{finding:?}");
                prop_assert!(text.is_char_boundary(place.end), "{finding:?}");
                prop_assert!(place.start <= place.end, "{finding:?}");
            }
            prop_assert!(!show(finding, &reading.sources, false).is_empty());
        }
    }
    Ok(())
}

/// Puts pieces into a text, or takes stretches out, at any character.
fn edit(text: &str, edits: &[(usize, usize, Option<usize>)]) -> Vec<u8> {
    let mut chars: Vec<char> = text.chars().collect();
    for (at, len, piece) in edits {
        let at = at % (chars.len() + 1);
        match piece {
            Some(piece) => {
                let new: Vec<char> = PIECES[piece % PIECES.len()].chars().collect();
                chars.splice(at..at, new);
            }
            None => {
                let end = (at + len % 40).min(chars.len());
                chars.drain(at..end);
            }
        }
    }
    chars.into_iter().collect::<String>().into_bytes()
}

fn edits() -> impl Strategy<Value = Vec<(usize, usize, Option<usize>)>> {
    prop::collection::vec(any::<(usize, usize, Option<usize>)>(), 1..12)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_edits_are_read(lesson in edits(), kit in edits(), pack in edits(), crlf: bool) {
        let text = if crlf { LESSON.replace('\n', "\r\n") } else { LESSON.to_owned() };
        check(edit(&text, &lesson), edit(KIT, &kit), edit(PACK, &pack))?;
    }

    #[test]
    fn random_pieces_are_read(pieces in prop::collection::vec(0..PIECES.len(), 0..60)) {
        let text: String = pieces.iter().map(|i| PIECES[*i]).collect();
        let block = format!("```rig two\n{text}\n```\n{text}");
        check(block.into_bytes(), text.clone().into_bytes(), text.into_bytes())?;
    }

    #[test]
    fn random_bytes_are_read(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        check(bytes.clone(), bytes.clone(), bytes)?;
    }
}

#[test]
fn the_lesson_to_be_edited_is_nearly_sound() {
    let files = [
        ("lessons/lesson.md", LESSON),
        ("kit/rope.toml", KIT),
        ("pack.toml", PACK),
    ];
    let files = files.map(|(path, text)| SourceFile {
        path: path.to_owned(),
        bytes: text.into(),
    });
    let reading = pack::read(Sources::new(files.into()), Scope::Pack);
    let codes: Vec<&str> = reading.findings.iter().map(|f| f.code).collect();
    // The lesson needs itself, has two pieces of HTML and no picture: nothing else is wrong.
    assert_eq!(
        codes,
        ["need-cycle", "raw-html", "raw-html", "unknown-name"]
    );
}
