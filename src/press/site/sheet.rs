//! A page as plain data: what the templates lay out.
//!
//! Strings named `html` are finished and safe ([`crate::press::text`] made them); all others are
//! escaped by the template engine.
//!
//! Over 500 lines: one page's data, zone by zone, in the order of the page.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::press::text::{HtmlWriter, plain};
use crate::press::view::{
    ChangeRow, Document, KitRow, NumbersTable, Rich, TitleBlock, changes, language, title_block,
};

use super::Site;
use super::address::zone_letter;
use super::data::DataTables;

/// One page.
#[derive(Debug, Serialize)]
pub(super) struct Sheet {
    /// Path below the site's folder.
    pub(super) path: String,
    /// The way from the page to the site's folder: empty, or `../`.
    pub(super) up: &'static str,
    /// Template that lays it out.
    pub(super) template: &'static str,
    /// Which link of the edge line it is: `pack`, `course`, `kit`, `figures`, `find`.
    pub(super) current: &'static str,
    /// Language tag.
    pub(super) lang: String,
    /// The document's title.
    pub(super) head_title: String,
    /// A sentence for machines.
    pub(super) description: String,
    /// What kind of sheet.
    pub(super) kind: String,
    /// The heading.
    pub(super) title: String,
    /// A line under it.
    pub(super) sub: Option<String>,
    /// A sentence or two.
    pub(super) lead: Option<String>,
    /// Fields at the right of the title.
    pub(super) fields: Vec<Field>,
    /// What to know first and what follows.
    pub(super) brief: Option<Brief>,
    /// Zones in order.
    pub(super) zones: Vec<Zone>,
    /// Letter of the cautions' zone.
    pub(super) caution_zone: String,
    /// The title block.
    pub(super) block: TitleBlock,
    /// The table of changes.
    pub(super) changes: Vec<ChangeRow>,
    /// Neighbours in the course.
    pub(super) turn: Vec<Neighbour>,
    /// Links of the edge line.
    pub(super) edge: Edge,
    /// Data for machines: schema.org as JSON-LD, safe inside a script element.
    pub(super) machine_html: Option<String>,
    /// Rigs whose climber a control on it moves.
    pub(super) moves: Vec<String>,
    /// Words that scripts of this page say, as JSON safe inside a script element.
    pub(super) say_html: Option<String>,
    /// Names the reader's log of this pack and revision in the browser.
    pub(super) log_key: String,
    /// The script with drawings for phones, from the page.
    pub(super) phone_script: Option<String>,
    /// Those drawings, by name.
    #[serde(skip)]
    pub(super) for_phones: BTreeMap<String, String>,
    /// Words of the pack that the index finds this sheet by.
    #[serde(skip)]
    pub(super) found_by: Vec<Found>,
}

/// Something that the search can find.
#[derive(Debug, Clone)]
pub(super) struct Found {
    /// Fragment of the page.
    pub(super) fragment: String,
    /// Address as people cite it: `AS-04 C3`; empty on a sheet without a code.
    pub(super) address: String,
    /// Key of its kind among the words `find.kind.*`.
    pub(super) kind: &'static str,
    /// What it says.
    pub(super) text: String,
}

/// One field of the title strip.
#[derive(Debug, Serialize)]
pub(super) struct Field {
    pub(super) name: String,
    pub(super) text: String,
    /// In large letters.
    pub(super) big: bool,
    /// Over the whole width.
    pub(super) wide: bool,
}

impl Field {
    pub(super) fn new(name: &str, text: impl Into<String>) -> Self {
        Self {
            name: name.to_owned(),
            text: text.into(),
            big: false,
            wide: false,
        }
    }

    pub(super) fn big(mut self) -> Self {
        self.big = true;
        self
    }

    pub(super) fn wide(mut self) -> Self {
        self.wide = true;
        self
    }
}

/// What to know first, what a reader will be able to do.
#[derive(Debug, Serialize)]
pub(super) struct Brief {
    pub(super) needs: Vec<Neighbour>,
    pub(super) outcomes: Vec<OutcomeRow>,
}

/// An outcome's key and words.
#[derive(Debug, Clone, Serialize)]
pub(super) struct OutcomeRow {
    pub(super) key: String,
    pub(super) text: String,
}

/// A link to another sheet.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Neighbour {
    /// Relative to the page.
    pub(super) href: String,
    pub(super) code: String,
    pub(super) title: String,
}

/// The edge line.
#[derive(Debug, Serialize)]
pub(super) struct Edge {
    pub(super) owner: String,
    pub(super) links: Vec<EdgeLink>,
}

