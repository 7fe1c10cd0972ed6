//! Writing a sheet as SVG: literal colours as attributes, classes for a page's scheme, two decimals.
//!
//! ```text
//! Sheet + Head ─write→ text
//! ```
//!
//! One file serves browser, typesetter and raster: readers that know no variables take the literal
//! attribute, browsers take `--rl-NAME` where a page defines it.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;

use kurbo::BezPath;

use super::number::{coord, push_coord, text_of};
use super::pen::{Known, push_path, reuse, room};
use super::shape::{Cap, Ink, Item, Join, Shape, Stroke};
use super::sheet::Sheet;
use super::text::{Align, SIZE_MM, Text, Weight};

/// Media type of the style sheet, which is for browsers only. Media types do not tell upper from lower
/// case (RFC 9110, 8.3.1), so browsers take it; the readers that know no variables compare letter by
/// letter and pass it over without a warning.
const SCREEN_ONLY: &str = "text/CSS";

/// Paths longer than this many bytes are not merged with their neighbours: they may be drawn again.
const MERGED: usize = 160;

/// Paper stroke round lettering, mm.
pub(crate) const HALO_MM: f64 = 1.0;

/// What stands at the head of a drawing.
#[derive(Debug, Clone, Copy)]
pub struct Head<'a> {
    /// `RIG-KIND`.
    pub id: &'a str,
    /// Kind of figure.
    pub kind: &'a str,
    /// Short title.
    pub title: &'a str,
    /// Numbers in sentences.
    pub description: &'a str,
    /// Width and height, mm.
    pub size_mm: (f64, f64),
}

/// Which colours are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scheme {
    /// Light literals, with classes that let a page choose.
    #[default]
    Page,
    /// Dark literals, for a raster on a dark slide.
    Dark,
}

/// Writes a sheet.
pub fn write(sheet: &Sheet, head: &Head<'_>, scheme: Scheme) -> String {
    let id = escape(head.id);
    let [out, data] = room();
    let mut writer = Writer {
        out,
        id: &id,
        scheme,
        used: [[false; 2]; Ink::ALL.len()],
        clips: 0,
        data,
        paths: Vec::with_capacity(128),
        known: Known::default(),
    };
    for (layer, items) in sheet.layers() {
        let word = layer.word();
        let tag = [
            "<g id=\"",
            &id,
            "-",
            word,
            "\" data-layer=\"",
            word,
            "\">\n",
        ];
        push(&mut writer.out, &tag);
        writer.items(items);
        push(&mut writer.out, &["</g>\n"]);
    }
    let (width, height) = (coord(head.size_mm.0), coord(head.size_mm.1));
    let title = escape(head.title);
    let room = writer.out.len() + writer.data.len() + 64 * writer.paths.len();
    let mut svg = String::with_capacity(room + head.description.len() + 4096);
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" role=\"img\" aria-labelledby=\"{id}-title {id}-desc\" \
         font-family=\"'IBM Plex Sans',sans-serif\" font-size=\"{size}\" fill=\"none\" \
         stroke-linejoin=\"round\" stroke-linecap=\"round\" data-kind=\"{kind}\">\n\
         <title id=\"{id}-title\">{title}</title>\n<desc id=\"{id}-desc\">{desc}</desc>\n",
        size = coord(SIZE_MM),
        kind = head.kind,
        desc = escape(head.description),
    );
    if scheme == Scheme::Page {
        let _ = writeln!(svg, "<style type=\"{SCREEN_ONLY}\">@media screen{{");
        for (ink, used) in Ink::ALL.iter().zip(&writer.used) {
            let (name, light) = (ink.css(), ink.light());
            for property in [Property::Fill, Property::Stroke] {
                if used[property as usize] {
                    let (letter, word) = (property.letter(), property.word());
                    let _ = writeln!(svg, ".{letter}-{name}{{{word}:var(--rl-{name},{light})}}");
                }
            }
        }
        svg.push_str("}</style>\n");
    }
    writer.finish(&mut svg);
    svg.push_str("</svg>\n");
    svg
}

/// Adds to a text.
pub(crate) fn push(out: &mut Vec<u8>, parts: &[&str]) {
    for part in parts {
        out.extend_from_slice(part.as_bytes());
    }
}

/// Fill or stroke.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Property {
    Fill,
    Stroke,
}

