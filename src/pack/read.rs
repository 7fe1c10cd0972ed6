//! The order of reading: what is referred to before what refers to it.
//!
//! ```text
//! pack.toml, rules.toml, glossary.toml → kit → rigs of all lessons → courses' outcomes → lessons → courses
//! ```
//!
//! Lessons and rigs are read in parallel; what is found wrong is put in the order of the files.
//! A rig or kit item with an error keeps its name, so that what refers to it is not reported too.
//!
//! Over 500 lines: each step of the order fills what the next ones read.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::day::{self, CourseLessons};
use super::flow::{LessonNames, Names};
use super::kept::{KeptLesson, Named, Outline, names_digest};
use super::kit_room::KitRoom;
use super::lesson::Head;
use super::markdown::{Fence, Piece, Source};
use super::{
    Course, KitId, KitUse, Lesson, LessonId, OwnFile, Pack, Reading, RigId, Scope, checks, files,
    lesson, markdown,
};
use crate::block::{BlockText, PlaceMap, Problem, Text};
use crate::digest::Digest;
use crate::finding::{Finding, Place, Severity, Sources};
use crate::kit::{self, KitItem};
use crate::rig::{self, Around, Rig};
use crate::rulebook;
use crate::store::{self, Inputs, Store};

/// Reads a pack whole. It never fails: everything wrong is a finding.
pub fn read(sources: Sources, scope: Scope) -> Reading {
    read_again(sources, scope, &Store::default())
}

/// As [`read`], with lessons that the store knows as they are now.
pub fn read_again(sources: Sources, scope: Scope, store: &Store) -> Reading {
    let mut reader = Reader {
        sources: &sources,
        scope,
        store,
        findings: Vec::new(),
    };
    let pack = reader.pack();
    let mut findings = reader.findings;
    findings.sort_by_key(|f| f.place);
    Reading {
        pack,
        findings,
        sources,
    }
}

/// A lesson file in pieces.
struct Draft {
    map: PlaceMap,
    pieces: Vec<Piece>,
    /// The `lesson` block.
    head: Option<Head>,
    /// Its info string; the start of the file where there is none.
    head_place: Place,
}

/// A lesson file.
struct Begun {
    name: String,
    file: usize,
    outline: Outline,
}

/// How far a lesson file is on its way to a lesson.
enum State {
    /// As it was read before; its rigs are taken out on the way.
    Known(Box<KeptLesson>),
    Draft(Box<Draft>),
}

/// A rig block that was checked.
struct Checked {
    /// The name and its place.
    name: Option<(String, Place)>,
    /// `None` where it has an error.
    rig: Option<Rig>,
    findings: Vec<Finding>,
}

/// The rigs of a pack.
#[derive(Default)]
struct Rigs {
    all: Vec<Rig>,
    /// Where the name of each stands.
    name_places: Vec<Place>,
    /// `None` for one with an error.
    ids: BTreeMap<String, Option<RigId>>,
}

/// A lesson that was read, with what was found.
struct ReadLesson {
    lesson: Lesson,
    findings: Vec<Finding>,
    /// Of names in its texts.
    in_texts: Vec<Finding>,
    /// Rigs that its texts asked for; `None` for a lesson that the store knew.
    asked: Option<BTreeSet<RigId>>,
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

    /// Its rig blocks, in order.
    fn check_rigs(&self, around: Around<'_>) -> Vec<Checked> {
        let fences = self.pieces.iter().filter_map(|piece| match piece {
            Piece::Fence(fence) if fence.word == "rig" => Some(fence),
            _ => None,
        });
        let checked = fences.map(|fence| {
            let name = fence.name.as_ref().map_or(fence.word, |(name, _)| name);
            let (rig, findings) = rig::check(name, &fence.body, around);
            Checked {
                name: fence.name.clone(),
                rig,
                findings,
            }
        });
        checked.collect()
    }
}

impl Rigs {
    /// The rigs of a file, each with the place of its name.
    fn of_file(&self, file: usize) -> Vec<(Rig, Place)> {
        let from = self.all.partition_point(|rig| rig.place.file < file);
        let to = self.all.partition_point(|rig| rig.place.file <= file);
        let places = self.name_places[from..to].iter().copied();
        self.all[from..to].iter().cloned().zip(places).collect()
    }
}

