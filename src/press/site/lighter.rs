//! A drawing in fewer bytes, looking the same.
//!
//! ```text
//! elements, one a line ─uses back to paths, halo and fill of one shape in one element
//!                      ─layers of paths alone on a grid of whole numbers
//!                      ─shapes that come twice named by what they are─→ elements
//! ```
//!
//! The paths are those that the figures write: `M` with a place, then `l`, `q`, `c` and `m` with steps
//! from it, and `z`. Anything else is left as it is.
//!
//! Over 500 lines: its steps read the same lines by the same few helpers, and a third are tests.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;

use sha2::{Digest, Sha256};

use crate::figure::{Ink, push_hundredths};

/// Hundredths of a millimetre in a unit of the grid. A drawing for 160 mm of paper is shown about
/// 700 px wide, so that rounding to 0.1 mm moves a line by 0.2 px at most.
const GRID: i64 = 10;

/// The scale of the grid, as a transform.
const SCALE: &str = ".1";

/// A shape shorter than this is not worth a name: bytes.
const WORTH_NAMING: usize = 60;

/// Whether a drawing names the shapes that come twice in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Names {
    /// Yes: the same shape has the same name in every drawing.
    Given,
    /// No: the drawing stands apart from its page's others.
    None,
}

/// Makes the elements between a drawing's root tags lighter.
pub(super) fn lighter(inside: &str, names: Names) -> String {
    let lines = merged(&without_uses(inside));
    let mut out: Vec<String> = Vec::with_capacity(lines.len());
    // Of each open group: whether the grid begins in it, and how many tags close it.
    let mut open: Vec<(bool, usize)> = Vec::new();
    let mut grid = 1;
    for (i, line) in lines.iter().enumerate() {
        let is = |name: &str| line.starts_with(name);
        if is("<g") {
            let begins = grid == 1 && lies_on_grid(line, &layer(&lines[i + 1..]));
            let clipped = attribute(line, "clip-path").is_some();
            let bare = without(&without(line, "id"), "data-layer");
            if !begins && bare == "<g>" && !open.is_empty() {
                // Within a layer a group without anything of its own groups nothing.
                open.push((false, 0));
                continue;
            }
            let scale = format!("<g transform=\"scale({SCALE})\"");
            out.push(match (begins, clipped) {
                // A clip is measured as its group is, so that the scale goes inside.
                (true, true) => format!("{bare}{scale}>"),
                (true, false) => bare.replacen("<g", &scale, 1),
                (false, _) => bare,
            });
            open.push((begins, if begins && clipped { 2 } else { 1 }));
            if begins {
                grid = GRID;
            }
            continue;
        }
        out.push(if is("</g") {
            let (began, tags) = open.pop().unwrap_or((false, 1));
            if began {
                grid = 1;
            }
            line.repeat(tags)
        } else if is("<path") {
            path(line, grid)
        } else if is("<text") || is("<title") || is("<desc") {
            // Letters keep their line ends: between texts they are a space for readers.
            format!("{line}\n")
        } else {
            line.clone()
        });
    }
    let out: Vec<String> = out.iter().map(|element| short(element)).collect();
    match names {
        Names::Given => named(out),
        Names::None => out.concat(),
    }
}

/// Attributes that come often, the class that stands for each, and what the class says.
const SHORT: [(&str, &str, &str); 5] = [
    (" paint-order=\"stroke\"", "h", "paint-order:stroke"),
    (" stroke-linecap=\"butt\"", "u", "stroke-linecap:butt"),
    (" font-weight=\"600\"", "b", "font-weight:600"),
    (" text-anchor=\"end\"", "e", "text-anchor:end"),
    (" text-anchor=\"middle\"", "m", "text-anchor:middle"),
];

/// What a page with lighter drawings has to say of their classes, one rule a line.
///
/// They name no ancestor, since a layer that is used again has none to be told by.
pub(super) fn rules() -> String {
    let classes = SHORT.map(|(_, class, rule)| format!(".{class}{{{rule}}}\n"));
    let ink = Ink::Ink;
    let text = format!("text{{fill:var(--rl-{},{})}}\n", ink.css(), ink.light());
    format!("{}{text}", classes.concat())
}