/// One link of the edge line.
#[derive(Debug, Serialize)]
pub(super) struct EdgeLink {
    pub(super) key: &'static str,
    pub(super) href: String,
    pub(super) name: String,
}

/// A zone.
#[derive(Debug, Serialize)]
pub(super) struct Zone {
    /// Its letter, also its fragment.
    pub(super) letter: String,
    /// Fragment of its heading.
    pub(super) heading_id: String,
    pub(super) title: String,
    pub(super) title_html: String,
    pub(super) parts: Vec<PartView>,
}

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
    Matrix {
        codes: Vec<String>,
        rows: Vec<MatrixRow>,
        summary: String,
    },
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
    Pairings {
        hitches: Vec<HitchColumn>,
        rows: Vec<PairingRow>,
    },
    Dates {
        examine: String,
    },
    Filter {
        kinds: Vec<Field>,
    },
    Gallery {
        rows: Vec<GalleryRow>,
    },
    Terms {
        rows: Vec<TermRow>,
    },
}

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

/// A rig: its figures with the numbers beside the first.
#[derive(Debug, Serialize)]
pub(super) struct PlateView {
    pub(super) rig: String,
    pub(super) title: String,
    pub(super) figure: Option<FigureView>,
    pub(super) more: Vec<FigureView>,
    pub(super) numbers: NumbersTable,
    /// Whether lines are rows, because there are more than the columns have room for.
    pub(super) turned: bool,
    /// The map of the control that moves the climber.
    pub(super) map_html: Option<String>,
}

/// One side of do and don't.
#[derive(Debug, Serialize)]
pub(super) struct Half {
    pub(super) title: String,
    pub(super) figure: Option<FigureView>,
    pub(super) lines: Vec<String>,
}

/// A step.
#[derive(Debug, Serialize)]
pub(super) struct StepRow {
    pub(super) n: usize,
    pub(super) id: String,
    pub(super) do_html: String,
    pub(super) why_html: Option<String>,
    pub(super) check_html: Option<String>,
    pub(super) critical: bool,
}

/// A fault.
#[derive(Debug, Serialize)]
pub(super) struct FaultRow {
    pub(super) id: String,
    pub(super) seen_html: String,
    pub(super) leads_html: String,
    pub(super) right_html: String,
}

/// A question.
#[derive(Debug, Serialize)]
pub(super) struct QuestionRow {
    pub(super) n: usize,
    pub(super) id: String,
    pub(super) ask_html: String,
    /// `choice`, `order` or `number`.
    pub(super) form: &'static str,
    /// Choices, or things to put in order as they are shown.
    pub(super) choices: Vec<ChoiceRow>,
    /// The answer in words.
    pub(super) answer_html: String,
    pub(super) because_html: Option<String>,
    /// Right number, tolerance and decimals, for the script.
    pub(super) right: f64,
    pub(super) tolerance: f64,
    pub(super) decimals: usize,
    pub(super) unit: String,
}

/// One choice.
#[derive(Debug, Serialize)]
pub(super) struct ChoiceRow {
    pub(super) html: String,
    /// Right; or the place in the right order, from 1.
    pub(super) right: usize,
}

/// A criterion.
#[derive(Debug, Serialize)]
pub(super) struct CriterionRow {
    pub(super) id: String,
    pub(super) html: String,
    pub(super) critical: bool,
    pub(super) measure: Option<String>,
    pub(super) outcome: Option<String>,
}

/// A file to take away.
#[derive(Debug, Serialize)]
pub(super) struct FileRow {
    pub(super) href: String,
    pub(super) name: String,
    pub(super) use_for: String,
    pub(super) size: String,
}

/// A lesson of a course.
#[derive(Debug, Serialize)]
pub(super) struct OrderRow {
    pub(super) n: usize,
    pub(super) lesson: Neighbour,
    pub(super) summary: Option<String>,
    pub(super) needs: String,
    pub(super) minutes: Option<String>,
    pub(super) outcomes: String,
}

/// An outcome over the lessons of a course.
#[derive(Debug, Serialize)]
pub(super) struct MatrixRow {
    pub(super) outcome: OutcomeRow,
    /// Per lesson: `none`, `taught` or `assessed`.
    pub(super) cells: Vec<MatrixCell>,
    pub(super) gap: bool,
    pub(super) verdict: String,
}

/// One lesson's part in an outcome.
#[derive(Debug, Serialize)]
pub(super) struct MatrixCell {
    pub(super) code: String,
    pub(super) state: &'static str,
}

/// A course on the front of the pack.
#[derive(Debug, Serialize)]
pub(super) struct CourseRow {
    pub(super) id: String,
    pub(super) link: Option<Neighbour>,
    pub(super) title: String,
    pub(super) facts: String,
    pub(super) lessons: Vec<CourseLessonRow>,
}