struct Reader<'a> {
    sources: &'a Sources,
    scope: Scope,
    store: &'a Store,
    findings: Vec<Finding>,
}

impl<'a> Reader<'a> {
    fn pack(&mut self) -> Pack {
        let mut pack = self.own_files();
        let kit = self.kit();
        let common = store::common(self.sources);
        let (begun, mut states) = self.begin_lessons(common);
        let rigs = self.rigs(&mut states, &kit);
        let pictures = self.pictures();
        let lesson_names = begun.iter().map(|lesson| lesson.name.clone()).collect();
        let lesson_names = LessonNames::of(lesson_names);
        let courses = self.course_files();
        let outcomes: Vec<String> = courses
            .iter()
            .flat_map(|(_, _, course)| &course.outcomes)
            .map(|o| o.key.clone())
            .collect();
        let names = || Names {
            rigs: &rigs.all,
            rig_ids: &rigs.ids,
            pictures: &pictures,
            lessons: &lesson_names,
            outcomes: &outcomes,
            whole_pack: self.scope == Scope::Pack,
            findings: RefCell::default(),
            asked: RefCell::default(),
        };
        let digest = names_digest(&names());
        let read = begun.par_iter().zip(states).map(|(begun, state)| {
            let mut own = self.apart();
            own.lesson(begun, state, names(), digest, &kit)
        });
        let read: Vec<ReadLesson> = read.collect();
        let mut lessons = Vec::with_capacity(read.len());
        let mut in_texts = Vec::new();
        let mut asked = Vec::with_capacity(read.len());
        for mut read in read {
            lessons.push(read.lesson);
            self.findings.append(&mut read.findings);
            in_texts.append(&mut read.in_texts);
            asked.push(read.asked);
        }
        self.findings.append(&mut in_texts);
        let outlines: Vec<&Outline> = begun.iter().map(|lesson| &lesson.outline).collect();
        let lesson_codes = outlines.iter().filter_map(|outline| outline.code.as_ref());
        let mut found = checks::codes("lesson code", lesson_codes, self.sources);
        let course_codes = courses
            .iter()
            .filter_map(|(_, _, course)| course.code.as_ref());
        let course_codes: Vec<Named> = course_codes.map(Named::from).collect();
        found.append(&mut checks::codes(
            "course code",
            course_codes.iter(),
            self.sources,
        ));
        found.append(&mut checks::needs(&outlines, &lessons));
        found.append(&mut checks::twins(&rigs.all, &rigs.ids));
        if self.scope == Scope::Pack {
            found.append(&mut checks::files(self.sources));
        }
        self.findings.append(&mut found);
        pack.courses = courses
            .into_iter()
            .map(|(name, file, course)| self.course(name, file, course, &lesson_names, &lessons))
            .collect();
        self.keep(common, digest, &begun, &lessons, &asked, &rigs);
        pack.lessons = lessons;
        pack.kit = kit.items;
        pack.rigs = rigs.all;
        // They live as long as the pack, and a list grows to twice what it holds.
        pack.rigs.shrink_to_fit();
        pack.pictures = pictures;
        pack.own = self.own_folder();
        pack
    }

    /// A reader of the same files with findings of its own, for a part that is read in parallel.
    const fn apart(&self) -> Self {
        Self {
            sources: self.sources,
            scope: self.scope,
            store: self.store,
            findings: Vec::new(),
        }
    }

    fn report(&mut self, problem: &Problem, place: Place) {
        self.findings.push(problem.at(place));
    }

    /// Files `FOLDER/STEM.EXTENSION` with their stem and text; a file that is not text is noted.
    fn folder(&mut self, folder: &str, extension: &str) -> Vec<(String, usize, &'a str)> {
        let mut found = Vec::new();
        for (i, file) in self.sources.files().iter().enumerate() {
            let Some(rest) = file.path.strip_prefix(folder) else {
                continue;
            };
            let Some(stem) = rest.strip_suffix(extension) else {
                continue;
            };
            if stem.contains('/') || stem.is_empty() {
                continue;
            }
            if let Some(text) = self.text(i) {
                found.push((stem.to_owned(), i, text));
            }
        }
        found
    }

