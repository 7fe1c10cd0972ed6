//! A drawing in few bytes for a page, looking the same.
//!
//! ```text
//! layers of shapes ─gather→ pieces: path data on a grid, halo and fill of one shape as one
//!                  ─join───→ strokes alike as one path
//!                  ─write──→ layers as elements; shapes that come twice named by what they are
//! ```
//!
//! The page's style sheet gives the colours of the classes, so that elements name no literal one.
//!
//! Over 500 lines: gathering, joining and writing share the pieces and the classes they are known by.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;

use kurbo::BezPath;
use sha2::{Digest, Sha256};

use crate::figure::number::{Grid, Place, push_coord, text_of};
use crate::figure::pen::{Hand, Known, Pen, push_path, reuse, room};
use crate::figure::shape::{Cap, Ink, Item, Join, Shape, Stroke};
use crate::figure::text::{Align, SIZE_MM, Text, Weight};
use crate::figure::{HALO_MM, Picture, firm_edges, push, push_escaped};

use super::svg::{Layer, OWN_ID};

/// The scale of the grid, as a transform.
const ON_GRID: &str = "<g transform=\"scale(.1)\">";

/// A shape shorter than this is not worth a name: bytes.
const WORTH_NAMING: usize = 60;

/// Strokes alike are gathered up to this many bytes before it is asked whether they come again.
const GATHERED: usize = 110;

/// Whether a drawing names the shapes that come twice in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Names {
    /// Yes: the same shape has the same name in every drawing.
    Given,
    /// No: the drawing stands apart from its page's others.
    None,
}

/// Attributes that come often have a class each, which this says of them.
const CLASSES: [(&str, &str); 5] = [
    ("h", "paint-order:stroke"),
    ("u", "stroke-linecap:butt"),
    ("b", "font-weight:600"),
    ("e", "text-anchor:end"),
    ("m", "text-anchor:middle"),
];

/// What a page with such drawings has to say of their classes, one rule a line.
///
/// They name no ancestor, since a layer that is used again has none to be told by.
pub(super) fn rules() -> String {
    let mut rules = String::new();
    for (class, rule) in CLASSES {
        let _ = writeln!(rules, ".{class}{{{rule}}}");
    }
    let ink = Ink::Ink;
    let _ = writeln!(
        rules,
        "text{{fill:var(--rl-{},{})}}",
        ink.css(),
        ink.light()
    );
    for ink in Ink::ALL {
        let (name, light) = (ink.css(), ink.light());
        for (letter, word) in [("f", "fill"), ("s", "stroke")] {
            let _ = writeln!(rules, ".{letter}-{name}{{{word}:var(--rl-{name},{light})}}");
        }
    }
    rules
}

/// The named shapes and the layers of a drawing.
pub(super) fn lighter(picture: &Picture, names: Names) -> (Vec<String>, Vec<Layer>) {
    layers(picture.layers().map(|(_, items)| items), names)
}

fn layers<'a>(layers: impl Iterator<Item = &'a [Item]>, names: Names) -> (Vec<String>, Vec<Layer>) {
    let [data, text] = room();
    let mut all = Gathering {
        data,
        text,
        ..Gathering::default()
    };
    let mut ends = Vec::new();
    for items in layers {
        all.layer(items);
        ends.push(all.pieces.len());
    }
    let Gathering {
        data, text, pieces, ..
    } = all;
    let room = [data, text];
    // What pens write is ASCII, and texts are UTF-8.
    let [data, text] = room
        .each_ref()
        .map(|t| str::from_utf8(t).unwrap_or_default());
    let mut times: BTreeMap<&str, usize> = BTreeMap::new();
    if names == Names::Given {
        for path in pieces.iter().filter_map(Piece::path) {
            if path.shape.len() >= WORTH_NAMING {
                *times.entry(&data[path.shape.clone()]).or_default() += 1;
            }
        }
        times.retain(|_, times| *times > 1);
    }
    let shapes: BTreeMap<&str, String> = times
        .into_keys()
        .map(|shape| (shape, name_of(shape)))
        .collect();
    let writing = Writing {
        data,
        text,
        shapes: &shapes,
    };
    let mut from = 0;
    let written = ends.into_iter().map(|end| {
        let layer = writing.layer(&pieces[from..end]);
        from = end;
        layer
    });
    let written = written.collect();
    let named = shapes
        .iter()
        .map(|(shape, name)| format!("<path id=\"{name}\" d=\"M0 0{shape}\"/>"));
    let named = named.collect();
    reuse(room);
    (named, written)
}