impl Property {
    const fn word(self) -> &'static str {
        match self {
            Self::Fill => "fill",
            Self::Stroke => "stroke",
        }
    }

    const fn letter(self) -> &'static str {
        match self {
            Self::Fill => "f",
            Self::Stroke => "s",
        }
    }
}

struct Writer<'a> {
    /// Tags, lettering and the attributes of paths.
    out: Vec<u8>,
    /// The drawing's, escaped.
    id: &'a str,
    scheme: Scheme,
    /// Fill and stroke of each ink.
    used: [[bool; 2]; Ink::ALL.len()],
    clips: usize,
    /// Outlines of paths, one after another.
    data: Vec<u8>,
    paths: Vec<Placed>,
    /// Outlines that stand there alone.
    known: Known<'a, Range<usize>>,
}

/// A path: it belongs where its attributes stand in the text.
struct Placed {
    attributes: Range<usize>,
    /// Where it stands in the outlines.
    outline: Range<usize>,
}

impl<'a> Writer<'a> {
    fn items(&mut self, items: &'a [Item]) {
        let mut rest = items;
        while let Some((first, after)) = rest.split_first() {
            rest = after;
            match first {
                Item::Shape(shape) => {
                    let known = self.known.find(&shape.path);
                    if let Some(outline) =
                        known.filter(|o| shape.fill.is_some() || o.len() >= MERGED)
                    {
                        self.shape(shape, outline);
                        continue;
                    }
                    // Neighbours with one stroke and no fill are one path: the same picture, less text.
                    let from = self.data.len();
                    push_path(&mut self.data, &shape.path);
                    let alone = self.data.len();
                    while let Some((Item::Shape(next), further)) = rest.split_first()
                        && shape.fill.is_none()
                        && next.fill.is_none()
                        && next.stroke == shape.stroke
                        && self.data.len() - from < MERGED
                    {
                        push_path(&mut self.data, &next.path);
                        rest = further;
                    }
                    let outline = from..self.data.len();
                    if outline.end == alone {
                        self.known.note(&shape.path, outline.clone());
                    }
                    self.shape(shape, outline);
                }
                Item::Group { id, clip, items } => self.group(id.as_deref(), clip.as_ref(), items),
                Item::Text(text) if text.halo => {
                    let count = 1 + rest
                        .iter()
                        .take_while(|i| matches!(i, Item::Text(t) if t.halo))
                        .count();
                    let texts = &items[items.len() - rest.len() - 1..][..count];
                    rest = &rest[count - 1..];
                    self.haloed(texts);
                }
                Item::Text(text) => self.text(text),
            }
        }
    }

    /// Takes in a shape whose outline stands there in `data`.
    fn shape(&mut self, shape: &Shape, outline: Range<usize>) {
        let at = self.out.len();
        let stroke_ink = shape.stroke.as_ref().map(|s| s.ink);
        self.colours_of(shape.fill, stroke_ink);
        if let Some(stroke) = &shape.stroke {
            push_stroke(&mut self.out, stroke);
        }
        self.paths.push(Placed {
            attributes: at..self.out.len(),
            outline,
        });
    }

