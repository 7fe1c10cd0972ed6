//! The order of reading: what is referred to before what refers to it.
//!
//! ```text
//! pack.toml, rules.toml, glossary.toml → kit → rigs of all lessons → courses' outcomes → lessons → courses
//! ```
//!
//! Lessons and rigs are read in parallel; what is found wrong is put in the order of the files.
//! A rig or kit item with an error keeps its name, so that what refers to it is not reported too.

use std::cell::RefCell;
use std::collections::BTreeMap;

use rayon::prelude::*;

use super::day::{self, CourseLessons};
use super::flow::{LessonNames, Names};
use super::kept::{Named, Outline, names_digest};
use super::kit_room::KitRoom;
use super::lesson_files::ReadLesson;
use super::{Course, Lesson, LessonId, OwnFile, Pack, Reading, Scope, checks, files};
use crate::block::{BlockText, Problem, Text};
use crate::finding::{Finding, Place, Severity, Sources};
use crate::kit;
use crate::store::{self, Store};

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

/// Reads a pack, part by part.
pub(super) struct Reader<'a> {
    pub(super) sources: &'a Sources,
    pub(super) scope: Scope,
    pub(super) store: &'a Store,
    /// What was found wrong.
    pub(super) findings: Vec<Finding>,
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
    pub(super) const fn apart(&self) -> Self {
        Self {
            sources: self.sources,
            scope: self.scope,
            store: self.store,
            findings: Vec::new(),
        }
    }

    pub(super) fn report(&mut self, problem: &Problem, place: Place) {
        self.findings.push(problem.at(place));
    }

    /// Files `FOLDER/STEM.EXTENSION` with their stem and text; a file that is not text is noted.
    pub(super) fn folder(
        &mut self,
        folder: &str,
        extension: &str,
    ) -> Vec<(String, usize, &'a str)> {
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

    /// Names of lessons to their ids.
    pub(super) fn lesson_ids(&mut self, texts: &[Text], names: &LessonNames) -> Vec<LessonId> {
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
