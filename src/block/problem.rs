//! Everything that can be wrong with what an author wrote: a code, the facts, the words.
//!
//! ```text
//! Problem (facts) ─at(place)→ Finding (code, severity, sentence, help)
//! ```
//!
//! Codes are stable; a retired code is not used again. [`CODES`] lists them all; the authors'
//! guide explains each, and `tests/bad` has a file for each.

use crate::finding::{Finding, Place, Severity, nearest};
use crate::quantity::{Dimension, QuantityProblem};

/// Every code of a [`Problem`], in the order of the authors' guide.
pub const CODES: &[&str] = &[
    "toml-syntax",
    "unknown-key",
    "missing-key",
    "wrong-type",
    "not-a-number",
    "no-unit",
    "unknown-unit",
    "wrong-unit",
    "backwards-range",
    "out-of-range",
    "unknown-word",
    "unknown-name",
    "bad-name",
    "duplicate-name",
    "conflict",
    "wrong-count",
    "mixed-space",
    "short-run",
    "not-passing",
    "no-effect",
    "unknown-value",
    "no-such-number",
    "bad-expectation",
    "missing-lesson-block",
    "misplaced-block",
    "unknown-block",
    "unnamed-block",
    "raw-html",
    "need-cycle",
    "missing-file",
    "misplaced-file",
    "not-text",
];

/// One mistake in a pack.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Problem {
    /// `toml-syntax`: the text is not TOML.
    Syntax {
        /// What the reader of TOML says.
        message: String,
    },
    /// `unknown-key`: a key that the table does not have.
    UnknownKey {
        /// The table as an author writes it: `[point.top]`.
        table: String,
        /// The key.
        key: String,
        /// Keys that it may have.
        known: Vec<String>,
    },
    /// `missing-key`: a key that must be there.
    MissingKey {
        /// The table.
        table: String,
        /// The key.
        key: String,
        /// How to write it.
        example: String,
    },
    /// `wrong-type`: a value of another sort.
    WrongType {
        /// The key.
        key: String,
        /// What was wanted: "a text in quotation marks".
        want: String,
        /// What stands there: "a number".
        found: &'static str,
    },
    /// `not-a-number`, `no-unit`, `unknown-unit`, `wrong-unit`, `backwards-range`.
    Quantity {
        /// The key.
        key: String,
        /// What was written.
        text: String,
        /// The kind of quantity wanted.
        want: Dimension,
        /// What is wrong with it.
        problem: QuantityProblem,
    },
    /// `out-of-range`: a number that cannot be meant.
    OutOfRange {
        /// The key.
        key: String,
        /// The value as written.
        found: String,
        /// What it must be: "more than 0 kg".
        want: String,
    },
    /// `unknown-word`: not one of the words that a key may have.
    UnknownWord {
        /// The key.
        key: String,
        /// The word.
        word: String,
        /// The words that it may have.
        valid: Vec<String>,
    },
    /// `unknown-name`: nothing of this name.
    UnknownName {
        /// The kind of thing: "point", "kit item".
        what: &'static str,
        /// The name.
        name: String,
        /// The names that there are.
        valid: Vec<String>,
    },
    /// `bad-name`: a name that cannot be used.
    BadName {
        /// The kind of thing.
        what: &'static str,
        /// The name.
        name: String,
        /// Why not, as the rest of the sentence.
        why: &'static str,
    },
    /// `duplicate-name`: a name for the second time.
    DuplicateName {
        /// The kind of thing.
        what: &'static str,
        /// The name.
        name: String,
        /// Where the first stands: `lessons/a.md:12`.
        first: String,
    },
    /// `conflict`: two things that cannot both be said.
    Conflict {
        /// The whole sentence.
        message: String,
        /// What to do.
        help: String,
    },
    /// `wrong-count`: a list of another length than needed.
    WrongCount {
        /// The key.
        key: String,
        /// How many there are.
        found: usize,
        /// How many there must be, in words.
        want: String,
    },
    /// `mixed-space`: a coordinate of the other sort than the rest of the rig.
    MixedSpace {
        /// How many numbers it has.
        found: usize,
        /// How many most coordinates of the rig have.
        want: usize,
    },
    /// `short-run`: a line that goes nowhere.
    ShortRun {
        /// The line.
        line: String,
        /// What is wrong, as the rest of the sentence.
        why: &'static str,
    },
    /// `not-passing`: a grip on a line that does not pass the point.
    NotPassing {
        /// The line.
        line: String,
        /// The point.
        point: String,
        /// Lines that do pass it.
        passing: Vec<String>,
    },
    /// `no-effect` (warning): a key that has no effect here.
    Unused {
        /// The key.
        key: String,
        /// Why, as the rest of the sentence.
        why: &'static str,
    },
    /// `unknown-value`: a value that no rig has.
    UnknownValue {
        /// The path as written.
        path: String,
        /// How the nearest one is written.
        nearest: Option<String>,
        /// The values that there are.
        valid: Vec<String>,
    },
    /// `no-such-number`: a value that this line or point cannot have.
    NoSuchNumber {
        /// The path as written.
        path: String,
        /// Why, as the rest of the sentence.
        why: String,
    },
    /// `bad-expectation`: an `expect` text that cannot be read.
    BadExpectation {
        /// What is wrong.
        why: String,
    },
    /// `missing-lesson-block`: a lesson file without one.
    NoLessonBlock,
    /// `misplaced-block`: a block where it cannot stand.
    MisplacedBlock {
        /// The block's word.
        word: String,
        /// Why not, as the rest of the sentence.
        why: &'static str,
    },
    /// `unknown-block` (warning): an info word close to one of ours.
    UnknownBlock {
        /// The word.
        word: String,
        /// The near one.
        near: String,
    },
    /// `unnamed-block`: a block whose first line lacks its name, or says too much.
    UnnamedBlock {
        /// The block's word.
        word: String,
        /// What is wrong, as the rest of the sentence.
        why: &'static str,
    },
    /// `raw-html` (warning): HTML in a lesson is shown as text.
    RawHtml,
    /// `need-cycle`: lessons that need one another.
    NeedCycle {
        /// The lessons in order, the first again at the end.
        names: Vec<String>,
    },
    /// `missing-file`: a pack without a file that it must have.
    MissingFile {
        /// Its path.
        path: &'static str,
        /// What it must hold.
        what: &'static str,
    },
    /// `misplaced-file` (warning): a file that nothing reads.
    MisplacedFile {
        /// Its path.
        path: String,
        /// What to do.
        help: String,
    },
    /// `not-text`: a file that is not UTF-8.
    NotText {
        /// Its path.
        path: String,
    },
}

