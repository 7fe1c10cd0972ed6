//! The parts that a zone is made of; each module that builds one has its rows.

use serde::Serialize;

use crate::press::view::{KitRow, Matrix, Pairings};

use super::blocks::{CriterionRow, FaultRow, QuestionRow, StepRow};
use super::course::OrderRow;
use super::data::DataTables;
use super::day::{Aims, FillIn};
use super::files::FileRow;
use super::front::CourseRow;
use super::gallery::GalleryRow;
use super::kit::{RegisterRow, TodoRow};
use super::list::Listing;
use super::mistakes::Twins;
use super::record::Facts;
use super::sheet::Neighbour;
use super::shown::FigureView;
use super::terms::TermRow;
use super::zone::{Half, PlateView};

/// One thing in a zone.
#[derive(Debug, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub(super) enum PartView {
    Text {
        html: String,
    },
    Beside {
        html: String,
        figure: FigureView,
    },
    Plate(Box<PlateView>),
    Figures {
        figures: Vec<FigureView>,
        caption_html: Option<String>,
    },
    Pair {
        right: Half,
        wrong: Half,
    },
    Steps {
        items: Vec<StepRow>,
    },
    Faults {
        rows: Vec<FaultRow>,
    },
    Questions {
        items: Vec<QuestionRow>,
    },
    Marking {
        rows: Vec<CriterionRow>,
        measured: bool,
    },
    Kit {
        rows: Vec<KitRow>,
        tested: bool,
    },
    Cautions {
        items: Vec<String>,
    },
    References {
        items: Vec<String>,
    },
    Files {
        rows: Vec<FileRow>,
    },
    Data {
        tables: Box<DataTables>,
    },
    Log {
        code: String,
    },
    Order {
        rows: Vec<OrderRow>,
    },
    Matrix(Matrix),
    CourseLog {
        codes: Vec<String>,
    },
    About {
        figure: Option<FigureView>,
        lessons: Vec<Neighbour>,
    },
    Course {
        course: CourseRow,
    },
    Keys,
    Todo {
        items: Vec<TodoRow>,
    },
    Register {
        rows: Vec<RegisterRow>,
    },
    Pairings(Pairings),
    Dates {
        examine: String,
    },
    Twins(Box<Twins>),
    /// A link on.
    More {
        link: Neighbour,
    },
    Listing(Listing),
    Facts(Facts),
    Aims(Aims),
    FillIn(FillIn),
    Bring {
        items: Vec<String>,
    },
    Gallery {
        rows: Vec<GalleryRow>,
    },
    Terms {
        rows: Vec<TermRow>,
    },
}

impl PartView {
    /// How long its drawings are, where it is one of a lesson's with large ones.
    pub(super) fn drawn_bytes(&self) -> usize {
        let of = |figure: &FigureView| figure.svg_html.len();
        match self {
            Self::Beside { figure, .. } => of(figure),
            Self::Plate(plate) => plate.figure.iter().chain(&plate.more).map(of).sum(),
            Self::Figures { figures, .. } => figures.iter().map(of).sum(),
            Self::Pair { right, wrong } => {
                let figures = right.figure.iter().chain(&wrong.figure);
                figures.map(of).sum()
            }
            _ => 0,
        }
    }
}