/// An element, and those inside it, with classes for the attributes that come often.
fn short(element: &str) -> String {
    let mut out = String::with_capacity(element.len());
    for (i, part) in element.split('<').enumerate() {
        if i > 0 {
            out.push('<');
        }
        let Some((tag, rest)) = part.split_once('>') else {
            out.push_str(part);
            continue;
        };
        let mut tag = tag.to_owned();
        if tag.starts_with("text ") {
            // Letters are in ink unless they say otherwise.
            tag = tag.replacen(" class=\"f-ink\"", "", 1);
        }
        for (attribute, class, _) in SHORT {
            if !tag.contains(attribute) {
                continue;
            }
            tag = tag.replacen(attribute, "", 1);
            if tag.contains(" class=\"") {
                tag = tag.replacen(" class=\"", &format!(" class=\"{class} "), 1);
            } else if let Some(at) = tag.find(' ') {
                tag.insert_str(at, &format!(" class=\"{class}\""));
            }
        }
        out.push_str(&tag);
        out.push('>');
        out.push_str(rest);
    }
    out
}

/// A path as the place where it begins and what it is, wherever it begins.
fn from_its_place(d: &str) -> Option<((&str, &str), &str)> {
    let rest = d.strip_prefix('M')?;
    let end = rest.find(|c: char| c.is_ascii_alphabetic())?;
    let (place, shape) = rest.split_at(end);
    let split = place
        .find([' ', ','])
        .or_else(|| Some(1 + place.get(1..)?.find('-')?))?;
    let (x, y) = place.split_at(split);
    Some(((x, y.trim_start_matches([' ', ','])), shape))
}

/// The path of a line that is worth a name: its place, and its shape from there.
fn worth_naming(line: &str) -> Option<((&str, &str), &str)> {
    let d = attribute(line, "d").filter(|_| line.starts_with("<path"))?;
    from_its_place(d).filter(|(_, shape)| shape.len() >= WORTH_NAMING)
}

/// Names the shapes that come twice, in whatever place, and puts uses in their places.
fn named(mut lines: Vec<String>) -> String {
    let mut times: BTreeMap<String, usize> = BTreeMap::new();
    for (_, shape) in lines.iter().filter_map(|line| worth_naming(line)) {
        *times.entry(shape.to_owned()).or_default() += 1;
    }
    times.retain(|_, times| *times > 1);
    if times.is_empty() {
        return lines.concat();
    }
    for line in &mut lines {
        if let Some(((x, y), shape)) = worth_naming(line)
            && times.contains_key(shape)
        {
            let d = format!(
                " d=\"M{x}{}{y}{shape}\"",
                if y.starts_with('-') { "" } else { " " }
            );
            let name = name_of(shape);
            let used = format!("<use href=\"#{name}\" x=\"{x}\" y=\"{y}\"");
            *line = line.replacen(&d, "", 1).replacen("<path", &used, 1);
        }
    }
    let shapes = times
        .keys()
        .map(|shape| format!("<path id=\"{}\" d=\"M0 0{shape}\"/>", name_of(shape)));
    let shapes: String = shapes.collect();
    // A drawing's title and description stay its first elements.
    let at = lines.iter().position(|line| line.starts_with("<g"));
    lines.insert(at.unwrap_or(0), format!("<defs>{shapes}</defs>"));
    lines.concat()
}

/// A name by what the shape is: the start of its SHA-256.
fn name_of(d: &str) -> String {
    let hash = Sha256::digest(d.as_bytes());
    let digits = hash.iter().take(5).map(|byte| format!("{byte:02x}"));
    format!("s{}", digits.collect::<String>())
}

