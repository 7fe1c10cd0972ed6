//! The words of a [`Problem`]: one sentence of what was found and expected, one of what to write.

use super::Problem;
use crate::finding::nearest;
use crate::quantity::{Dimension, QuantityProblem};

impl Problem {
    /// What was found and what was expected, in one sentence.
    pub(super) fn message(&self) -> String {
        match self {
            Self::Syntax { message } => format!("this is not TOML: {message}"),
            Self::UnknownKey { table, key, .. } => format!("{table} has no key `{key}`"),
            Self::MissingKey { table, key, .. } => format!("{table} needs the key `{key}`"),
            Self::WrongType { key, want, found } => {
                format!("`{key}` must be {want}; this is {found}")
            }
            Self::Quantity {
                key,
                text,
                want,
                problem,
            } => quantity_message(key, text, *want, problem),
            Self::OutOfRange { key, found, want } => {
                format!("`{key}` must be {want}; this is {found}")
            }
            Self::UnknownWord { key, word, .. } => {
                format!("`{word}` is not a word that `{key}` may have")
            }
            Self::UnknownName { what, name, .. } => format!("there is no {what} \"{name}\""),
            Self::BadName { what, name, why } => {
                format!("\"{name}\" cannot be the name of a {what}: {why}")
            }
            Self::DuplicateName { what, name, first } => {
                format!("a {what} \"{name}\" stands at {first} already")
            }
            Self::Conflict { message, .. } => message.clone(),
            Self::WrongCount { key, found, want } => {
                format!("`{key}` must have {want}; it has {found}")
            }
            Self::MixedSpace { found, want } => format!(
                "this coordinate has {found} numbers, but this rig is written with {want}: planar and spatial are never mixed"
            ),
            Self::ShortRun { line, why } => format!("line \"{line}\" {why}"),
            Self::NotPassing { line, point, .. } => format!(
                "line \"{line}\" does not pass point \"{point}\", so it cannot be gripped there"
            ),
            Self::Unused { key, why } => format!("`{key}` has no effect here: {why}"),
            Self::UnknownValue { path, .. } if path.is_empty() => {
                "this names a rig, but no value of it".to_owned()
            }
            Self::UnknownValue { path, .. } => format!("there is no value `{path}`"),
            Self::NoSuchNumber { path, why } => format!("`{path}` has no number: {why}"),
            Self::BadExpectation { why } => format!("this expectation cannot be read: {why}"),
            Self::NoLessonBlock => "this lesson has no `lesson` block".to_owned(),
            Self::MisplacedBlock { word, why } => format!("this `{word}` block {why}"),
            Self::UnknownBlock { word, .. } => {
                format!("`{word}` is no block of a lesson, so it is shown as plain text")
            }
            Self::UnnamedBlock { word, why } => format!("this `{word}` block {why}"),
            Self::RawHtml => "HTML has no effect in a lesson: it is shown as it stands".to_owned(),
            Self::NeedCycle { names } => format!(
                "these lessons need one another, so none can come first: {}",
                names.join(" \u{2192} ")
            ),
            Self::MissingFile { path, .. } => format!("the pack has no {path}"),
            Self::MisplacedFile { path, .. } => format!("nothing reads {path}"),
            Self::NotText { path } => format!("{path} is not UTF-8 text"),
        }
    }

