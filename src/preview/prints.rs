//! Prints of a good press: each is set when its link is first opened, and kept from then on.
//!
//! ```text
//! proof, its zones asked for ─solved rig by rig→ proof with zones ─set one→ PDF, or why it is none
//! ```

use std::collections::BTreeMap;
use std::sync::OnceLock;
use std::sync::mpsc::Sender;

use axum::body::Bytes;

use crate::Zones;
use crate::press::PrintList;
use crate::rules::Proof;

/// A print's bytes, or what stops it from being set, in words.
pub type Set = Result<Bytes, String>;

/// Every print that a press would make.
#[derive(Debug, Default)]
pub struct Prints {
    list: PrintList,
    set: BTreeMap<String, OnceLock<Set>>,
    /// With the zones that prints show, which the site's proof leaves out.
    proof: OnceLock<Proof>,
}

impl Prints {
    /// None of them set.
    pub fn of(proof: &Proof) -> Self {
        let list = PrintList::promised(&proof.reading.pack);
        let set = list.iter();
        Self {
            set: set
                .map(|(name, _)| (name.to_owned(), OnceLock::new()))
                .collect(),
            list,
            proof: OnceLock::new(),
        }
    }

    /// What pages link to.
    pub fn list(&self) -> &PrintList {
        &self.list
    }

    /// The print of a file name, set now if it was not asked for before; `None` if there is none of
    /// that name. Who asks for a print that is being set waits for it.
    ///
    /// - `site`: the proof that the pages were pressed from.
    /// - `notes`: told what it left out, as text, when it is set.
    pub fn get(&self, name: &str, site: &Proof, notes: &Sender<String>) -> Option<&Set> {
        let whole = || self.proof.get_or_init(|| site.with(Zones::Shown));
        Some(
            self.set
                .get(name)?
                .get_or_init(|| set(whole(), name, notes)),
        )
    }
}

/// Sets one print.
#[cfg(feature = "print")]
fn set(proof: &Proof, name: &str, notes: &Sender<String>) -> Set {
    use super::edition::{errors_text, findings_text};
    use crate::press::print::{Batch, sheets};
    use crate::progress::Silent;
    use crate::store::{InMemory, Sink};

    let batch = Batch {
        name: Some(name),
        ..Batch::default()
    };
    let sink = InMemory::default();
    let prints = sheets(proof, batch, &|file| sink.put(file), &Silent)
        .map_err(|findings| errors_text(proof, &findings))?;
    let left_out = findings_text(proof, &prints.findings);
    if !left_out.is_empty() {
        // Nobody listens any more only when the preview is over.
        let _ = notes.send(left_out);
    }
    let mut files = sink.files().into_iter();
    let only = files.next().map(|file| file.bytes.into());
    only.ok_or_else(|| format!("{name} is no print of the pack\n"))
}

/// Without the typesetter no print is promised, so that none is asked for.
#[cfg(not(feature = "print"))]
fn set(_: &Proof, name: &str, _: &Sender<String>) -> Set {
    Err(format!("{name}: this program has no typesetter\n"))
}
