//! A teaching day as plain data: times of day, instructors, kit for the group, checks, cautions.
//!
//! ```text
//! Day + its course's lessons ─day_view→ DayView ─→ a page, a sheet
//! ```
//!
//! Kit is used again from lesson to lesson, so the day needs of each item the most that any of its
//! lessons asks for one person, times the people of the group.

use std::collections::BTreeMap;

use jiff::civil::Time;
use serde::Serialize;

use crate::pack::{Course, Day, DayWhat, KitId, LessonId, Pack};
use crate::press::words::Words;

use super::{Document, cautions};

/// A teaching day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayView {
    /// What the day is called.
    pub title: String,
    /// The course's title.
    pub course: String,
    /// The course's code; empty where it has none.
    pub course_code: String,
    /// Which day of the course, from 1.
    pub number: usize,
    /// How many days the course has.
    pub days: usize,
    /// When it begins: `08:30`.
    pub begins: String,
    /// When the last part is over.
    pub ends: String,
    /// When it must be over at the latest, where the plan says so.
    pub latest_end: Option<String>,
    /// From the first to the last part: `7 h 15 min`.
    pub length: String,
    /// Lessons alone.
    pub taught: String,
    /// Breaks alone.
    pub pauses: String,
    /// People taught.
    pub group: u32,
    /// People that one instructor has at most.
    pub per_instructor: u32,
    /// Instructors that the group needs at least.
    pub instructors_needed: u32,
    /// Instructors planned; never fewer than needed.
    pub instructors: u32,
    /// What the day is for.
    pub aims: Vec<String>,
    /// Outcomes that the day's lessons work on: key and words.
    pub outcomes: Vec<(String, String)>,
    /// Its parts in order.
    pub parts: Vec<DayPartView>,
    /// Kit of its lessons for the whole group, by title.
    pub kit: Vec<DayKit>,
    /// What to bring beyond it.
    pub bring: Vec<String>,
    /// Site, weather, rescue: lines to fill in before anyone leaves the ground.
    pub checks: Vec<CheckList>,
    /// Whether a lesson of the day has a saw in use.
    pub two_lines: bool,
    /// The cautions of the sheet.
    pub cautions: Vec<String>,
}

/// One stretch of a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DayPartView {
    /// When it begins: `08:30`.
    pub from: String,
    /// When it is over.
    pub to: String,
    /// How long: `1 h 15 min`.
    pub length: String,
    /// How long, minutes.
    pub minutes: u32,
    /// What sort of part it is.
    pub kind: PartKind,
    /// The lesson's title, or the author's words.
    pub title: String,
    /// A lesson's code.
    pub code: Option<String>,
    /// A lesson's name: its page.
    pub lesson: Option<String>,
    /// `part 1 of 2`, where the course's days teach the lesson in several parts.
    pub share: Option<String>,
}

/// The sorts of parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartKind {
    /// A lesson.
    Lesson,
    /// A break.
    Pause,
    /// Anything else.
    Task,
}

/// One kit item for the group.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct DayKit {
    /// The item's name in the pack: its place in the register.
    pub key: String,
    /// Words for people.
    pub name: String,
    /// How many for the whole group.
    pub count: u32,
    /// `2 for each of 6`.
    pub each: String,
    /// Codes of the day's lessons that use it.
    pub lessons: Vec<String>,
}

/// Lines to fill in under one heading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CheckList {
    /// Stable name: `site`, `weather`, `rescue`.
    pub key: &'static str,
    /// Heading.
    pub heading: String,
    /// What to look at or fill in.
    pub lines: Vec<String>,
}

/// A day of a course as data.
///
/// - `index`: which of the course's days, from 0.
pub fn day_view(pack: &Pack, course: &Course, index: usize, words: Words) -> DayView {
    let day = &course.days[index];
    let of_kind = |wanted: fn(&DayWhat) -> bool| -> u32 {
        let parts = day.parts.iter().filter(|part| wanted(&part.what));
        parts.map(|part| part.minutes).sum()
    };
    let taught = of_kind(|what| matches!(what, DayWhat::Lesson(_)));
    let pauses = of_kind(|what| matches!(what, DayWhat::Pause(_)));
    let needed = day.instructors_needed();
    let list = |key, heading, lines: &Vec<String>| CheckList {
        key,
        heading: words.get(heading).to_owned(),
        lines: lines.clone(),
    };
    DayView {
        title: day.title.clone(),
        course: course.title.clone(),
        course_code: course.code.clone().unwrap_or_default(),
        number: index + 1,
        days: course.days.len(),
        begins: clock(day.begins, 0),
        ends: clock(day.begins, day.minutes()),
        latest_end: day.ends.map(|end| clock(end, 0)),
        length: length(day.minutes(), words),
        taught: length(taught, words),
        pauses: length(pauses, words),
        group: day.group,
        per_instructor: day.per_instructor,
        instructors_needed: needed,
        instructors: day.instructors.unwrap_or(needed),
        aims: day.aims.clone(),
        outcomes: outcomes(pack, course, day),
        parts: parts(pack, course, index, words),
        kit: kit(pack, day, words),
        bring: day.bring.clone(),
        checks: vec![
            list("site", "day.site", &day.site),
            list("weather", "day.weather", &day.weather),
            list("rescue", "day.rescue", &day.rescue),
        ],
        two_lines: lessons(day).iter().any(|id| pack.lesson(*id).two_lines),
        cautions: cautions(pack, Document::Day, words),
    }
}

