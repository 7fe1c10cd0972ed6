//! A finding: something the reader or a rule has to say about a pack, with its place and its words.
//!
//! Codes are stable kebab-case names; a rule's code is the rule's name. The facts (`found`,
//! `expected`, `nearest`) are data; the sentence is made once, by whoever raises the finding.

mod show;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::digest::Digest;

pub use show::{place_text, show};

/// How much a finding weighs. An error stops the press.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub enum Severity {
    /// Worth knowing.
    Note,
    /// Worth changing.
    Warning,
    /// Must be changed.
    Error,
}

impl Severity {
    /// The word in reports and JSON: `error`, `warning`, `note`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

/// A byte range of one source file. `file` indexes [`Sources`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Place {
    /// Index of the file in [`Sources`].
    pub file: usize,
    /// First byte.
    pub start: usize,
    /// One past the last byte; equal to `start` for a point between bytes.
    pub end: usize,
}

/// One file of a pack as it was read. Text that is not UTF-8 is a picture's business.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceFile {
    /// Path relative to the pack, with forward slashes: `lessons/two-limb.md`.
    pub path: String,
    /// The bytes on disk.
    pub bytes: Vec<u8>,
}

/// What some editors write before the text; it is no part of it.
const BYTE_ORDER_MARK: &[u8] = "\u{feff}".as_bytes();

/// All files of a pack, sorted by path, each without the byte order mark that an editor may have put
/// before it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sources {
    files: Vec<SourceFile>,
    /// Of the bytes of each.
    digests: Vec<Digest>,
}

impl Sources {
    /// Takes the files in any order.
    pub fn new(mut files: Vec<SourceFile>) -> Self {
        for file in &mut files {
            if file.bytes.starts_with(BYTE_ORDER_MARK) {
                file.bytes.drain(..BYTE_ORDER_MARK.len());
            }
        }
        files.sort_by(|a, b| a.path.cmp(&b.path));
        let digests = files.par_iter().map(|file| Digest::of(&file.bytes));
        Self {
            digests: digests.collect(),
            files,
        }
    }

    /// The files; [`Place::file`] indexes them.
    pub fn files(&self) -> &[SourceFile] {
        &self.files
    }

    /// SHA-256 of a file's bytes.
    pub fn digest(&self, file: usize) -> Digest {
        self.digests[file]
    }

    /// The files with the SHA-256 of their bytes.
    pub fn with_digests(&self) -> impl Iterator<Item = (&SourceFile, Digest)> {
        self.files.iter().zip(self.digests.iter().copied())
    }

    /// Lets go the bytes of files that no place is to be shown in any more; their paths and digests
    /// stay.
    pub(crate) fn let_go(&mut self, done: impl Fn(&SourceFile) -> bool) {
        for file in self.files.iter_mut().filter(|file| done(file)) {
            file.bytes = Vec::new();
        }
    }

    /// The text of a file, empty where it is not UTF-8.
    pub fn text(&self, file: usize) -> &str {
        self.files
            .get(file)
            .and_then(|f| std::str::from_utf8(&f.bytes).ok())
            .unwrap_or("")
    }

    /// Line and column of a byte, both from 1, columns counted in characters.
    pub fn line_column(&self, file: usize, byte: usize) -> (usize, usize) {
        let text = self.text(file);
        let mut byte = byte.min(text.len());
        while !text.is_char_boundary(byte) {
            byte -= 1;
        }
        let before = &text[..byte];
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        let line = before.bytes().filter(|b| *b == b'\n').count() + 1;
        (line, before[line_start..].chars().count() + 1)
    }
}

/// One thing to say, at one place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// Stable name, kebab-case: `unknown-key`, `no-hold`.
    pub code: &'static str,
    /// Whether it stops the press.
    pub severity: Severity,
    /// Where; `None` only for a pack as a whole (a missing file).
    pub place: Option<Place>,
    /// One plain sentence with the numbers.
    pub message: String,
    /// What to write or do instead, the nearest valid name included.
    pub help: Option<String>,
}

impl Finding {
    /// An error at a place.
    pub fn error(code: &'static str, place: Place, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Error,
            place: Some(place),
            message: message.into(),
            help: None,
        }
    }

    /// A warning at a place.
    pub fn warning(code: &'static str, place: Place, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Warning,
            ..Self::error(code, place, message)
        }
    }

    /// The same finding with a help line.
    #[must_use]
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// The most edits that a name may be away from a valid one to be offered, as a share of its length.
const NEAR_SHARE: f64 = 0.5;

/// The valid name closest to what was written, if any is close (Damerau-Levenshtein distance, case
/// ignored, at most half the longer name's length).
pub fn nearest<'a>(written: &str, valid: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let lower = written.to_lowercase();
    let distance = |name: &str| strsim::damerau_levenshtein(&lower, &name.to_lowercase());
    let close = |name: &str, d: usize| {
        let longer = name.chars().count().max(written.chars().count());
        d as f64 <= (longer as f64 * NEAR_SHARE).max(1.0)
    };
    valid
        .into_iter()
        .map(|name| (distance(name), name))
        .filter(|(d, name)| close(name, *d))
        .min_by_key(|(d, _)| *d)
        .map(|(_, name)| name)
}
