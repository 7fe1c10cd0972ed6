//! What courses and blocks become for pages and sheets: teaching days, pairs, questions, matrices.
//!
//! Expected values are worked out by hand in the comments; where a test checks against a published
//! source, the source stands beside it.

use ropeleaf::finding::{SourceFile, Sources};
use ropeleaf::pack::{self, Part, Reading, RigId, Scope};
use ropeleaf::press::view::{
    AnswerView, DayView, PartKind, QuestionView, day_view, letters, pair_view, pairs, question_view,
};
use ropeleaf::press::words::Words;
use ropeleaf::rules::Proof;
use ropeleaf::{Zones, proof};

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

/// A lesson about a climber of weight W = 80 kg · 9.80665 m/s² = 784.532 N at (3, 4), with two lines
/// that lean 30° and 45° to opposite sides: dx = 6·tan 30° = 3.4641 to the left, 4·tan 45° = 4 to the
/// right. The same two lines with the climber 3 m higher show a mistake.
const LESSON: &str = r#"```lesson
title = "Held"
code = "H"
```

```rig held
title = "Low"
[climber]
mass = "80 kg"
at = [3.0, 4.0]
[point.left]
at = [-0.464101615, 10.0]
[point.right]
at = [7.0, 8.0]
[line.main]
run = ["bridge", "left"]
[line.second]
run = ["bridge", "right"]
```

```rig high
title = "High"
wrong = ["wide-spread", "rope-angle"]
right = "held"
[climber]
mass = "80 kg"
at = [3.0, 7.0]
[point.left]
at = [-0.464101615, 10.0]
[point.right]
at = [7.0, 8.0]
[line.main]
run = ["bridge", "left"]
[line.second]
run = ["bridge", "right"]
```

"#;

fn proof_of(more: &str) -> Proof {
    let sources = Sources::new(vec![
        file("pack.toml", "title = \"P\"\n"),
        file("lessons/held.md", &format!("{LESSON}{more}")),
    ]);
    proof(sources, Scope::Pack, Zones::Shown)
}

fn questions(proof: &Proof) -> Vec<QuestionView> {
    let parts = proof.reading.pack.lessons[0].sections.iter();
    let parts = parts.flat_map(|section| &section.parts);
    let questions = parts.filter_map(|part| match part {
        Part::Questions(questions) => Some(questions),
        _ => None,
    });
    let all = questions.flatten();
    all.map(|q| question_view(q, proof, words())).collect()
}

#[test]
fn a_mistake_stands_beside_its_right_twin() {
    let proof = proof_of("");
    assert!(!proof.has_errors(), "{:#?}", proof.findings);
    let pairs = pairs(&proof.reading.pack);
    assert_eq!(pairs, [(RigId(1), RigId(0))]);
    assert_eq!(pair_view(&proof, RigId(0), words()), None);
    let view = pair_view(&proof, RigId(1), words()).unwrap();
    assert_eq!((&*view.right.rig, &*view.wrong.rig), ("held", "high"));
    assert!(view.right.says.is_empty());
    assert_eq!(view.wrong.says.len(), 2, "{:?}", view.wrong.says);
    // atan(3.4641/3) + atan(4/1) = 49.107° + 75.964° = 125.07°.
    let says = view.wrong.says.join(" ");
    assert!(says.contains("125"), "{says}");
    let spread = &view.rows[0];
    assert_eq!((&*spread.right, &*spread.wrong), ("75°", "125°"));
}

#[test]
fn wrong_choices_come_from_the_usual_slips() {
    let ask = |path: &str, more: &str| {
        let block = format!(
            "```questions\n[[question]]\nask = \"How much?\"\nchoose = \"rig:held/{path}\"\n{more}\n```\n"
        );
        let proof = proof_of(&block);
        assert!(!proof.has_errors(), "{:#?}", proof.findings);
        let view = questions(&proof).remove(0);
        let AnswerView::Choice {
            choices,
            right,
            why,
        } = view.answer
        else {
            panic!("{:?}", view.answer);
        };
        let texts = choices.iter().map(|c| letters(c).replace('\u{a0}', " "));
        (texts.collect::<Vec<_>>(), right, why)
    };
    // Law of sines: main W·sin 45°/sin 75° = 574.3 N, second W·sin 30°/sin 75° = 406.1 N. The slip
    // of sine for cosine: 574.3/tan 30° = 994.7 N; the whole weight is 784.5 N.
    let (texts, right, why) = ask("main/pull", "");
    assert_eq!(texts, ["0.41 kN", "0.57 kN", "0.78 kN", "0.99 kN"]);
    assert_eq!(right, 1);
    let said: Vec<bool> = why.iter().map(Option::is_some).collect();
    assert_eq!(said, [true, false, true, true]);
    assert!(why[0].as_ref().unwrap().contains("Second"), "{why:?}");
    assert!(why[3].as_ref().unwrap().contains("sine"), "{why:?}");
    // For the second, tan 45° = 1: the slip is the right number itself and must not be offered.
    let (texts, right, _) = ask("second/pull", "");
    assert_eq!(texts.len(), 4, "{texts:?}");
    assert_eq!(texts[right], "0.41 kN");
    assert_eq!(texts.iter().filter(|t| **t == "0.41 kN").count(), 1);
    // The author's own comes first and has no slip.
    let (texts, _, why) = ask("main/pull", "wrong = [\"0.60 kN\"]");
    let own = texts.iter().position(|t| t == "0.60 kN").unwrap();
    assert_eq!((texts.len(), &why[own]), (4, &None));
    // The spread: 75°; the lines alone 30° and 45°, the angle outside 105°.
    let (texts, right, _) = ask("spread/main/second", "");
    assert_eq!((texts[right].as_str(), texts.len()), ("75°", 4));
    assert_eq!(texts, ["30°", "45°", "75°", "105°"]);
}