/// The lessons of a day in the order of teaching, each once.
fn lessons(day: &Day) -> Vec<LessonId> {
    let mut ids = Vec::new();
    for part in &day.parts {
        if let DayWhat::Lesson(id) = part.what
            && !ids.contains(&id)
        {
            ids.push(id);
        }
    }
    ids
}

/// `08:30` so many minutes later. The reader has seen that the day does not pass midnight.
fn clock(time: Time, minutes: u32) -> String {
    let later = time.saturating_add(jiff::SignedDuration::from_mins(i64::from(minutes)));
    format!("{:02}:{:02}", later.hour(), later.minute())
}

/// Minutes in an hour.
const HOUR: u32 = 60;

/// `1 h 15 min`, `2 h`, `45 min`.
fn length(minutes: u32, words: Words) -> String {
    let (h, m) = ((minutes / HOUR).to_string(), (minutes % HOUR).to_string());
    match (minutes / HOUR, minutes % HOUR) {
        (0, _) => words.fill("day.minutes", &[("m", &m)]),
        (_, 0) => words.fill("day.hours", &[("h", &h)]),
        _ => words.fill("day.hours_minutes", &[("h", &h), ("m", &m)]),
    }
}

fn outcomes(pack: &Pack, course: &Course, day: &Day) -> Vec<(String, String)> {
    let lessons = lessons(day);
    let met = |key: &String| {
        let mut lessons = lessons.iter();
        lessons.any(|id| pack.lesson(*id).outcomes.contains(key))
    };
    let own = course.outcomes.iter().filter(|o| met(&o.key));
    own.map(|o| (o.key.clone(), o.text.clone())).collect()
}

fn parts(pack: &Pack, course: &Course, index: usize, words: Words) -> Vec<DayPartView> {
    let day = &course.days[index];
    let times = |days: &[Day], id: LessonId| {
        let parts = days.iter().flat_map(|day| &day.parts);
        parts.filter(|p| p.what == DayWhat::Lesson(id)).count()
    };
    let mut rows = Vec::new();
    let mut gone = 0;
    let mut seen: BTreeMap<LessonId, usize> = BTreeMap::new();
    for part in &day.parts {
        let (kind, title, id) = match &part.what {
            DayWhat::Lesson(id) => (PartKind::Lesson, &pack.lesson(*id).title, Some(*id)),
            DayWhat::Pause(text) => (PartKind::Pause, text, None),
            DayWhat::Task(text) => (PartKind::Task, text, None),
        };
        let share = id.and_then(|id| {
            let here = seen.entry(id).or_insert(0);
            *here += 1;
            let n = times(&course.days[..index], id) + *here;
            let all = times(&course.days, id);
            let fields = [("n", &*n.to_string()), ("all", &*all.to_string())];
            (all > 1).then(|| words.fill("day.part_of", &fields))
        });
        rows.push(DayPartView {
            from: clock(day.begins, gone),
            to: clock(day.begins, gone + part.minutes),
            length: length(part.minutes, words),
            minutes: part.minutes,
            kind,
            title: title.clone(),
            code: id.map(|id| pack.lesson(id).code.clone()),
            lesson: id.map(|id| pack.lesson(id).name.clone()),
            share,
        });
        gone += part.minutes;
    }
    rows
}

fn kit(pack: &Pack, day: &Day, words: Words) -> Vec<DayKit> {
    let mut needs: BTreeMap<KitId, (u32, Vec<String>)> = BTreeMap::new();
    for id in lessons(day) {
        let lesson = pack.lesson(id);
        let mut own: BTreeMap<KitId, u32> = BTreeMap::new();
        for used in &lesson.kit {
            *own.entry(used.item).or_insert(0) += used.count;
        }
        for (item, count) in own {
            let (most, codes) = needs.entry(item).or_default();
            *most = count.max(*most);
            codes.push(lesson.code.clone());
        }
    }
    let group = day.group.to_string();
    let rows = needs.into_iter().map(|(item, (most, lessons))| {
        let item = pack.kit_item(item);
        let n = most.to_string();
        DayKit {
            key: item.name.clone(),
            name: item.title.clone(),
            count: most.saturating_mul(day.group),
            each: words.fill("day.each", &[("n", &n), ("group", &group)]),
            lessons,
        }
    });
    let mut rows: Vec<DayKit> = rows.collect();
    rows.sort_by(|a, b| a.name.cmp(&b.name));
    rows
}