/// A name by what the shape is: the start of its SHA-256.
fn name_of(shape: &str) -> String {
    let hash = Sha256::digest(shape.as_bytes());
    let mut name = "s".to_owned();
    for byte in hash.iter().take(5) {
        let _ = write!(name, "{byte:02x}");
    }
    name
}

/// What a layer is written from.
enum Piece<'a> {
    /// Tags and lettering, where they stand in the gathered text.
    Text(Range<usize>),
    /// A path.
    Path(Path<'a>),
}

impl<'a> Piece<'a> {
    fn path(&self) -> Option<&Path<'a>> {
        match self {
            Self::Path(path) => Some(path),
            Self::Text(_) => None,
        }
    }
}

/// One path or several alike, one after another.
struct Path<'a> {
    fill: Option<Ink>,
    stroke: Option<&'a Stroke>,
    /// Whether the stroke lies under the fill.
    halo: bool,
    grid: Grid,
    /// Where it begins and ends.
    start: Place,
    end: Place,
    /// What it is from its start, where that stands in the gathered data.
    shape: Range<usize>,
}

/// Layers taken to pieces.
#[derive(Default)]
struct Gathering<'a> {
    /// Path data, one shape after another.
    data: Vec<u8>,
    /// Tags and lettering.
    text: Vec<u8>,
    pieces: Vec<Piece<'a>>,
    clips: usize,
    /// Paths that stand in the data alone.
    known: Known<'a, Drawn>,
}

/// A path in the data.
#[derive(Clone)]
struct Drawn {
    grid: Grid,
    start: Place,
    end: Place,
    shape: Range<usize>,
}

impl<'a> Gathering<'a> {
    fn layer(&mut self, items: &'a [Item]) {
        let on_grid = lies_on_grid(items);
        // A piece of its own: no piece belongs to two layers.
        let from = self.text.len();
        push(&mut self.text, &[if on_grid { ON_GRID } else { "<g>" }]);
        self.pieces.push(Piece::Text(from..self.text.len()));
        self.items(items, on_grid);
        self.say(|text| push(text, &["</g>"]));
    }

    /// Adds tags or lettering.
    fn say(&mut self, what: impl FnOnce(&mut Vec<u8>)) {
        let from = self.text.len();
        what(&mut self.text);
        match self.pieces.last_mut() {
            Some(Piece::Text(range)) => range.end = self.text.len(),
            _ => self.pieces.push(Piece::Text(from..self.text.len())),
        }
    }

    fn items(&mut self, items: &'a [Item], on_grid: bool) {
        let mut rest = items;
        while let Some((first, after)) = rest.split_first() {
            rest = after;
            match first {
                Item::Shape(shape) => rest = self.shape(shape, rest, on_grid),
                Item::Group { clip, items, .. } => self.group(clip.as_ref(), items, on_grid),
                Item::Text(text) if text.halo => {
                    let haloed = |item: &&Item| matches!(item, Item::Text(text) if text.halo);
                    let more = after.iter().take_while(haloed).count();
                    let all = &items[items.len() - after.len() - 1..][..=more];
                    rest = &after[more..];
                    self.haloed(all);
                }
                Item::Text(text) => self.say(|out| push_text(out, text)),
            }
        }
    }

