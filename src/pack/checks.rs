//! What can only be seen over the whole pack: codes, needs, files that nothing reads.

use std::collections::BTreeMap;

use super::kept::{Named, Outline};
use super::{Lesson, LessonId, RigId};
use crate::block::Problem;
use crate::finding::{Finding, Place, Sources, nearest, place_text};
use crate::rig::Rig;

/// A place in words, for pointing at a first namesake.
pub(super) fn where_is(place: Place, sources: &Sources) -> String {
    place_text(&Problem::NoLessonBlock.at(place), sources)
}

/// Codes of lessons and of courses name prints, so each stands once and is a plain file name.
///
/// - `what`: "lesson code" or "course code".
pub(super) fn codes<'a>(
    what: &'static str,
    codes: impl Iterator<Item = &'a Named>,
    sources: &Sources,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut first: BTreeMap<String, Place> = BTreeMap::new();
    for code in codes {
        let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
        if !code.name.chars().all(plain) || code.name.starts_with('.') {
            let problem = Problem::BadName {
                what,
                name: code.name.clone(),
                why: "it names files, so only letters, digits, hyphens and full stops can stand in it",
            };
            findings.push(problem.at(code.place));
        }
        let key = code.name.to_lowercase();
        if let Some(before) = first.get(&key) {
            let problem = Problem::DuplicateName {
                what,
                name: code.name.clone(),
                first: where_is(*before, sources),
            };
            findings.push(problem.at(code.place));
        } else {
            first.insert(key, code.place);
        }
    }
    findings
}

/// Lessons that need one another can never be begun.
pub(super) fn needs(outlines: &[&Outline], lessons: &[Lesson]) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut noted = vec![false; lessons.len()];
    for (start, outline) in outlines.iter().enumerate() {
        let Some(cycle) = cycle_from(start, lessons) else {
            continue;
        };
        if cycle.iter().any(|i| noted[*i]) {
            continue;
        }
        for i in &cycle {
            noted[*i] = true;
        }
        let mut names: Vec<String> = cycle.iter().map(|i| lessons[*i].name.clone()).collect();
        let next = names.get(1).or(names.first()).cloned().unwrap_or_default();
        names.extend(names.first().cloned());
        let at = outline.needs.iter().find(|need| need.name == next);
        let place = at.map_or(lessons[start].place, |need| need.place);
        findings.push(Problem::NeedCycle { names }.at(place));
    }
    findings
}

/// A right twin must be a rig of the pack that shows no mistake itself.
pub(super) fn twins(rigs: &[Rig], ids: &BTreeMap<String, Option<RigId>>) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (name, place) in rigs.iter().filter_map(|rig| rig.right.as_ref()) {
        let problem = match ids.get(name) {
            None => {
                let right = rigs.iter().filter(|rig| rig.wrong.is_empty());
                Problem::UnknownName {
                    what: "rig",
                    name: name.clone(),
                    valid: right.map(|rig| rig.name.clone()).collect(),
                }
            }
            Some(Some(RigId(i))) if !rigs[*i].wrong.is_empty() => Problem::Conflict {
                message: format!(
                    "\"{name}\" shows a mistake itself, so it cannot be the right twin"
                ),
                help: "name a rig without `wrong`".to_owned(),
            },
            // A rig with an error is noted at its block.
            Some(_) => continue,
        };
        findings.push(problem.at(*place));
    }
    findings
}

/// The lessons of a cycle of needs through `start`, in order, if there is one.
fn cycle_from(start: usize, lessons: &[Lesson]) -> Option<Vec<usize>> {
    let mut path = vec![start];
    let mut seen = vec![false; lessons.len()];
    walk_needs(start, start, lessons, &mut seen, &mut path).then_some(path)
}

fn walk_needs(
    at: usize,
    goal: usize,
    lessons: &[Lesson],
    seen: &mut [bool],
    path: &mut Vec<usize>,
) -> bool {
    for LessonId(next) in &lessons[at].needs {
        if *next == goal {
            return true;
        }
        if !std::mem::replace(&mut seen[*next], true) {
            path.push(*next);
            if walk_needs(*next, goal, lessons, seen, path) {
                return true;
            }
            path.pop();
        }
    }
    false
}

/// Folders of a pack and the ending of what is read from each; any ending in `own/`, whose
/// names the press knows, and in `pictures/`.
const FOLDERS: [(&str, &str); 5] = [
    ("courses", ".toml"),
    ("kit", ".toml"),
    ("lessons", ".md"),
    ("own", ""),
    ("pictures", ""),
];

/// Files of TOML at the top.
const TOP_FILES: [&str; 3] = ["pack.toml", "rules.toml", "glossary.toml"];

/// Files that look as if they were meant to be read but are not. Others (a README, a licence) are
/// the author's business.
pub(super) fn files(sources: &Sources) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (file, source) in sources.files().iter().enumerate() {
        if let Some(help) = misplaced(&source.path) {
            let path = source.path.clone();
            let place = Place {
                file,
                start: 0,
                end: 0,
            };
            findings.push(Problem::MisplacedFile { path, help }.at(place));
        }
    }
    findings
}

/// What to do with a file that nothing reads, if it seems to be meant for the pack.
fn misplaced(path: &str) -> Option<String> {
    let Some((folder, rest)) = path.split_once('/') else {
        if !path.ends_with(".toml") || TOP_FILES.contains(&path) {
            return None;
        }
        let near = nearest(path, TOP_FILES);
        return Some(near.map_or_else(
            || format!("the files of TOML here are {}", TOP_FILES.join(", ")),
            |near| format!("the nearest name is {near}"),
        ));
    };
    if let Some((_, ending)) = FOLDERS.iter().find(|(name, _)| *name == folder) {
        let read = rest.ends_with(ending) && (ending.is_empty() || !rest.contains('/'));
        return (!read).then(|| format!("only {folder}/NAME{ending} is read from here"));
    }
    let meant = path.ends_with(".toml") || path.ends_with(".md");
    let near = nearest(folder, FOLDERS.map(|(name, _)| name)).filter(|_| meant)?;
    Some(format!("the nearest folder is {near}/"))
}
