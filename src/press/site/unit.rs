//! One lesson's part of the site: its page, its figures, the scripts beside it.
//!
//! ```text
//! file, rigs, pack ─Sketch→ Digest ─(store)→ Facts, files as they were
//!                                  └ not there: solve zones, draw, lay out → Facts, files
//! ```
//!
//! Nothing else of the site looks into a lesson: other pages know of it what the pack says of it and
//! its [`Facts`]. So a lesson can be taken from the store, and its drawings leave the memory when
//! its files are written.

use std::collections::{BTreeMap, BTreeSet};

use serde::{Deserialize, Serialize};

use crate::figure::{self, Drawing};
use crate::finding::Finding;
use crate::pack::{Lesson, LessonId, Pack, Part, RigId};
use crate::press::{Figures, OutFile, PrintKind, PrintList, kinds_wanted, print_name};
use crate::proofing::{Zones, zones_wanted};
use crate::rig::FigureKind;
use crate::rules::Proof;
use crate::statics::{self, Solved};
use crate::store::{Digest, Inputs, Named, Store};

use super::engine::Engine;
use super::find::PageFound;
use super::shown::Form;
use super::sketch::{self, Sketched};
use super::svg::Drawn;
use super::{Site, explore, lesson, phone_file, rendered, terms};

/// What other pages need to know of a lesson that was laid out.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Facts {
    /// What the index finds it by.
    pub(super) found: PageFound,
    /// Its rigs' drawings without their elements.
    drawings: Vec<DrawingFacts>,
    /// Terms of the glossary that its text uses.
    pub(super) terms: Vec<String>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct DrawingFacts {
    rig: String,
    kind: String,
    id: String,
    title: String,
    description: String,
    size_mm: (f64, f64),
}

impl Facts {
    /// The drawings again, without their elements; `rigs` finds a rig by its name.
    pub(super) fn drawings(
        &self,
        rigs: &BTreeMap<&str, RigId>,
    ) -> impl Iterator<Item = (RigId, FigureKind, Drawing)> {
        self.drawings.iter().filter_map(|facts| {
            let rig = rigs.get(facts.rig.as_str())?;
            let kind = FigureKind::from_word(&facts.kind)?;
            let drawing = Drawing {
                id: facts.id.clone(),
                title: facts.title.clone(),
                description: facts.description.clone(),
                svg: String::new(),
                size_mm: facts.size_mm,
            };
            Some((*rig, kind, drawing))
        })
    }
}

/// What every lesson is made from, with the digests of it.
pub(super) struct Bench<'a> {
    pub(super) proof: &'a Proof,
    pub(super) prints: &'a PrintList,
    pub(super) engine: &'a Engine,
    pub(super) store: &'a Store,
    kinds: Vec<BTreeSet<FigureKind>>,
    zones: Vec<bool>,
    sketches: Vec<Sketched>,
    named: Named,
    pack: Digest,
    /// For each lesson, the courses that it stands in.
    courses: Vec<Vec<Digest>>,
}

impl<'a> Bench<'a> {
    pub(super) fn new(
        proof: &'a Proof,
        prints: &'a PrintList,
        engine: &'a Engine,
        store: &'a Store,
    ) -> Self {
        let pack = &proof.reading.pack;
        let kinds = kinds_wanted(pack);
        let zones = zones_wanted(pack, Zones::Shown);
        let (sketches, named) = sketch::of_pack(proof, store, &kinds, &zones);
        let mut courses = vec![Vec::new(); pack.lessons.len()];
        for (i, course) in pack.courses.iter().enumerate() {
            let digest = Inputs::of("course")
                .typed(course, &named)
                .bytes(&[u8::from(i == 0)])
                .finish();
            for lesson in &course.lessons {
                courses[lesson.0].push(digest);
            }
        }
        Self {
            pack: pack_digest(pack, prints),
            proof,
            prints,
            engine,
            store,
            kinds,
            zones,
            sketches,
            named,
            courses,
        }
    }

    /// The digest of everything that a lesson's part of the site depends on.
    pub(super) fn key(&self, id: LessonId) -> Digest {
        let pack = &self.proof.reading.pack;
        let lesson = pack.lesson(id);
        let mut inputs = Inputs::of("lesson");
        inputs.digest(self.pack);
        self.sketches[id.0].put_into(&mut inputs, &self.named);
        for course in &self.courses[id.0] {
            inputs.digest(*course);
        }
        if self.courses[id.0].is_empty() {
            // A lesson of no course says its place among all of them.
            inputs.typed(&(id.0, pack.lessons.len()), &Named::default());
        }
        for kind in PrintKind::ALL {
            let print = self.prints.of(lesson, kind);
            inputs.typed(&print, &self.named);
        }
        inputs.finish()
    }