    /// Takes a shape and the strokes after it that are alike; what is left.
    fn shape(&mut self, shape: &'a Shape, mut rest: &'a [Item], on_grid: bool) -> &'a [Item] {
        let grid = if on_grid {
            Grid::Tenths
        } else {
            Grid::Hundredths
        };
        let known = self.known.find(&shape.path).filter(|known| {
            known.grid == grid && (shape.fill.is_some() || known.shape.len() >= GATHERED)
        });
        if let Some(drawn) = known {
            self.path(shape, drawn);
            return rest;
        }
        let from = self.data.len();
        let mut pen = Pen::new(&mut self.data, grid, Hand::Shape);
        pen.draw(&shape.path);
        let alone = pen.written();
        while let Some((Item::Shape(next), further)) = rest.split_first()
            && shape.fill.is_none()
            && next.fill.is_none()
            && next.stroke == shape.stroke
            && pen.written() - from < GATHERED
        {
            pen.draw(&next.path);
            rest = further;
        }
        let (start, end) = pen.ends();
        let drawn = Drawn {
            grid,
            start,
            end,
            shape: from..self.data.len(),
        };
        if drawn.shape.end == alone {
            self.known.note(&shape.path, drawn.clone());
        }
        self.path(shape, drawn);
        rest
    }

    /// Takes in a shape that is drawn.
    fn path(&mut self, shape: &'a Shape, drawn: Drawn) {
        let Drawn {
            grid,
            start,
            end,
            shape: data,
        } = drawn;
        let path = Path {
            fill: shape.fill,
            stroke: shape.stroke.as_ref(),
            halo: false,
            grid,
            start,
            end,
            shape: data,
        };
        match self.pieces.last_mut() {
            Some(Piece::Path(halo)) if is_halo(halo, &path, &self.data) => {
                halo.fill = path.fill;
                halo.halo = true;
            }
            _ => self.pieces.push(Piece::Path(path)),
        }
    }

    fn group(&mut self, clip: Option<&'a BezPath>, items: &'a [Item], on_grid: bool) {
        // A group without anything of its own groups nothing, unless the grid begins in it.
        let begins = !on_grid && lies_on_grid(items);
        if let Some(clip) = clip {
            self.clips += 1;
            let name = format!("{OWN_ID}-clip-{}", self.clips);
            self.say(|text| {
                push(text, &["<clipPath id=\"", &name, "\"><path d=\""]);
                push_path(text, clip);
                push(
                    text,
                    &["\"/></clipPath><g clip-path=\"url(#", &name, ")\">"],
                );
            });
        }
        if begins {
            // A clip is measured as its group is, so that the scale goes inside.
            self.say(|text| push(text, &[ON_GRID]));
        }
        self.items(items, on_grid || begins);
        for _ in 0..usize::from(begins) + usize::from(clip.is_some()) {
            self.say(|text| push(text, &["</g>"]));
        }
    }

    /// Texts with a paper edge, which they take from a common group.
    fn haloed(&mut self, texts: &[Item]) {
        let tag = ["<g class=\"h s-", Ink::Paper.css(), "\" stroke-width=\""];
        self.say(|out| {
            push(out, &tag);
            push_coord(out, HALO_MM);
            push(out, &["\">"]);
            for item in texts {
                if let Item::Text(text) = item {
                    push_text(out, text);
                }
            }
            push(out, &["</g>"]);
        });
    }
}

/// Whether things can be put on a grid of whole numbers: all are paths, none is clipped.
fn lies_on_grid(items: &[Item]) -> bool {
    fn plain(items: &[Item]) -> bool {
        items.iter().all(|item| match item {
            Item::Shape(_) => true,
            Item::Group { clip, items, .. } => clip.is_none() && plain(items),
            Item::Text(_) => false,
        })
    }
    !items.is_empty() && plain(items)
}

/// Whether the first is a plain stroke round the second, a fill of the same shape.
fn is_halo(halo: &Path<'_>, fill: &Path<'_>, data: &[u8]) -> bool {
    let plain = |stroke: &Stroke| stroke.join == Join::Round && stroke.dash.is_empty();
    halo.fill.is_none()
        && halo.stroke.is_some_and(plain)
        && fill.stroke.is_none()
        && (halo.start, halo.grid) == (fill.start, fill.grid)
        && data[halo.shape.clone()] == data[fill.shape.clone()]
}

/// What pieces are written with.
struct Writing<'a> {
    data: &'a str,
    text: &'a str,
    /// Shapes that come again, with their names.
    shapes: &'a BTreeMap<&'a str, String>,
}

