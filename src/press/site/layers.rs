//! Layers that several drawings of one page have alike: the tree of the pulls and of the zone. They
//! stand in the page once, and are used where they come again.

use std::collections::{BTreeMap, BTreeSet};

use super::svg::{Element, ROOM_FOR_IDS, push_with_id};

/// A layer shorter than this is not worth a name: bytes.
const WORTH_SHARING: usize = 120;

/// The layers that a page has already, by their text.
#[derive(Debug, Default)]
pub(super) struct Layers {
    known: BTreeMap<String, String>,
    shapes: BTreeSet<String>,
}

impl Layers {
    /// Writes a drawing with its id in the page: a use in the place of each layer that the page has,
    /// a name for those that are new. Named shapes that the page has are left out: a shape's name
    /// says what it is.
    pub(super) fn share(&mut self, element: &Element, id: &str) -> String {
        let room = element.layers.iter().map(|layer| layer.text.len() + 16);
        let shapes = element.shapes.iter().map(String::len);
        let room = element.head.len() + room.chain(shapes).sum::<usize>();
        let mut out = String::with_capacity(room + ROOM_FOR_IDS);
        push_with_id(&mut out, &element.head, id);
        let shapes = element.shapes.iter();
        let mut fresh = shapes
            .filter(|shape| self.shapes.insert((*shape).clone()))
            .peekable();
        if fresh.peek().is_some() {
            out.push_str("<defs>");
            fresh.for_each(|shape| out.push_str(shape));
            out.push_str("</defs>");
        }
        for layer in &element.layers {
            if layer.text.len() < WORTH_SHARING || layer.own_ids {
                layer.push_to(&mut out, id);
                continue;
            }
            match self.known.get(&layer.text) {
                Some(name) => {
                    out.push_str("<use href=\"#");
                    out.push_str(name);
                    out.push_str("\"/>");
                }
                None => {
                    let name = format!("y{}", self.known.len() + 1);
                    // Right after `<g`, before its attributes.
                    out.push_str("<g id=\"");
                    out.push_str(&name);
                    out.push('"');
                    out.push_str(layer.text.strip_prefix("<g").unwrap_or_default());
                    self.known.insert(layer.text.clone(), name);
                }
            }
        }
        out.push_str("</svg>");
        out
    }
}

#[cfg(test)]
mod tests {
    use super::super::svg::{Layer, OWN_ID};
    use super::*;

    fn element(texts: &[&str]) -> Element {
        let layer = |text: &&str| Layer {
            text: (*text).to_owned(),
            own_ids: text.contains(OWN_ID),
        };
        Element {
            head: format!("<svg id=\"{OWN_ID}\">"),
            shapes: vec!["<path id=\"s1\" d=\"M0 0\"/>".to_owned()],
            layers: texts.iter().map(layer).collect(),
        }
    }

    #[test]
    fn a_layer_stands_once_and_is_used_where_it_comes_again() {
        let wood = format!(
            "<g transform=\"scale(.1)\"><path d=\"{}\"/></g>",
            "M0 0h1".repeat(30)
        );
        let clip = format!("<g><clipPath id=\"{OWN_ID}-clip-1\"/></g>");
        let mut layers = Layers::default();
        let first = layers.share(&element(&[&wood, &clip, "<g>a</g>"]), "r");
        let second = layers.share(&element(&[&wood, &clip, "<g>b</g>"]), "t");
        let named = wood.replacen("<g", "<g id=\"y1\"", 1);
        assert_eq!(
            first,
            format!(
                "<svg id=\"r\"><defs><path id=\"s1\" d=\"M0 0\"/></defs>{named}\
                 <g><clipPath id=\"r-clip-1\"/></g><g>a</g></svg>"
            )
        );
        assert_eq!(
            second,
            "<svg id=\"t\"><use href=\"#y1\"/><g><clipPath id=\"t-clip-1\"/></g><g>b</g></svg>"
        );
    }
}
