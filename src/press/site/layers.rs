//! Layers that several drawings of one page have alike: the tree of the pulls and of the zone. They
//! stand in the page once, and are used where they come again.

use std::collections::{BTreeMap, BTreeSet};

/// A layer shorter than this is not worth a name: bytes.
const WORTH_SHARING: usize = 120;

/// The layers that a page has already, by their text.
#[derive(Debug, Default)]
pub(super) struct Layers {
    known: BTreeMap<String, String>,
    shapes: BTreeSet<String>,
}

impl Layers {
    /// Puts a use in the place of each layer that the page has, and names those that are new.
    pub(super) fn share(&mut self, svg: &str) -> String {
        let svg = self.new_shapes(svg);
        let mut out = String::with_capacity(svg.len());
        let mut rest = svg.as_str();
        while let Some(start) = rest.find("<g") {
            let (before, from) = rest.split_at(start);
            out.push_str(before);
            let end = end_of_group(from);
            let (layer, after) = from.split_at(end);
            rest = after;
            if layer.len() < WORTH_SHARING || layer.contains(" id=") {
                out.push_str(layer);
                continue;
            }
            let next = format!("y{}", self.known.len() + 1);
            match self.known.get(layer) {
                Some(id) => out.push_str(&format!("<use href=\"#{id}\"/>")),
                None => {
                    out.push_str(&layer.replacen("<g", &format!("<g id=\"{next}\""), 1));
                    self.known.insert(layer.to_owned(), next);
                }
            }
        }
        out.push_str(rest);
        out
    }
}

impl Layers {
    /// Leaves out the named shapes that the page has already: a shape's name says what it is.
    fn new_shapes(&mut self, svg: &str) -> String {
        let parts = svg.split_once("<defs>");
        let parts = parts.and_then(|(before, rest)| Some((before, rest.split_once("</defs>")?)));
        let Some((before, (shapes, after))) = parts else {
            return svg.to_owned();
        };
        let each = shapes.split_inclusive("/>");
        let fresh: String = each
            .filter(|shape| self.shapes.insert((*shape).to_owned()))
            .collect();
        if fresh.is_empty() {
            return format!("{before}{after}");
        }
        format!("{before}<defs>{fresh}</defs>{after}")
    }
}

/// Where the group that a text begins with ends.
fn end_of_group(text: &str) -> usize {
    let mut depth = 0_usize;
    let mut at = 0;
    while let Some(next) = text[at..].find('<') {
        at += next;
        if text[at..].starts_with("<g>") || text[at..].starts_with("<g ") {
            depth += 1;
        } else if text[at..].starts_with("</g>") {
            depth = depth.saturating_sub(1);
            if depth == 0 {
                return at + "</g>".len();
            }
        }
        at += 1;
    }
    text.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_layer_stands_once_and_is_used_where_it_comes_again() {
        let wood = format!(
            "<g transform=\"scale(.1)\"><g><path d=\"{}\"/></g></g>",
            "M0 0h1".repeat(30)
        );
        let first = format!("<svg>{wood}<g><text>a</text></g></svg>");
        let second = format!("<svg>{wood}<g><text>b</text></g></svg>");
        let mut layers = Layers::default();
        let named = wood.replacen("<g", "<g id=\"y1\"", 1);
        assert_eq!(
            layers.share(&first),
            format!("<svg>{named}<g><text>a</text></g></svg>")
        );
        assert_eq!(
            layers.share(&second),
            "<svg><use href=\"#y1\"/><g><text>b</text></g></svg>"
        );
    }
}
