//! A teaching day of a course: `[[day]]` of a course file, in two steps.
//!
//! ```text
//! [[day]] ─read→ DayFile (lessons as words) ─resolve, with the course's lessons→ Day
//! ```
//!
//! Past `resolve` every part has its minutes, and the day ends before midnight and not later than
//! the author planned.

use jiff::civil::Time;
use serde::Serialize;

use super::flow::LessonNames;
use super::{Lesson, LessonId};
use crate::block::{Item, Problem, Table, Text};
use crate::finding::{Finding, Place};

/// A day of teaching, as planned by the author.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Day {
    /// What the day is called.
    pub title: String,
    /// When it begins.
    pub begins: Time,
    /// When it must be over, if the author says so.
    pub ends: Option<Time>,
    /// How many people are taught.
    pub group: u32,
    /// How many people one instructor has at most.
    pub per_instructor: u32,
    /// How many instructors there are, if the author says so.
    pub instructors: Option<u32>,
    /// What the day is for, a sentence each.
    pub aims: Vec<String>,
    /// What to look at on the site, a line each.
    pub site: Vec<String>,
    /// What to look at in the weather, a line each.
    pub weather: Vec<String>,
    /// What must be ready for a rescue, a line each.
    pub rescue: Vec<String>,
    /// What to bring beyond the lessons' kit, a line each.
    pub bring: Vec<String>,
    /// Its parts in order.
    pub parts: Vec<DayPart>,
    /// Where it stands.
    pub place: Place,
}

/// One stretch of a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayPart {
    /// What is done.
    pub what: DayWhat,
    /// How long, minutes.
    pub minutes: u32,
    /// Where its minutes stand, or where it begins if it takes the lesson's own.
    pub place: Place,
}

/// What is done in a part of a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub enum DayWhat {
    /// A lesson of the course, or a part of it.
    Lesson(LessonId),
    /// A break, in words.
    Pause(String),
    /// Anything else, in words.
    Task(String),
}

impl Day {
    /// How long all parts take together, minutes.
    pub fn minutes(&self) -> u32 {
        self.parts.iter().map(|part| part.minutes).sum()
    }

    /// How many instructors the group needs: its size over what one instructor has, rounded up.
    pub const fn instructors_needed(&self) -> u32 {
        self.group.div_ceil(self.per_instructor)
    }
}

/// A `[[day]]` with its lessons still as words.
#[derive(Debug)]
pub(super) struct DayFile {
    title: Option<Text>,
    begins: Option<(Time, Place)>,
    ends: Option<(Time, Place)>,
    group: Option<u32>,
    per_instructor: Option<u32>,
    instructors: Option<u32>,
    aims: Vec<String>,
    site: Vec<String>,
    weather: Vec<String>,
    rescue: Vec<String>,
    bring: Vec<String>,
    parts: Vec<PartFile>,
    place: Place,
}

#[derive(Debug)]
struct PartFile {
    what: Option<PartWords>,
    minutes: Option<u32>,
    minutes_place: Place,
    place: Place,
}

#[derive(Debug)]
enum PartWords {
    Lesson(Text),
    Pause(String),
    Task(String),
}

/// Reads one `[[day]]`.
pub(super) fn read(mut table: Table<'_>) -> DayFile {
    let title = table
        .need("title", "title = \"Day 1: one line\"")
        .and_then(|item| item.text());
    let begins = table.need("begins", "begins = \"08:30\"");
    let begins = begins.and_then(|item| Some((item.time()?, item.place())));
    let ends = table.take("ends");
    let ends = ends.and_then(|item| Some((item.time()?, item.place())));
    let group_item = table.need("group", "group = 6");
    let group = group_item.as_ref().and_then(Item::count);
    let per_instructor = table
        .need("per_instructor", "per_instructor = 3")
        .and_then(|item| item.count());
    let instructors = table.count("instructors");
    if let (Some(people), Some(each), Some(there), Some(item)) =
        (group, per_instructor, instructors, &group_item)
        && people > each.saturating_mul(there)
    {
        item.report(&Problem::Conflict {
            message: format!(
                "{people} people with {there} {} are more than {each} for each",
                if there == 1 {
                    "instructor"
                } else {
                    "instructors"
                }
            ),
            help: format!(
                "make the group smaller, or have {} instructors",
                people.div_ceil(each)
            ),
        });
    }
    let lines = |item: Item<'_>| -> Vec<String> {
        let texts = item.one_or_more();
        texts
            .iter()
            .filter_map(Item::text)
            .map(|t| t.value)
            .collect()
    };
    let day = DayFile {
        title,
        begins,
        ends,
        group,
        per_instructor,
        instructors,
        aims: table.take("aims").map(lines).unwrap_or_default(),
        site: table.need("site", SITE).map(lines).unwrap_or_default(),
        weather: table
            .need("weather", WEATHER)
            .map(lines)
            .unwrap_or_default(),
        rescue: table.need("rescue", RESCUE).map(lines).unwrap_or_default(),
        bring: table.take("bring").map(lines).unwrap_or_default(),
        parts: table.table_list("part").into_iter().map(part).collect(),
        place: table.place(),
    };
    if day.parts.is_empty() {
        table.missing("part", "[[day.part]]");
    }
    table.finish();
    day
}

const SITE: &str = "site = [\"Ground under every tree clear of people\"]";
const WEATHER: &str = "weather = [\"Wind at the tree top below the school's limit\"]";
const RESCUE: &str = "rescue = [\"Second climber in harness, rescue line set\"]";