impl Writing<'_> {
    fn layer(&self, pieces: &[Piece<'_>]) -> Layer {
        let room = pieces.iter().map(|piece| match piece {
            Piece::Text(range) => range.len(),
            Piece::Path(path) => path.shape.len() + 64,
        });
        let mut out = Vec::with_capacity(room.sum());
        let mut own_ids = false;
        let mut rest = pieces;
        while let Some((first, mut after)) = rest.split_first() {
            match first {
                Piece::Text(range) => {
                    let text = &self.text[range.clone()];
                    own_ids |= text.contains(OWN_ID);
                    out.extend_from_slice(text.as_bytes());
                }
                Piece::Path(path) => match self.shapes.get(&self.data[path.shape.clone()]) {
                    Some(name) => push_use(&mut out, path, name),
                    None => after = self.push_path(&mut out, path, after),
                },
            }
            rest = after;
        }
        Layer {
            text: text_of(out),
            own_ids,
        }
    }

    /// Writes a path and the strokes after it that differ by their shape alone; what is left.
    fn push_path<'p>(
        &self,
        out: &mut Vec<u8>,
        path: &Path<'_>,
        mut rest: &'p [Piece<'p>],
    ) -> &'p [Piece<'p>] {
        out.extend_from_slice(b"<path");
        push_attributes(out, path);
        out.extend_from_slice(b" d=\"M");
        path.grid.push_place(out, path.start);
        out.extend_from_slice(self.data[path.shape.clone()].as_bytes());
        let mut end = path.end;
        while let Some((Piece::Path(next), further)) = rest.split_first()
            && path.fill.is_none()
            && next.fill.is_none()
            && (next.stroke, next.grid) == (path.stroke, path.grid)
            && !self.shapes.contains_key(&self.data[next.shape.clone()])
        {
            push_move(out, path.grid, end, next.start);
            out.extend_from_slice(self.data[next.shape.clone()].as_bytes());
            end = next.end;
            rest = further;
        }
        out.extend_from_slice(b"\"/>");
        rest
    }
}

/// Begins another stretch, at a place or at a step from the last one, whichever is shorter.
fn push_move(out: &mut Vec<u8>, grid: Grid, from: Place, to: Place) {
    let at = out.len();
    out.push(b'M');
    grid.push_place(out, to);
    let placed = out.len();
    out.push(b'm');
    grid.push_place(out, (to.0 - from.0, to.1 - from.1));
    if placed - at <= out.len() - placed {
        out.truncate(placed);
    } else {
        out.drain(at..placed);
    }
}

fn push_use(out: &mut Vec<u8>, path: &Path<'_>, name: &str) {
    out.extend_from_slice(b"<use href=\"#");
    out.extend_from_slice(name.as_bytes());
    out.extend_from_slice(b"\" x=\"");
    path.grid.push(out, path.start.0);
    out.extend_from_slice(b"\" y=\"");
    path.grid.push(out, path.start.1);
    out.push(b'"');
    push_attributes(out, path);
    out.extend_from_slice(b"/>");
}

fn push_attributes(out: &mut Vec<u8>, path: &Path<'_>) {
    let classes = [
        path.stroke
            .filter(|s| s.cap == Cap::Butt)
            .map(|_| ("u", "")),
        path.halo.then_some(("h", "")),
        path.fill.map(|ink| ("f-", ink.css())),
        path.stroke.map(|stroke| ("s-", stroke.ink.css())),
    ];
    push_classes(out, classes);
    let Some(stroke) = path.stroke else { return };
    out.extend_from_slice(b" stroke-width=\"");
    push_length(out, path.grid, stroke.width_mm);
    out.push(b'"');
    if stroke.join == Join::Miter && !path.halo {
        out.extend_from_slice(b" stroke-linejoin=\"miter\"");
    }
    for (i, dash) in stroke.dash.iter().enumerate() {
        out.extend_from_slice(if i == 0 {
            b" stroke-dasharray=\""
        } else {
            b" "
        });
        push_length(out, path.grid, *dash);
    }
    if !stroke.dash.is_empty() {
        out.push(b'"');
    }
}

fn push_classes<const N: usize>(out: &mut Vec<u8>, classes: [Option<(&str, &str)>; N]) {
    let mut any = false;
    for (class, of) in classes.into_iter().flatten() {
        out.extend_from_slice(if any { b" " } else { b" class=\"" });
        out.extend_from_slice(class.as_bytes());
        out.extend_from_slice(of.as_bytes());
        any = true;
    }
    if any {
        out.push(b'"');
    }
}

