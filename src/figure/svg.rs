//! Writing a sheet as SVG: literal colours as attributes, classes for a page's scheme, two decimals.
//!
//! ```text
//! Sheet + Head ─write→ text
//! ```
//!
//! One file serves browser, typesetter and raster: readers that know no variables take the literal
//! attribute, browsers take `--rl-NAME` where a page defines it. Every number passes [`coord`].
//!
//! Over 500 lines: elements, attributes and path numbers are written by one writer.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use kurbo::{BezPath, PathEl, Point};

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
const HALO_MM: f64 = 1.0;

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
        paths: Vec::new(),
        outlines: BTreeMap::new(),
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
    /// Where in `out` each path belongs: byte offset, attributes, number of its outline.
    paths: Vec<(usize, String, usize)>,
    /// Outlines with their numbers and how often they are drawn.
    outlines: BTreeMap<String, (usize, usize)>,
}

impl Writer<'_> {
    fn items(&mut self, items: &[Item]) {
        let mut rest = items;
        while let Some((first, after)) = rest.split_first() {
            rest = after;
            match first {
                Item::Shape(shape) => {
                    // Neighbours with one stroke and no fill are one path: the same picture, less text.
                    let mut d = path_data(&shape.path);
                    while let Some((Item::Shape(next), further)) = rest.split_first()
                        && shape.fill.is_none()
                        && next.fill.is_none()
                        && next.stroke == shape.stroke
                        && d.len() < MERGED
                    {
                        d.push_str(&path_data(&next.path));
                        rest = further;
                    }
                    self.shape(shape, d);
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

    fn shape(&mut self, shape: &Shape, d: String) {
        let stroke_ink = shape.stroke.as_ref().map(|s| s.ink);
        let colours = self.colours_of(shape.fill, stroke_ink);
        let style = shape
            .stroke
            .as_ref()
            .map_or_else(String::new, stroke_attributes);
        let number = self.outlines.len();
        let outline = self.outlines.entry(d).or_insert((number, 0));
        outline.1 += 1;
        self.paths
            .push((self.out.len(), format!("{colours}{style}"), outline.0));
    }

    /// Writes what was gathered; an outline that is drawn again (paper edge, rope and core; bark and
    /// wood) is written once and used, where that is shorter.
    fn finish(self, svg: &mut String) {
        let mut outlines = vec![""; self.outlines.len()];
        let mut names = vec![None; self.outlines.len()];
        for (d, (number, count)) in &self.outlines {
            outlines[*number] = d;
            let name = format!("{}-o{}", escape(self.id), number + 1);
            let written = count * (d.len() + " d=\"\"".len());
            let used = count * (name.len() + " href=\"#\"".len());
            let defined = d.len() + name.len() + "<path id=\"\" d=\"\"/>\n".len();
            names[*number] = (used + defined < written).then_some(name);
        }
        if names.iter().any(Option::is_some) {
            svg.push_str("<defs>\n");
            for (name, d) in names.iter().zip(&outlines) {
                if let Some(name) = name {
                    let _ = writeln!(svg, "<path id=\"{name}\" d=\"{d}\"/>");
                }
            }
            svg.push_str("</defs>\n");
        }
        let mut from = 0;
        for (at, attributes, number) in &self.paths {
            svg.push_str(&self.out[from..*at]);
            from = *at;
            let _ = match &names[*number] {
                Some(name) => writeln!(svg, "<use href=\"#{name}\"{attributes}/>"),
                None => writeln!(svg, "<path{attributes} d=\"{}\"/>", outlines[*number]),
            };
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
        let mut classes: Vec<String> = Vec::new();
        let mut attributes = String::new();
        for (ink, property) in [(fill, Property::Fill), (stroke, Property::Stroke)] {
            let Some(ink) = ink else {
                continue;
            };
            self.used.insert((ink, property));
            classes.push(format!("{}-{}", property.letter(), ink.css()));
            let colour = match self.scheme {
                Scheme::Page => ink.light(),
                Scheme::Dark => ink.dark(),
            };
            let _ = write!(attributes, r#" {}="{colour}""#, property.word());
        }
        if self.scheme == Scheme::Page && !classes.is_empty() {
            format!(r#" class="{}"{attributes}"#, classes.join(" "))
        } else {
            attributes
        }
    }
}

const fn weight_attribute(weight: Weight) -> &'static str {
    match weight {
        Weight::Regular => "",
        Weight::Bold => r#" font-weight="600""#,
    }
}

fn stroke_attributes(stroke: &Stroke) -> String {
    let mut text = format!(r#" stroke-width="{}""#, coord(stroke.width_mm));
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
    text
}

/// A figure coordinate in millimetres: two decimals at most, never `-0`.
///
/// Every number of a drawing goes through here or through the path writer, which rounds alike, so
/// a last-bit difference of a platform does not reach the file unless it straddles a rounding edge.
pub fn coord(mm: f64) -> String {
    let mut text = String::new();
    push_hundredths(&mut text, hundredths(mm));
    text
}

fn hundredths(mm: f64) -> i64 {
    debug_assert!(mm.is_finite(), "figure coordinate {mm} is not finite");
    (mm * 100.0).round() as i64
}

/// Writes a number of hundredths: two decimals at most, no zero before the point.
pub(crate) fn push_hundredths(out: &mut String, n: i64) {
    // A sign, 17 digits, the point and two more.
    let mut text = [0_u8; 24];
    let mut at = text.len();
    let mut put = |byte: u8| {
        at -= 1;
        text[at] = byte;
    };
    let digit = |value: u64| b'0' + (value % 10) as u8;
    let (mut whole, part) = (n.unsigned_abs() / 100, n.unsigned_abs() % 100);
    if part != 0 {
        if part % 10 != 0 {
            put(digit(part));
        }
        put(digit(part / 10));
        put(b'.');
    }
    if whole == 0 && part == 0 {
        put(b'0');
    }
    while whole > 0 {
        put(digit(whole));
        whole /= 10;
    }
    if n < 0 {
        put(b'-');
    }
    out.extend(text[at..].iter().map(|byte| char::from(*byte)));
}

/// Path data: it starts at an absolute place, the rest is relative to the rounded places before it, so
/// that rounding does not add up.
pub fn path_data(path: &BezPath) -> String {
    let mut pen = Pen::default();
    for el in path.elements() {
        match *el {
            PathEl::MoveTo(p) => pen.go_to(p),
            PathEl::LineTo(p) => pen.draw('l', &[p]),
            PathEl::QuadTo(a, p) => pen.draw('q', &[a, p]),
            PathEl::CurveTo(a, b, p) => pen.draw('c', &[a, b, p]),
            PathEl::ClosePath => pen.close(),
        }
    }
    pen.out
}

#[derive(Default)]
struct Pen {
    out: String,
    at: (i64, i64),
    start: (i64, i64),
    command: char,
    /// Whether the last number has a decimal point.
    pointed: bool,
}

impl Pen {
    fn round(p: Point) -> (i64, i64) {
        (hundredths(p.x), hundredths(p.y))
    }

    fn go_to(&mut self, p: Point) {
        let to = Self::round(p);
        // The first place is absolute, so that paths may be written one after another.
        let (command, from) = if self.out.is_empty() {
            ('M', (0, 0))
        } else {
            ('m', self.at)
        };
        self.out.push(command);
        self.command = command;
        self.number(to.0 - from.0, true);
        self.number(to.1 - from.1, false);
        self.at = to;
        self.start = to;
    }

    fn draw(&mut self, command: char, points: &[Point]) {
        // What goes nowhere draws nothing, but for a path of a single place: a dot with round ends.
        let nowhere = points.iter().all(|p| Self::round(*p) == self.at);
        if nowhere && !matches!(self.command, 'M' | 'm') {
            return;
        }
        let mut first = self.command != command;
        if first {
            self.out.push(command);
            self.command = command;
        }
        let from = self.at;
        for p in points {
            let (x, y) = Self::round(*p);
            self.number(x - from.0, first);
            self.number(y - from.1, false);
            first = false;
            self.at = (x, y);
        }
    }

    fn close(&mut self) {
        self.out.push('z');
        self.command = 'z';
        self.at = self.start;
    }

    fn number(&mut self, n: i64, first: bool) {
        // A sign parts two numbers; so does a second decimal point (SVG 2, 9.3.9).
        let pointed = n % 100 != 0;
        let bare = (1..100).contains(&n);
        if !first && n >= 0 && !(self.pointed && bare) {
            self.out.push(' ');
        }
        self.pointed = pointed;
        push_hundredths(&mut self.out, n);
    }
}

/// Spaces at the ends of a run as no-break spaces: readers drop plain ones between `tspan`s.
fn firm_edges(text: &str) -> String {
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
fn escape(text: &str) -> String {
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
    fn coordinates_have_two_decimals_and_no_negative_zero() {
        let cases = [
            (0.0, "0"),
            (-0.001, "0"),
            (0.5, ".5"),
            (-0.25, "-.25"),
            (12.0, "12"),
            (12.345_678, "12.35"),
            (-3.1, "-3.1"),
            (0.05, ".05"),
        ];
        for (mm, text) in cases {
            assert_eq!(coord(mm), text);
        }
    }

    /// Path data grammar: SVG 2, section 9.3.
    #[test]
    fn relative_rounding_does_not_add_up() {
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        for i in 1..=300 {
            path.line_to((f64::from(i) * 0.333_333, 1.0));
        }
        path.close_path();
        let read = BezPath::from_svg(&path_data(&path)).expect("valid path data");
        let last = read.elements()[300].end_point().expect("a line");
        assert!((last.x - 100.0).abs() < 0.006, "{last:?}");
        assert_eq!(read.elements().last(), Some(&PathEl::ClosePath));
    }

    #[test]
    fn text_cannot_break_out() {
        assert_eq!(escape("a<b & \"c\">"), "a&lt;b &amp; &quot;c&quot;&gt;");
    }
}
