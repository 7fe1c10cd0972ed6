//! A lesson file on its way to a lesson: as it was read before, or in pieces.
//!
//! ```text
//! file ─(store)→ KeptLesson ─rigs→ names of the pack ─→ Lesson, if those are as they were
//!       └ not there: Draft ──rigs→ names of the pack ─→ Lesson, which the store keeps
//! ```

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::flow::Names;
use super::kept::{KeptLesson, Named, Outline};
use super::kit_room::KitRoom;
use super::lesson::Head;
use super::markdown::{Fence, Piece, Source};
use super::read::Reader;
use super::rigs::Rigs;
use super::{KitId, KitUse, Lesson, RigId, Scope, files, lesson, markdown};
use crate::block::{PlaceMap, Problem, Text};
use crate::digest::Digest;
use crate::finding::{Finding, Place, Severity};
use crate::store::Inputs;

/// A lesson file in pieces.
pub(super) struct Draft {
    map: PlaceMap,
    pub(super) pieces: Vec<Piece>,
    /// The `lesson` block.
    head: Option<Head>,
    /// Its info string; the start of the file where there is none.
    head_place: Place,
}

/// A lesson file.
pub(super) struct Begun {
    pub(super) name: String,
    pub(super) file: usize,
    pub(super) outline: Outline,
}

/// How far a lesson file is on its way to a lesson.
pub(super) enum State {
    /// As it was read before; its rigs are taken out on the way.
    Known(Box<KeptLesson>),
    Draft(Box<Draft>),
}

/// A lesson that was read, with what was found.
pub(super) struct ReadLesson {
    pub(super) lesson: Lesson,
    pub(super) findings: Vec<Finding>,
    /// Of names in its texts.
    pub(super) in_texts: Vec<Finding>,
    /// Rigs that its texts asked for; `None` for a lesson that the store knew.
    pub(super) asked: Option<BTreeSet<RigId>>,
}

impl Draft {
    fn outline(&self) -> Outline {
        let head = self.head.as_ref();
        let needs = head.map(|h| h.needs.as_slice()).unwrap_or_default();
        Outline {
            code: head.and_then(|h| h.code.as_ref()).map(Named::from),
            needs: needs.iter().map(Named::from).collect(),
        }
    }
}

