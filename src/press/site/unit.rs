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
use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::figure;
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
use super::{Places, Site, explore, gallery, lesson, phone_file, rendered, terms};

/// What other pages need to know of a lesson that was laid out.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Facts {
    /// What the index finds it by.
    pub(super) found: PageFound,
    /// Its rigs' drawings, by rig, then kind.
    drawings: Vec<DrawingFacts>,
    /// Terms of the glossary that its text uses.
    pub(super) terms: Vec<String>,
}

/// A drawing without its shapes.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct DrawingFacts {
    /// Which of the lesson's own rigs, from 0.
    rig: u16,
    pub(super) kind: FigureKind,
    pub(super) description: String,
    /// Width and height in whole millimetres.
    pub(super) size_mm: (u16, u16),
}

/// The drawings of all lessons, for pages that list them.
pub(super) struct Listed<'a> {
    of_rig: Vec<&'a [DrawingFacts]>,
    /// Whether they are too many for one page.
    pub(super) split: bool,
}

impl<'a> Listed<'a> {
    /// - `facts`: of each lesson of the pack.
    pub(super) fn of(pack: &Pack, facts: &'a [Facts]) -> Self {
        let mut of_rig: Vec<&[DrawingFacts]> = vec![&[]; pack.rigs.len()];
        for (lesson, facts) in pack.lessons.iter().zip(facts) {
            let rigs: Vec<RigId> = lesson.rigs().collect();
            for own in facts.drawings.chunk_by(|a, b| a.rig == b.rig) {
                if let Some(rig) = rigs.get(usize::from(own[0].rig)) {
                    of_rig[rig.0] = own;
                }
            }
        }
        let with_figures = facts.iter().filter(|facts| !facts.drawings.is_empty());
        Self {
            of_rig,
            split: gallery::is_split(with_figures.count()),
        }
    }

    /// A rig's drawings, by kind.
    pub(super) fn of_rig(&self, rig: RigId) -> &'a [DrawingFacts] {
        self.of_rig[rig.0]
    }

    /// Whether no lesson has a drawing.
    pub(super) fn is_empty(&self) -> bool {
        self.of_rig.iter().all(|own| own.is_empty())
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
    /// Of each course, as its lessons take it in.
    courses: Vec<Digest>,
    places: Places,
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
        let courses = pack.courses.iter().enumerate().map(|(i, course)| {
            Inputs::of("course")
                .typed(course, &named)
                .bytes(&[u8::from(i == 0)])
                .finish()
        });
        Self {
            pack: pack_digest(pack, prints),
            proof,
            prints,
            engine,
            store,
            kinds,
            zones,
            sketches,
            courses: courses.collect(),
            places: Places::of(pack),
            named,
        }
    }

    /// The digest of everything that a lesson's part of the site depends on.
    pub(super) fn key(&self, id: LessonId) -> Digest {
        let pack = &self.proof.reading.pack;
        let lesson = pack.lesson(id);
        let mut inputs = Inputs::of("lesson");
        inputs.digest(self.pack);
        self.sketches[id.0].put_into(&mut inputs, &self.named);
        for (course, _) in self.places.of_lesson(id) {
            inputs.digest(self.courses[*course]);
        }
        if self.places.of_lesson(id).is_empty() {
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
            places: &self.places,
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
        files.extend(own.iter().filter_map(|rig| explore::script(&site, *rig)));
        let nth: BTreeMap<RigId, _> = own.into_iter().zip(0..).collect();
        for (rig, kind, drawing) in figures.into_drawings() {
            let Some(nth) = nth.get(&rig) else { continue };
            files.push(OutFile {
                path: format!("site/figures/{}.svg", drawing.id),
                bytes: drawing.svg.into_bytes(),
            });
            let (width, height) = drawing.size_mm;
            facts.drawings.push(DrawingFacts {
                rig: *nth,
                kind,
                description: drawing.description,
                size_mm: (width.round() as u16, height.round() as u16),
            });
        }
        Ok((facts, files))
    }

    /// The digests that indexes of the pack stand for.
    pub(super) fn named(&self) -> &Named {
        &self.named
    }

    /// Where lessons stand in courses.
    pub(super) fn places(&self) -> &Places {
        &self.places
    }

    /// A rig's answer with its zone, if pages show one.
    fn solved(&self, id: RigId) -> Arc<Solved> {
        let answer = self.proof.solved(id);
        if answer.zone.is_some() || !self.zones[id.0] {
            return answer;
        }
        let rig = self.proof.reading.pack.rig(id);
        let key = || Inputs::of("zone").digest(self.named.rigs[id.0]).finish();
        self.store.solved.get(key, || {
            let mut whole = Solved::clone(&answer);
            whole.zone = statics::zone_of(rig, &answer);
            Arc::new(whole)
        })
    }
}

impl Site<'_> {
    /// A rig's answer; with its zone on the page of a lesson.
    pub(super) fn solved(&self, rig: RigId) -> Arc<Solved> {
        let with_zone = self.solved.get(&rig).cloned();
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
            let picture = figure::picture(self.pack().rig(rig), &self.solved(rig), kind, style)?;
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