/// The elements with every use as a path of its own.
fn without_uses(inside: &str) -> Vec<String> {
    let mut shapes: BTreeMap<&str, &str> = BTreeMap::new();
    let mut out = Vec::new();
    let mut in_defs = false;
    for line in inside.lines().filter(|line| !line.is_empty()) {
        if line.starts_with("<defs") {
            in_defs = true;
        } else if line.starts_with("</defs") {
            in_defs = false;
        } else if in_defs && let (Some(id), Some(d)) = (attribute(line, "id"), attribute(line, "d"))
        {
            shapes.insert(id, d);
        } else {
            let name = attribute(line, "href").and_then(|href| href.strip_prefix('#'));
            let shape = name.and_then(|name| shapes.get(name));
            out.push(match shape {
                Some(d) if line.starts_with("<use") => {
                    let own = without(line, "href").replacen("<use", "<path", 1);
                    own.replacen("/>", &format!(" d=\"{d}\"/>"), 1)
                }
                _ => line.to_owned(),
            });
        }
    }
    out
}

/// The lines of a layer up to its end.
fn layer(rest: &[String]) -> Vec<&str> {
    let mut depth = 1_usize;
    let mut own = Vec::new();
    for line in rest {
        if line.starts_with("<g") {
            depth += 1;
        } else if line.starts_with("</g") {
            depth -= 1;
            if depth == 0 {
                break;
            }
        }
        own.push(line.as_str());
    }
    own
}

/// Whether a group can be put on the grid: all in it are paths that we read.
fn lies_on_grid(tag: &str, inside: &[&str]) -> bool {
    let plain = |line: &&str| {
        line.starts_with("</g")
            || (line.starts_with("<g") && !line.contains("transform") && !line.contains("url("))
            || (line.starts_with("<path")
                && !line.contains("url(")
                && !line.contains("transform")
                && attribute(line, "d").is_some_and(|d| steps(d).is_some()))
    };
    !inside.is_empty() && !tag.contains("transform") && inside.iter().all(plain)
}

/// One path on a grid.
fn path(tag: &str, grid: i64) -> String {
    let mut tag = without(tag, "id");
    let Some(written) = attribute(&tag, "d").and_then(steps) else {
        return tag;
    };
    tag = with(&tag, "d", &pen(&written, grid));
    if grid > 1 {
        for name in ["stroke-width", "stroke-dasharray"] {
            if let Some(text) = attribute(&tag, name) {
                let scaled: Vec<String> = text.split([' ', ',']).map(|n| scaled(n, grid)).collect();
                tag = with(&tag, name, &scaled.join(" "));
            }
        }
    }
    tag
}

/// Millimetres in units of a grid, two decimals at most.
fn scaled(number: &str, grid: i64) -> String {
    let Ok(mm) = number.parse::<f64>() else {
        return number.to_owned();
    };
    let text = format!("{:.2}", mm * 100.0 / grid as f64);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    text.strip_prefix("0.")
        .map_or_else(|| text.to_owned(), |part| format!(".{part}"))
}

/// A stroke and a fill of one and the same shape become one element, the stroke painted first.
fn merged(lines: &[String]) -> Vec<String> {
    let mut times: BTreeMap<&str, usize> = BTreeMap::new();
    for (_, shape) in lines.iter().filter_map(|line| worth_naming(line)) {
        *times.entry(shape).or_default() += 1;
    }
    // A shape that comes again is to have a name: it stays an element of its own.
    let again = |line: &str| {
        worth_naming(line).is_some_and(|(_, shape)| times.get(shape).is_some_and(|n| *n > 1))
    };
    let mut out: Vec<String> = Vec::with_capacity(lines.len());
    for line in lines {
        let one = out.last().and_then(|before| {
            halo_and_fill(before, line).or_else(|| {
                let alone = !again(before) && !again(line);
                alone.then(|| one_stroke(before, line)).flatten()
            })
        });
        match one {
            Some(one) => {
                out.pop();
                out.push(one);
            }
            None => out.push(line.clone()),
        }
    }
    out
}

