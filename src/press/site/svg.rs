//! A drawing as an element of a page.
//!
//! The drawing's own `<style>` moves to the theme (a strict content policy lets no inline style
//! through), and with it the literal colours that its classes repeat; its ids are unique by rig and
//! kind, and get a prefix where a page shows it again.

use std::collections::BTreeSet;

use crate::figure::Drawing;

use super::lighter::{Names, lighter};

/// The rules of a drawing's `<style>`, one a line, without the `@media` around them: the theme gives
/// their variables for screen and paper.
pub(super) fn rules_of(svg: &str) -> BTreeSet<&str> {
    let style = svg.split_once("<style").map_or("", |(_, rest)| rest);
    let style = style.split_once("</style>").map_or("", |(style, _)| style);
    let rules = style.lines().map(str::trim);
    rules.filter(|line| line.starts_with('.')).collect()
}

/// The drawing without prolog and style, with a class of ours; `again` goes before every id.
pub(super) fn inline(drawing: &Drawing, again: &str, names: Names) -> String {
    let svg = &drawing.svg;
    let start = svg.find("<svg").unwrap_or(0);
    let mut text = svg[start..].trim_end().to_owned();
    if let (Some(from), Some(to)) = (text.find("<style"), text.find("</style>")) {
        text.replace_range(from..to + "</style>".len(), "");
    }
    text = text.replacen("<svg", "<svg class=\"fig\" focusable=\"false\"", 1);
    if let Some(end) = text.find('>') {
        let tag = without_size(&text[..end]);
        text.replace_range(..end, &tag);
    }
    text = without_literals(&text);
    if let (Some(open), Some(close)) = (text.find('>'), text.rfind("</svg>")) {
        let inside = lighter(&text[open + 1..close], names);
        text.replace_range(open + 1..close, &inside);
    }
    if again.is_empty() {
        return text;
    }
    let id = &drawing.id;
    for (before, after) in [
        (format!("id=\"{id}"), format!("id=\"{again}{id}")),
        (format!("url(#{id}"), format!("url(#{again}{id}")),
        (format!("href=\"#{id}"), format!("href=\"#{again}{id}")),
        (
            format!("aria-labelledby=\"{id}-title {id}-desc\""),
            format!("aria-labelledby=\"{again}{id}-title {again}{id}-desc\""),
        ),
    ] {
        text = text.replace(&before, &after);
    }
    text
}

/// The elements without the literal colours that their classes give as well.
fn without_literals(svg: &str) -> String {
    let mut out = String::with_capacity(svg.len());
    for (i, part) in svg.split('<').enumerate() {
        if i > 0 {
            out.push('<');
        }
        let (tag, rest) = part.split_once('>').unwrap_or((part, ""));
        let class = tag.split_once(" class=\"").map_or("", |(_, rest)| rest);
        let class = class.split('"').next().unwrap_or_default();
        let has = |mark: &str| class.split(' ').any(|name| name.starts_with(mark));
        let mut tag = tag.to_owned();
        for (mark, literal) in [("f-", " fill=\"#"), ("s-", " stroke=\"#")] {
            if has(mark)
                && let Some(from) = tag.find(literal)
                && let Some(len) = tag[from + literal.len()..].find('"')
            {
                tag.replace_range(from..=from + literal.len() + len, "");
            }
        }
        out.push_str(&tag);
        if part.contains('>') {
            out.push('>');
            out.push_str(rest);
        }
    }
    out
}

/// The root's tag without its size on paper: the page gives the width, the view box the shape.
fn without_size(tag: &str) -> String {
    let mut out = tag.to_owned();
    for name in [" width=\"", " height=\""] {
        if let Some(from) = out.find(name)
            && let Some(len) = out[from + name.len()..].find('"')
        {
            out.replace_range(from..=from + name.len() + len, "");
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const SVG: &str = "<?xml version=\"1.0\"?><svg width=\"9mm\" height=\"9mm\" viewBox=\"0 0 9 9\" \
        aria-labelledby=\"r-pulls-title r-pulls-desc\"><title id=\"r-pulls-title\">a &gt; b</title>\
        <style type=\"text/CSS\">@media screen{\n.f-ink{fill:var(--rl-ink,#1B2530)}\n}</style>\
        <g id=\"r-pulls-rope\"><path class=\"f-ink\" fill=\"#1B2530\" stroke=\"#123456\" d=\"M0 0\"/></g></svg>";

    fn drawing() -> Drawing {
        Drawing {
            id: "r-pulls".to_owned(),
            title: String::new(),
            description: String::new(),
            svg: SVG.to_owned(),
            size_mm: (9.0, 9.0),
        }
    }

    #[test]
    fn a_drawing_becomes_an_element() {
        let svg = inline(&drawing(), "small-", Names::Given);
        assert!(svg.starts_with("<svg class=\"fig\" focusable=\"false\" viewBox"));
        assert!(svg.contains("aria-labelledby=\"small-r-pulls-title small-r-pulls-desc\""));
        assert!(svg.contains("id=\"small-r-pulls-rope\""));
        assert!(!svg.contains("<style"));
        assert!(svg.contains("a &gt; b</title>"));
    }

    #[test]
    fn only_a_colour_that_a_class_gives_is_taken_off() {
        let svg = inline(&drawing(), "", Names::Given);
        assert!(!svg.contains("fill=\"#1B2530\""));
        assert!(svg.contains("stroke=\"#123456\""));
        let rules = rules_of(SVG);
        assert_eq!(
            rules.into_iter().collect::<Vec<_>>(),
            [".f-ink{fill:var(--rl-ink,#1B2530)}"]
        );
    }
}