/// A lesson in a course's register.
#[derive(Debug, Serialize)]
pub(super) struct CourseLessonRow {
    pub(super) lesson: Neighbour,
    pub(super) revision: String,
    pub(super) minutes: Option<String>,
    pub(super) sheet: Option<String>,
    pub(super) marking: Option<String>,
}

/// Something to do about kit.
#[derive(Debug, Serialize)]
pub(super) struct TodoRow {
    /// `stop` or `soon`.
    pub(super) state: &'static str,
    pub(super) strong: String,
    /// What stands before the date, the date, what stands after it.
    pub(super) before: String,
    pub(super) date: String,
    pub(super) after: String,
    pub(super) rule: String,
}

/// A kit item in the register.
#[derive(Debug, Serialize)]
pub(super) struct RegisterRow {
    pub(super) key: String,
    pub(super) title: String,
    pub(super) limits: String,
    pub(super) standards: String,
    pub(super) first_used: String,
    pub(super) retire_by: String,
    pub(super) retire_due: bool,
    pub(super) examine_by: String,
    pub(super) examine_due: bool,
    pub(super) state: &'static str,
    pub(super) state_text: String,
    pub(super) used_in: Vec<Neighbour>,
    pub(super) note: Option<String>,
}

/// A hitch in a cord.
#[derive(Debug, Serialize)]
pub(super) struct HitchColumn {
    pub(super) hitch: String,
    pub(super) cord: String,
}

/// A rope against the hitches.
#[derive(Debug, Serialize)]
pub(super) struct PairingRow {
    pub(super) rope: String,
    /// `tested`, `hold` or `none`.
    pub(super) cells: Vec<&'static str>,
}

/// A rig's figures on the page of all figures.
#[derive(Debug, Serialize)]
pub(super) struct GalleryRow {
    pub(super) rig: String,
    pub(super) title: String,
    pub(super) lesson: Neighbour,
    pub(super) figures: Vec<GalleryFigure>,
}

/// One of them.
#[derive(Debug, Serialize)]
pub(super) struct GalleryFigure {
    pub(super) src: String,
    pub(super) kind: &'static str,
    pub(super) kind_name: String,
    pub(super) alt: String,
    pub(super) wrong: bool,
    pub(super) width: u32,
    pub(super) height: u32,
}

/// A term of the trade.
#[derive(Debug, Serialize)]
pub(super) struct TermRow {
    pub(super) id: String,
    pub(super) term: String,
    pub(super) means: String,
    pub(super) used_in: Vec<Neighbour>,
}

/// What a sheet is about, to begin one.
pub(super) struct Subject<'a> {
    pub(super) path: String,
    pub(super) current: &'static str,
    pub(super) document: Document,
    pub(super) title: &'a str,
    pub(super) code: &'a str,
    /// Sheet and number of sheets, from 1.
    pub(super) place: (usize, usize),
}

