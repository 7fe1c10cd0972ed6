//! Figures as elements of one page, each with ids of its own.
//!
//! A drawing's lettering has a size on paper, so that a drawing made for a wide plate is too small
//! to read on a phone or in half a column. Those places get a drawing of their own, laid out for
//! less width, with the same numbers. Half columns have it in the page; those for phones stand in a
//! script beside the page, so that the page stays light and a phone without scripts shows the wide
//! one.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::figure::{self, Detail, Picture, Style};
use crate::pack::{Pack, RigId};
use crate::press::style;
use crate::rig::FigureKind;

use super::Site;
use super::layers::Layers;
use super::lighter::Names;
use super::svg::Drawn;
use super::terms::Unlinked;

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

/// Before the ids of such a drawing.
const SMALL: &str = "small-";

/// What a drawing is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub(super) enum Form {
    /// A plate of a page, and a file of its own.
    Plate,
    /// Half a column of a page.
    Column,
    /// A phone, apart from the page's other drawings.
    Phone,
}

impl Form {
    /// How it is drawn.
    pub(super) fn style(self, pack: &Pack) -> Style<'_> {
        match self {
            Self::Plate => style(pack),
            Self::Column | Self::Phone => Style {
                width_mm: SMALL_MM,
                detail: Detail::Small,
                ..style(pack)
            },
        }
    }

    /// A picture, written.
    pub(super) fn written(self, picture: Picture) -> Drawn {
        let names = match self {
            Self::Plate | Self::Column => Names::Given,
            Self::Phone => Names::None,
        };
        Drawn::of(picture, names, self == Self::Plate)
    }
}

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
    /// The figure as an element of the page, if it says something about the rig; with room for a plate
    /// only where the page's lesson asks for it.
    pub(super) fn figure(
        &mut self,
        site: &Site<'_>,
        rig: RigId,
        kind: FigureKind,
        room: Room,
    ) -> Option<FigureView> {
        let (svg_html, phone) = match room {
            Room::Wide => {
                let element = site.elements.get(&(rig, kind))?;
                let small = site.draw(rig, kind, Form::Phone);
                let own = self.own_id("", &figure::id_of(site.pack().rig(rig), kind));
                let wide = self.layers.share(element, &own);
                (wide, small.map(|small| self.for_phone(&small)))
            }
            Room::Small => {
                let Drawn { drawing, element } = site.draw(rig, kind, Form::Column)?;
                let own = self.own_id(SMALL, &drawing.id);
                (self.layers.share(&element, &own), None)
            }
        };
        Some(FigureView {
            kind: kind.word(),
            svg_html,
            phone,
        })
    }

    /// Keeps a drawing for phones; its name.
    fn for_phone(&mut self, small: &Drawn) -> String {
        let id = &small.drawing.id;
        let own = self.own_id(SMALL, id);
        let key = format!("{}{id}", self.ids.len());
        self.for_phones
            .insert(key.clone(), small.element.alone(&own));
        key
    }

    /// The id of a drawing, with a prefix that no figure of the page has yet.
    fn own_id(&mut self, size: &str, id: &str) -> String {
        let own = format!("{size}{id}");
        let times = self.ids.iter().filter(|id| **id == own).count();
        let again = match times {
            0 => own.clone(),
            n => format!("again{n}-{own}"),
        };
        self.ids.push(own);
        again
    }
}
