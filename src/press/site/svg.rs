//! A drawing as an element of a page.
//!
//! It has no style of its own (a strict content policy lets none through): the theme says what its
//! classes are. Its ids are unique by rig and kind, and get a prefix where a page shows it again.

use crate::figure::number::coord;
use crate::figure::text::SIZE_MM;
use crate::figure::{Drawing, Picture, Scheme, escape};

use super::lighter::{Names, lighter};

/// Stands for the id of the drawing in a page: no text holds it, since control characters of texts
/// become spaces.
pub(super) const OWN_ID: char = '\u{1}';

/// A drawing as a page needs it.
#[derive(Debug, Clone)]
pub(crate) struct Drawn {
    /// The drawing; its document is empty where it stands in pages only.
    pub(super) drawing: Drawing,
    /// As an element.
    pub(super) element: Element,
}

impl Drawn {
    /// Writes a picture as an element, and as a document where that is wanted.
    pub(super) fn of(picture: Picture, names: Names, document: bool) -> Self {
        let element = Element::of(&picture, names);
        let drawing = if document {
            picture.written(Scheme::Page)
        } else {
            picture.unwritten()
        };
        Self { drawing, element }
    }
}

/// A drawing as an element, for whatever id it has in a page.
#[derive(Debug, Clone)]
pub(crate) struct Element {
    /// Root tag, title, description.
    pub(super) head: String,
    /// Shapes that its layers use by name.
    pub(super) shapes: Vec<String>,
    /// Layers, from the back.
    pub(super) layers: Vec<Layer>,
}

/// A layer as an element.
#[derive(Debug, Clone)]
pub(crate) struct Layer {
    pub(super) text: String,
    /// Whether ids of the drawing stand in it.
    pub(super) own_ids: bool,
}

impl Element {
    fn of(picture: &Picture, names: Names) -> Self {
        let head = picture.head();
        let (shapes, layers) = lighter(picture, names);
        let (width, height) = (coord(head.size_mm.0), coord(head.size_mm.1));
        let head = format!(
            "<svg class=\"fig\" focusable=\"false\" xmlns=\"http://www.w3.org/2000/svg\" \
             viewBox=\"0 0 {width} {height}\" role=\"img\" \
             aria-labelledby=\"{OWN_ID}-title {OWN_ID}-desc\" \
             font-family=\"'IBM Plex Sans',sans-serif\" font-size=\"{size}\" fill=\"none\" \
             stroke-linejoin=\"round\" stroke-linecap=\"round\" data-kind=\"{kind}\">\
             <title id=\"{OWN_ID}-title\">{title}</title>\n\
             <desc id=\"{OWN_ID}-desc\">{desc}</desc>\n",
            size = coord(SIZE_MM),
            kind = head.kind,
            title = escape(head.title),
            desc = escape(head.description),
        );
        Self {
            head,
            shapes,
            layers,
        }
    }

    /// The whole element with the id that it has in its page.
    pub(super) fn alone(&self, id: &str) -> String {
        let layers = self.layers.iter().map(|layer| layer.text.len());
        let shapes = self.shapes.iter().map(String::len);
        let room = self.head.len() + layers.chain(shapes).sum::<usize>();
        let mut out = String::with_capacity(room + ROOM_FOR_IDS);
        push_with_id(&mut out, &self.head, id);
        if !self.shapes.is_empty() {
            out.push_str("<defs>");
            self.shapes.iter().for_each(|shape| out.push_str(shape));
            out.push_str("</defs>");
        }
        for layer in &self.layers {
            layer.push_to(&mut out, id);
        }
        out.push_str("</svg>");
        out
    }
}

impl Layer {
    /// Adds the layer with the id that the drawing has in its page.
    pub(super) fn push_to(&self, out: &mut String, id: &str) {
        match self.own_ids {
            true => push_with_id(out, &self.text, id),
            false => out.push_str(&self.text),
        }
    }
}

/// Room for ids in a drawing, and for what stands round its layers: bytes.
pub(super) const ROOM_FOR_IDS: usize = 256;

/// Adds a text with the id of the drawing in its page.
pub(super) fn push_with_id(out: &mut String, text: &str, id: &str) {
    let id = escape(id);
    let mut parts = text.split(OWN_ID);
    out.push_str(parts.next().unwrap_or_default());
    for part in parts {
        out.push_str(&id);
        out.push_str(part);
    }
}
