//! A pack with one fault of each rule: `proof` reports exactly those, each at its place.
//!
//! `tests/every-rule/wanted.txt` lists rule, weight and place; each rig is named after the rule that
//! it breaks, so the list can be checked by eye. What each rule stands on is in `src/rulebook`.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Output};

use ropeleaf::rulebook::RULES;

fn proof(format: &str) -> Output {
    let pack = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/every-rule");
    Command::new(env!("CARGO_BIN_EXE_ropeleaf"))
        .args(["proof", &pack.to_string_lossy(), "--format", format])
        .output()
        .expect("the program starts")
}

fn found() -> Vec<serde_json::Value> {
    let out = proof("json");
    assert_eq!(out.status.code(), Some(1), "a pack with errors");
    let json: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    json["findings"].as_array().expect("a list").clone()
}

#[test]
fn one_fault_of_each_rule_is_found_at_its_place() {
    let text = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
    let got: Vec<String> = found()
        .iter()
        .map(|f| {
            format!(
                "{} {} {}",
                text(&f["rule"]),
                text(&f["severity"]),
                text(&f["at"])
            )
        })
        .collect();
    let wanted: Vec<&str> = include_str!("every-rule/wanted.txt").lines().collect();
    assert_eq!(got, wanted);
    for rule in RULES {
        let own: Vec<&&str> = wanted
            .iter()
            .filter(|line| line.split(' ').next() == Some(rule.name))
            .collect();
        assert_eq!(own.len(), 1, "{}: {own:?}", rule.name);
        let weight = own[0].split(' ').nth(1);
        assert_eq!(weight, Some(rule.severity.word()), "{}", rule.name);
    }
}

/// A fault of a rig stands inside the rig that is named after its rule.
#[test]
fn rig_faults_stand_in_the_rig_named_after_the_rule() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/every-rule");
    let mut rigs: BTreeMap<String, (String, std::ops::Range<usize>)> = BTreeMap::new();
    for entry in std::fs::read_dir(folder.join("lessons")).unwrap() {
        let path = entry.unwrap().path();
        let name = format!("lessons/{}", path.file_name().unwrap().to_string_lossy());
        let text = std::fs::read_to_string(&path).unwrap();
        let mut open = None;
        for (i, line) in text.lines().enumerate() {
            if let Some(rule) = line.strip_prefix("```rig ") {
                open = Some((rule.to_owned(), i + 1));
            } else if line == "```"
                && let Some((rule, start)) = open.take()
            {
                rigs.insert(rule, (name.clone(), start..i + 1));
            }
        }
    }
    let mut checked = 0;
    for finding in found() {
        let rule = finding["rule"].as_str().unwrap();
        let Some((file, lines)) = rigs.get(rule) else {
            continue;
        };
        let at = finding["at"].as_str().unwrap();
        let mut parts = at.rsplitn(3, ':');
        let line: usize = parts.nth(1).unwrap().parse().unwrap();
        assert_eq!(parts.next(), Some(&**file), "{rule}");
        assert!(
            lines.contains(&line),
            "{rule} at {at}, its rig is in lines {lines:?}"
        );
        checked += 1;
    }
    assert_eq!(checked, rigs.len());
}

/// The author's page names every rule with its place and marks the source, and nothing of it is
/// open to what a pack writes.
#[test]
fn the_page_of_findings_has_them_all() {
    let out = proof("html");
    assert_eq!(out.status.code(), Some(1));
    let page = String::from_utf8(out.stdout).unwrap();
    for finding in found() {
        let at = finding["at"].as_str().unwrap();
        assert!(page.contains(at), "{at}");
        let rule = finding["rule"].as_str().unwrap();
        assert!(page.contains(&format!("<code>{rule}</code>")), "{rule}");
    }
    assert!(page.contains("<mark>[line.main]</mark>"));
    let marked = |quote: &str| format!("from_first_use = <mark>{quote}12 months{quote}</mark>");
    assert!(page.contains(&marked("&quot;")) || page.contains(&marked("\"")));
    assert!(!page.contains("<script"));
    assert_eq!(page.matches("<article>").count(), RULES.len());
}
