//! Everything that can be wrong with what an author wrote: a code, the facts, the words.
//!
//! ```text
//! Problem (facts) ─at(place)→ Finding (code, severity, sentence, help)
//! ```
//!
//! Codes are stable; a retired code is not used again. [`CODES`] lists them all; the authors'
//! guide explains each, and `tests/bad` has a file for each.

use crate::finding::{Finding, Place, Severity};
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
}
