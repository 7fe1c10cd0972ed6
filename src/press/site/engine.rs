//! Templates and theme, carried inside the program.

use include_dir::Dir;
use tera::{Context, Tera, TeraResult};

use crate::pack::Pack;
use crate::press::OutFile;
use crate::press::own;
use crate::press::text::write_escaped;
use crate::press::words::Words;

use super::sheet::Sheet;

/// Folder of the theme that pages do not need: its words are in the pages already.
const NOT_CARRIED: &str = "words";

/// Files of the theme that a pressed site has no use for: a font for signs of formulas, which only
/// the typesetter asks for, and the script of the preview's own server.
const NOT_FOR_PAGES: [&str; 2] = ["NotoSansMath", "preview.js"];

/// About how long a page is without its drawings.
const WORDS_BYTES: usize = 48 << 10;

/// The template engine with all our templates, or the pack's own in their place.
pub(super) struct Engine {
    tera: Tera,
    words: Words,
}

impl Engine {
    /// Reads the templates.
    pub(super) fn new(words: Words, pack: &Pack) -> TeraResult<Self> {
        let mut tera = Tera::new();
        tera.set_escape_fn(write_escaped);
        let files = own::SITE.files().filter_map(|file| {
            let name = file.path().file_name()?.to_str()?;
            let theirs = own::text(pack, &format!("site/{name}"));
            let text = theirs.or_else(|| file.contents_utf8())?;
            Some((name.to_owned(), text.to_owned()))
        });
        tera.add_raw_templates(files.collect::<Vec<_>>())?;
        tera.global_context().insert("w", words.tree());
        Ok(Self { tera, words })
    }

    /// The words that pages say on their own.
    pub(super) fn words(&self) -> Words {
        self.words
    }

    /// Lays out one page.
    pub(super) fn render(&self, sheet: &Sheet) -> TeraResult<Vec<u8>> {
        let mut context = Context::new();
        context.insert("page", sheet);
        let mut html = Vec::with_capacity(sheet.drawn_bytes() + WORDS_BYTES);
        self.tera.render_to(sheet.template, &context, &mut html)?;
        Ok(html)
    }
}

/// Style sheet, scripts and fonts, the pack's own in the place of ours.
pub(super) fn theme_files(pack: &Pack) -> Vec<OutFile> {
    let mut files = Vec::new();
    collect(&own::THEME, pack, &mut files);
    if let Some(style) = own::text(pack, own::MORE_STYLE) {
        files.push(OutFile {
            path: format!("site/{}", own::MORE_STYLE),
            bytes: style.as_bytes().to_vec(),
        });
    }
    files
}

fn collect(dir: &Dir<'_>, pack: &Pack, files: &mut Vec<OutFile>) {
    for file in dir.files() {
        let path = file.path().to_string_lossy().replace('\\', "/");
        if NOT_FOR_PAGES.iter().any(|name| path.contains(name)) {
            continue;
        }
        let path = format!("theme/{path}");
        let theirs = own::text(pack, &path).map(str::as_bytes);
        files.push(OutFile {
            bytes: theirs.unwrap_or_else(|| file.contents()).to_vec(),
            path: format!("site/{path}"),
        });
    }
    for inner in dir
        .dirs()
        .filter(|d| d.path().to_str() != Some(NOT_CARRIED))
    {
        collect(inner, pack, files);
    }
}
