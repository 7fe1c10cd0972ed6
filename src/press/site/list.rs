//! A register: what a row is about, then a cell for each thing to say of it. Most pages that only
//! look things up are made of registers.

use serde::Serialize;

use super::sheet::Neighbour;

/// A register.
#[derive(Debug, Serialize)]
pub(super) struct Listing {
    /// What it lists, for readers' machines.
    pub(super) caption: String,
    /// Column headings, the rows' own first.
    pub(super) head: Vec<String>,
    pub(super) rows: Vec<ListRow>,
}

/// A row.
#[derive(Debug, Default, Serialize)]
pub(super) struct ListRow {
    /// Its fragment.
    pub(super) id: Option<String>,
    pub(super) name: String,
    /// Where its name leads, from the page.
    pub(super) href: Option<String>,
    /// A second line.
    pub(super) small: Option<String>,
    pub(super) cells: Vec<ListCell>,
    /// The language of its texts, where it is not the page's.
    pub(super) lang: Option<&'static str>,
}

/// A cell: links, or a text.
#[derive(Debug, Default, Serialize)]
pub(super) struct ListCell {
    pub(super) text: String,
    pub(super) links: Vec<Neighbour>,
    /// Whether links are shown with their titles, one a line.
    pub(super) titles: bool,
}

impl ListCell {
    pub(super) fn text(text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            ..Self::default()
        }
    }

    /// Links by their codes alone; a dash where there are none.
    pub(super) fn codes(links: Vec<Neighbour>) -> Self {
        Self {
            text: crate::press::view::DASH.to_owned(),
            links,
            titles: false,
        }
    }

    /// Links by code and title, one a line.
    pub(super) fn titles(links: Vec<Neighbour>) -> Self {
        Self {
            titles: true,
            ..Self::codes(links)
        }
    }
}