fn halo_and_fill(halo: &str, fill: &str) -> Option<String> {
    let both_paths = halo.starts_with("<path") && fill.starts_with("<path");
    if !both_paths || attribute(halo, "d")? != attribute(fill, "d")? {
        return None;
    }
    let (stroke, own) = (attribute(halo, "class")?, attribute(fill, "class")?);
    let is_halo = stroke.starts_with("s-") && !stroke.contains(' ') && !halo.contains(" fill=");
    let is_fill = own.starts_with("f-") && !own.contains(' ') && !fill.contains("stroke");
    if !is_halo || !is_fill {
        return None;
    }
    let width = attribute(halo, "stroke-width")?;
    let cap = attribute(halo, "stroke-linecap")
        .map_or_else(String::new, |cap| format!(" stroke-linecap=\"{cap}\""));
    let names = format!("class=\"h {own} {stroke}\" stroke-width=\"{width}\"{cap}");
    Some(fill.replacen(&format!("class=\"{own}\""), &names, 1))
}

/// Two strokes that differ by their shape alone are one stroke of two stretches.
fn one_stroke(before: &str, line: &str) -> Option<String> {
    let (first, second) = (attribute(before, "d")?, attribute(line, "d")?);
    let class = attribute(before, "class")?;
    let is_stroke =
        before.starts_with("<path") && !class.contains("f-") && !before.contains(" fill=");
    let same = with(before, "d", "") == with(line, "d", "");
    let nameless = !before.contains(" id=");
    (is_stroke && same && nameless).then(|| with(before, "d", &format!("{first}{second}")))
}

/// One command of a path with its numbers, hundredths of a millimetre.
type Step = (char, Vec<i64>);

/// Reads a path; `None` where it is not one that the figures write.
fn steps(d: &str) -> Option<Vec<Step>> {
    let mut out: Vec<Step> = Vec::new();
    let mut rest = d;
    while let Some(command) = rest.chars().next() {
        if !matches!(command, 'M' | 'm' | 'l' | 'q' | 'c' | 'z') {
            return None;
        }
        rest = &rest[1..];
        let end = rest
            .find(|c: char| c.is_ascii_alphabetic())
            .unwrap_or(rest.len());
        out.push((command, numbers(&rest[..end])?));
        rest = &rest[end..];
    }
    let whole = out.iter().all(|(command, numbers)| match command {
        'M' | 'm' => numbers.len() == 2,
        'l' => numbers.len() % 2 == 0,
        'q' => numbers.len() % 4 == 0,
        'c' => numbers.len() % 6 == 0,
        _ => numbers.is_empty(),
    });
    (whole && out.first().is_some_and(|(c, _)| *c == 'M')).then_some(out)
}

/// Numbers with two decimals at most, as hundredths. A minus sign, a space or a second decimal point
/// begins one (SVG 2, 9.3.9).
fn numbers(text: &str) -> Option<Vec<i64>> {
    let mut found = Vec::new();
    let mut rest = text.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        if matches!(first, b' ' | b',') {
            rest = after;
            continue;
        }
        let negative = *first == b'-';
        if negative {
            rest = after;
        }
        let (mut n, mut digits, mut decimals) = (0_i64, 0, None);
        while let Some((byte, after)) = rest.split_first() {
            match (byte, decimals) {
                (b'0', Some(2)) => {}
                (b'0'..=b'9', None | Some(0 | 1)) => {
                    n = n.checked_mul(10)?.checked_add(i64::from(byte - b'0'))?;
                    digits += 1;
                    decimals = decimals.map(|count| count + 1);
                }
                (b'.', None) => decimals = Some(0),
                (b' ' | b',' | b'-' | b'.', _) => break,
                _ => return None,
            }
            rest = after;
        }
        if digits == 0 {
            return None;
        }
        for _ in decimals.unwrap_or(0)..2 {
            n = n.checked_mul(10)?;
        }
        found.push(if negative { -n } else { n });
    }
    Some(found)
}

