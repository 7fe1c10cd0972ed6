//! What every sheet begins with: its title block, the edge line, links to others.

use std::collections::BTreeMap;

use crate::pack::LessonId;
use crate::press::own;
use crate::press::text::{HtmlWriter, url_path};
use crate::press::view::{DASH, Document, Rich, cautions, changes, language, title_block};

use super::Site;
use super::part::PartView;
use super::sheet::{Edge, EdgeLink, Field, Neighbour, Sheet};

/// The language in which drawings are lettered and described, and rules and findings say what they
/// find.
const ENGLISH: &str = "en";

/// Languages that are mostly written from right to left (common knowledge, no source).
const RIGHT_TO_LEFT: [&str; 9] = ["ar", "ckb", "dv", "fa", "he", "ps", "ug", "ur", "yi"];

fn right_to_left(language: &str) -> bool {
    let primary = language.split('-').next().unwrap_or(language);
    RIGHT_TO_LEFT.contains(&primary.to_lowercase().as_str())
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
            dir: right_to_left(language(pack)).then_some("rtl"),
            figure_lang: self.english(),
            head_title: if subject.title == pack.title {
                pack.title.clone()
            } else {
                head_title
            },
            description: String::new(),
            // A register's title names its kind already: the pack's name says more there.
            kind: if block.document == subject.title {
                pack.title.clone()
            } else {
                block.document.clone()
            },
            title: subject.title.to_owned(),
            sub: None,
            lead: None,
            fields: Vec::new(),
            brief: None,
            filter: Vec::new(),
            zones: Vec::new(),
            caution_zone: String::new(),
            block,
            changes: changes(pack),
            turn: Vec::new(),
            edge: self.edge(up),
            machine_html: None,
            say_html: None,
            moves: Vec::new(),
            all_lessons: None,
            more_style: own::text(pack, own::MORE_STYLE).is_some(),
            log_key: format!("ropeleaf log: {} {revision}", pack.title),
            found_by: Vec::new(),
            phone_script: None,
            for_phones: BTreeMap::new(),
            path: subject.path.clone(),
        }
    }

    /// Ends a sheet with its cautions.
    pub(super) fn close(&self, sheet: &mut Sheet, document: Document) {
        let items = cautions(self.pack(), document, self.words);
        let title = self.words.get("zone.cautions");
        sheet.caution_zone = sheet.zone(title, vec![PartView::Cautions { items }]);
    }

    /// The language mark of what the program says in English only, on a page in another language.
    pub(super) fn english(&self) -> Option<&'static str> {
        (self.words.language() != ENGLISH).then_some(ENGLISH)
    }

    fn edge(&self, up: &str) -> Edge {
        let pack = self.pack();
        let mut links = vec![("pack", "index.html".to_owned())];
        if let Some(course) = pack.courses.first() {
            let name = url_path(&course.name);
            links.push(("course", format!("courses/{name}.html")));
        }
        if !pack.kit.is_empty() {
            links.push(("kit", "kit.html".to_owned()));
        }
        if !self.pack().rigs.is_empty() {
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
    pub(super) fn lesson_link(&self, up: &str, id: LessonId) -> Neighbour {
        let lesson = self.pack().lesson(id);
        Neighbour {
            href: format!("{up}{}", super::lesson_path(lesson)),
            code: lesson.code.clone(),
            title: lesson.title.clone(),
        }
    }

    /// Links to lessons from a page in the site's folder, in the order of their codes.
    pub(super) fn by_code(&self, lessons: impl Iterator<Item = LessonId>) -> Vec<Neighbour> {
        let mut links: Vec<Neighbour> = lessons.map(|id| self.lesson_link("", id)).collect();
        links.sort_by(|a, b| a.code.cmp(&b.code));
        links
    }

    /// Every lesson by its code, as people look for it.
    pub(super) fn lessons_by_code(&self) -> Vec<LessonId> {
        let lessons = &self.pack().lessons;
        let mut ids: Vec<usize> = (0..lessons.len()).collect();
        ids.sort_by(|a, b| lessons[*a].code.cmp(&lessons[*b].code));
        ids.into_iter().map(LessonId).collect()
    }

    /// The first fields of a title strip: code, revision, date of issue.
    pub(super) fn strip_fields(&self, code: &str) -> Vec<Field> {
        let pack = self.pack();
        let words = self.words;
        let or = |text: Option<&str>| text.unwrap_or(DASH).to_owned();
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
        let owner = owner.unwrap_or_else(|| DASH.to_owned());
        Field::new(self.words.get("block.owner"), owner).wide()
    }
}