/// A length in units of a grid, two decimals of a millimetre at most.
fn push_length(out: &mut Vec<u8>, grid: Grid, mm: f64) {
    push_coord(out, mm * grid.per_mm());
}

/// One line of lettering. Between texts line ends are a space for readers.
fn push_text(out: &mut Vec<u8>, text: &Text) {
    let Some(first) = text.runs.first() else {
        return;
    };
    let anchor = match text.align {
        Align::Start => None,
        Align::Middle => Some(("m", "")),
        Align::End => Some(("e", "")),
    };
    let bold = |weight| (weight == Weight::Bold).then_some(("b", ""));
    push(out, &["<text"]);
    // Letters are in ink unless they say otherwise.
    let ink = (first.ink != Ink::Ink).then(|| ("f-", first.ink.css()));
    push_classes(out, [anchor, bold(first.weight), ink]);
    push(out, &[" x=\""]);
    push_coord(out, text.at.x);
    push(out, &["\" y=\""]);
    push_coord(out, text.at.y);
    if text.size_mm != SIZE_MM {
        push(out, &["\" font-size=\""]);
        push_coord(out, text.size_mm);
    }
    push(out, &["\">"]);
    for run in &text.runs {
        let words = firm_edges(&run.text);
        if (run.ink, run.weight) == (first.ink, first.weight) {
            push_escaped(out, &words);
            continue;
        }
        push(out, &["<tspan"]);
        let ink = (run.ink != first.ink).then(|| ("f-", run.ink.css()));
        let turns_bold = bold(run.weight).filter(|_| first.weight != Weight::Bold);
        push_classes(out, [turns_bold, ink]);
        if run.weight == Weight::Regular && first.weight == Weight::Bold {
            push(out, &[" font-weight=\"400\""]);
        }
        push(out, &[">"]);
        push_escaped(out, &words);
        push(out, &["</tspan>"]);
    }
    push(out, &["</text>\n"]);
}

#[cfg(test)]
mod tests {
    use super::*;

    fn path(d: &str) -> BezPath {
        BezPath::from_svg(d).expect("path data")
    }

    fn filled(d: &str, ink: Ink) -> Item {
        Shape::filled(path(d), ink).into()
    }

    fn stroked(d: &str, ink: Ink, width_mm: f64) -> Item {
        Shape::stroked(path(d), Stroke::solid(ink, width_mm)).into()
    }

    /// Named shapes and the one layer of things.
    fn light(items: &[Item], names: Names) -> (String, String) {
        let (shapes, layers) = layers([items].into_iter(), names);
        let texts = layers.into_iter().map(|layer| layer.text);
        (shapes.concat(), texts.collect())
    }

    #[test]
    fn halo_and_fill_of_one_shape_become_one_element() {
        let d = "M1 1l2 0z";
        let items = [stroked(d, Ink::Paper, 0.6), filled(d, Ink::Far)];
        let (_, light) = light(&items, Names::Given);
        assert_eq!(
            light,
            "<g transform=\"scale(.1)\"><path class=\"h f-far s-paper\" stroke-width=\"6\" d=\"M10 10h20z\"/></g>"
        );
    }

    #[test]
    fn strokes_alike_become_one_and_strokes_of_other_width_stay() {
        let far = format!("M100 100{}", "l1 2-1 2".repeat(20));
        let items = [
            stroked(&far, Ink::Grain, 0.2),
            stroked("M101 103l1 2", Ink::Grain, 0.2),
            stroked("M0 0l1 2", Ink::Grain, 0.3),
        ];
        let (_, light) = light(&items, Names::Given);
        let steps = "l10 20-10 20".to_owned() + &" 10 20-10 20".repeat(19);
        assert_eq!(
            light,
            format!(
                "<g transform=\"scale(.1)\"><path class=\"s-grain\" stroke-width=\"2\" \
                 d=\"M1000 1000{steps}m10-770l10 20\"/>\
                 <path class=\"s-grain\" stroke-width=\"3\" d=\"M0 0l10 20\"/></g>"
            )
        );
    }

