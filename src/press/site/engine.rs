//! Templates and theme, carried inside the program.

use include_dir::{Dir, include_dir};
use tera::{Context, Tera, TeraResult};

use crate::press::OutFile;
use crate::press::words::Words;

use super::sheet::Sheet;

static TEMPLATES: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/templates/site");
static THEME: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/theme");

/// Folder of the theme that pages do not need: its words are in the pages already.
const NOT_CARRIED: &str = "words";

/// Files of the theme that a pressed site has no use for: a font for signs of formulas, which only
/// the typesetter asks for, and the script of the preview's own server.
const NOT_FOR_PAGES: [&str; 2] = ["NotoSansMath", "preview.js"];

/// The template engine with all our templates.
pub(super) struct Engine {
    tera: Tera,
    words: Words,
}

impl Engine {
    /// Reads the templates.
    pub(super) fn new(words: Words) -> TeraResult<Self> {
        let mut tera = Tera::new();
        let files = TEMPLATES.files().filter_map(|file| {
            let name = file.path().file_name()?.to_str()?;
            Some((name.to_owned(), file.contents_utf8()?.to_owned()))
        });
        tera.add_raw_templates(files.collect::<Vec<_>>())?;
        Ok(Self { tera, words })
    }

    /// Lays out one page.
    pub(super) fn render(&self, sheet: &Sheet) -> TeraResult<String> {
        let mut context = Context::new();
        context.insert("w", self.words.tree());
        context.insert("page", sheet);
        self.tera.render(sheet.template, &context)
    }
}

/// Style sheet, scripts and fonts.
pub(super) fn theme_files() -> Vec<OutFile> {
    let mut files = Vec::new();
    collect(&THEME, &mut files);
    files
}

fn collect(dir: &Dir<'_>, files: &mut Vec<OutFile>) {
    for file in dir.files() {
        let path = file.path().to_string_lossy().replace('\\', "/");
        if NOT_FOR_PAGES.iter().any(|name| path.contains(name)) {
            continue;
        }
        files.push(OutFile {
            path: format!("site/theme/{path}"),
            bytes: file.contents().to_vec(),
        });
    }
    for inner in dir
        .dirs()
        .filter(|d| d.path().to_str() != Some(NOT_CARRIED))
    {
        collect(inner, files);
    }
}