    /// The text of a file.
    fn text(&mut self, file: usize) -> Option<&'a str> {
        let source = &self.sources.files()[file];
        match std::str::from_utf8(&source.bytes) {
            Ok(text) => Some(text),
            Err(_) => {
                let path = source.path.clone();
                self.report(&Problem::NotText { path }, files::start_of(file));
                None
            }
        }
    }

    /// A file of TOML at the top.
    fn top_file(&mut self, path: &str) -> Option<BlockText> {
        let file = self.sources.files().iter().position(|f| f.path == path)?;
        let text = self.text(file)?;
        Some(BlockText::of_file(file, path, text))
    }

    /// `pack.toml`, `rules.toml` and `glossary.toml`.
    fn own_files(&mut self) -> Pack {
        if self.scope == Scope::OneLesson {
            return files::plain_pack();
        }
        let has = |path: &str| self.sources.files().iter().any(|f| f.path == path);
        let mut pack = files::plain_pack();
        if !has(PACK_FILE) {
            let problem = Problem::MissingFile {
                path: PACK_FILE,
                what: "a `title`",
            };
            self.findings.push(problem.of_pack());
        }
        if let Some(file) = self.top_file(PACK_FILE) {
            let (read, mut findings) = files::pack_file(&file);
            self.findings.append(&mut findings);
            pack = read;
        }
        if let Some(file) = self.top_file(RULES_FILE) {
            let (book, mut findings) = files::rules_file(&file);
            self.findings.append(&mut findings);
            pack.rulebook = book;
        }
        if let Some(file) = self.top_file(GLOSSARY_FILE) {
            let (glossary, mut findings) = files::glossary_file(&file);
            self.findings.append(&mut findings);
            pack.glossary = glossary;
        }
        pack
    }

    /// `kit/*.toml`.
    fn kit(&mut self) -> KitRoom {
        let mut room = KitRoom::default();
        if self.scope == Scope::OneLesson {
            return room;
        }
        let mut all = Vec::new();
        for (name, file, text) in self.folder("kit/", ".toml") {
            let path = self.sources.files()[file].path.clone();
            let block = BlockText::of_file(file, &path, text);
            let (item, mut findings) = kit::read(&name, &block);
            let broken = findings.iter().any(|f| f.severity == Severity::Error);
            self.findings.append(&mut findings);
            if broken {
                room.broken.push(name);
            } else {
                room.items.push(item.clone());
            }
            all.push(item);
        }
        for item in &all {
            for pairing in &item.tested_with {
                if !room.knows(&pairing.rope) {
                    let problem = room.unknown(&pairing.rope);
                    self.findings.push(problem.at(pairing.place));
                }
            }
        }
        room
    }

    /// The lesson files, as they were read before or in pieces, the `lesson` block taken out.
    ///
    /// - `common`: of what every lesson is read with.
    fn begin_lessons(&mut self, common: Digest) -> (Vec<Begun>, Vec<State>) {
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
    fn keep(
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

    /// The rigs of all lessons, with their names.
    fn rigs(&mut self, states: &mut [State], kit: &KitRoom) -> Rigs {
        let by_name = kit.items.iter().map(|item| (item.name.as_str(), item));
        let by_name: BTreeMap<&str, &KitItem> = by_name.collect();
        let rule_names: Vec<&str> = rulebook::RULES.iter().map(|r| r.name).collect();
        let around = Around {
            kit: &by_name,
            broken_kit: &kit.broken,
            has_kit: self.scope == Scope::Pack,
            rules: &rule_names,
        };
        let checked = states.par_iter_mut().map(|state| match state {
            State::Known(known) => {
                let rigs = std::mem::take(&mut known.rigs).into_iter();
                let checked = rigs.map(|(rig, name_place)| Checked {
                    name: Some((rig.name.clone(), name_place)),
                    rig: Some(rig),
                    findings: Vec::new(),
                });
                checked.collect::<Vec<_>>()
            }
            State::Draft(draft) => draft.check_rigs(around),
        });
        let checked: Vec<Vec<Checked>> = checked.collect();
        let mut rigs = Rigs::default();
        let mut first_places: BTreeMap<String, Place> = BTreeMap::new();
        for Checked {
            name,
            rig,
            mut findings,
        } in checked.into_iter().flatten()
        {
            let Some((name, place)) = &name else {
                // That it has no name is noted; what stands in it is checked all the same.
                self.findings.append(&mut findings);
                continue;
            };
            if !rig::is_plain_name(name) {
                let problem = Problem::BadName {
                    what: "rig",
                    name: name.clone(),
                    why: "only small letters, digits, hyphens and underlines can stand in it",
                };
                self.report(&problem, *place);
            }
            if let Some(first) = first_places.get(name) {
                let problem = Problem::DuplicateName {
                    what: "rig",
                    name: name.clone(),
                    first: checks::where_is(*first, self.sources),
                };
                self.report(&problem, *place);
            }
            self.findings.append(&mut findings);
            if first_places.contains_key(name) {
                continue;
            }
            first_places.insert(name.clone(), *place);
            let id = rig.map(|rig| {
                rigs.all.push(rig);
                rigs.name_places.push(*place);
                RigId(rigs.all.len() - 1)
            });
            rigs.ids.insert(name.clone(), id);
        }
        rigs
    }

    /// Everything below `pictures/`.
    fn pictures(&self) -> Vec<(String, Vec<u8>)> {
        let files = self.sources.files().iter();
        files
            .filter_map(|file| {
                let name = file.path.strip_prefix("pictures/")?;
                Some((name.to_owned(), file.bytes.clone()))
            })
            .collect()
    }

    /// Everything below `own/`: what takes the place of the program's own files.
    fn own_folder(&mut self) -> BTreeMap<String, OwnFile> {
        let mut own = BTreeMap::new();
        if self.scope == Scope::OneLesson {
            return own;
        }
        for (file, source) in self.sources.files().iter().enumerate() {
            let Some(path) = source.path.strip_prefix("own/") else {
                continue;
            };
            if let Some(text) = self.text(file) {
                let text = text.to_owned();
                own.insert(path.to_owned(), OwnFile { text, file });
            }
        }
        own
    }

    /// A lesson as it was read before, if it would come to the same now, or from its pieces.
    ///
    /// - `digest`: of the names.
    fn lesson(
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

    /// Names of lessons to their ids.
    fn lesson_ids(&mut self, texts: &[Text], names: &LessonNames) -> Vec<LessonId> {
        let mut ids = Vec::new();
        for text in texts {
            if let Some(id) = names.id(&text.value) {
                ids.push(id);
            } else if self.scope == Scope::Pack {
                let problem = Problem::UnknownName {
                    what: "lesson",
                    name: text.value.clone(),
                    valid: names.all().to_vec(),
                };
                self.report(&problem, text.place);
            }
        }
        ids
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

    /// `courses/*.toml`.
    fn course_files(&mut self) -> Vec<(String, usize, files::CourseFile)> {
        if self.scope == Scope::OneLesson {
            return Vec::new();
        }
        let mut read = Vec::new();
        for (name, file, text) in self.folder("courses/", ".toml") {
            let path = self.sources.files()[file].path.clone();
            let block = BlockText::of_file(file, &path, text);
            let (course, mut findings) = files::course_file(&block);
            self.findings.append(&mut findings);
            read.push((name, file, course));
        }
        read
    }

    fn course(
        &mut self,
        name: String,
        file: usize,
        course: files::CourseFile,
        names: &LessonNames,
        lessons: &[Lesson],
    ) -> Course {
        let around = CourseLessons {
            written: &course.lessons,
            names,
            lessons,
        };
        let days = course.days.into_iter();
        let days = days.filter_map(|day| day::resolve(day, &around, &mut self.findings));
        let days = days.collect();
        let known = course.lessons.iter();
        let known = known.filter(|l| names.id(&l.value).is_some());
        let lesson_places = known.map(|l| l.place).collect();
        let lessons = self.lesson_ids(&course.lessons, names);
        let title = course.title;
        Course {
            place: title.as_ref().map_or(files::start_of(file), |t| t.place),
            title: title.map_or_else(|| name.clone(), |t| t.value),
            name,
            code: course.code.map(|code| code.value),
            summary: course.summary,
            lessons,
            lesson_places,
            outcomes: course.outcomes,
            hours: course.hours,
            days,
        }
    }
}

/// Terms of the trade.
const GLOSSARY_FILE: &str = "glossary.toml";
/// The pack's own file.
const PACK_FILE: &str = "pack.toml";
/// Other limits for the rules.
const RULES_FILE: &str = "rules.toml";