    #[test]
    fn a_shape_that_comes_twice_is_named_wherever_it_stands() {
        let steps = "l2 3-2 4".repeat(9);
        let items = [
            filled(&format!("M1-2{steps}"), Ink::Wood),
            filled(&format!("M30 4.5{steps}"), Ink::Wood),
        ];
        let (shapes, layer) = light(&items, Names::Given);
        assert_eq!(shapes.matches("<path").count(), 1, "{shapes}");
        let name = shapes.split('"').nth(1).expect("the shape is named");
        for place in ["x=\"10\" y=\"-20\"", "x=\"300\" y=\"45\""] {
            let used = format!("<use href=\"#{name}\" {place} class=\"f-wood\"/>");
            assert!(layer.contains(&used), "{layer}");
        }
        let (shapes, apart) = light(&items, Names::None);
        assert_eq!(shapes, "");
        assert_eq!(apart.matches("<path").count(), 2, "{apart}");
    }

    #[test]
    fn no_named_shape_holds_a_place_of_its_own() {
        let strokes = |x: f64| {
            let one = |i: u32| {
                let d = format!("M{} {i}l2 3-2 4 1.5 2-3 4", x + f64::from(i));
                stroked(&d, Ink::Bark, 0.3)
            };
            (0..9).map(one).collect::<Vec<_>>()
        };
        let items = [
            strokes(0.0),
            vec![filled("M0 0l1 1", Ink::Wood)],
            strokes(50.0),
        ]
        .concat();
        let (shapes, _) = light(&items, Names::Given);
        assert!(shapes.contains("<path"), "{shapes}");
        assert_eq!(
            shapes.matches('M').count(),
            shapes.matches("\"M0 0").count()
        );
    }

    #[test]
    fn a_clipped_group_is_scaled_inside_its_clip() {
        let text = Text {
            halo: false,
            ..Text::new(
                kurbo::Point::new(1.0, 2.0),
                Align::End,
                vec![crate::figure::text::plain("a", Ink::Ink)],
            )
        };
        let items = [
            Item::Group {
                id: None,
                clip: Some(path("M1 1l2 0 0 2z")),
                items: vec![Item::group("x", [stroked("M1 1l2 0", Ink::Ink, 0.2)])],
            },
            Item::Text(text),
        ];
        let (_, light) = light(&items, Names::Given);
        assert_eq!(
            light.replace(OWN_ID, "r"),
            "<g><clipPath id=\"r-clip-1\"><path d=\"M1 1l2 0 0 2z\"/></clipPath>\
             <g clip-path=\"url(#r-clip-1)\"><g transform=\"scale(.1)\">\
             <path class=\"s-ink\" stroke-width=\"2\" d=\"M10 10h20\"/></g></g>\
             <text class=\"e\" x=\"1\" y=\"2\">a</text>\n</g>"
        );
    }

    #[test]
    fn each_layer_is_an_element_of_its_own() {
        let items = [filled("M1 1l2 0z", Ink::Wood)];
        let (_, layers) = layers([&items[..], &items, &[]].into_iter(), Names::Given);
        let path = "<g transform=\"scale(.1)\"><path class=\"f-wood\" d=\"M10 10h20z\"/></g>";
        let texts: Vec<String> = layers.into_iter().map(|layer| layer.text).collect();
        assert_eq!(texts, [path, path, "<g></g>"]);
    }

    #[test]
    fn layers_with_letters_keep_their_millimetres() {
        let text = Text::new(
            kurbo::Point::new(1.0, 2.0),
            Align::Start,
            vec![crate::figure::text::bold("top", Ink::Soft)],
        );
        let items = [stroked("M1 1l2 1", Ink::Ink, 0.25), Item::Text(text)];
        let (_, light) = light(&items, Names::Given);
        assert_eq!(
            light,
            "<g><path class=\"s-ink\" stroke-width=\".25\" d=\"M1 1l2 1\"/>\
             <g class=\"h s-paper\" stroke-width=\"1\"><text class=\"b f-soft\" x=\"1\" y=\"2\">top</text>\n</g></g>"
        );
    }

    #[test]
    fn every_class_has_its_rule() {
        let rules = rules();
        for class in ["h", "u", "b", "e", "m", "f-ink", "s-paper"] {
            assert!(
                rules.contains(&format!("\n.{class}{{"))
                    || rules.starts_with(&format!(".{class}{{"))
            );
        }
        assert!(rules.contains(".f-ink{fill:var(--rl-ink,#1B2530)}"));
    }
}