#[test]
fn every_value_gives_distinct_choices() {
    let paths = [
        "main/pull",
        "main/pull/low",
        "main/on-climber",
        "main/share",
        "main/length",
        "main/angle",
        "left/load",
        "left/load/angle",
        "spread/main/second",
        "climber/weight",
        "loss/main/drop",
        "loss/main/speed",
    ];
    for path in paths {
        let block =
            format!("```questions\n[[question]]\nask = \"?\"\nchoose = \"rig:held/{path}\"\n```\n");
        let proof = proof_of(&block);
        let views = (questions(&proof), questions(&proof));
        assert_eq!(views.0, views.1, "{path}: the same each time");
        let AnswerView::Choice {
            choices,
            right,
            why,
        } = &views.0[0].answer
        else {
            panic!();
        };
        let mut texts: Vec<String> = choices.iter().map(|c| letters(c)).collect();
        assert_eq!(texts.len(), 4, "{path}: {texts:?}");
        assert_eq!(why[*right], None);
        assert_eq!(why.iter().flatten().count(), 3, "{path}: {why:?}");
        texts.sort();
        texts.dedup();
        assert_eq!(texts.len(), 4, "{path}: {texts:?}");
    }
}

#[test]
fn an_own_wrong_choice_must_not_print_like_the_right_one() {
    let proof = proof_of(
        "```questions\n[[question]]\nask = \"?\"\nchoose = \"rig:held/main/pull\"\n\
         wrong = [\"574 N\", \"0.3 kN\", \"0.3 kN\"]\n```\n",
    );
    let codes: Vec<&str> = proof.findings.iter().map(|f| f.code).collect();
    assert_eq!(
        codes,
        ["same-choice", "same-choice"],
        "{:#?}",
        proof.findings
    );
}

#[test]
fn numbers_show_their_working() {
    let block = |path: &str, tolerance: &str| {
        format!(
            "[[question]]\nask = \"?\"\nnumber = \"rig:held/{path}\"\ntolerance = \"{tolerance}\"\n"
        )
    };
    let text = format!(
        "```questions\n{}{}{}{}[[question]]\nask = \"?\"\nnumber = \"3 kN\"\ntolerance = \"1 kN\"\n```\n",
        block("main/share", "2 %"),
        block("spread/main/second", "2 deg"),
        block("left/load", "0.1 kN"),
        block("climber/weight", "0.1 kN"),
    );
    let proof = proof_of(&text);
    assert!(!proof.has_errors(), "{:#?}", proof.findings);
    let lines: Vec<Vec<String>> = questions(&proof)
        .into_iter()
        .map(|q| q.working.iter().map(|l| l.replace('\u{a0}', " ")).collect())
        .collect();
    // 574.3/784.5 = 73.2 %; the numbers of `wrong_choices_come_from_the_usual_slips`.
    assert_eq!(
        lines[0],
        [
            "80 kg weighs 0.78 kN.",
            "Main leans 30.0° from the vertical, Second 45.0° to the other side: 75.0° apart.",
            "So Main carries 0.78 kN × sin 45.0° ÷ sin 75.0° = 0.57 kN.",
            "0.57 kN ÷ 0.78 kN = 73 %.",
        ]
    );
    assert_eq!(
        lines[1],
        ["Main leans 30.0° one way and Second 45.0° the other way: 30.0° + 45.0° = 75.0°."]
    );
    assert_eq!(
        lines[2],
        ["The line ends here: the point bears its pull, 0.57 kN."]
    );
    assert_eq!(lines[3], ["80 kg weighs 0.78 kN."]);
    assert!(lines[4].is_empty());
}