    /// Writes what was gathered; an outline that is drawn again (paper edge, rope and core; bark and
    /// wood) is written once and used, where that is shorter.
    fn finish(self, svg: &mut String) {
        // What pens write is ASCII, and texts are UTF-8.
        let [data, text] = [&self.data, &self.out].map(|t| str::from_utf8(t).unwrap_or_default());
        let mut known: BTreeMap<&str, usize> = BTreeMap::new();
        // Outlines and how often they are drawn.
        let mut outlines: Vec<(&str, usize)> = Vec::with_capacity(self.paths.len());
        let mut numbers = Vec::with_capacity(self.paths.len());
        for path in &self.paths {
            let d = &data[path.outline.clone()];
            let number = *known.entry(d).or_insert(outlines.len());
            if number == outlines.len() {
                outlines.push((d, 0));
            }
            outlines[number].1 += 1;
            numbers.push(number);
        }
        let name = |number: usize, (d, count): (&str, usize)| {
            if count < 2 {
                return None;
            }
            let name = format!("{}-o{}", self.id, number + 1);
            let written = count * (d.len() + " d=\"\"".len());
            let used = count * (name.len() + " href=\"#\"".len());
            let defined = d.len() + name.len() + "<path id=\"\" d=\"\"/>\n".len();
            (used + defined < written).then_some(name)
        };
        let names = outlines.iter().enumerate();
        let names: Vec<Option<String>> = names.map(|(i, outline)| name(i, *outline)).collect();
        if names.iter().any(Option::is_some) {
            svg.push_str("<defs>\n");
            for (name, (d, _)) in names.iter().zip(&outlines) {
                if let Some(name) = name {
                    let parts = ["<path id=\"", name, "\" d=\"", d, "\"/>\n"];
                    parts.iter().for_each(|part| svg.push_str(part));
                }
            }
            svg.push_str("</defs>\n");
        }
        let mut from = 0;
        for (path, number) in self.paths.iter().zip(numbers) {
            svg.push_str(&text[from..path.attributes.start]);
            from = path.attributes.end;
            let attributes = &text[path.attributes.clone()];
            let parts = match &names[number] {
                Some(name) => ["<use href=\"#", name, "\"", attributes, "/>\n"],
                None => ["<path", attributes, " d=\"", outlines[number].0, "\"/>\n"],
            };
            parts.iter().for_each(|part| svg.push_str(part));
        }
        svg.push_str(&text[from..]);
        reuse([self.out, self.data]);
    }

    fn group(&mut self, id: Option<&str>, clip: Option<&BezPath>, items: &'a [Item]) {
        let mut clip_name = None;
        if let Some(path) = clip {
            self.clips += 1;
            let name = format!("{}-clip-{}", self.id, self.clips);
            push(&mut self.out, &["<clipPath id=\"", &name, "\"><path d=\""]);
            push_path(&mut self.out, path);
            push(&mut self.out, &["\"/></clipPath>\n"]);
            clip_name = Some(name);
        }
        push(&mut self.out, &["<g"]);
        if let Some(id) = id {
            push(&mut self.out, &[" id=\"", self.id, "-", &escape(id), "\""]);
        }
        if let Some(name) = clip_name {
            push(&mut self.out, &[" clip-path=\"url(#", &name, ")\""]);
        }
        push(&mut self.out, &[">\n"]);
        self.items(items);
        push(&mut self.out, &["</g>\n"]);
    }

    /// Texts with a paper edge, which they take from a common group.
    fn haloed(&mut self, texts: &[Item]) {
        push(&mut self.out, &["<g"]);
        self.colours_of(None, Some(Ink::Paper));
        push_length(&mut self.out, "stroke-width", HALO_MM);
        push(&mut self.out, &[" paint-order=\"stroke\">\n"]);
        for item in texts {
            if let Item::Text(text) = item {
                self.text(text);
            }
        }
        push(&mut self.out, &["</g>\n"]);
    }

    fn text(&mut self, text: &Text) {
        let Some(first) = text.runs.first() else {
            return;
        };
        push(&mut self.out, &["<text"]);
        push_length(&mut self.out, "x", text.at.x);
        push_length(&mut self.out, "y", text.at.y);
        if text.size_mm != SIZE_MM {
            push_length(&mut self.out, "font-size", text.size_mm);
        }
        let anchor = match text.align {
            Align::Start => "",
            Align::Middle => r#" text-anchor="middle""#,
            Align::End => r#" text-anchor="end""#,
        };
        push(&mut self.out, &[anchor, weight_attribute(first.weight)]);
        self.colours_of(Some(first.ink), None);
        push(&mut self.out, &[">"]);
        for run in &text.runs {
            let plain = run.ink == first.ink && run.weight == first.weight;
            if !plain {
                let weight = match (run.weight, first.weight) {
                    (a, b) if a == b => "",
                    (Weight::Bold, _) => r#" font-weight="600""#,
                    (Weight::Regular, _) => r#" font-weight="400""#,
                };
                push(&mut self.out, &["<tspan", weight]);
                if run.ink != first.ink {
                    self.colours_of(Some(run.ink), None);
                }
                push(&mut self.out, &[">"]);
            }
            push_escaped(&mut self.out, &firm_edges(&run.text));
            if !plain {
                push(&mut self.out, &["</tspan>"]);
            }
        }
        push(&mut self.out, &["</text>\n"]);
    }

