//! Writing a sheet as SVG: literal colours as attributes, classes for a page's scheme, two decimals.
//!
//! ```text
//! Sheet + Head ─write→ text
//! ```
//!
//! One file serves browser, typesetter and raster: readers that know no variables take the literal
//! attribute, browsers take `--rl-NAME` where a page defines it.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::ops::Range;

use kurbo::BezPath;

use super::pen::{coord, path_data, push_path, text_of};
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
    let mut writer = Writer {
        out: String::with_capacity(16 * 1024),
        id: head.id,
        scheme,
        used: BTreeSet::new(),
        clips: 0,
        data: Vec::with_capacity(16 * 1024),
        paths: Vec::new(),
    };
    for (layer, items) in sheet.layers() {
        let word = layer.word();
        let _ = writeln!(
            writer.out,
            r#"<g id="{}-{word}" data-layer="{word}">"#,
            escape(head.id)
        );
        writer.items(items);
        writer.out.push_str("</g>\n");
    }
    let (width, height) = (coord(head.size_mm.0), coord(head.size_mm.1));
    let (id, title) = (escape(head.id), escape(head.title));
    let mut svg = format!(
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
        for (ink, property) in &writer.used {
            let (name, light) = (ink.css(), ink.light());
            let letter = property.letter();
            let word = property.word();
            let _ = writeln!(svg, ".{letter}-{name}{{{word}:var(--rl-{name},{light})}}");
        }
        svg.push_str("}</style>\n");
    }
    writer.finish(&mut svg);
    svg.push_str("</svg>\n");
    svg
}

/// Fill or stroke.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
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

    const fn letter(self) -> char {
        match self {
            Self::Fill => 'f',
            Self::Stroke => 's',
        }
    }
}

struct Writer<'a> {
    out: String,
    id: &'a str,
    scheme: Scheme,
    used: BTreeSet<(Ink, Property)>,
    clips: usize,
    /// Outlines of paths, one after another.
    data: Vec<u8>,
    /// Where in `out` each path belongs, its attributes, and where its outline stands in `data`.
    paths: Vec<(usize, String, Range<usize>)>,
}

