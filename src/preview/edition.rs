//! One state of the preview: the pages of the last good press and what is wrong with the pack now.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::{Arc, OnceLock};

use crate::Zones;
use crate::finding::{Finding, Severity, show};
use crate::pack::Scope;
use crate::press::{self, Only, OutFile};
use crate::progress::Silent;
use crate::rules::Proof;
use crate::store::{InMemory, Store};

/// Files of a good press by path, shared from edition to edition while the pack has errors.
type Files = Arc<BTreeMap<String, Vec<u8>>>;

/// A state of the preview.
pub struct Edition {
    /// Counts up; a page reloads when it is older.
    pub number: u64,
    /// The site of the last good press.
    files: Files,
    /// What need not be made again from one edition to the next.
    store: Arc<Store>,
    /// The proof that they were pressed from, for sheets.
    good: Option<Arc<Proof>>,
    /// The errors of the pack as it is now, as text; empty where it is well.
    pub errors: String,
    prints: OnceLock<Result<BTreeMap<String, Vec<u8>>, String>>,
}

impl Edition {
    /// The state after the first press.
    pub fn first(proof: Proof, store: Store) -> Self {
        let nothing = Self {
            number: 0,
            files: Arc::default(),
            store: Arc::new(store),
            good: None,
            errors: String::new(),
            prints: OnceLock::new(),
        };
        nothing.next(proof)
    }

    /// The state after a change.
    pub fn next(&self, proof: Proof) -> Self {
        let pressed = if proof.has_errors() {
            Err(errors_text(&proof, &proof.findings))
        } else {
            self.site(&proof)
                .map_err(|findings| errors_text(&proof, &findings))
        };
        let number = self.number + 1;
        match pressed {
            Ok(files) => Self {
                number,
                files: Arc::new(files),
                store: self.store.clone(),
                good: Some(Arc::new(proof)),
                errors: String::new(),
                prints: OnceLock::new(),
            },
            Err(errors) => Self {
                number,
                files: self.files.clone(),
                store: self.store.clone(),
                good: self.good.clone(),
                errors,
                prints: OnceLock::new(),
            },
        }
    }

    /// The store, for the proof of the next edition.
    pub fn store(&self) -> &Store {
        &self.store
    }

    fn site(&self, proof: &Proof) -> Result<BTreeMap<String, Vec<u8>>, Vec<Finding>> {
        let sink = InMemory::default();
        press::press_into(proof, Only::Site.into(), &self.store, &sink, &Silent)?;
        Ok(by_path(sink.files()))
    }

    /// Whether a reader would see no difference.
    pub fn same_as(&self, other: &Self) -> bool {
        self.errors == other.errors && self.files == other.files
    }

    /// A line for the terminal.
    pub fn line(&self) -> String {
        if self.errors.is_empty() {
            format!("pressed: {} files\n", self.files.len())
        } else {
            format!("{}not pressed: the last good pages stay\n", self.errors)
        }
    }

    /// The bytes of a path below the output; sheets are set at the first call that asks for one.
    ///
    /// # Errors
    /// What stops the sheets from being set, in words.
    pub fn file(&self, path: &str) -> Result<Option<&[u8]>, String> {
        if path.starts_with("print/") {
            let prints = self.prints.get_or_init(|| self.set_prints());
            return Ok(prints
                .as_ref()
                .map_err(Clone::clone)?
                .get(path)
                .map(Vec::as_slice));
        }
        Ok(self.files.get(path).map(Vec::as_slice))
    }

    fn set_prints(&self) -> Result<BTreeMap<String, Vec<u8>>, String> {
        let Some(proof) = &self.good else {
            return Ok(BTreeMap::new());
        };
        // The site's proof leaves out zones, which it works out with each lesson's page.
        let sources = proof.reading.sources.clone();
        let whole = crate::proof(sources, Scope::Pack, Zones::Shown);
        let pressed = press::press(&whole, Only::Print.into(), &Silent);
        let pressed = pressed.map_err(|findings| errors_text(&whole, &findings))?;
        Ok(by_path(pressed.files))
    }
}

fn by_path(files: Vec<OutFile>) -> BTreeMap<String, Vec<u8>> {
    files
        .into_iter()
        .map(|file| (file.path, file.bytes))
        .collect()
}

fn errors_text(proof: &Proof, findings: &[Finding]) -> String {
    let mut text = String::new();
    for finding in findings.iter().filter(|f| f.severity == Severity::Error) {
        let _ = writeln!(text, "{}\n", show(finding, &proof.reading.sources, false));
    }
    text
}
