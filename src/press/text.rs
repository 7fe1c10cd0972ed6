//! Lesson text as HTML and as plain words.
//!
//! ```text
//! Vec<Rich> ─html→ a fragment that is safe to stand in a page
//!           ─plain→ words for titles, descriptions and the search index
//! ```
//!
//! Every letter is escaped here; a link leads into the pack, to the web or by mail, and nowhere else.

use crate::pack::Pack;

use super::view::{Rich, letters};

/// Lesson headings stand under the zone's `h2`, so the first level inside a zone is 3.
const LEAST_HEADING: u8 = 3;

/// How a link to a term of the glossary begins; its fragment name follows.
pub const TERM_MARK: &str = "term:";

/// The letters with `& < > "` and `'` written so that they cannot be markup.
pub fn escape(text: &str) -> String {
    let mut out = Vec::with_capacity(text.len() + text.len() / 16);
    // Writing to memory does not fail, and marks are put between whole letters.
    let _ = write_escaped(text, &mut out);
    String::from_utf8(out).unwrap_or_default()
}

/// As [`escape`], to a writer.
///
/// # Errors
/// Those of the writer.
pub fn write_escaped(text: &str, out: &mut dyn std::io::Write) -> std::io::Result<()> {
    let mut from = 0;
    for (at, byte) in text.bytes().enumerate() {
        let instead = match byte {
            b'&' => "&amp;",
            b'<' => "&lt;",
            b'>' => "&gt;",
            b'"' => "&quot;",
            b'\'' => "&#39;",
            _ => continue,
        };
        out.write_all(&text.as_bytes()[from..at])?;
        out.write_all(instead.as_bytes())?;
        from = at + 1;
    }
    out.write_all(&text.as_bytes()[from..])
}

/// Words without marks, one space between them.
pub fn plain(pieces: &[Rich]) -> String {
    let text = letters(pieces);
    let words: Vec<&str> = text
        .split([' ', '\n', '\r', '\t'])
        .filter(|w| !w.is_empty())
        .collect();
    words.join(" ")
}

/// Writes HTML for a page of one lesson.
#[derive(Debug, Clone, Copy)]
pub struct HtmlWriter<'a> {
    /// Where lessons are looked up.
    pub pack: &'a Pack,
    /// Prefix of fragment names, so that two stretches of one page keep theirs apart.
    pub prefix: &'a str,
    /// From the page to the site's folder: `"../"` in a lesson.
    pub up: &'a str,
}

