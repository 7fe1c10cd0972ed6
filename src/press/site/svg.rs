//! A drawing as an element of a page.
//!
//! The drawing's own `<style>` moves to the theme (a strict content policy lets no inline style
//! through); its ids are unique by rig and kind, and get a prefix where a page shows it again.

use crate::figure::Drawing;

/// What stands between `<style>` and `</style>`.
pub(super) fn style_of(svg: &str) -> Option<&str> {
    let (_, rest) = svg.split_once("<style>")?;
    rest.split_once("</style>").map(|(style, _)| style.trim())
}

/// The drawing without prolog and style, with a class of ours; `again` goes before every id.
pub(super) fn inline(drawing: &Drawing, again: &str) -> String {
    let svg = &drawing.svg;
    let start = svg.find("<svg").unwrap_or(0);
    let mut text = svg[start..].trim_end().to_owned();
    if let (Some(from), Some(to)) = (text.find("<style>"), text.find("</style>")) {
        text.replace_range(from..to + "</style>".len(), "");
    }
    text = text.replacen("<svg", "<svg class=\"fig\" focusable=\"false\"", 1);
    if let Some(end) = text.find('>') {
        let tag = without_size(&text[..end]);
        text.replace_range(..end, &tag);
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
