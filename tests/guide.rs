//! The authors' guide is true: its examples make a pack that proofs without an error, its keys are
//! the keys that the reader knows, its values and rules are the program's.

use std::fs;

use ropeleaf::Zones;
use ropeleaf::finding::{Severity, SourceFile, Sources, place_text};
use ropeleaf::pack::{self, Scope};
use ropeleaf::rig::{FigureKind, VALUE_FORMS};
use ropeleaf::rulebook::RULES;

fn guide() -> String {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/authors-guide.md");
    fs::read_to_string(path).unwrap()
}

/// The text between an opening line and the closing fence after it, each time it occurs.
fn fenced<'a>(text: &'a str, open: &str, close: &str) -> Vec<&'a str> {
    let parts = text.split(open).skip(1);
    parts
        .filter_map(|part| Some(part.split_once(close)?.0))
        .collect()
}

fn file(path: &str, text: &str) -> SourceFile {
    SourceFile {
        path: path.to_owned(),
        bytes: text.into(),
    }
}

/// The guide's examples, with the two small files that they refer to.
fn example_pack() -> Vec<SourceFile> {
    let guide = guide();
    let lesson = fenced(&guide, "````markdown\n", "````\n").join("\n");
    let toml = fenced(&guide, "```toml\n", "```\n");
    let with = |word: &str| *toml.iter().find(|t| t.contains(word)).unwrap();
    vec![
        file("pack.toml", with("organisation")),
        file("courses/first-week.toml", with("hours")),
        file("kit/climbing-line.toml", with("working_limit")),
        file("kit/hitch-cord.toml", with("[[tested]]")),
        file("rules.toml", with("wide-spread")),
        file("glossary.toml", with("[[term]]")),
        file("lessons/two-limb.md", &lesson),
        file(
            "lessons/first-hang.md",
            "```lesson\ntitle = \"First hang\"\ncode = \"AA-01\"\n```\n\n```marking\n[[criterion]]\n\
             text = \"Hangs.\"\noutcome = \"O2\"\n```\n",
        ),
        file(
            "kit/steel-connector.toml",
            "title = \"Steel connector\"\nkind = \"connector\"\n",
        ),
    ]
}

#[test]
fn the_examples_make_a_pack_without_errors() {
    let mut files = example_pack();
    // The example course has one outcome, the example lesson works on two.
    let course = files
        .iter_mut()
        .find(|f| f.path.starts_with("courses/"))
        .unwrap();
    course
        .bytes
        .extend_from_slice(b"[[outcome]]\nkey = \"O2\"\ntext = \"Hangs in balance.\"\n");
    let guide = guide();
    let mut toml = fenced(&guide, "```toml\n", "```\n").into_iter();
    let day = toml.find(|text| text.contains("[[day.part]]")).unwrap();
    course.bytes.extend_from_slice(day.as_bytes());
    let proof = ropeleaf::proof(Sources::new(files), Scope::Pack, Zones::Shown);
    let errors: Vec<String> = proof
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Error)
        .map(|f| format!("{} {}", place_text(f, &proof.reading.sources), f.message))
        .collect();
    assert_eq!(errors, Vec::<String>::new());
    assert_eq!(proof.reading.pack.rigs.len(), 1);
}

#[test]
fn every_key_of_every_table_is_in_the_guide() {
    let guide = guide();
    let unknown = "nosuchkeyatall = 1\n";
    let lesson = format!(
        "```lesson\n{unknown}```\n\n```rig r\n{unknown}[climber]\n{unknown}[feet]\n{unknown}\
         [point.p]\n{unknown}[line.l]\n{unknown}[tree]\n{unknown}stems = [{{ {} }}]\n[zone]\n{unknown}```\n\n\
         ```steps\n[[step]]\n{unknown}```\n\n```faults\n[[fault]]\n{unknown}```\n\n\
         ```questions\n[[question]]\n{unknown}```\n\n```marking\n[[criterion]]\n{unknown}```\n\n\
         ```figure r\n{unknown}```\n",
        unknown.trim()
    );
    let files = vec![
        file("lessons/a.md", &lesson),
        file("pack.toml", &format!("{unknown}[[change]]\n{unknown}")),
        file(
            "kit/k.toml",
            &format!(
                "{unknown}[connector]\n{unknown}[[tested]]\n{unknown}[life]\n{unknown}[record]\n{unknown}[[examination]]\n{unknown}"
            ),
        ),
        file(
            "courses/c.toml",
            &format!("{unknown}[[outcome]]\n{unknown}[[day]]\n{unknown}[[day.part]]\n{unknown}"),
        ),
        file("glossary.toml", &format!("[[term]]\n{unknown}")),
        file(
            "rules.toml",
            &format!("[too-short]\n{unknown}[low-strength]\n{unknown}"),
        ),
    ];
    let reading = pack::read(Sources::new(files), Scope::Pack);
    let helps = reading.findings.iter().filter(|f| f.code == "unknown-key");
    let helps: Vec<&str> = helps.filter_map(|f| f.help.as_deref()).collect();
    assert_eq!(helps.len(), 29, "one for each table: {helps:#?}");
    for key in helps.iter().flat_map(|help| fenced_words(help)) {
        let marked = [
            format!("`{key}`"),
            format!("`[{key}"),
            format!("`[[{key}"),
            format!(".{key}]]`"),
        ];
        let with_comma = format!("{key}, ");
        assert!(
            marked.iter().any(|m| guide.contains(m)) || guide.contains(&with_comma),
            "the key {key} is not in the guide"
        );
    }
}

/// The words between single backticks.
fn fenced_words(text: &str) -> Vec<&str> {
    text.split('`').skip(1).step_by(2).collect()
}

#[test]
fn values_figures_and_rules_are_those_of_the_program() {
    let guide = guide();
    for form in VALUE_FORMS {
        assert!(guide.contains(&format!("`{form}`")), "{form}");
    }
    for kind in FigureKind::ALL {
        assert!(
            guide.contains(&format!("`{}`", kind.word())),
            "{}",
            kind.word()
        );
    }
    for rule in RULES {
        assert!(
            guide.contains(&format!("| `{}` |", rule.name)),
            "the rule {} is not in the guide",
            rule.name
        );
        for limit in rule.limits {
            assert!(
                guide.contains(&format!("`{}`", limit.key)),
                "{} {}",
                rule.name,
                limit.key
            );
        }
    }
}
