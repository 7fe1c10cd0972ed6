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
use std::collections::BTreeMap;

use rayon::prelude::*;

use super::day::{self, CourseLessons};
use super::flow::{LessonNames, Names};
use super::kit_room::KitRoom;
use super::lesson::Head;
use super::markdown::{Fence, Piece, Source};
use super::{
    Course, KitId, KitUse, Lesson, LessonId, OwnFile, Pack, Reading, RigId, Scope, checks, files,
    lesson, markdown,
};
use crate::block::{BlockText, PlaceMap, Problem, Text};
use crate::finding::{Finding, Place, Severity, Sources};
use crate::kit::{self, KitItem};
use crate::rig::{self, Around, Rig};
use crate::rulebook;

/// Reads a pack whole. It never fails: everything wrong is a finding.
pub fn read(sources: Sources, scope: Scope) -> Reading {
    let mut reader = Reader {
        sources: &sources,
        scope,
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
pub(super) struct Draft {
    name: String,
    file: usize,
    map: PlaceMap,
    pieces: Vec<Piece>,
    /// The `lesson` block.
    pub(super) head: Option<Head>,
    /// Its info string; the start of the file where there is none.
    pub(super) head_place: Place,
}

struct Reader<'a> {
    sources: &'a Sources,
    scope: Scope,
    findings: Vec<Finding>,
}

impl<'a> Reader<'a> {
    fn pack(&mut self) -> Pack {
        let mut pack = self.own_files();
        let kit = self.kit();
        let mut drafts = self.drafts();
        let (rigs, rig_ids) = self.rigs(&drafts, &kit);
        let pictures = self.pictures();
        let lesson_names = drafts.iter().map(|d| d.name.clone()).collect();
        let lesson_names = LessonNames::of(lesson_names);
        let courses = self.course_files();
        let outcomes: Vec<String> = courses
            .iter()
            .flat_map(|(_, _, course)| &course.outcomes)
            .map(|o| o.key.clone())
            .collect();
        let read = drafts.par_iter_mut().map(|draft| {
            let names = Names {
                rigs: &rigs,
                rig_ids: &rig_ids,
                pictures: &pictures,
                lessons: &lesson_names,
                outcomes: &outcomes,
                whole_pack: self.scope == Scope::Pack,
                findings: RefCell::default(),
            };
            let mut own = self.apart();
            let lesson = own.lesson(draft, &names, &kit);
            (lesson, own.findings, names.findings.into_inner())
        });
        let read: Vec<_> = read.collect();
        let mut lessons = Vec::with_capacity(read.len());
        let mut in_texts = Vec::new();
        for (lesson, mut findings, mut of_names) in read {
            lessons.push(lesson);
            self.findings.append(&mut findings);
            in_texts.append(&mut of_names);
        }
        self.findings.append(&mut in_texts);
        let lesson_codes = drafts.iter().filter_map(|d| d.head.as_ref()?.code.as_ref());
        let mut found = checks::codes("lesson code", lesson_codes, self.sources);
        let course_codes = courses.iter().filter_map(|(_, _, c)| c.code.as_ref());
        found.append(&mut checks::codes(
            "course code",
            course_codes,
            self.sources,
        ));
        found.append(&mut checks::needs(&drafts, &lessons));
        found.append(&mut checks::twins(&rigs, &rig_ids));
        if self.scope == Scope::Pack {
            found.append(&mut checks::files(self.sources));
        }
        self.findings.append(&mut found);
        pack.courses = courses
            .into_iter()
            .map(|(name, file, course)| self.course(name, file, course, &lesson_names, &lessons))
            .collect();
        pack.lessons = lessons;
        pack.kit = kit.items;
        pack.rigs = rigs;
        pack.pictures = pictures;
        pack.own = self.own_folder();
        pack
    }

    /// A reader of the same files with findings of its own, for a part that is read in parallel.
    const fn apart(&self) -> Self {
        Self {
            sources: self.sources,
            scope: self.scope,
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

    /// The lesson files in pieces, the `lesson` block taken out.
    fn drafts(&mut self) -> Vec<Draft> {
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
        let drafts = texts.into_par_iter().map(|(name, file, text)| {
            let mut own = self.apart();
            (own.draft(name, file, text), own.findings)
        });
        let (drafts, findings): (Vec<_>, Vec<_>) = drafts.unzip();
        self.findings.extend(findings.into_iter().flatten());
        drafts
    }

    fn draft(&mut self, name: String, file: usize, text: &str) -> Draft {
        let map = PlaceMap::straight(file, 0, text.len());
        let source = Source { text, map: &map };
        let pieces = markdown::pieces(source, &mut self.findings);
        let mut draft = Draft {
            name,
            file,
            map: map.clone(),
            pieces: Vec::new(),
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
    fn rigs(
        &mut self,
        drafts: &[Draft],
        kit: &KitRoom,
    ) -> (Vec<Rig>, BTreeMap<String, Option<RigId>>) {
        let by_name = kit.items.iter().map(|item| (item.name.as_str(), item));
        let by_name: BTreeMap<&str, &KitItem> = by_name.collect();
        let rule_names: Vec<&str> = rulebook::RULES.iter().map(|r| r.name).collect();
        let around = Around {
            kit: &by_name,
            broken_kit: &kit.broken,
            has_kit: self.scope == Scope::Pack,
            rules: &rule_names,
        };
        let mut rigs = Vec::new();
        let mut ids: BTreeMap<String, Option<RigId>> = BTreeMap::new();
        let mut first_places: BTreeMap<String, Place> = BTreeMap::new();
        let pieces = drafts.iter().flat_map(|d| &d.pieces);
        let fences: Vec<&Fence> = pieces
            .filter_map(|piece| match piece {
                Piece::Fence(fence) if fence.word == "rig" => Some(fence),
                _ => None,
            })
            .collect();
        let checked = fences.par_iter().map(|fence| {
            let name = fence.name.as_ref().map_or(fence.word, |(name, _)| name);
            rig::check(name, &fence.body, around)
        });
        let checked: Vec<_> = checked.collect();
        for (fence, (rig, mut findings)) in fences.into_iter().zip(checked) {
            let Some((name, place)) = &fence.name else {
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
                rigs.push(rig);
                RigId(rigs.len() - 1)
            });
            ids.insert(name.clone(), id);
        }
        (rigs, ids)
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

    fn lesson(&mut self, draft: &mut Draft, names: &Names<'_>, kit: &KitRoom) -> Lesson {
        let text = self.sources.text(draft.file);
        let source = Source {
            text,
            map: &draft.map,
        };
        let pieces = std::mem::take(&mut draft.pieces);
        let start = files::start_of(draft.file);
        let sections = lesson::sections(pieces, source, start, names);
        let head = draft.head.as_ref();
        let value = |text: Option<&Text>| text.map(|t| t.value.clone());
        let needs = head.map(|h| h.needs.as_slice()).unwrap_or_default();
        let uses = head.map(|h| h.kit.as_slice()).unwrap_or_default();
        let outcomes = head.map(|h| h.outcomes.as_slice()).unwrap_or_default();
        for outcome in outcomes {
            names.outcome(outcome);
        }
        Lesson {
            name: draft.name.clone(),
            title: head
                .and_then(|h| value(h.title.as_ref()))
                .unwrap_or_else(|| draft.name.clone()),
            code: head
                .and_then(|h| value(h.code.as_ref()))
                .unwrap_or_else(|| draft.name.clone()),
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