    /// What to write instead.
    pub(super) fn help(&self) -> Option<String> {
        match self {
            Self::Syntax { message } => SYNTAX_HELP
                .iter()
                .find(|(part, _)| message.contains(part))
                .map(|(_, help)| (*help).to_owned()),
            Self::RawHtml => None,
            Self::UnknownKey { key, known, .. } => Some(offer("key", key, known)),
            Self::MissingKey { example, .. } => Some(format!("write `{example}`")),
            Self::WrongType { .. } | Self::OutOfRange { .. } => None,
            Self::Quantity { want, problem, .. } => Some(match problem {
                QuantityProblem::UnknownUnit {
                    nearest: Some(unit),
                    ..
                } => format!("the nearest unit is `{unit}`; write {}", want.example()),
                QuantityProblem::Backwards => "write the smaller end first".to_owned(),
                _ => format!("write {}", want.example()),
            }),
            Self::UnknownWord { word, valid, .. } => Some(offer("word", word, valid)),
            Self::UnknownName { what, name, valid } => Some(offer(what, name, valid)),
            Self::BadName { what, .. } if *what == "lesson code" => {
                Some("write a code such as `AA-02`".to_owned())
            }
            Self::BadName { .. } => {
                Some("use small letters, digits and hyphens: `main`, `side-limb`".to_owned())
            }
            Self::DuplicateName { .. } => Some("give one of them another name".to_owned()),
            Self::Conflict { help, .. } => Some(help.clone()),
            Self::WrongCount { .. } | Self::ShortRun { .. } => None,
            Self::MixedSpace { want, .. } => Some(match want {
                2 => "write [x, z]".to_owned(),
                _ => "write [x, y, z]".to_owned(),
            }),
            Self::NotPassing { passing, line, .. } => Some(if passing.is_empty() {
                "no line passes it: put the point between two others in the line's run".to_owned()
            } else {
                offer("passing line", line, passing)
            }),
            Self::Unused { .. } => Some("take it out".to_owned()),
            Self::UnknownValue { nearest, valid, .. } => Some(match nearest {
                Some(name) => format!("the nearest value is `{name}`"),
                None => format!("the values are {}", listed(valid)),
            }),
            Self::NoSuchNumber { .. } => None,
            Self::BadExpectation { .. } => Some(
                "write `VALUE < QUANTITY`, with one of < <= > >= =, and for = a tolerance: \
                 `spread/main/second = 90 deg +- 2`"
                    .to_owned(),
            ),
            Self::NoLessonBlock => Some(
                "begin the file with a block ```lesson that has a `title` and a `code`".to_owned(),
            ),
            Self::MisplacedBlock { .. } => None,
            Self::UnknownBlock { near, .. } => Some(format!("the nearest block is `{near}`")),
            Self::UnnamedBlock { word, .. } => Some(match word.as_str() {
                "rig" | "figure" => format!("write ```{word} NAME"),
                _ => format!("write ```{word}"),
            }),
            Self::NeedCycle { .. } => Some("take one of the needs out".to_owned()),
            Self::MissingFile { what, .. } => Some(format!("write one with {what}")),
            Self::MisplacedFile { help, .. } => Some(help.clone()),
            Self::NotText { .. } => Some("save it as UTF-8".to_owned()),
        }
    }
}

/// What to do about the usual slips, by a part of what the reader of TOML says.
const SYNTAX_HELP: &[(&str, &str)] = &[
    ("duplicate key", "write each key and each [table] once"),
    (
        "must be quoted",
        "put words, and numbers with a unit, in quotation marks: \"86 kg\"",
    ),
    ("invalid float", "write a number such as 8.0"),
    ("key with no value", "write `key = value`"),
    ("unclosed table", "write `[name]`, with both brackets"),
    ("unclosed array", "close the list with `]`"),
    (
        "invalid basic string",
        "close the text with a quotation mark on the same line",
    ),
];

fn quantity_message(key: &str, text: &str, want: Dimension, problem: &QuantityProblem) -> String {
    let kind = want.word();
    match problem {
        QuantityProblem::NotANumber { at } => {
            let part = text.get(at.clone()).unwrap_or("");
            if part.is_empty() {
                format!("`{key}` must be {kind}; here is no number")
            } else {
                format!("`{key}` must be {kind}; \"{part}\" is not a number")
            }
        }
        QuantityProblem::NoUnit => format!("`{key}` must be {kind}; \"{text}\" has no unit"),
        QuantityProblem::UnknownUnit { at, .. } => {
            let unit = text.get(at.clone()).unwrap_or("");
            format!("`{key}` must be {kind}; \"{unit}\" is no unit of one")
        }
        QuantityProblem::WrongUnit { at, is } => {
            let unit = text.get(at.clone()).unwrap_or("");
            format!(
                "`{key}` must be {kind}; \"{unit}\" is the unit of {}",
                is.word()
            )
        }
        QuantityProblem::Backwards => {
            format!("the second end of `{key}` is below the first: \"{text}\"")
        }
    }
}

/// "the nearest point is `top`; the points are ...".
fn offer(what: &str, written: &str, valid: &[String]) -> String {
    match nearest(written, valid.iter().map(String::as_str)) {
        Some(name) if valid.len() == 1 => format!("the only {what} here is `{name}`"),
        Some(name) => format!(
            "the nearest {what} is `{name}`; there are {}",
            listed(valid)
        ),
        None if valid.is_empty() => format!("there is no {what} at all"),
        None => format!("there are {}", listed(valid)),
    }
}

/// Most names that an error lists.
const LISTED: usize = 16;

fn listed(names: &[String]) -> String {
    let mut text: Vec<String> = names
        .iter()
        .take(LISTED)
        .map(|n| format!("`{n}`"))
        .collect();
    if names.len() > LISTED {
        text.push(format!("{} more", names.len() - LISTED));
    }
    text.join(", ")
}