impl HtmlWriter<'_> {
    /// Paragraphs, lists and tables.
    pub fn blocks(&self, pieces: &[Rich]) -> String {
        let mut out = String::new();
        self.write(pieces, &mut out);
        out
    }

    fn write(&self, pieces: &[Rich], out: &mut String) {
        for piece in pieces {
            self.piece(piece, out);
        }
    }

    fn wrap(&self, name: &str, pieces: &[Rich], out: &mut String) {
        out.push('<');
        out.push_str(name);
        out.push('>');
        self.write(pieces, out);
        out.push_str("</");
        out.push_str(name.split(' ').next().unwrap_or(name));
        out.push('>');
    }

    fn piece(&self, piece: &Rich, out: &mut String) {
        match piece {
            Rich::Paragraph { inside } => self.wrap("p", inside, out),
            Rich::Heading { level, inside } => {
                let level = (*level).clamp(LEAST_HEADING, 6);
                self.wrap(&format!("h{level}"), inside, out);
            }
            Rich::List { start, items } => self.list(*start, items, out),
            Rich::Table { head, rows } => self.table(head, rows, out),
            Rich::Quote { inside } => self.wrap("blockquote", inside, out),
            Rich::Typed { text } => {
                out.push_str(&format!(
                    "<pre tabindex=\"0\"><code>{}</code></pre>",
                    escape(text)
                ));
            }
            Rich::Rule => out.push_str("<hr>"),
            Rich::Text { text } => out.push_str(&escape(text)),
            Rich::Value { text } => {
                out.push_str(&format!("<b class=\"value\">{}</b>", escape(text)));
            }
            Rich::Strong { inside } => self.wrap("strong", inside, out),
            Rich::Emphasis { inside } => self.wrap("em", inside, out),
            Rich::Code { text } => out.push_str(&format!("<code>{}</code>", escape(text))),
            Rich::Link { to, inside } => match self.target(to) {
                Some(href) => self.wrap(&format!("a href=\"{}\"", escape(&href)), inside, out),
                None => self.write(inside, out),
            },
            Rich::Picture { file, alt } => {
                // A picture that is not the pack's own would be asked for from outside.
                if self.pack.pictures.iter().any(|(name, _)| name == file) {
                    let (src, alt) = (escape(&url_path(file)), escape(alt));
                    let up = self.up;
                    out.push_str(&format!("<img src=\"{up}pictures/{src}\" alt=\"{alt}\">"));
                } else {
                    out.push_str(&escape(alt));
                }
            }
            Rich::Break => out.push_str("<br>"),
            Rich::Mark { note } => {
                let id = self.note_id(note);
                let note = escape(note);
                out.push_str(&format!("<sup><a href=\"#{id}\">{note}</a></sup>"));
            }
            Rich::Note { note, inside } => {
                let id = self.note_id(note);
                let label = escape(note);
                out.push_str(&format!(
                    "<div class=\"footnote\" id=\"{id}\"><b>{label}</b> "
                ));
                self.write(inside, out);
                out.push_str("</div>");
            }
            Rich::Task { done } => {
                let tick = if *done { "tick-box done" } else { "tick-box" };
                out.push_str(&format!(
                    "<span class=\"{tick}\" aria-hidden=\"true\"></span> "
                ));
            }
        }
    }

    fn list(&self, start: Option<u64>, items: &[Vec<Rich>], out: &mut String) {
        let tag = match start {
            Some(1) => "ol".to_owned(),
            Some(n) => format!("ol start=\"{n}\""),
            None => "ul".to_owned(),
        };
        out.push_str(&format!("<{tag}>"));
        for item in items {
            self.wrap("li", item, out);
        }
        out.push_str(if start.is_some() { "</ol>" } else { "</ul>" });
    }

    fn table(&self, head: &[Vec<Rich>], rows: &[Vec<Vec<Rich>>], out: &mut String) {
        out.push_str("<div class=\"scroll\"><table><thead><tr>");
        for cell in head {
            // An empty corner heads nothing.
            let tag = if cell.is_empty() {
                "td"
            } else {
                "th scope=\"col\""
            };
            self.wrap(tag, cell, out);
        }
        out.push_str("</tr></thead><tbody>");
        for row in rows {
            out.push_str("<tr>");
            for cell in row {
                self.wrap("td", cell, out);
            }
            out.push_str("</tr>");
        }
        out.push_str("</tbody></table></div>");
    }

    /// A footnote's fragment name: unique in the page by the prefix.
    fn note_id(&self, note: &str) -> String {
        let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
        let name: String = note.chars().map(plain).collect();
        format!("{}-note-{name}", self.prefix)
    }

    /// Where a link as written leads from this page; `None` for a scheme that is not let through.
    fn target(&self, to: &str) -> Option<String> {
        if let Some(term) = to.strip_prefix(TERM_MARK) {
            return Some(format!("{}terms.html#{term}", self.up));
        }
        if to.starts_with('#') {
            return Some(to.to_owned());
        }
        // Of the page's own scheme, on another host.
        if to.starts_with("//") {
            return None;
        }
        if let Some((scheme, _)) = to.split_once(':')
            && !scheme.contains(['/', '#', '?'])
        {
            let known = ["http", "https", "mailto"];
            let known = known.iter().any(|k| scheme.eq_ignore_ascii_case(k));
            return known.then(|| to.to_owned());
        }
        let (file, fragment) = to.split_once('#').map_or((to, None), |(f, h)| (f, Some(h)));
        let stem = file.rsplit('/').next()?.strip_suffix(".md")?;
        let lesson = self.pack.lessons.iter().find(|l| l.name == stem)?;
        let fragment = fragment.map_or_else(String::new, |f| format!("#{f}"));
        let page = format!("{}lessons/{}.html", self.up, url_path(&lesson.name));
        Some(format!("{page}{fragment}"))
    }
}

/// A path with everything but plain letters, digits and `/ - _ . ~` percent-encoded (RFC 3986,
/// section 2.3).
pub fn url_path(path: &str) -> String {
    let mut out = String::with_capacity(path.len());
    for byte in path.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'/' | b'-' | b'_' | b'.' | b'~' => {
                out.push(char::from(byte));
            }
            other => out.push_str(&format!("%{other:02X}")),
        }
    }
    out
}