    /// Lays out a lesson: what others need to know of it, and its files.
    pub(super) fn make(&self, id: LessonId) -> Result<(Facts, Vec<OutFile>), Finding> {
        let pack = &self.proof.reading.pack;
        let own: Vec<RigId> = pack.lesson(id).rigs().collect();
        let solved = shown_rigs(pack.lesson(id)).map(|rig| (rig, self.solved(rig)));
        let mut site = Site {
            proof: self.proof,
            figures: &Figures::default(),
            elements: &BTreeMap::new(),
            prints: self.prints,
            words: self.engine.words(),
            solved: &solved.collect(),
            store: self.store,
            named: &self.named,
        };
        let (mut figures, mut elements) = (Figures::default(), BTreeMap::new());
        for rig in shown_rigs(pack.lesson(id)) {
            for kind in &self.kinds[rig.0] {
                if let Some(Drawn { drawing, element }) = site.draw(rig, *kind, Form::Plate) {
                    figures.add(rig, *kind, drawing);
                    elements.insert((rig, *kind), element);
                }
            }
        }
        (site.figures, site.elements) = (&figures, &elements);
        let mut sheet = lesson::sheet(&site, id);
        let found = PageFound::of(&mut sheet);
        let mut files = vec![rendered(self.engine, pack, &sheet)?];
        files.extend(phone_file(&sheet));
        let mut facts = Facts {
            found,
            terms: terms::used_by(pack.lesson(id), self.proof),
            drawings: Vec::new(),
        };
        for rig in own {
            files.extend(explore::script(&site, rig));
            for (kind, drawing) in figures.of_rig(rig) {
                files.push(OutFile {
                    path: format!("site/figures/{}.svg", drawing.id),
                    bytes: drawing.svg.clone().into_bytes(),
                });
                facts.drawings.push(DrawingFacts {
                    rig: pack.rig(rig).name.clone(),
                    kind: kind.word().to_owned(),
                    id: drawing.id.clone(),
                    title: drawing.title.clone(),
                    description: drawing.description.clone(),
                    size_mm: drawing.size_mm,
                });
            }
        }
        Ok((facts, files))
    }

    /// The digests that indexes of the pack stand for.
    pub(super) fn named(&self) -> &Named {
        &self.named
    }

    /// A rig's answer with its zone, if pages show one.
    fn solved(&self, id: RigId) -> Solved {
        let answer = self.proof.solved(id);
        if answer.zone.is_some() || !self.zones[id.0] {
            return answer.clone();
        }
        let rig = self.proof.reading.pack.rig(id);
        let key = || Inputs::of("zone").digest(self.named.rigs[id.0]).finish();
        let whole = self.store.solved.get(key, || {
            let mut whole = answer.clone();
            whole.zone = statics::zone_of(rig, answer);
            Ok(whole)
        });
        whole.unwrap_or_else(|_| answer.clone())
    }
}

impl Site<'_> {
    /// A rig's answer; with its zone on the page of a lesson.
    pub(super) fn solved(&self, rig: RigId) -> &Solved {
        let with_zone = self.solved.get(&rig);
        with_zone.unwrap_or_else(|| self.proof.solved(rig))
    }

    /// Draws a rig.
    pub(super) fn draw(&self, rig: RigId, kind: FigureKind, form: Form) -> Option<Drawn> {
        let style = form.style(self.pack());
        let key = || {
            let solved = self.solved(rig).zone.is_some();
            Inputs::of("drawing")
                .digest(self.named.rigs[rig.0])
                .typed(&(kind, form, style, solved), self.named)
                .finish()
        };
        let draw = || {
            let picture = figure::picture(self.pack().rig(rig), self.solved(rig), kind, style)?;
            Some(form.written(picture))
        };
        self.store.drawings.get(key, draw)
    }
}

/// Rigs whose figures stand in a lesson.
fn shown_rigs(lesson: &Lesson) -> impl Iterator<Item = RigId> + '_ {
    let parts = lesson.sections.iter().flat_map(|section| &section.parts);
    let rigs: BTreeSet<RigId> = parts
        .filter_map(|part| match part {
            Part::Rig(rig) => Some(*rig),
            Part::Figure(ask) => Some(ask.rig),
            _ => None,
        })
        .collect();
    rigs.into_iter()
}

/// The digest of what every page depends on: the pack without its lessons, rigs and courses, of
/// which each lesson takes in its own.
fn pack_digest(pack: &Pack, prints: &PrintList) -> Digest {
    let Pack {
        title,
        organisation,
        language,
        units,
        paper,
        revision,
        dated,
        caution,
        summary,
        prepared_by,
        approved_by,
        changes,
        glossary,
        kit,
        courses,
        lessons,
        rigs,
        rulebook,
        pictures,
        own,
    } = pack;
    let none = Named::default();
    let mut inputs = Inputs::of("pack");
    inputs
        .typed(
            &(title, organisation, language, units, paper, revision),
            &none,
        )
        .typed(&(dated, caution, summary, prepared_by, approved_by), &none)
        .typed(&(changes, glossary, kit, rulebook), &none)
        .typed(&(courses.first().map(|c| &c.name), rigs.is_empty()), &none);
    let kinds = || PrintKind::ALL.iter();
    let of_lessons: BTreeSet<String> = lessons
        .iter()
        .flat_map(|lesson| kinds().map(|kind| print_name(&lesson.code, kind.word())))
        .collect();
    for print in prints
        .iter()
        .filter(|(name, _)| !of_lessons.contains(*name))
    {
        inputs.typed(&print, &none);
    }
    for (path, bytes) in pictures {
        inputs.bytes(path.as_bytes()).bytes(bytes);
    }
    for (path, file) in own {
        inputs.bytes(path.as_bytes()).bytes(file.text.as_bytes());
    }
    inputs.finish()
}