impl Reader<'_> {
    /// The lesson files, as they were read before or in pieces, the `lesson` block taken out.
    ///
    /// - `common`: of what every lesson is read with.
    pub(super) fn begin_lessons(&mut self, common: Digest) -> (Vec<Begun>, Vec<State>) {
        let folder = match self.scope {
            Scope::Pack => "lessons/",
            Scope::OneLesson => "",
        };
        let texts = self.folder(folder, ".md");
        let mut paths = self.sources.files().iter().map(|f| f.path.as_str());
        let any = paths.any(|p| p.starts_with(folder) && p.ends_with(".md"));
        if !any && self.scope == Scope::Pack {
            let problem = Problem::MissingFile {
                path: "lessons/*.md",
                what: "a `lesson` block",
            };
            self.findings.push(problem.of_pack());
        }
        let begun = texts.into_par_iter().map(|(name, file, text)| {
            let mut own = self.apart();
            let known = self.store.read(self.key(common, &name, file));
            let (outline, state) = match known {
                Some(mut known) => {
                    let outline = std::mem::take(&mut known.outline);
                    (outline, State::Known(Box::new(known)))
                }
                None => {
                    let draft = own.draft(file, text);
                    (draft.outline(), State::Draft(Box::new(draft)))
                }
            };
            let begun = Begun {
                name,
                file,
                outline,
            };
            ((begun, state), own.findings)
        });
        let (begun, findings): (Vec<_>, Vec<_>) = begun.unzip();
        self.findings.extend(findings.into_iter().flatten());
        begun.into_iter().unzip()
    }

    /// By what the store knows what was read of a lesson's file.
    fn key(&self, common: Digest, name: &str, file: usize) -> Digest {
        Inputs::of("read")
            .digest(common)
            .count(usize::from(self.scope == Scope::Pack))
            .bytes(name.as_bytes())
            .count(file)
            .digest(self.sources.digest(file))
            .finish()
    }

    /// Keeps lessons that were parsed, if nothing is wrong with the pack and nothing was said of
    /// their files.
    ///
    /// - `names`: of the names that they were read with.
    /// - `asked`: for each lesson that was parsed the rigs that its texts asked for.
    pub(super) fn keep(
        &self,
        common: Digest,
        names: Digest,
        begun: &[Begun],
        lessons: &[Lesson],
        asked: &[Option<BTreeSet<RigId>>],
        rigs: &Rigs,
    ) {
        let mut findings = self.findings.iter();
        if !self.store.remembers() || findings.any(|f| f.severity == Severity::Error) {
            return;
        }
        let places = self.findings.iter().filter_map(|f| f.place);
        let spoken_of: BTreeSet<usize> = places.map(|place| place.file).collect();
        let lessons = begun.par_iter().zip(lessons).zip(asked);
        lessons.for_each(|((begun, lesson), asked)| {
            let Some(asked) = asked.as_ref().filter(|_| !spoken_of.contains(&begun.file)) else {
                return;
            };
            let asked = asked.iter().map(|id| (*id, rigs.all[id.0].place.file));
            let own = rigs.of_file(begun.file);
            let kept = KeptLesson::of(lesson, &begun.outline, own, asked, self.sources, names);
            let key = self.key(common, &begun.name, begun.file);
            self.store.keep_read(key, kept);
        });
    }

    fn draft(&mut self, file: usize, text: &str) -> Draft {
        let map = PlaceMap::straight(file, 0, text.len());
        let source = Source { text, map: &map };
        let pieces = markdown::pieces(source, &mut self.findings);
        let mut draft = Draft {
            map: map.clone(),
            // Drafts of all lessons are there at once.
            pieces: Vec::with_capacity(pieces.len()),
            head: None,
            head_place: files::start_of(file),
        };
        for (i, piece) in pieces.into_iter().enumerate() {
            let Piece::Fence(fence) = piece else {
                draft.pieces.push(piece);
                continue;
            };
            self.check_info(&fence);
            if fence.word != "lesson" {
                draft.pieces.push(Piece::Fence(fence));
                continue;
            }
            if draft.head.is_some() || i > 0 {
                let why = if draft.head.is_some() {
                    "is the second in this file; a lesson has one"
                } else {
                    "must be the first thing in the file"
                };
                let word = fence.word.to_owned();
                self.report(&Problem::MisplacedBlock { word, why }, fence.body.place);
            }
            let (head, mut findings) = lesson::head(&fence.body);
            self.findings.append(&mut findings);
            if draft.head.is_none() {
                draft.head = Some(head);
                draft.head_place = fence.body.place;
            }
        }
        if draft.head.is_none() && self.scope == Scope::Pack {
            self.report(&Problem::NoLessonBlock, files::start_of(file));
        }
        draft
    }

    /// The first line of a block: a name where one belongs, nothing where none does.
    fn check_info(&mut self, fence: &Fence) {
        let named = matches!(fence.word, "rig" | "figure");
        let word = || fence.word.to_owned();
        match (&fence.name, fence.extra) {
            (None, _) if named => {
                let why = "needs a name in its first line";
                self.report(
                    &Problem::UnnamedBlock { word: word(), why },
                    fence.body.place,
                );
            }
            (Some((_, at)), _) if !named => {
                let why = "takes no name";
                self.report(&Problem::UnnamedBlock { word: word(), why }, *at);
            }
            (Some(_), Some(at)) => {
                let why = "takes one name and nothing after it";
                self.report(&Problem::UnnamedBlock { word: word(), why }, at);
            }
            _ => {}
        }
    }

    /// A lesson as it was read before, if it would come to the same now, or from its pieces.
    ///
    /// - `digest`: of the names.
    pub(super) fn lesson(
        &mut self,
        begun: &Begun,
        state: State,
        names: Names<'_>,
        digest: Digest,
        kit: &KitRoom,
    ) -> ReadLesson {
        let draft = match state {
            State::Draft(draft) => *draft,
            State::Known(known) => {
                if let Some(lesson) = known.lesson(names.rigs, self.sources, digest) {
                    return ReadLesson {
                        lesson,
                        findings: Vec::new(),
                        in_texts: Vec::new(),
                        asked: None,
                    };
                }
                self.draft(begun.file, self.sources.text(begun.file))
            }
        };
        let lesson = self.lesson_of(&begun.name, begun.file, draft, &names, kit);
        ReadLesson {
            lesson,
            findings: std::mem::take(&mut self.findings),
            in_texts: names.findings.into_inner(),
            asked: Some(names.asked.into_inner()),
        }
    }

    fn lesson_of(
        &mut self,
        name: &str,
        file: usize,
        draft: Draft,
        names: &Names<'_>,
        kit: &KitRoom,
    ) -> Lesson {
        let text = self.sources.text(file);
        let source = Source {
            text,
            map: &draft.map,
        };
        let start = files::start_of(file);
        let sections = lesson::sections(draft.pieces, source, start, names);
        let head = draft.head.as_ref();
        let value = |text: Option<&Text>| text.map(|t| t.value.clone());
        let needs = head.map(|h| h.needs.as_slice()).unwrap_or_default();
        let uses = head.map(|h| h.kit.as_slice()).unwrap_or_default();
        let outcomes = head.map(|h| h.outcomes.as_slice()).unwrap_or_default();
        for outcome in outcomes {
            names.outcome(outcome);
        }
        Lesson {
            name: name.to_owned(),
            title: head
                .and_then(|h| value(h.title.as_ref()))
                .unwrap_or_else(|| name.to_owned()),
            code: head
                .and_then(|h| value(h.code.as_ref()))
                .unwrap_or_else(|| name.to_owned()),
            summary: head.and_then(|h| h.summary.clone()),
            minutes: head.and_then(|h| h.minutes),
            level: head.and_then(|h| h.level.clone()),
            needs: self.lesson_ids(needs, names.lessons),
            outcomes: outcomes.iter().map(|t| t.value.clone()).collect(),
            kit: self.kit_uses(uses, kit),
            two_lines: head.is_some_and(|h| h.two_lines),
            references: head.map(|h| h.references.clone()).unwrap_or_default(),
            sections,
            place: draft.head_place,
        }
    }

    fn kit_uses(&mut self, uses: &[(Text, u32)], kit: &KitRoom) -> Vec<KitUse> {
        let mut found = Vec::new();
        for (name, count) in uses {
            let item = kit.items.iter().position(|item| item.name == name.value);
            if let Some(i) = item {
                let (item, count) = (KitId(i), *count);
                found.push(KitUse { item, count });
            } else if self.scope == Scope::Pack && !kit.knows(&name.value) {
                let problem = kit.unknown(&name.value);
                self.report(&problem, name.place);
            }
        }
        found
    }
}