impl Problem {
    /// The stable code.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Syntax { .. } => "toml-syntax",
            Self::UnknownKey { .. } => "unknown-key",
            Self::MissingKey { .. } => "missing-key",
            Self::WrongType { .. } => "wrong-type",
            Self::Quantity { problem, .. } => match problem {
                QuantityProblem::NotANumber { .. } => "not-a-number",
                QuantityProblem::NoUnit => "no-unit",
                QuantityProblem::UnknownUnit { .. } => "unknown-unit",
                QuantityProblem::WrongUnit { .. } => "wrong-unit",
                QuantityProblem::Backwards => "backwards-range",
            },
            Self::OutOfRange { .. } => "out-of-range",
            Self::UnknownWord { .. } => "unknown-word",
            Self::UnknownName { .. } => "unknown-name",
            Self::BadName { .. } => "bad-name",
            Self::DuplicateName { .. } => "duplicate-name",
            Self::Conflict { .. } => "conflict",
            Self::WrongCount { .. } => "wrong-count",
            Self::MixedSpace { .. } => "mixed-space",
            Self::ShortRun { .. } => "short-run",
            Self::NotPassing { .. } => "not-passing",
            Self::Unused { .. } => "no-effect",
            Self::UnknownValue { .. } => "unknown-value",
            Self::NoSuchNumber { .. } => "no-such-number",
            Self::BadExpectation { .. } => "bad-expectation",
            Self::NoLessonBlock => "missing-lesson-block",
            Self::MisplacedBlock { .. } => "misplaced-block",
            Self::UnknownBlock { .. } => "unknown-block",
            Self::UnnamedBlock { .. } => "unnamed-block",
            Self::RawHtml => "raw-html",
            Self::NeedCycle { .. } => "need-cycle",
            Self::MissingFile { .. } => "missing-file",
            Self::MisplacedFile { .. } => "misplaced-file",
            Self::NotText { .. } => "not-text",
        }
    }

    /// Whether it stops the press.
    pub const fn severity(&self) -> Severity {
        match self {
            Self::Unused { .. }
            | Self::UnknownBlock { .. }
            | Self::RawHtml
            | Self::MisplacedFile { .. } => Severity::Warning,
            _ => Severity::Error,
        }
    }

    /// Whether it may be only a consequence of a syntax error in the same block: something that
    /// the author did write, but that could not be read.
    pub(super) const fn may_follow_from_syntax(&self) -> bool {
        matches!(
            self,
            Self::MissingKey { .. }
                | Self::UnknownName { .. }
                | Self::WrongCount { .. }
                | Self::NotPassing { .. }
                | Self::ShortRun { .. }
                | Self::UnknownValue { .. }
                | Self::NoSuchNumber { .. }
                | Self::Unused { .. }
        )
    }

    /// The finding at a place.
    pub fn at(&self, place: Place) -> Finding {
        Finding {
            code: self.code(),
            severity: self.severity(),
            place: Some(place),
            message: self.message(),
            help: self.help(),
        }
    }

    /// The finding about the pack as a whole.
    pub fn of_pack(&self) -> Finding {
        Finding {
            code: self.code(),
            severity: self.severity(),
            place: None,
            message: self.message(),
            help: self.help(),
        }
    }

    /// What was found and what was expected, in one sentence.
    fn message(&self) -> String {
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
    fn help(&self) -> Option<String> {
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
