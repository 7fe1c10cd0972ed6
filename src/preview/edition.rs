//! One state of the preview: the pages of the last good press and what is wrong with the pack now.

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::hash::{BuildHasher, RandomState};
use std::sync::Arc;
use std::sync::mpsc::Sender;

use crate::disk::DiskProblem;
use crate::finding::{Finding, Severity, Sources, show};
use crate::press::{self, OutFile};
use crate::rules::Proof;
use crate::store::{InMemory, Store};

use super::prints::{Prints, Set};

/// A state of the preview.
pub struct Edition {
    /// Counts up; a page reloads when it is older.
    pub number: u64,
    /// The first number of this preview.
    first: u64,
    /// The errors of the pack as it is now, as text; empty where it is well.
    pub errors: String,
    /// The pack as it is now; none where it could not be read.
    proof: Option<Arc<Proof>>,
    /// The last good press; none while the pack has had errors from the start.
    good: Option<Arc<Good>>,
    /// What need not be made again from one edition to the next.
    store: Arc<Store>,
}

/// A press without errors.
struct Good {
    /// The site in order of path, shared with the store and with the editions before and after.
    files: Vec<Arc<OutFile>>,
    proof: Arc<Proof>,
    prints: Prints,
    /// For each path that came, went or became different since the first good press, when it last did.
    changed: BTreeMap<String, u64>,
}

impl Edition {
    /// The state after the first press.
    pub fn first(proof: Proof, store: Store) -> Self {
        let first = first_number();
        let begun = Self {
            number: first,
            first,
            errors: String::new(),
            proof: None,
            good: None,
            store: Arc::new(store),
        };
        begun.pressed(first, proof)
    }

    /// The state after a change.
    pub fn next(&self, proof: Proof) -> Self {
        self.pressed(self.number + 1, proof)
    }

    fn pressed(&self, number: u64, proof: Proof) -> Self {
        let proof = Arc::new(proof);
        let last = self.good.as_deref();
        let (good, errors) = match Good::press(&proof, &self.store, number, last) {
            Ok(good) => (Some(Arc::new(good)), String::new()),
            Err(findings) => (self.good.clone(), errors_text(&proof, &findings)),
        };
        Self {
            number,
            first: self.first,
            errors,
            proof: Some(proof),
            good,
            store: self.store.clone(),
        }
    }

    /// The state of a pack that cannot be read now.
    pub fn unread(&self, problem: &DiskProblem) -> Self {
        Self {
            number: self.number + 1,
            first: self.first,
            errors: format!("error: {problem}\n"),
            proof: None,
            good: self.good.clone(),
            store: self.store.clone(),
        }
    }

    /// Whether the pack could not be read.
    pub fn is_unread(&self) -> bool {
        self.proof.is_none()
    }

    /// The store, for the proof of the next edition.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Whether it is the state of these sources.
    pub fn is_of(&self, sources: &Sources) -> bool {
        let own = self.proof.as_ref().map(|proof| &proof.reading.sources);
        own == Some(sources)
    }

    /// A line for the terminal.
    pub fn line(&self) -> String {
        if self.errors.is_empty() {
            let files = self.good.as_ref().map_or(0, |good| good.files.len());
            format!("pressed: {files} files\n")
        } else {
            format!("{}not pressed: the last good pages stay\n", self.errors)
        }
    }

    /// The bytes of a path below the output.
    pub fn file(&self, path: &str) -> Option<&[u8]> {
        let files = &self.good.as_ref()?.files;
        let at = files.binary_search_by(|file| file.path.as_str().cmp(path));
        Some(&files[at.ok()?].bytes)
    }

    /// Paths that are not as they were in an earlier edition; `None` for one that this preview never
    /// had.
    pub fn changed_since(&self, number: u64) -> Option<Vec<&str>> {
        let changed = self.good.iter().flat_map(|good| &good.changed);
        let newer = changed.filter(|(_, at)| **at > number);
        let paths = newer.map(|(path, _)| path.as_str());
        // A page asks first about the edition before its own.
        let had = (self.first - 1..=self.number).contains(&number);
        had.then(|| paths.collect())
    }