impl Site<'_> {
    /// A sheet with everything that does not depend on what stands in its zones.
    pub(super) fn begin(&self, subject: &Subject<'_>) -> Sheet {
        let pack = self.pack();
        let up = if subject.path.contains('/') {
            "../"
        } else {
            ""
        };
        let block = title_block(
            pack,
            subject.document,
            subject.title,
            subject.code,
            subject.place,
            self.words,
        );
        let revision = pack.revision.as_deref().unwrap_or_default();
        let head_title = if subject.code.is_empty() {
            format!("{} – {}", subject.title, pack.title)
        } else {
            format!("{} – {}", subject.title, subject.code)
        };
        Sheet {
            up,
            template: "sheet.html",
            current: subject.current,
            lang: language(pack).to_owned(),
            head_title: if subject.title == pack.title {
                pack.title.clone()
            } else {
                head_title
            },
            description: String::new(),
            kind: block.document.clone(),
            title: subject.title.to_owned(),
            sub: None,
            lead: None,
            fields: Vec::new(),
            brief: None,
            zones: Vec::new(),
            caution_zone: String::new(),
            block,
            changes: changes(pack),
            turn: Vec::new(),
            edge: self.edge(up),
            machine_html: None,
            say_html: None,
            moves: Vec::new(),
            log_key: format!("ropeleaf log: {} {revision}", pack.title),
            found_by: Vec::new(),
            phone_script: None,
            for_phones: BTreeMap::new(),
            path: subject.path.clone(),
        }
    }

    fn edge(&self, up: &str) -> Edge {
        let pack = self.pack();
        let mut links = vec![("pack", "index.html".to_owned())];
        if let Some(course) = pack.courses.first() {
            let name = crate::press::text::url_path(&course.name);
            links.push(("course", format!("courses/{name}.html")));
        }
        if !pack.kit.is_empty() {
            links.push(("kit", "kit.html".to_owned()));
        }
        if self.figures.iter().next().is_some() {
            links.push(("figures", "figures.html".to_owned()));
        }
        if !pack.glossary.is_empty() {
            links.push(("terms", "terms.html".to_owned()));
        }
        links.push(("find", "find.html".to_owned()));
        let name = |key| match key {
            "pack" => "edge.pack",
            "course" => "edge.course",
            "kit" => "edge.kit",
            "figures" => "edge.figures",
            "terms" => "edge.terms",
            _ => "edge.find",
        };
        Edge {
            owner: pack
                .organisation
                .clone()
                .unwrap_or_else(|| pack.title.clone()),
            links: links
                .into_iter()
                .map(|(key, href)| EdgeLink {
                    key,
                    href: format!("{up}{href}"),
                    name: self.words.get(name(key)).to_owned(),
                })
                .collect(),
        }
    }

    /// Writes text for a page; `prefix` keeps its fragments apart from those of other stretches.
    pub(super) fn html(&self, up: &str, prefix: &str, pieces: &[Rich]) -> String {
        HtmlWriter {
            pack: self.pack(),
            prefix,
            up,
        }
        .blocks(pieces)
    }

    /// A link to a lesson.
    pub(super) fn lesson_link(&self, up: &str, id: crate::pack::LessonId) -> Neighbour {
        let lesson = self.pack().lesson(id);
        Neighbour {
            href: format!("{up}{}", super::lesson_path(lesson)),
            code: lesson.code.clone(),
            title: lesson.title.clone(),
        }
    }

    /// Links to lessons from a page in the site's folder, in the order of their codes.
    pub(super) fn by_code(
        &self,
        lessons: impl Iterator<Item = crate::pack::LessonId>,
    ) -> Vec<Neighbour> {
        let mut links: Vec<Neighbour> = lessons.map(|id| self.lesson_link("", id)).collect();
        links.sort_by(|a, b| a.code.cmp(&b.code));
        links
    }

    /// The first fields of a title strip: code, revision, date of issue.
    pub(super) fn strip_fields(&self, code: &str) -> Vec<Field> {
        let pack = self.pack();
        let words = self.words;
        let dash = crate::press::view::DASH;
        let or = |text: Option<&str>| text.unwrap_or(dash).to_owned();
        let issued = pack.dated.map(|d| d.to_string());
        let mut fields = Vec::new();
        if !code.is_empty() {
            fields.push(Field::new(words.get("block.code"), code).big());
        }
        fields.push(Field::new(words.get("block.revision"), or(pack.revision.as_deref())).big());
        fields.push(Field::new(words.get("block.issued"), or(issued.as_deref())));
        fields
    }

    /// The field that names the owner.
    pub(super) fn owner_field(&self) -> Field {
        let owner = self.pack().organisation.clone();
        let owner = owner.unwrap_or_else(|| crate::press::view::DASH.to_owned());
        Field::new(self.words.get("block.owner"), owner).wide()
    }
}

impl Sheet {
    /// Adds a zone of ours and returns its letter.
    pub(super) fn zone(&mut self, title: &str, parts: Vec<PartView>) -> String {
        let letter = zone_letter(self.zones.len());
        self.zones.push(Zone {
            heading_id: format!("{letter}-h"),
            letter: letter.clone(),
            title: title.to_owned(),
            title_html: crate::press::text::escape(title),
            parts,
        });
        letter
    }

    /// The letter that the next zone gets.
    pub(super) fn next_letter(&self) -> String {
        zone_letter(self.zones.len())
    }

    /// Notes something to be found.
    pub(super) fn find(&mut self, code: &str, fragment: &str, kind: &'static str, pieces: &[Rich]) {
        let text = plain(pieces);
        if !text.is_empty() {
            self.found_by.push(Found {
                fragment: fragment.to_owned(),
                address: if code.is_empty() {
                    String::new()
                } else {
                    format!("{code} {fragment}")
                },
                kind,
                text,
            });
        }
    }
}

/// JSON that cannot end a script element or be taken for markup.
pub(super) fn script_json(value: &serde_json::Value) -> String {
    value
        .to_string()
        .replace('<', "\\u003c")
        .replace('>', "\\u003e")
        .replace('&', "\\u0026")
        .replace('\u{2028}', "\\u2028")
        .replace('\u{2029}', "\\u2029")
}
