//! One state of the preview: the pages of the last good press and what is wrong with the pack now.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::{Arc, OnceLock};

use crate::finding::{Finding, Severity, show};
use crate::press::{self, Only, OutFile};
use crate::progress::Silent;
use crate::rules::Proof;

/// Files of a good press by path, shared from edition to edition while the pack has errors.
type Files = Arc<BTreeMap<String, Vec<u8>>>;

/// A state of the preview.
pub struct Edition {
    /// Counts up; a page reloads when it is older.
    pub number: u64,
    /// Site and figures of the last good press.
    files: Files,
    /// The proof that they were pressed from, for sheets.
    good: Option<Arc<Proof>>,
    /// The errors of the pack as it is now, as text; empty where it is well.
    pub errors: String,
    prints: OnceLock<Result<BTreeMap<String, Vec<u8>>, String>>,
}

impl Edition {
    /// The state after the first press.
    pub fn first(proof: Proof) -> Self {
        let nothing = Self {
            number: 0,
            files: Arc::default(),
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
            site_and_figures(&proof).map_err(|findings| errors_text(&proof, &findings))
        };
        let number = self.number + 1;
        match pressed {
            Ok(files) => Self {
                number,
                files: Arc::new(files),
                good: Some(Arc::new(proof)),
                errors: String::new(),
                prints: OnceLock::new(),
            },
            Err(errors) => Self {
                number,
                files: self.files.clone(),
                good: self.good.clone(),
                errors,
                prints: OnceLock::new(),
            },
        }
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
        let pressed = press::press(proof, Only::Print.into(), &Silent);
        let pressed = pressed.map_err(|findings| errors_text(proof, &findings))?;
        Ok(by_path(pressed.files))
    }
}

fn site_and_figures(proof: &Proof) -> Result<BTreeMap<String, Vec<u8>>, Vec<Finding>> {
    let mut files = press::press(proof, Only::Site.into(), &Silent)?.files;
    files.extend(press::press(proof, Only::Figures.into(), &Silent)?.files);
    Ok(by_path(files))
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