    /// Class and literal attributes; what is not filled or stroked inherits `none` from the root.
    fn colours_of(&mut self, fill: Option<Ink>, stroke: Option<Ink>) {
        let inks = [(fill, Property::Fill), (stroke, Property::Stroke)];
        let inks = inks.into_iter().filter_map(|(ink, p)| Some((ink?, p)));
        if self.scheme == Scheme::Page {
            let mut before = " class=\"";
            for (ink, property) in inks.clone() {
                self.used[ink as usize][property as usize] = true;
                push(&mut self.out, &[before, property.letter(), "-", ink.css()]);
                before = " ";
            }
            if before == " " {
                self.out.push(b'"');
            }
        }
        for (ink, property) in inks {
            let colour = match self.scheme {
                Scheme::Page => ink.light(),
                Scheme::Dark => ink.dark(),
            };
            push(&mut self.out, &[" ", property.word(), "=\"", colour, "\""]);
        }
    }
}

const fn weight_attribute(weight: Weight) -> &'static str {
    match weight {
        Weight::Regular => "",
        Weight::Bold => r#" font-weight="600""#,
    }
}

/// An attribute that is a number of millimetres.
fn push_length(out: &mut Vec<u8>, name: &str, mm: f64) {
    push(out, &[" ", name, "=\""]);
    push_coord(out, mm);
    out.push(b'"');
}

fn push_stroke(out: &mut Vec<u8>, stroke: &Stroke) {
    push_length(out, "stroke-width", stroke.width_mm);
    match stroke.join {
        Join::Round => {}
        Join::Miter => push(out, &[r#" stroke-linejoin="miter""#]),
    }
    match stroke.cap {
        Cap::Round => {}
        Cap::Butt => push(out, &[r#" stroke-linecap="butt""#]),
    }
    let mut before = " stroke-dasharray=\"";
    for dash in &stroke.dash {
        push(out, &[before]);
        push_coord(out, *dash);
        before = " ";
    }
    if !stroke.dash.is_empty() {
        out.push(b'"');
    }
}

/// Spaces at the ends of a run as no-break spaces: readers drop plain ones between `tspan`s.
pub(crate) fn firm_edges(text: &str) -> Cow<'_, str> {
    let inner = text.trim_matches(' ');
    if inner.len() == text.len() {
        return text.into();
    }
    let before = text.len() - text.trim_start_matches(' ').len();
    let after = text.len() - before - inner.len();
    let firm = |count| "\u{a0}".repeat(count);
    format!("{}{inner}{}", firm(before), firm(after)).into()
}

/// Text for content and attributes.
pub(crate) fn escape(text: &str) -> String {
    let mut out = Vec::with_capacity(text.len());
    push_escaped(&mut out, text);
    text_of(out)
}

/// Bytes that markup takes otherwise, control characters, and what those of two bytes begin with
/// (U+0080 to U+009F).
static MAY_ESCAPE: [bool; 256] = {
    let mut may = [false; 256];
    let mut byte = 0;
    while byte < 256 {
        may[byte] = matches!(
            byte as u8,
            b'&' | b'<' | b'>' | b'"' | 0..=0x1f | 0x7f | 0xc2
        );
        byte += 1;
    }
    may
};

/// As [`escape`], after what is there.
pub(crate) fn push_escaped(out: &mut Vec<u8>, text: &str) {
    let mut rest = text.as_bytes();
    while let Some(at) = rest.iter().position(|byte| MAY_ESCAPE[usize::from(*byte)]) {
        let (plain, next) = rest.split_at(at);
        out.extend_from_slice(plain);
        let (written, long) = match *next {
            [b'&', ..] => ("&amp;", 1),
            [b'<', ..] => ("&lt;", 1),
            [b'>', ..] => ("&gt;", 1),
            [b'"', ..] => ("&quot;", 1),
            [0xc2, second, ..] if second >= 0xa0 => {
                out.push(0xc2);
                rest = &next[1..];
                continue;
            }
            [0xc2, ..] => (" ", 2),
            _ => (" ", 1),
        };
        push(out, &[written]);
        rest = &next[long..];
    }
    out.extend_from_slice(rest);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_cannot_break_out() {
        assert_eq!(escape("a<b & \"c\">"), "a&lt;b &amp; &quot;c&quot;&gt;");
        assert_eq!(escape("ä\u{85}\n10°\u{9f}\u{a0}"), "ä  10° \u{a0}");
    }
}