fn part(mut table: Table<'_>) -> PartFile {
    let lesson = table.take("lesson");
    let pause = table.take("pause");
    let task = table.take("task");
    let minutes_item = table.take("minutes");
    let place = table.place();
    let given: Vec<&Item<'_>> = [&lesson, &pause, &task].into_iter().flatten().collect();
    match given[..] {
        [] => table.missing("lesson", "lesson = \"two-limb\""),
        [first, second, ..] => second.report(&Problem::Conflict {
            message: format!(
                "`{}` and `{}` cannot both be one part of a day",
                first.key(),
                second.key()
            ),
            help: "keep one of `lesson`, `pause` and `task`; write the other as a part of its own"
                .to_owned(),
        }),
        [_] => {}
    }
    if lesson.is_none() && (pause.is_some() || task.is_some()) && minutes_item.is_none() {
        table.missing("minutes", MINUTES);
    }
    let words = |item: &Item<'_>| item.text().map(|t| t.value);
    let what = match (&lesson, &pause, &task) {
        (Some(item), _, _) => item.text().map(PartWords::Lesson),
        (_, Some(item), _) => words(item).map(PartWords::Pause),
        (_, _, Some(item)) => words(item).map(PartWords::Task),
        (None, None, None) => None,
    };
    let minutes = minutes_item.as_ref().and_then(Item::count);
    table.finish();
    PartFile {
        what,
        minutes,
        minutes_place: minutes_item.map_or(place, |item| item.place()),
        place,
    }
}

const MINUTES: &str = "minutes = 15";

/// What a day's lessons are resolved against.
pub(super) struct CourseLessons<'a> {
    /// The course's lessons as written.
    pub(super) written: &'a [Text],
    /// Names of all lessons of the pack.
    pub(super) names: &'a LessonNames,
    /// The lessons themselves.
    pub(super) lessons: &'a [Lesson],
}

/// Finds the lessons of a day and what is wrong with its times; `None` where a needed key could not
/// be read.
pub(super) fn resolve(
    day: DayFile,
    course: &CourseLessons<'_>,
    findings: &mut Vec<Finding>,
) -> Option<Day> {
    let mut parts = Vec::new();
    let mut whole = true;
    for part in day.parts {
        match resolve_part(part, course, findings) {
            Some(part) => parts.push(part),
            None => whole = false,
        }
    }
    let (begins, begins_at) = day.begins?;
    let resolved = Day {
        title: day.title?.value,
        begins,
        ends: day.ends.map(|(time, _)| time),
        group: day.group?,
        per_instructor: day.per_instructor?,
        instructors: day.instructors,
        aims: day.aims,
        site: day.site,
        weather: day.weather,
        rescue: day.rescue,
        bring: day.bring,
        parts,
        place: day.place,
    };
    // Without all its parts the day's length is not known.
    if whole {
        let long = too_long(&resolved, begins_at, day.ends.map(|(_, at)| at));
        findings.extend(long);
    }
    Some(resolved)
}

fn resolve_part(
    part: PartFile,
    course: &CourseLessons<'_>,
    findings: &mut Vec<Finding>,
) -> Option<DayPart> {
    let (what, own_minutes) = match part.what? {
        PartWords::Pause(words) => (DayWhat::Pause(words), None),
        PartWords::Task(words) => (DayWhat::Task(words), None),
        PartWords::Lesson(text) => {
            if course.written.iter().all(|l| l.value != text.value) {
                let problem = Problem::UnknownName {
                    what: "lesson of this course",
                    name: text.value.clone(),
                    valid: course.written.iter().map(|l| l.value.clone()).collect(),
                };
                findings.push(problem.at(text.place));
                return None;
            }
            // A lesson that the pack does not have is noted where the course lists it.
            let id = course.names.id(&text.value)?;
            (DayWhat::Lesson(id), course.lessons[id.0].minutes)
        }
    };
    let minutes = part.minutes.or(own_minutes);
    if minutes.is_none() && matches!(what, DayWhat::Lesson(_)) {
        let problem = Problem::MissingKey {
            table: "[[day.part]]".to_owned(),
            key: "minutes".to_owned(),
            example: MINUTES.to_owned(),
        };
        findings.push(problem.at(part.place));
    }
    Some(DayPart {
        what,
        minutes: minutes?,
        place: part.minutes_place,
    })
}

/// Minutes in an hour.
const HOUR: u32 = 60;
/// Minutes in a day.
const MIDNIGHT: u32 = 24 * HOUR;

/// Minutes since midnight.
fn since_midnight(time: Time) -> u32 {
    u32::try_from(time.hour()).unwrap_or(0) * HOUR + u32::try_from(time.minute()).unwrap_or(0)
}

fn too_long(day: &Day, begins_at: Place, ends_at: Option<Place>) -> Option<Finding> {
    let begin = since_midnight(day.begins);
    let length = day.minutes();
    let span = format!("{} h {:02} min", length / HOUR, length % HOUR);
    let over = begin.saturating_add(length);
    let first = format!("{:02}:{:02}", begin / HOUR, begin % HOUR);
    let last = format!("{:02}:{:02}", over / HOUR % 24, over % HOUR);
    let help = || "shorten a part, or move it to another day".to_owned();
    if over >= MIDNIGHT {
        let message =
            format!("the parts of this day take {span}; from {first} that passes midnight");
        return Some(
            Problem::Conflict {
                message,
                help: help(),
            }
            .at(begins_at),
        );
    }
    let (end, at) = day.ends.zip(ends_at)?;
    (over > since_midnight(end)).then(|| {
        let message = format!(
            "the parts of this day take {span}, from {first} to {last}; it is planned to end at {:02}:{:02}",
            end.hour(),
            end.minute()
        );
        Problem::Conflict { message, help: help() }.at(at)
    })
}
