//! One state of the preview: the pages of the last good press and what is wrong with the pack now.

use std::fmt::Write as _;
use std::sync::Arc;

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
}

impl Edition {
    /// The state after the first press.
    pub fn first(proof: Proof, store: Store) -> Self {
        Self::of(1, proof, Arc::new(store), None)
    }

    /// The state after a change.
    pub fn next(&self, proof: Proof) -> Self {
        Self::of(
            self.number + 1,
            proof,
            self.store.clone(),
            self.good.clone(),
        )
    }

    fn of(number: u64, proof: Proof, store: Arc<Store>, last: Option<Arc<Good>>) -> Self {
        let proof = Arc::new(proof);
        let (good, errors) = match Good::press(&proof, &store) {
            Ok(good) => (Some(Arc::new(good)), String::new()),
            Err(findings) => (last, errors_text(&proof, &findings)),
        };
        Self {
            number,
            errors,
            proof: Some(proof),
            good,
            store,
        }
    }

    /// The state of a pack that cannot be read now.
    pub fn unread(&self, problem: &DiskProblem) -> Self {
        Self {
            number: self.number + 1,
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

    /// The print of a file name, set now if it was not asked for before; `None` if there is none of
    /// that name.
    pub fn print(&self, name: &str) -> Option<&Set> {
        let good = self.good.as_ref()?;
        good.prints.get(name, &good.proof)
    }
}

impl Good {
    fn press(proof: &Arc<Proof>, store: &Store) -> Result<Self, Vec<Finding>> {
        if proof.has_errors() {
            return Err(proof.findings.clone());
        }
        let prints = Prints::of(proof);
        let sink = InMemory::default();
        press::site_into(proof, prints.list(), store, &sink)?;
        Ok(Self {
            files: sink.shared(),
            proof: proof.clone(),
            prints,
        })
    }
}

/// The errors among findings, each under its source line.
pub fn errors_text(proof: &Proof, findings: &[Finding]) -> String {
    let mut text = String::new();
    for finding in findings.iter().filter(|f| f.severity == Severity::Error) {
        let _ = writeln!(text, "{}\n", show(finding, &proof.reading.sources, false));
    }
    text
}