impl Writer<'_> {
    fn items(&mut self, items: &[Item]) {
        let mut rest = items;
        while let Some((first, after)) = rest.split_first() {
            rest = after;
            match first {
                Item::Shape(shape) => {
                    // Neighbours with one stroke and no fill are one path: the same picture, less text.
                    let from = self.data.len();
                    push_path(&mut self.data, &shape.path);
                    while let Some((Item::Shape(next), further)) = rest.split_first()
                        && shape.fill.is_none()
                        && next.fill.is_none()
                        && next.stroke == shape.stroke
                        && self.data.len() - from < MERGED
                    {
                        push_path(&mut self.data, &next.path);
                        rest = further;
                    }
                    self.shape(shape, from);
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

    /// Takes in a shape whose outline stands in `data` from there on.
    fn shape(&mut self, shape: &Shape, from: usize) {
        let stroke_ink = shape.stroke.as_ref().map(|s| s.ink);
        let mut attributes = self.colours_of(shape.fill, stroke_ink);
        if let Some(stroke) = &shape.stroke {
            push_stroke(&mut attributes, stroke);
        }
        let outline = from..self.data.len();
        self.paths.push((self.out.len(), attributes, outline));
    }

    /// Writes what was gathered; an outline that is drawn again (paper edge, rope and core; bark and
    /// wood) is written once and used, where that is shorter.
    fn finish(self, svg: &mut String) {
        let data = text_of(self.data);
        let mut known: BTreeMap<&str, usize> = BTreeMap::new();
        // Outlines and how often they are drawn.
        let mut outlines: Vec<(&str, usize)> = Vec::new();
        let mut numbers = Vec::with_capacity(self.paths.len());
        for (_, _, range) in &self.paths {
            let d = &data[range.clone()];
            let number = *known.entry(d).or_insert(outlines.len());
            if number == outlines.len() {
                outlines.push((d, 0));
            }
            outlines[number].1 += 1;
            numbers.push(number);
        }
        let name = |number: usize, (d, count): (&str, usize)| {
            let name = format!("{}-o{}", escape(self.id), number + 1);
            let written = count * (d.len() + " d=\"\"".len());
            let used = count * (name.len() + " href=\"#\"".len());
            let defined = d.len() + name.len() + "<path id=\"\" d=\"\"/>\n".len();
            (count > 1 && used + defined < written).then_some(name)
        };
        let names = outlines.iter().enumerate();
        let names: Vec<Option<String>> = names.map(|(i, outline)| name(i, *outline)).collect();
        if names.iter().any(Option::is_some) {
            svg.push_str("<defs>\n");
            for (name, (d, _)) in names.iter().zip(&outlines) {
                if let Some(name) = name {
                    let _ = writeln!(svg, "<path id=\"{name}\" d=\"{d}\"/>");
                }
            }
            svg.push_str("</defs>\n");
        }
        svg.reserve(self.out.len() + data.len() + 64 * self.paths.len());
        let mut from = 0;
        for ((at, attributes, _), number) in self.paths.iter().zip(numbers) {
            svg.push_str(&self.out[from..*at]);
            from = *at;
            let parts = match &names[number] {
                Some(name) => ["<use href=\"#", name, "\"", attributes, "/>\n"],
                None => ["<path", attributes, " d=\"", outlines[number].0, "\"/>\n"],
            };
            parts.iter().for_each(|part| svg.push_str(part));
        }
        svg.push_str(&self.out[from..]);
    }

    fn group(&mut self, id: Option<&str>, clip: Option<&BezPath>, items: &[Item]) {
        let id_attribute = id.map_or_else(String::new, |id| {
            format!(r#" id="{}-{}""#, escape(self.id), escape(id))
        });
        let clip_attribute = clip.map_or_else(String::new, |path| {
            self.clips += 1;
            let name = format!("{}-clip-{}", escape(self.id), self.clips);
            let d = path_data(path);
            let _ = writeln!(
                self.out,
                r#"<clipPath id="{name}"><path d="{d}"/></clipPath>"#
            );
            format!(r#" clip-path="url(#{name})""#)
        });
        let _ = writeln!(self.out, "<g{id_attribute}{clip_attribute}>");
        self.items(items);
        self.out.push_str("</g>\n");
    }

    /// Texts with a paper edge, which they take from a common group.
    fn haloed(&mut self, texts: &[Item]) {
        let colours = self.colours_of(None, Some(Ink::Paper));
        let _ = writeln!(
            self.out,
            r#"<g{colours} stroke-width="{}" paint-order="stroke">"#,
            coord(HALO_MM)
        );
        for item in texts {
            if let Item::Text(text) = item {
                self.text(text);
            }
        }
        self.out.push_str("</g>\n");
    }

    fn text(&mut self, text: &Text) {
        let Some(first) = text.runs.first() else {
            return;
        };
        let colours = self.colours_of(Some(first.ink), None);
        let anchor = match text.align {
            Align::Start => "",
            Align::Middle => r#" text-anchor="middle""#,
            Align::End => r#" text-anchor="end""#,
        };
        let size = if text.size_mm == SIZE_MM {
            String::new()
        } else {
            format!(r#" font-size="{}""#, coord(text.size_mm))
        };
        let _ = write!(
            self.out,
            r#"<text x="{}" y="{}"{size}{anchor}{}{colours}>"#,
            coord(text.at.x),
            coord(text.at.y),
            weight_attribute(first.weight),
        );
        for run in &text.runs {
            let words = escape(&firm_edges(&run.text));
            if run.ink == first.ink && run.weight == first.weight {
                self.out.push_str(&words);
            } else {
                let weight = match (run.weight, first.weight) {
                    (a, b) if a == b => "",
                    (Weight::Bold, _) => r#" font-weight="600""#,
                    (Weight::Regular, _) => r#" font-weight="400""#,
                };
                let colours = if run.ink == first.ink {
                    String::new()
                } else {
                    self.colours_of(Some(run.ink), None)
                };
                let _ = write!(self.out, "<tspan{weight}{colours}>{words}</tspan>");
            }
        }
        self.out.push_str("</text>\n");
    }

    /// Class and literal attributes; what is not filled or stroked inherits `none` from the root.
    fn colours_of(&mut self, fill: Option<Ink>, stroke: Option<Ink>) -> String {
        let inks = [(fill, Property::Fill), (stroke, Property::Stroke)];
        let inks = inks.into_iter().filter_map(|(ink, p)| Some((ink?, p)));
        let mut text = String::new();
        if self.scheme == Scheme::Page {
            for (ink, property) in inks.clone() {
                self.used.insert((ink, property));
                text.push_str(if text.is_empty() { " class=\"" } else { " " });
                text.push(property.letter());
                text.push('-');
                text.push_str(ink.css());
            }
            if !text.is_empty() {
                text.push('"');
            }
        }
        for (ink, property) in inks {
            let colour = match self.scheme {
                Scheme::Page => ink.light(),
                Scheme::Dark => ink.dark(),
            };
            for part in [" ", property.word(), "=\"", colour, "\""] {
                text.push_str(part);
            }
        }
        text
    }
}

const fn weight_attribute(weight: Weight) -> &'static str {
    match weight {
        Weight::Regular => "",
        Weight::Bold => r#" font-weight="600""#,
    }
}

fn push_stroke(text: &mut String, stroke: &Stroke) {
    for part in [" stroke-width=\"", &coord(stroke.width_mm), "\""] {
        text.push_str(part);
    }
    match stroke.join {
        Join::Round => {}
        Join::Miter => text.push_str(r#" stroke-linejoin="miter""#),
    }
    match stroke.cap {
        Cap::Round => {}
        Cap::Butt => text.push_str(r#" stroke-linecap="butt""#),
    }
    if !stroke.dash.is_empty() {
        let dash: Vec<String> = stroke.dash.iter().map(|d| coord(*d)).collect();
        let _ = write!(text, r#" stroke-dasharray="{}""#, dash.join(" "));
    }
}

/// Spaces at the ends of a run as no-break spaces: readers drop plain ones between `tspan`s.
pub(crate) fn firm_edges(text: &str) -> String {
    let inner = text.trim_matches(' ');
    let before = text.len() - text.trim_start_matches(' ').len();
    let after = text.len() - before - inner.len();
    format!(
        "{}{inner}{}",
        "\u{a0}".repeat(before),
        "\u{a0}".repeat(after)
    )
}

/// Text for content and attributes.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_cannot_break_out() {
        assert_eq!(escape("a<b & \"c\">"), "a&lt;b &amp; &quot;c&quot;&gt;");
    }
}
