//! What courses and blocks become for pages and sheets: teaching days, pairs, questions, matrices.
//!
//! Expected values are worked out by hand in the comments; where a test checks against a published
//! source, the source stands beside it.

use ropeleaf::finding::{SourceFile, Sources};
use ropeleaf::pack::{self, Reading, Scope};
use ropeleaf::press::view::{DayView, PartKind, day_view};
use ropeleaf::press::words::Words;

fn file(path: &str, text: &str) -> SourceFile {
    SourceFile {
        path: path.to_owned(),
        bytes: text.into(),
    }
}

fn words() -> Words {
    Words::for_language("en")
}

/// Two lessons with kit, and a course of two days that splits the first between them.
fn two_days() -> Reading {
    let lesson = |title: &str, code: &str, more: &str| {
        format!(
            "```lesson\ntitle = \"{title}\"\ncode = \"{code}\"\nminutes = 90\n{more}\n```\n\nText.\n"
        )
    };
    let item = |title: &str| format!("title = \"{title}\"\nkind = \"other\"\n");
    let day = "per_instructor = 3\nsite = \"Where:\"\nweather = \"Wind:\"\nrescue = \"Who:\"\n";
    let course = format!(
        "title = \"Week\"\ncode = \"W\"\nlessons = [\"first\", \"second\"]\n\
         [[outcome]]\nkey = \"O1\"\ntext = \"Ties\"\n[[outcome]]\nkey = \"O2\"\ntext = \"Hangs\"\n\
         [[day]]\ntitle = \"One\"\nbegins = \"08:30\"\nends = \"17:00\"\ngroup = 7\n{day}\
         [[day.part]]\nlesson = \"first\"\nminutes = 60\n\
         [[day.part]]\npause = \"Tea\"\nminutes = 15\n\
         [[day.part]]\nlesson = \"second\"\n\
         [[day]]\ntitle = \"Two\"\nbegins = 09:00:00\ngroup = 2\ninstructors = 2\n{day}\
         [[day.part]]\ntask = \"Walk\"\nminutes = 20\n\
         [[day.part]]\nlesson = \"first\"\nminutes = 30\n"
    );
    let sources = Sources::new(vec![
        file(
            "pack.toml",
            "title = \"P\"\ncaution = \"Our own caution.\"\n",
        ),
        file("kit/connector.toml", &item("Connector")),
        file("kit/line.toml", &item("A line")),
        file("courses/week.toml", &course),
        file(
            "lessons/first.md",
            &lesson(
                "First",
                "L1",
                "outcomes = [\"O1\"]\nkit = [\"line\", { item = \"connector\", count = 2 }]",
            ),
        ),
        file(
            "lessons/second.md",
            &lesson(
                "Second",
                "L2",
                "outcomes = [\"O2\"]\nkit = [\"line\", { item = \"connector\", count = 3 }]\ntwo_lines = true",
            ),
        ),
    ]);
    let reading = pack::read(sources, Scope::Pack);
    assert_eq!(reading.findings, []);
    reading
}

fn day(reading: &Reading, index: usize) -> DayView {
    day_view(&reading.pack, &reading.pack.courses[0], index, words())
}

#[test]
fn times_of_day_follow_from_the_minutes() {
    let reading = two_days();
    let one = day(&reading, 0);
    let rows: Vec<(&str, &str, &str, Option<&str>)> = one
        .parts
        .iter()
        .map(|p| (&*p.from, &*p.to, &*p.title, p.share.as_deref()))
        .collect();
    // 08:30 + 60 = 09:30, + 15 = 09:45, + 90 (the lesson's own) = 11:15.
    assert_eq!(
        rows,
        [
            ("08:30", "09:30", "First", Some("part 1 of 2")),
            ("09:30", "09:45", "Tea", None),
            ("09:45", "11:15", "Second", None),
        ]
    );
    assert_eq!(one.parts[1].kind, PartKind::Pause);
    assert_eq!((&*one.begins, &*one.ends), ("08:30", "11:15"));
    assert_eq!(one.latest_end.as_deref(), Some("17:00"));
    assert_eq!((&*one.length, &*one.taught), ("2 h 45 min", "2 h 30 min"));
    assert_eq!(one.pauses, "15 min");
    let two = day(&reading, 1);
    assert_eq!(two.parts[1].share.as_deref(), Some("part 2 of 2"));
    assert_eq!(two.parts[1].from, "09:20");
    assert_eq!((two.number, two.days), (2, 2));
}

#[test]
fn kit_and_instructors_are_for_the_group() {
    let reading = two_days();
    let one = day(&reading, 0);
    // Seven people, three with one instructor: three instructors.
    assert_eq!((one.instructors_needed, one.instructors), (3, 3));
    // The second lesson uses the connectors of the first again, and one more: 3 for each of 7.
    let rows: Vec<(&str, u32, &str)> = one
        .kit
        .iter()
        .map(|k| (&*k.name, k.count, &*k.each))
        .collect();
    assert_eq!(
        rows,
        [
            ("A line", 7, "1 for each of 7"),
            ("Connector", 21, "3 for each of 7"),
        ]
    );
    assert_eq!(one.kit[1].lessons, ["L1", "L2"]);
    let two = day(&reading, 1);
    assert_eq!((two.instructors_needed, two.instructors), (1, 2));
    assert_eq!(two.kit[1].count, 4);
}

#[test]
fn a_day_has_its_outcomes_checks_and_cautions() {
    let reading = two_days();
    let one = day(&reading, 0);
    let keys: Vec<&str> = one.outcomes.iter().map(|(key, _)| &**key).collect();
    assert_eq!(keys, ["O1", "O2"]);
    assert!(one.two_lines);
    let two = day(&reading, 1);
    assert_eq!(two.outcomes.len(), 1);
    assert!(!two.two_lines);
    let checks: Vec<&str> = two.checks.iter().map(|c| c.key).collect();
    assert_eq!(checks, ["site", "weather", "rescue"]);
    assert_eq!(two.checks[2].lines, ["Who:"]);
    let built_in = words().list("caution.every").len() + words().list("caution.day").len();
    assert_eq!(two.cautions.len(), built_in + 1);
    assert_eq!(two.cautions.last().unwrap(), "Our own caution.");
}