/// Writes a path on a grid: places are rounded, steps go between rounded places, so that rounding
/// does not add up. With a grid of 1 the numbers stay millimetres.
fn pen(steps: &[Step], grid: i64) -> String {
    let round = |n: i64| (n as f64 / grid as f64).round() as i64;
    let mut out = String::new();
    // True places, rounded places, and where the stretch began.
    let (mut at, mut shown) = ((0, 0), (0, 0));
    let (mut start, mut shown_start) = (at, shown);
    let mut last = ' ';
    let mut pen_at = (0, 0);
    for (command, numbers) in steps {
        match command {
            'M' | 'm' => {
                let from = if *command == 'm' { at } else { (0, 0) };
                at = (from.0 + numbers[0], from.1 + numbers[1]);
                shown = (round(at.0), round(at.1));
                (start, shown_start) = (at, shown);
                move_to(&mut out, &mut last, shown, pen_at, grid);
                pen_at = shown;
            }
            'z' => {
                out.push('z');
                last = 'z';
                (at, shown) = (start, shown_start);
                pen_at = shown;
            }
            _ => {
                let each = match command {
                    'l' => 2,
                    'q' => 4,
                    _ => 6,
                };
                for step in numbers.chunks(each) {
                    let mut moved = Vec::with_capacity(each);
                    for pair in step.chunks(2) {
                        let to = (round(at.0 + pair[0]), round(at.1 + pair[1]));
                        moved.extend([to.0 - shown.0, to.1 - shown.1]);
                    }
                    at = (at.0 + step[each - 2], at.1 + step[each - 1]);
                    // The first step stays: a line of no length with round ends is a dot.
                    if last != 'M' && moved.iter().all(|n| *n == 0) {
                        continue;
                    }
                    shown = (shown.0 + moved[each - 2], shown.1 + moved[each - 1]);
                    pen_at = shown;
                    match (command, moved[0], moved[1]) {
                        ('l', x, 0) => write(&mut out, &mut last, 'h', &[x], grid),
                        ('l', 0, y) => write(&mut out, &mut last, 'v', &[y], grid),
                        _ => write(&mut out, &mut last, *command, &moved, grid),
                    }
                }
            }
        }
    }
    out
}

/// Begins a stretch, at a place or at a step from the last one, whichever is shorter.
fn move_to(out: &mut String, last: &mut char, to: (i64, i64), from: (i64, i64), grid: i64) {
    let (mut place, mut step) = (String::new(), String::new());
    let first = *last == ' ';
    *last = ' ';
    write(&mut place, last, 'M', &[to.0, to.1], grid);
    *last = ' ';
    write(&mut step, last, 'm', &[to.0 - from.0, to.1 - from.1], grid);
    out.push_str(if first || place.len() <= step.len() {
        &place
    } else {
        &step
    });
    // A number after a move would be read as a line to there: the next command says its letter.
    *last = 'M';
}

/// One command: its letter unless it goes on from the last, its numbers with no sign to spare.
fn write(out: &mut String, last: &mut char, command: char, numbers: &[i64], grid: i64) {
    let mut first = *last != command;
    if first {
        out.push(command);
        *last = command;
    }
    for n in numbers {
        if !first && *n >= 0 {
            out.push(' ');
        }
        if grid == 1 {
            push_hundredths(out, *n);
        } else {
            let _ = write!(out, "{n}");
        }
        first = false;
    }
}

/// The value of an attribute.
fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
    value_of(tag, name).map(|range| &tag[range])
}

/// Where the value of an attribute stands.
fn value_of(tag: &str, name: &str) -> Option<Range<usize>> {
    let mut signs = tag.match_indices('=').map(|(at, _)| at);
    let from = signs.find_map(|at| {
        let before = tag[..at].strip_suffix(name)?;
        (before.ends_with(' ') && tag[at + 1..].starts_with('"')).then_some(at + 2)
    })?;
    let len = tag[from..].find('"')?;
    Some(from..from + len)
}

/// A tag with another value of an attribute that it has.
fn with(tag: &str, name: &str, value: &str) -> String {
    match value_of(tag, name) {
        Some(old) => format!("{}{value}{}", &tag[..old.start], &tag[old.end..]),
        None => tag.to_owned(),
    }
}

