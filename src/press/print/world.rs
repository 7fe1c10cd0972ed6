//! The typesetter's world: templates and fonts inside the program, one document's data in memory.
//!
//! ```text
//! template + data.json + figures ─typeset→ Typeset { pdf, pages, notes }
//! ```
//!
//! No disk, no network, no clock: `today` has no answer. A warning of the typesetter is a failure,
//! because an unknown font family or a missing glyph would otherwise drop text from a sheet unseen.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use include_dir::{Dir, include_dir};
use typst::diag::{FileError, FileResult, SourceDiagnostic, Warned};
use typst::foundations::{Bytes, Datetime, Duration, Label, Selector, Smart, Value};
use typst::introspection::{Introspector, MetadataElem};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::{LazyHash, PicoStr};
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::figure::FONT_FILES;

static TEMPLATE_FILES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/templates/print");

/// Written into each PDF as the program that made it. No version: a new one of ours must not change
/// the bytes of an unchanged sheet.
const CREATOR: &str = "Ropeleaf";

/// Label under which a template leaves what the press must hear about: see [`Typeset::notes`].
const NOTE_LABEL: &str = "press-note";

/// What every document shares: the library, the fonts, the parsed templates.
struct Shared {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    templates: BTreeMap<String, Source>,
}

static SHARED: LazyLock<Shared> = LazyLock::new(|| {
    let fonts: Vec<Font> = FONT_FILES
        .into_iter()
        .flat_map(|bytes| Font::iter(Bytes::new(bytes)))
        .collect();
    let templates = TEMPLATE_FILES
        .files()
        .filter_map(|file| {
            let path = format!("/{}", file.path().file_name()?.to_str()?);
            let text = file.contents_utf8()?;
            Some((path.clone(), Source::new(file_id(&path)?, text.to_owned())))
        })
        .collect();
    Shared {
        library: LazyHash::new(Library::default()),
        book: LazyHash::new(FontBook::from_fonts(&fonts)),
        fonts,
        templates,
    }
});

/// The id of a path in memory; `None` for a path that leaves the root.
fn file_id(path: &str) -> Option<FileId> {
    let path = VirtualPath::new(path).ok()?;
    Some(RootedPath::new(VirtualRoot::Project, path).intern())
}

/// What one document is made from.
#[derive(Debug, Clone)]
pub struct Manuscript {
    /// File name of the template: `technique.typ`.
    pub template: &'static str,
    /// The data that the template reads as `data.json`.
    pub data: serde_json::Value,
    /// Figures and pictures by the name under which the data mentions them: `figure-1.svg`.
    pub images: Vec<(String, Vec<u8>)>,
    /// Names the document for ever: `AS-04 technique sheet`. The PDF's id is its hash.
    pub ident: String,
}

/// A finished document.
#[derive(Debug, Clone)]
pub struct Typeset {
    /// The PDF.
    pub pdf: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
    /// What the template had to leave out or could not fit, as the template wrote it.
    pub notes: Vec<serde_json::Value>,
}

struct Memory {
    main: Source,
    files: BTreeMap<String, Bytes>,
}

impl World for Memory {
    fn library(&self) -> &LazyHash<Library> {
        &SHARED.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &SHARED.book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let path = id.get().vpath().get_with_slash();
        SHARED
            .templates
            .get(path)
            .cloned()
            .ok_or_else(|| FileError::NotFound(path.into()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        let path = id.get().vpath().get_with_slash();
        self.files
            .get(path)
            .cloned()
            .ok_or_else(|| FileError::NotFound(path.into()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        SHARED.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Sets one document as tagged PDF/UA-1 with embedded fonts. The same manuscript gives the same
/// bytes.
///
/// The typesetter's caches grow with each document: call [`forget`] after every few.
///
/// # Errors
/// The typesetter's errors and warnings, one a line, each with the template's name and line. They
/// are faults of a template or of the data, not of an author's rig.
pub fn typeset(manuscript: &Manuscript) -> Result<Typeset, String> {
    let main = SHARED
        .templates
        .get(&format!("/{}", manuscript.template))
        .cloned()
        .ok_or_else(|| format!("there is no print template {}", manuscript.template))?;
    let data = Bytes::from_string(manuscript.data.to_string());
    let images = manuscript
        .images
        .iter()
        .map(|(name, bytes)| (format!("/{name}"), Bytes::new(bytes.clone())));
    let world = Memory {
        main,
        files: std::iter::once(("/data.json".to_owned(), data))
            .chain(images)
            .collect(),
    };
    let Warned { output, warnings } = typst::compile::<PagedDocument>(&world);
    let document = output.map_err(|errors| words(&world, &errors))?;
    if !warnings.is_empty() {
        return Err(words(&world, &warnings));
    }
    let standards = PdfStandards::new(&[PdfStandard::Ua_1]).map_err(|e| e.message().to_string())?;
    let options = PdfOptions {
        ident: Smart::Custom(manuscript.ident.clone()),
        creator: Smart::Custom(Some(CREATOR.to_owned())),
        standards,
        ..PdfOptions::default()
    };
    let pdf = typst_pdf::pdf(&document, &options).map_err(|errors| words(&world, &errors))?;
    Ok(Typeset {
        pdf,
        pages: document.pages().len(),
        notes: notes(&document)?,
    })
}

/// Empties the typesetter's caches, which are shared by all threads. Without it a thousand sheets
/// keep nearly two gigabytes.
pub fn forget() {
    comemo::evict(0);
}

/// The values of `#metadata(…) <press-note>` in the order of the document.
fn notes(document: &PagedDocument) -> Result<Vec<serde_json::Value>, String> {
    let Some(label) = Label::new(PicoStr::intern(NOTE_LABEL)) else {
        return Ok(Vec::new());
    };
    document
        .introspector()
        .query(&Selector::Label(label))
        .iter()
        .filter_map(|content| content.to_packed::<MetadataElem>())
        .map(|note| json(&note.value))
        .collect()
}

fn json(value: &Value) -> Result<serde_json::Value, String> {
    serde_json::to_value(value).map_err(|e| e.to_string())
}

/// Diagnostics in words: `technique.typ:12: unknown variable`.
fn words(world: &Memory, diagnostics: &[SourceDiagnostic]) -> String {
    let one = |d: &SourceDiagnostic| {
        let place = d.span.id().map_or_else(String::new, |id| {
            let line = world
                .source(id)
                .ok()
                .zip(typst::WorldExt::range(world, d.span))
                .and_then(|(source, range)| source.lines().byte_to_line(range.start))
                .map_or(0, |line| line + 1);
            format!("{}:{line}: ", id.get().vpath().get_without_slash())
        });
        let hints: String = d.hints.iter().map(|h| format!(" ({})", h.v)).collect();
        format!("{place}{}{hints}", d.message)
    };
    diagnostics.iter().map(one).collect::<Vec<_>>().join("\n")
}
