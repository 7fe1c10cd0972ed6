//! Figures as elements of one page, each with ids of its own.
//!
//! A drawing's lettering has a size on paper, so that a drawing made for a wide plate is too small
//! to read on a phone or in half a column. Those places get a drawing of their own, laid out for
//! less width, with the same numbers. Half columns have it in the page; those for phones stand in a
//! script beside the page, so that the page stays light and a phone without scripts shows the wide
//! one.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::figure::{self, Detail, Drawing, Style};
use crate::pack::RigId;
use crate::rig::FigureKind;

use super::layers::Layers;
use super::lighter::Names;
use super::terms::Unlinked;
use super::{Site, svg};

/// A figure inside a page.
#[derive(Debug, Clone, Serialize)]
pub(super) struct FigureView {
    /// The word of its kind: `pulls`.
    pub(super) kind: &'static str,
    /// The drawing as an element of the page.
    pub(super) svg_html: String,
    /// Name of a second drawing that phones show in its place.
    pub(super) phone: Option<String>,
}

/// Width on paper of a drawing for phones and half columns, millimetres: at 343 px, a phone of
/// 375 px less the margins, its lettering of 3.6 mm is 13 px high.
const SMALL_MM: f64 = 94.0;

/// How much room a figure has on a wide screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Room {
    /// A plate; phones get a second drawing.
    Wide,
    /// Half a column or less on every screen.
    Small,
}

/// Figures that the page has already.
#[derive(Debug, Default)]
pub(super) struct Shown {
    ids: Vec<String>,
    layers: Layers,
    /// Terms of the glossary that the page has not linked yet.
    pub(super) unlinked: Vec<Unlinked>,
    /// Drawings for phones, by the prefix and id that the page asks for them with.
    pub(super) for_phones: BTreeMap<String, String>,
}

impl Shown {
    /// The figure as an element of the page, if it was drawn.
    pub(super) fn figure(
        &mut self,
        site: &Site<'_>,
        rig: RigId,
        kind: FigureKind,
        room: Room,
    ) -> Option<FigureView> {
        let wide = site.figures.get(rig, kind)?;
        let pack = site.pack();
        let style = Style {
            units: pack.units,
            width_mm: SMALL_MM,
            detail: Detail::Small,
            shelf: figure::Shelf::of(pack),
            right: false,
        };
        let small = site.draw(rig, kind, style);
        let (svg_html, phone) = match (room, &small) {
            (Room::Wide, Some(small)) => {
                let wide = self.shared(wide, "");
                let phone = self.inline(small, "small-", Names::None);
                let key = format!("{}{}", self.ids.len(), small.id);
                self.for_phones.insert(key.clone(), phone);
                (wide, Some(key))
            }
            (Room::Small, Some(small)) => (self.shared(small, "small-"), None),
            (_, None) => (self.shared(wide, ""), None),
        };
        Some(FigureView {
            kind: kind.word(),
            svg_html,
            phone,
        })
    }

    /// A drawing in the page itself: layers that the page has already are used again.
    fn shared(&mut self, drawing: &Drawing, size: &str) -> String {
        let svg = self.inline(drawing, size, Names::Given);
        self.layers.share(&svg)
    }

    /// Writes a drawing with a prefix before its ids that no figure of the page has yet.
    fn inline(&mut self, drawing: &Drawing, size: &str, names: Names) -> String {
        let own = format!("{size}{}", drawing.id);
        let times = self.ids.iter().filter(|id| **id == own).count();
        self.ids.push(own);
        let again = match times {
            0 => size.to_owned(),
            n => format!("again{n}-{size}"),
        };
        svg::inline(drawing, &again, names)
    }
}