/// A tag without an attribute.
fn without(tag: &str, name: &str) -> String {
    match value_of(tag, name) {
        // From the space before its name to the quote after its value.
        Some(old) => {
            let start = old.start - name.len() - " =\"".len();
            format!("{}{}", &tag[..start], &tag[old.end + 1..])
        }
        None => tag.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use kurbo::{BezPath, ParamCurve, PathSeg, Shape};

    use super::*;

    /// Points along a path, eight a segment, scaled.
    fn along(d: &str, scale: f64) -> Vec<(f64, f64)> {
        let path = BezPath::from_svg(d).expect("path data");
        let segs: Vec<PathSeg> = path.path_segments(0.1).collect();
        let points = segs
            .iter()
            .flat_map(|seg| (0..=8).map(|i| seg.eval(f64::from(i) / 8.0)));
        points.map(|p| (p.x * scale, p.y * scale)).collect()
    }

    #[test]
    fn a_path_on_a_grid_stays_within_a_unit_of_it() {
        let d =
            "M73.07 16.13q1.27-2.31 1.83-4.44l.5 0-.26 1.18m2.5-1c-.25-.03-.44-.26-.41-.51l0 .3z";
        let steps = steps(d).expect("a path of the figures");
        for (grid, scale) in [(GRID, 0.1), (5, 0.05)] {
            let light = pen(&steps, grid);
            assert!(!light.contains('.'), "{light}");
            let (before, after) = (along(d, 1.0), along(&light, scale));
            assert_eq!(before.len(), after.len(), "{light}");
            for (a, b) in before.iter().zip(&after) {
                let off = (a.0 - b.0).abs().max((a.1 - b.1).abs());
                assert!(off <= scale * 0.501, "{a:?} became {b:?} in {light}");
            }
        }
    }

    #[test]
    fn without_a_grid_the_numbers_stay_and_lose_what_is_not_needed() {
        let read = steps("M0.5 10l3.50 0 0-.05.26 1.18z").expect("a path");
        assert_eq!(pen(&read, 1), "M.5 10h3.5v-.05l.26 1.18z");
        assert_eq!(steps("M0 0a1 1 0 0 0 2 2"), None);
        assert_eq!(steps("M0 0L1 1"), None);
    }

    #[test]
    fn a_dot_stays_a_dot() {
        let read = steps("M1 1l0 0").expect("a path");
        assert_eq!(pen(&read, GRID), "M10 10h0");
    }

    #[test]
    fn halo_and_fill_of_one_shape_become_one_element() {
        let inside = "<g id=\"r-climber\" data-layer=\"climber\">\n\
            <path class=\"s-paper\" stroke-width=\".6\" d=\"M1 1l2 0z\"/>\n\
            <path class=\"f-far\" d=\"M1 1l2 0z\"/>\n</g>";
        let light = lighter(inside, Names::Given);
        assert_eq!(
            light,
            "<g transform=\"scale(.1)\"><path class=\"h f-far s-paper\" \
             stroke-width=\"6\" d=\"M10 10h20z\"/></g>"
        );
    }

    #[test]
    fn strokes_alike_become_one_and_strokes_of_other_width_stay() {
        let stroke = |width: &str, d: &str| {
            format!("<path class=\"s-grain\" stroke-width=\"{width}\" d=\"{d}\"/>\n")
        };
        let inside = format!(
            "<g data-layer=\"wood\">\n{}{}{}</g>",
            stroke(".2", "M100 100l1 2"),
            stroke(".2", "M101 103l1 2"),
            stroke(".3", "M0 0l1 2")
        );
        let light = lighter(&inside, Names::Given);
        assert_eq!(
            light,
            "<g transform=\"scale(.1)\"><path class=\"s-grain\" stroke-width=\"2\" d=\"M1000 1000l10 20m0 10l10 20\"/>\
             <path class=\"s-grain\" stroke-width=\"3\" d=\"M0 0l10 20\"/></g>"
        );
    }

    #[test]
    fn a_shape_that_comes_twice_is_named_by_what_it_is() {
        let d = "M1 1".to_owned() + &"l2 3-2 4".repeat(9);
        let inside = format!(
            "<title id=\"r-title\">a</title>\n<defs>\n<path id=\"r-o1\" d=\"{d}\"/>\n</defs>\n\
             <g id=\"r-wood\" data-layer=\"wood\">\n<use href=\"#r-o1\" class=\"s-bark\" stroke-width=\"1\"/>\n\
             <path class=\"s-grain\" d=\"M0 0l1 1\"/>\n<use href=\"#r-o1\" class=\"f-wood\"/>\n</g>"
        );
        let light = lighter(&inside, Names::Given);
        let name = light.split("<defs><path id=\"").nth(1);
        let name = name.and_then(|rest| rest.split('"').next());
        let name = name.expect("the shape is named");
        let used = format!("<use href=\"#{name}\" x=\"10\" y=\"10\" class=");
        assert_eq!(light.matches(&used).count(), 2);
        assert!(
            light.starts_with("<title id=\"r-title\">a</title>\n<defs>"),
            "{light}"
        );
        let apart = lighter(&inside, Names::None);
        assert!(
            !apart.contains("<use") && !apart.contains("<defs"),
            "{apart}"
        );
        assert_eq!(apart.matches("M10 10l20 30-20 40").count(), 2);
    }

    #[test]
    fn a_shape_has_one_name_wherever_it_stands() {
        let steps = "l2 3-2 4".repeat(9);
        let inside = format!(
            "<g data-layer=\"wood\">\n<path class=\"f-wood\" d=\"M1-2{steps}\"/>\n\
             <path class=\"f-wood\" d=\"M30 4.5{steps}\"/>\n</g>"
        );
        let light = lighter(&inside, Names::Given);
        assert_eq!(light.matches("<path").count(), 1, "{light}");
        assert!(light.contains("d=\"M0 0l20 30"), "{light}");
        for place in ["x=\"10\" y=\"-20\"", "x=\"300\" y=\"45\""] {
            assert!(light.contains(place), "{light}");
        }
    }

    #[test]
    fn a_clipped_group_is_scaled_inside_its_clip() {
        let inside = "<g data-layer=\"detail\">\n\
            <clipPath id=\"r-clip-1\"><path d=\"M1 1l2 0 0 2z\"/></clipPath>\n\
            <g clip-path=\"url(#r-clip-1)\">\n<g id=\"r-x\">\n\
            <path class=\"s-ink\" stroke-width=\".2\" d=\"M1 1l2 0\"/>\n</g>\n</g>\n\
            <text x=\"1\" y=\"2\" text-anchor=\"end\" class=\"f-ink\">a</text>\n</g>";
        let light = lighter(inside, Names::Given);
        assert_eq!(
            light,
            "<g><clipPath id=\"r-clip-1\"><path d=\"M1 1l2 0 0 2z\"/></clipPath>\
             <g clip-path=\"url(#r-clip-1)\"><g transform=\"scale(.1)\">\
             <path class=\"s-ink\" stroke-width=\"2\" d=\"M10 10h20\"/></g></g>\
             <text class=\"e\" x=\"1\" y=\"2\">a</text>\n</g>"
        );
    }

    #[test]
    fn every_short_class_has_its_rule() {
        let rules = rules();
        for (attribute, class, rule) in SHORT {
            let said = attribute.trim().replacen('=', ":", 1).replace('"', "");
            assert_eq!(said, rule);
            assert!(rules.contains(&format!(".{class}{{{rule}}}")), "{rules}");
        }
    }

    #[test]
    fn layers_with_letters_keep_their_millimetres() {
        let inside = "<g id=\"r-label\" data-layer=\"label\">\n\
            <path class=\"s-ink\" stroke-width=\".25\" d=\"M1 1l2 1\"/>\n\
            <text x=\"1\" y=\"2\">top</text>\n</g>";
        let light = lighter(inside, Names::Given);
        assert_eq!(
            light,
            "<g><path class=\"s-ink\" stroke-width=\".25\" d=\"M1 1l2 1\"/><text x=\"1\" y=\"2\">top</text>\n</g>"
        );
    }
}
