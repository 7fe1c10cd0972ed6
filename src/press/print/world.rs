//! The typesetter's world: templates and fonts inside the program, one document's data in memory.
//!
//! ```text
//! template (ours, or the pack's own) + data.json + figures ─typeset→ Typeset { pdf, pages, notes, text }
//! ```
//!
//! No disk, no network, no clock: `today` has no answer. A warning of the typesetter is a failure,
//! because an unknown font family or a missing glyph would otherwise drop text from a sheet unseen.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use typst::diag::{FileError, FileResult, SourceDiagnostic, Warned};
use typst::foundations::{Bytes, Datetime, Duration, Label, Selector, Smart, Value};
use typst::introspection::{Introspector, MetadataElem};
use typst::layout::{Frame, FrameItem};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::{LazyHash, PicoStr};
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::figure::FONT_FILES;
use crate::pack::Pack;
use crate::press::own;

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
    let templates = own::PRINT
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

/// The templates of a pack: ours, and its own in their place.
#[derive(Debug, Clone)]
pub struct Templates {
    sources: BTreeMap<String, Source>,
}

impl Templates {
    /// Ours with the files of the pack's `own/print/` before them.
    pub fn of_pack(pack: &Pack) -> Self {
        let ours = SHARED.templates.iter().map(|(path, source)| {
            let own = own::text(pack, &format!("print{path}"));
            let source = own.map_or_else(
                || source.clone(),
                |text| Source::new(source.id(), text.to_owned()),
            );
            (path.clone(), source)
        });
        Self {
            sources: ours.collect(),
        }
    }
}

/// What stopped the typesetter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Its errors or warnings, one a line, each with the template's name and line.
    pub why: String,
    /// Where the first stands, if it stands in a template.
    pub at: Option<Spot>,
}

/// A place in a template, and what is wrong there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// File name: `technique.typ`.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column, from 0, in characters.
    pub column: usize,
    /// The typesetter's words.
    pub why: String,
}

impl From<&str> for Fault {
    fn from(why: &str) -> Self {
        Self {
            why: why.to_owned(),
            at: None,
        }
    }
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

impl Manuscript {
    /// The cautions that its data hand to the template, as plain text.
    pub fn cautions(&self) -> Vec<String> {
        let all = self.data["cautions"].as_array().into_iter().flatten();
        all.map(|caution| {
            let mut text = String::new();
            gather_text(caution, &mut text);
            text
        })
        .collect()
    }
}

/// Appends every `text` in a tree of lesson text.
fn gather_text(at: &serde_json::Value, out: &mut String) {
    match at {
        serde_json::Value::Array(pieces) => pieces.iter().for_each(|p| gather_text(p, out)),
        serde_json::Value::Object(piece) => {
            out.extend(piece.get("text").and_then(|text| text.as_str()));
            piece
                .get("inside")
                .into_iter()
                .for_each(|p| gather_text(p, out));
        }
        _ => {}
    }
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
    /// Every letter that stands on its pages, in order, without white space.
    pub text: String,
}

struct Memory<'a> {
    main: Source,
    templates: &'a Templates,
    files: BTreeMap<String, Bytes>,
}

impl World for Memory<'_> {
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
        let sources = &self.templates.sources;
        let found = sources.get(path).cloned();
        found.ok_or_else(|| FileError::NotFound(path.into()))
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
/// The typesetter's caches grow with each document: call [`forget`] after it.
///
/// # Errors
/// The typesetter's errors and warnings. They are faults of a template or of the data, not of an
/// author's rig.
pub fn typeset(manuscript: &Manuscript, templates: &Templates) -> Result<Typeset, Fault> {
    let main = templates
        .sources
        .get(&format!("/{}", manuscript.template))
        .cloned()
        .ok_or("the print template is not there")?;
    let data = Bytes::from_string(manuscript.data.to_string());
    let images = manuscript
        .images
        .iter()
        .map(|(name, bytes)| (format!("/{name}"), Bytes::new(bytes.clone())));
    let world = Memory {
        main,
        templates,
        files: std::iter::once(("/data.json".to_owned(), data))
            .chain(images)
            .collect(),
    };
    let Warned { output, warnings } = typst::compile::<PagedDocument>(&world);
    let document = output.map_err(|errors| fault(&world, &errors))?;
    if !warnings.is_empty() {
        return Err(fault(&world, &warnings));
    }
    let standards =
        PdfStandards::new(&[PdfStandard::Ua_1]).map_err(|e| Fault::from(e.message().as_str()))?;
    let options = PdfOptions {
        ident: Smart::Custom(manuscript.ident.clone()),
        creator: Smart::Custom(Some(CREATOR.to_owned())),
        standards,
        ..PdfOptions::default()
    };
    let pdf = typst_pdf::pdf(&document, &options).map_err(|errors| fault(&world, &errors))?;
    let mut text = String::new();
    for page in document.pages() {
        letters(&page.frame, &mut text);
    }
    Ok(Typeset {
        pdf,
        pages: document.pages().len(),
        notes: notes(&document),
        text,
    })
}

/// Empties the typesetter's caches, which are shared by all threads: a document that another thread
/// is setting looks some of its work up anew. The tables of tracked calls keep the room that they
/// once had: the fewer documents between two calls, the less memory (`benches/README.md`).
pub fn forget() {
    comemo::evict(0);
}

/// Appends the letters of a frame.
fn letters(frame: &Frame, out: &mut String) {
    for (_, item) in frame.items() {
        match item {
            FrameItem::Group(group) => letters(&group.frame, out),
            FrameItem::Text(text) => out.extend(text.text.chars().filter(|c| !c.is_whitespace())),
            _ => {}
        }
    }
}

/// The values of `#metadata(…) <press-note>` in the order of the document.
fn notes(document: &PagedDocument) -> Vec<serde_json::Value> {
    let Some(label) = Label::new(PicoStr::intern(NOTE_LABEL)) else {
        return Vec::new();
    };
    document
        .introspector()
        .query(&Selector::Label(label))
        .iter()
        .filter_map(|content| content.to_packed::<MetadataElem>())
        .filter_map(|note| json(&note.value))
        .collect()
}

/// A note as data. Templates leave words and numbers only, which all can be written.
fn json(value: &Value) -> Option<serde_json::Value> {
    serde_json::to_value(value).ok()
}

/// Diagnostics in words: `technique.typ:12: unknown variable`.
fn fault(world: &Memory<'_>, diagnostics: &[SourceDiagnostic]) -> Fault {
    let hinted = |d: &SourceDiagnostic| {
        let hints: String = d.hints.iter().map(|h| format!(" ({})", h.v)).collect();
        format!("{}{hints}", d.message)
    };
    let spot = |d: &SourceDiagnostic| {
        let id = d.span.id()?;
        let source = world.source(id).ok()?;
        let range = typst::WorldExt::range(world, d.span)?;
        let lines = source.lines();
        Some(Spot {
            file: id.get().vpath().get_without_slash().to_owned(),
            line: lines.byte_to_line(range.start)? + 1,
            column: lines.byte_to_column(range.start)?,
            why: hinted(d),
        })
    };
    let one = |d: &SourceDiagnostic| match spot(d) {
        Some(spot) => format!("{}:{}: {}", spot.file, spot.line, spot.why),
        None => hinted(d),
    };
    Fault {
        why: diagnostics.iter().map(one).collect::<Vec<_>>().join("\n"),
        at: diagnostics.first().and_then(spot),
    }
}