    /// The print of a file name, set now if it was not asked for before; `None` if there is none of
    /// that name.
    ///
    /// - `notes`: as for [`Prints::get`].
    pub fn print(&self, name: &str, notes: &Sender<String>) -> Option<&Set> {
        let good = self.good.as_ref()?;
        good.prints.get(name, &good.proof, notes)
    }
}

/// Where a preview begins to count: at random, so that a page of one that was ended, asking its successor,
/// is not taken for one of the successor's own. Exact in a page's script, and never 0.
fn first_number() -> u64 {
    (RandomState::new().hash_one(()) >> 32) + 1
}

impl Good {
    /// - `number`: of the edition that it is for.
    fn press(
        proof: &Arc<Proof>,
        store: &Store,
        number: u64,
        last: Option<&Self>,
    ) -> Result<Self, Vec<Finding>> {
        if proof.has_errors() {
            return Err(proof.findings.clone());
        }
        let prints = Prints::of(proof);
        let sink = InMemory::default();
        press::site_into(proof, prints.list(), store, &sink)?;
        let files = sink.shared();
        // Before the first there were no pages but those that say so, which take whatever comes.
        let mut changed = BTreeMap::new();
        if let Some(last) = last {
            changed.clone_from(&last.changed);
            let paths = different(&last.files, &files);
            changed.extend(paths.into_iter().map(|path| (path.to_owned(), number)));
        }
        Ok(Self {
            files,
            proof: proof.clone(),
            prints,
            changed,
        })
    }
}

/// Paths of files that are only in one of two lists in order of path, or not the same in both.
fn different<'a>(before: &'a [Arc<OutFile>], after: &'a [Arc<OutFile>]) -> Vec<&'a str> {
    let (mut old, mut new) = (before.iter().peekable(), after.iter().peekable());
    let mut paths = Vec::new();
    loop {
        let order = match (old.peek(), new.peek()) {
            (None, None) => return paths,
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (Some(a), Some(b)) => a.path.cmp(&b.path),
        };
        let was = old.next_if(|_| order.is_le());
        let is = new.next_if(|_| order.is_ge());
        let same = match (was, is) {
            (Some(a), Some(b)) => Arc::ptr_eq(a, b) || a.bytes == b.bytes,
            _ => false,
        };
        if !same {
            paths.extend(was.or(is).map(|file| file.path.as_str()));
        }
    }
}

/// The errors among findings, each under its source line.
pub fn errors_text(proof: &Proof, findings: &[Finding]) -> String {
    let errors = findings.iter().filter(|f| f.severity == Severity::Error);
    findings_text(proof, errors)
}

/// Findings, each under its source line.
pub fn findings_text<'a>(proof: &Proof, findings: impl IntoIterator<Item = &'a Finding>) -> String {
    let mut text = String::new();
    for finding in findings {
        let _ = writeln!(text, "{}\n", show(finding, &proof.reading.sources, false));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_came_went_or_became_different_is_named() {
        let list = |files: &[(&str, &str)]| -> Vec<Arc<OutFile>> {
            let file = |(path, text): &(&str, &str)| OutFile {
                path: (*path).to_owned(),
                bytes: text.as_bytes().to_vec(),
            };
            files.iter().map(file).map(Arc::new).collect()
        };
        let before = list(&[("a", "1"), ("b", "1"), ("c", "1"), ("e", "1")]);
        let mut after = list(&[("0", "1"), ("b", "1"), ("c", "2"), ("f", "1")]);
        assert_eq!(different(&before, &after), ["0", "a", "c", "e", "f"]);
        after.truncate(2);
        assert_eq!(different(&after, &[]), ["0", "b"]);
        assert!(different(&before, &before).is_empty());
    }
}
