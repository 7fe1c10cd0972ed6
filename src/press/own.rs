//! A pack's own templates, style sheets, scripts and words, in the place of ours.
//!
//! ```text
//! own/site/NAME.html, own/print/NAME.typ, own/theme/NAME.css|js, own/words/LANGUAGE.toml
//!    ─read→ Pack::own ─findings→ what has no place here, what cannot be read
//!                     ─text→ the engine, the typesetter, the theme, the words: theirs before ours
//! ```
//!
//! The folder mirrors ours, so that a file is replaced by one of the same name. A fault of such a
//! file is a finding with its line, and nothing is written.

use include_dir::{Dir, include_dir};

use crate::finding::{Finding, Place, Severity, nearest};
use crate::pack::{OwnFile, Pack};

use super::words;

/// Our templates of pages.
pub static SITE: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/templates/site");
/// Our templates of prints.
pub static PRINT: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/templates/print");
/// Our theme: style, scripts, fonts, words.
pub static THEME: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/theme");

/// A style sheet that pages link after ours, so that a pack can change inks and sizes without
/// copying everything.
pub const MORE_STYLE: &str = "theme/pack.css";

/// Files of the theme that only the program itself uses: the script of the preview's own server.
const NOT_OURS_TO_GIVE: &str = "theme/preview.js";

/// Ending of a file of words.
const WORDS_ENDING: &str = ".toml";

/// The text of a pack's own file, by its path below `own/`.
pub fn text<'a>(pack: &'a Pack, path: &str) -> Option<&'a str> {
    pack.own.get(path).map(|file| file.text.as_str())
}

/// Names of the files directly in a folder of ours, below `own/`.
fn names(folder: &str, dir: &Dir<'_>, endings: &[&str]) -> Vec<String> {
    let files = dir.files().filter_map(|f| f.path().to_str());
    files
        .filter(|name| endings.iter().any(|ending| name.ends_with(ending)))
        .map(|name| format!("{folder}/{name}"))
        .collect()
}

/// Every file that a pack can replace, words apart.
fn replaceable() -> Vec<String> {
    let mut all = names("site", &SITE, &[".html"]);
    all.extend(names("print", &PRINT, &[".typ"]));
    all.extend(names("theme", &THEME, &[".css", ".js"]));
    all.retain(|name| name != NOT_OURS_TO_GIVE);
    all.push(MORE_STYLE.to_owned());
    all.sort();
    all
}

/// What is wrong with a pack's own files, before anything is pressed: names that replace nothing,
/// templates that cannot be parsed, words that are not ours.
pub fn findings(pack: &Pack) -> Vec<Finding> {
    let mut found = Vec::new();
    let language = super::view::language(pack);
    let brings = |tag: &str| pack.own.contains_key(&format!("words/{tag}{WORDS_ENDING}"));
    if !words::has_language(language) && !words::tags(language).into_iter().any(brings) {
        found.push(Finding {
            code: "no-words",
            severity: Severity::Warning,
            place: None,
            message: format!(
                "there are no interface words for the language \"{language}\", so pages say theirs in English"
            ),
            help: Some(format!("write own/words/{language}{WORDS_ENDING}")),
        });
    }
    if pack.own.is_empty() {
        return found;
    }
    let known = replaceable();
    for (path, file) in &pack.own {
        if let Some(name) = path.strip_prefix("words/") {
            found.extend(language_findings(name, file, pack));
        } else if !known.contains(path) {
            found.push(unknown(path, file, &known));
        }
    }
    found.extend(super::site::template_findings(pack));
    found
}

fn unknown(path: &str, file: &OwnFile, known: &[String]) -> Finding {
    let message = format!("own/{path} takes the place of no file of the program");
    let finding = Finding::error("unknown-own-file", file.start(), message);
    let near = nearest(path, known.iter().map(String::as_str));
    // A name that is like none at all: show what its folder could hold.
    let folder = path.split_once('/').map(|(folder, _)| folder);
    let listed: Vec<&str> = known
        .iter()
        .map(String::as_str)
        .filter(|name| name.split_once('/').map(|(f, _)| f) == folder)
        .collect();
    finding.with_help(match near {
        Some(near) => format!("the nearest name is own/{near}"),
        None if listed.is_empty() => {
            "the folders of own/ are site, print, theme and words".to_owned()
        }
        None => format!("its folder can hold {}", listed.join(", ")),
    })
}

/// A file of words: its language is the pack's, and it says only what ours say.
fn language_findings(name: &str, file: &OwnFile, pack: &Pack) -> Vec<Finding> {
    let Some(tag) = name.strip_suffix(WORDS_ENDING) else {
        let message = format!("own/words/{name} is not a file of words");
        let finding = Finding::error("unknown-own-file", file.start(), message);
        return vec![finding.with_help("words stand in own/words/LANGUAGE.toml")];
    };
    let own = super::view::language(pack);
    if !words::tags(own).contains(&tag) {
        let message = format!("own/words/{name} is not used: the pack's language is \"{own}\"");
        let finding = Finding::warning("unused-own-file", file.start(), message);
        return vec![finding.with_help(format!("name it own/words/{own}{WORDS_ENDING}"))];
    }
    let faults = words::faults(&file.text, own);
    let findings = faults.into_iter().map(|fault| {
        let place = Place {
            file: file.file,
            start: fault.at.start,
            end: fault.at.end,
        };
        let finding = Finding::error("own-words", place, fault.message);
        match fault.help {
            Some(help) => finding.with_help(help),
            None => finding,
        }
    });
    findings.collect()
}

/// A fault of one of the pack's own templates, at its line.
///
/// - `line`, `column`: from 1 and from 0, in characters, as the template engines count.
pub fn broken(file: &OwnFile, path: &str, line: usize, column: usize, why: &str) -> Finding {
    let start = byte_at(&file.text, line, column);
    let rest = file.text[start..].split('\n').next().unwrap_or_default();
    let place = Place {
        file: file.file,
        start,
        end: start + rest.trim_end().len(),
    };
    let message = format!("own/{path} cannot be used: {why}");
    Finding::error("own-template", place, message)
}

/// The byte at a line (from 1) and a column (from 0, in characters); the end of the line or of the
/// text where there are fewer.
fn byte_at(text: &str, line: usize, column: usize) -> usize {
    let mut start = 0;
    for (i, own) in text.split_inclusive('\n').enumerate() {
        if i + 1 == line {
            let own = own.trim_end_matches('\n');
            let letters = own.char_indices().nth(column);
            return start + letters.map_or(own.len(), |(at, _)| at);
        }
        start += own.len();
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::byte_at;

    #[test]
    fn finds_the_byte_of_a_line_and_column() {
        let text = "ä one\ntwo\n";
        assert_eq!(byte_at(text, 1, 2), 3);
        assert_eq!(byte_at(text, 2, 1), 8);
        assert_eq!(byte_at(text, 2, 9), 10);
        assert_eq!(byte_at(text, 9, 0), text.len());
    }
}
