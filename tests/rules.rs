//! Every built-in rule twice: a case that breaks it and one that nearly does. All data is invented.

use ropeleaf::Zones;
use ropeleaf::finding::{Finding, SourceFile, Sources};
use ropeleaf::pack::Scope;
use ropeleaf::rulebook::RULES;

/// The parts of a small pack that a case may change.
struct Case {
    pack: &'static str,
    lesson_head: &'static str,
    rig: String,
    after: &'static str,
    kit: Vec<(&'static str, String)>,
    course: String,
    rules: &'static str,
}

/// A climber of 86 kg in the middle between two anchors, each line at 45 deg or steeper.
const TWO_LINES: &str = r#"
[climber]
mass = "86 kg"
at = [2.0, 4.0]
[point.top]
at = [0.2, 9.0]
[point.side]
at = [4.4, 8.0]
[line.main]
run = ["bridge", "top"]
[line.second]
run = ["centre", "side"]
"#;

impl Default for Case {
    fn default() -> Self {
        Self {
            pack: "",
            lesson_head: "",
            rig: TWO_LINES.into(),
            after: "",
            kit: Vec::new(),
            course: String::new(),
            rules: "",
        }
    }
}

impl Case {
    fn rig(rig: impl Into<String>) -> Self {
        Self {
            rig: rig.into(),
            ..Self::default()
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let file = |path: &str, text: String| SourceFile {
            path: path.into(),
            bytes: text.into_bytes(),
        };
        let lesson = format!(
            "```lesson\ntitle = \"A hold\"\ncode = \"T-01\"\n{}\n```\n\n# Hold\n\n```rig t\n{}\n```\n{}",
            self.lesson_head, self.rig, self.after
        );
        let mut files = vec![
            file("pack.toml", format!("title = \"Test pack\"\n{}", self.pack)),
            file("lessons/hold.md", lesson),
        ];
        files.extend(
            self.kit
                .iter()
                .map(|(name, text)| file(&format!("kit/{name}.toml"), text.clone())),
        );
        if !self.course.is_empty() {
            files.push(file("courses/week.toml", self.course.clone()));
            let other = "```lesson\ntitle = \"Before\"\ncode = \"T-02\"\n```\n\nText.\n";
            files.push(file("lessons/before.md", other.into()));
        }
        if !self.rules.is_empty() {
            files.push(file("rules.toml", self.rules.into()));
        }
        ropeleaf::proof(Sources::new(files), Scope::Pack, Zones::Shown).findings
    }

    fn codes(&self) -> Vec<&'static str> {
        self.findings().iter().map(|f| f.code).collect()
    }
}

/// `breaks` gives the rule's finding, `nearly` gives none of it.
fn check(rule: &str, breaks: &Case, nearly: &Case) {
    let found = breaks.findings();
    let own: Vec<_> = found.iter().filter(|f| f.code == rule).collect();
    assert!(!own.is_empty(), "{rule}: not found among {found:#?}");
    for finding in own {
        assert!(finding.place.is_some(), "{rule}: no place");
        assert!(
            finding.message.len() > 20,
            "{rule}: {:?} is no sentence",
            finding.message
        );
    }
    let quiet = nearly.findings();
    assert!(
        !quiet.iter().any(|f| f.code == rule),
        "{rule}: found where it is only near: {quiet:#?}"
    );
    let stray: Vec<_> = quiet
        .iter()
        .filter(|f| f.code == "unknown-key" || f.code == "syntax")
        .collect();
    assert!(
        stray.is_empty(),
        "{rule}: the near case is not read cleanly: {stray:#?}"
    );
}

/// A change to [`TWO_LINES`].
fn with(old: &str, new: &str) -> String {
    assert!(TWO_LINES.contains(old), "{old:?} is not in the rig");
    TWO_LINES.replace(old, new)
}

fn item(kind: &str, more: &str) -> String {
    format!(
        "title = \"An item\"\nkind = \"{kind}\"\n{more}\n[record]\nserial = \"7\"\nmaker = \"A maker\"\nmade = 2025-01-10\nbought = 2025-01-20\nfirst_used = 2025-02-10\nuser = \"Pool\"\n"
    )
}

#[test]
fn every_rule_is_tested_here() {
    let own = include_str!("rules.rs");
    for rule in RULES {
        assert!(
            own.split("check(")
                .any(|call| call.trim_start().starts_with(&format!("\"{}\"", rule.name))),
            "{} has no test",
            rule.name
        );
    }
}

#[test]
fn no_hold() {
    let beyond = with("at = [2.0, 4.0]", "at = [4.5, 4.0]");
    let inside = with("at = [2.0, 4.0]", "at = [4.3, 4.0]");
    check("no-hold", &Case::rig(beyond), &Case::rig(inside));
    let cannot_meet = r#"
[climber]
mass = "86 kg"
[point.a]
at = [0.0, 9.0]
[point.b]
at = [6.0, 9.0]
[line.main]
run = ["bridge", "a"]
length = "2 m"
[line.second]
run = ["centre", "b"]
length = "3.9 m"
"#;
    check(
        "no-hold",
        &Case::rig(cannot_meet),
        &Case::rig(cannot_meet.replace("3.9 m", "4.1 m")),
    );
}

#[test]
fn over_limit() {
    // main carries 0.63 kN: twice that is 1.26 kN.
    let limit = |kn: &str| {
        with(
            "run = [\"bridge\", \"top\"]",
            &format!("run = [\"bridge\", \"top\"]\nlimit = \"{kn}\""),
        )
    };
    check(
        "over-limit",
        &Case::rig(limit("1.0 kN")),
        &Case::rig(limit("1.5 kN")),
    );
    let own = Case {
        rules: "[over-limit]\nallowance = 1.2\nsource = \"Crew school rule 7\"\n",
        ..Case::rig(limit("1.0 kN"))
    };
    check("over-limit", &Case::rig(limit("1.0 kN")), &own);
}

fn with_line_kit(kit: &'static str, text: String, line_more: &str) -> Case {
    let run = "run = [\"bridge\", \"top\"]";
    Case {
        kit: vec![(kit, text)],
        ..Case::rig(with(run, &format!("{run}\nkit = \"{kit}\"\n{line_more}")))
    }
}

#[test]
fn over_mass() {
    let rope = |kg: &str| {
        with_line_kit(
            "a-rope",
            item("rope", &format!("rated_mass = \"{kg} kg\"")),
            "",
        )
    };
    check("over-mass", &rope("85"), &rope("86"));
    // Every part between the harness and the tree counts, connectors and adjusters too.
    let adjuster = |kg: &str| Case {
        kit: vec![(
            "an-adjuster",
            item("other", &format!("rated_mass = \"{kg} kg\"")),
        )],
        ..line_with("connectors = [\"an-adjuster\"]")
    };
    check("over-mass", &adjuster("85"), &adjuster("86"));
}

#[test]
fn low_strength() {
    let rope = |kn: &str| {
        with_line_kit(
            "a-rope",
            item("rope", &format!("strength = \"{kn} kN\"")),
            "",
        )
    };
    check("low-strength", &rope("5"), &rope("8"));
    let ring = |kn: &str| Case {
        kit: vec![("a-ring", item("ring", &format!("strength = \"{kn} kN\"")))],
        ..Case::rig(with("at = [0.2, 9.0]", "at = [0.2, 9.0]\nkit = \"a-ring\""))
    };
    check("low-strength", &ring("2"), &ring("4"));
}

#[test]
fn untested_pairing() {
    let cord = |hitch: &str| {
        item("cord", "").replace(
            "[record]",
            &format!("[[tested]]\nrope = \"a-rope\"\nhitch = \"{hitch}\"\n[record]"),
        )
    };
    let case = |hitch: &str| {
        let mut case = with_line_kit("a-rope", item("rope", ""), "hitch = \"Prusik\"");
        case.kit.push(("a-cord", cord(hitch)));
        case
    };
    check("untested-pairing", &case("Distel"), &case("Prusik"));
}

const ON_STEM: &str = r#"
[climber]
mass = "84 kg"
at = [0.65, 4.0]
[feet]
at = [0.22, 3.08]
on = "stem"
normal = [1.0, 0.05]
friction = 4.0
[point.behind]
at = [-0.25, 4.15]
over = "stem"
[line.round]
run = ["LEFT", "behind", "RIGHT"]
[tree]
stems = [{ name = "stem", from = [0, 0], to = [0, 9], diameter = ["440 mm", "300 mm"] }]
"#;

#[test]
fn unpaired() {
    let on =
        |left: &str, right: &str| Case::rig(ON_STEM.replace("LEFT", left).replace("RIGHT", right));
    check(
        "unpaired",
        &on("front-left", "bridge"),
        &on("front-left", "front-right"),
    );
}

#[test]
fn side_without_feet() {
    let hanging = TWO_LINES.replace(
        "[\"bridge\", \"top\"]",
        "[\"side-left\", \"top\", \"side-right\"]",
    );
    let standing = ON_STEM
        .replace("LEFT", "side-left")
        .replace("RIGHT", "side-right");
    check(
        "side-without-feet",
        &Case::rig(hanging),
        &Case::rig(standing),
    );
}

#[test]
fn one_line() {
    let saw = |rig: String| Case {
        lesson_head: "two_lines = true",
        ..Case::rig(rig)
    };
    let slack = with("at = [2.0, 4.0]", "at = [0.2, 4.0]");
    check("one-line", &saw(slack), &saw(TWO_LINES.into()));
    let one_anchor = TWO_LINES
        .replace("\"side\"]", "\"top\"]")
        .replace("at = [2.0, 4.0]", "at = [0.2, 4.0]");
    check(
        "one-line",
        &saw(one_anchor),
        &Case::rig(with("at = [2.0, 4.0]", "at = [0.2, 4.0]")),
    );
    // Two lines over one bend share it, though one of them goes on to the foot of the stem.
    let one_bend = TWO_LINES
        .replace("[\"bridge\", \"top\"]", "[\"bridge\", \"top\", \"bridge\"]")
        .replace("[\"centre\", \"side\"]", "[\"centre\", \"top\", \"side\"]")
        .replace("at = [2.0, 4.0]", "at = [0.2, 4.0]")
        .replace("at = [4.4, 8.0]", "at = [0.0, 1.0]");
    check("one-line", &saw(one_bend), &saw(TWO_LINES.into()));
    // Two anchors on one limb are one; on a stem and a limb they are two.
    let on = |wood: &str| {
        saw(TWO_LINES
            .replace(
                "at = [0.2, 9.0]",
                &format!("at = [0.2, 9.0]\non = \"{wood}\""),
            )
            .replace("at = [4.4, 8.0]", "at = [4.4, 8.0]\non = \"limb\"")
            + "[tree]\nstems = [{ name = \"stem\", from = [0, 0], to = [0, 12], diameter = [\"500 mm\", \"300 mm\"] }]\n\
               limbs = [{ name = \"limb\", from = [0, 9.1], to = [6, 7.6], diameter = [\"250 mm\", \"120 mm\"] }]\n")
    };
    check("one-line", &on("limb"), &on("stem"));
}

#[test]
fn nothing_left() {
    let alone = r#"
[climber]
mass = "86 kg"
at = [0.2, 4.0]
[point.top]
at = [0.2, 9.0]
[line.main]
run = ["bridge", "top"]
"#;
    check("nothing-left", &Case::rig(alone), &Case::default());
    let saw = Case {
        lesson_head: "two_lines = true",
        ..Case::rig(alone)
    };
    let finding = saw
        .findings()
        .into_iter()
        .find(|f| f.code == "nothing-left")
        .unwrap();
    assert_eq!(
        finding.severity.word(),
        "error",
        "a saw in use makes it an error"
    );
}

#[test]
fn strikes() {
    // The swing after the second line goes ends near x = −1.6: one stem stands in it, one beyond.
    let stem = |x: f64| {
        format!(
            "{TWO_LINES}[tree]\nstems = [{{ name = \"stem\", from = [{x}, 0], to = [{x}, 5], diameter = [\"300 mm\", \"300 mm\"] }}]\n"
        )
    };
    check("strikes", &Case::rig(stem(0.2)), &Case::rig(stem(-3.0)));
}

/// Symmetric lines at a chosen half spread.
fn spread(half_deg: f64) -> String {
    let x = 3.0;
    let z = 9.0 - x / libm::tan(half_deg.to_radians());
    TWO_LINES
        .replace("at = [2.0, 4.0]", &format!("at = [0.0, {z}]"))
        .replace("at = [0.2, 9.0]", &format!("at = [-{x:.1}, 9.0]"))
        .replace("at = [4.4, 8.0]", &format!("at = [{x:.1}, 9.0]"))
}

#[test]
fn wide_spread() {
    check(
        "wide-spread",
        &Case::rig(spread(60.1)),
        &Case::rig(spread(59.9)),
    );
}

#[test]
fn rope_angle() {
    check(
        "rope-angle",
        &Case::rig(spread(45.1)),
        &Case::rig(spread(44.9)),
    );
}

#[test]
fn too_short() {
    // The run is 5.3 m; a hitch takes 0.3 m and the tail 0.5 m.
    let rope = |m: &str| {
        with_line_kit(
            "a-rope",
            item("rope", &format!("length = \"{m} m\"")),
            "hitch = \"Prusik\"",
        )
    };
    check("too-short", &rope("6.1"), &rope("6.2"));
}

#[test]
fn not_an_anchor() {
    let lanyard = |more: &str| Case {
        kit: vec![("a-lanyard", item("lanyard", more))],
        ..Case::rig(with(
            "at = [0.2, 9.0]",
            "at = [0.2, 9.0]\nkit = \"a-lanyard\"",
        ))
    };
    check(
        "not-an-anchor",
        &lanyard(""),
        &lanyard("anchor_device = true"),
    );
}

#[test]
fn cross_loaded() {
    // A limb of 280 mm: legs at 90 deg need 0.94 m of loop, the girth is 0.88 m.
    let tree = "[tree]\nlimbs = [{ name = \"limb\", from = [-2.0, 9.14], to = [3.0, 9.14], diameter = [\"280 mm\", \"280 mm\"] }]\n";
    let looped = |m: &str| {
        let point = format!(
            "at = [0.2, 9.0]\non = \"limb\"\nloop = \"{m} m\"\nclosed_by = \"a-connector\""
        );
        Case {
            kit: vec![("a-connector", item("connector", ""))],
            ..Case::rig(with("at = [0.2, 9.0]", &point) + tree)
        }
    };
    check("cross-loaded", &looped("0.93"), &looped("0.95"));
    let needed = looped("0.93")
        .findings()
        .into_iter()
        .find(|f| f.code == "cross-loaded")
        .unwrap();
    assert!(
        needed.message.contains("0.94\u{a0}m of loop is needed"),
        "{}",
        needed.message
    );
}

#[test]
fn gate_towards_rope() {
    let gate = |word: &str| {
        Case::rig(with(
            "at = [0.2, 9.0]",
            &format!("at = [0.2, 9.0]\ngate = \"{word}\""),
        ))
    };
    check("gate-towards-rope", &gate("to-rope"), &gate("away"));
}

#[test]
fn hold_only() {
    let cord = |line: &str| {
        let mut case = with_line_kit(
            "a-rope",
            item("rope", ""),
            &format!("cord = \"a-cord\"\n{line}"),
        );
        case.kit.push(("a-cord", item("cord", "hold_only = true")));
        case
    };
    check("hold-only", &cord("slides = true"), &cord(""));
}

fn line_with(more: &str) -> Case {
    let run = "run = [\"bridge\", \"top\"]";
    Case::rig(with(run, &format!("{run}\n{more}")))
}

#[test]
fn no_stopper() {
    check(
        "no-stopper",
        &line_with("stopper = false"),
        &line_with("stopper = true"),
    );
}

#[test]
fn slack() {
    check(
        "slack",
        &line_with("slack = \"0.51 m\""),
        &line_with("slack = \"0.5 m\""),
    );
}

#[test]
fn fall_force() {
    // 86 kg on 5.3 m of line: a fall of 0.5 m is factor 0.094; F = W + √(W² + 2·W·k·f).
    let rope = |kn: &str| {
        with_line_kit(
            "a-rope",
            item("rope", &format!("modulus = \"{kn} kN\"")),
            "slack = \"0.5 m\"",
        )
    };
    check("fall-force", &rope("170"), &rope("160"));
}

#[test]
fn thin_limb() {
    let limb = |mm: u32, species: &str| {
        let tree = format!(
            "[tree]\nspecies = \"{species}\"\nlimbs = [{{ name = \"limb\", from = [0.0, 8.1], to = [6.0, 8.1], diameter = [\"{mm} mm\", \"{mm} mm\"] }}]\n"
        );
        Case::rig(with("at = [4.4, 8.0]", "at = [4.4, 8.0]\non = \"limb\"") + &tree)
    };
    check("thin-limb", &limb(95, "white oak"), &limb(130, "white oak"));
    let unknown = limb(130, "whyte oak").findings();
    assert!(
        unknown
            .iter()
            .any(|f| f.code == "thin-limb" && f.message.contains("white oak")),
        "{unknown:#?}"
    );
}

#[test]
fn out_of_reach() {
    // The climber stands at (2.0, 4.0).
    let ring = |x: f64| {
        let rig = TWO_LINES.replace(
            "run = [\"bridge\", \"top\"]",
            "run = [\"bridge\", \"top\"]\nretrieve = [\"near\"]",
        );
        Case::rig(format!(
            "{rig}[point.near]\nat = [{x}, 4.0]\n[line.strop]\nrun = [\"bridge\", \"near\"]\n"
        ))
    };
    check("out-of-reach", &ring(2.75), &ring(2.65));
}

fn dated(item_text: String) -> Case {
    Case {
        pack: "dated = 2026-03-01\n",
        kit: vec![("an-item", item_text)],
        ..Case::default()
    }
}

#[test]
fn past_life() {
    // First used 2025-02-10: 12 months end on 2026-02-10, 13 on 2026-03-10.
    let life = |months: u32| {
        dated(item("rope", "").replace(
            "[record]",
            &format!("[life]\nfrom_first_use = \"{months} months\"\nexamine_every = \"24 months\"\n[record]"),
        ))
    };
    check("past-life", &life(12), &life(13));
}

#[test]
fn examine() {
    let examined = |day: &str| dated(item("rope", "") + &format!("examined = [{day}]\n"));
    check("examine", &examined("2025-08-31"), &examined("2025-09-01"));
}

#[test]
fn record() {
    check(
        "record",
        &dated(item("rope", "").replace("serial = \"7\"\n", "")),
        &dated(item("rope", "")),
    );
    // An examination of a day to come would put off the next one.
    let examined = |day: &str| dated(item("rope", "") + &format!("examined = [{day}]\n"));
    check("record", &examined("2026-03-02"), &examined("2026-03-01"));
}

#[test]
fn expect() {
    let promise = |text: &str| Case::rig(format!("expect = [\"{text}\"]\n{TWO_LINES}"));
    check(
        "expect",
        &promise("main/pull < 0.5 kN"),
        &promise("main/pull < 0.7 kN"),
    );
    check(
        "expect",
        &promise("climber/weight = 0.84 kN +- 0.001"),
        &promise("climber/weight = 0.84 kN +- 0.01"),
    );
}

#[test]
fn order() {
    let course = |lessons: &str| Case {
        lesson_head: "needs = [\"before\"]",
        course: lessons.into(),
        ..Case::default()
    };
    check(
        "order",
        &course("title = \"Week\"\nlessons = [\"hold\", \"before\"]\n"),
        &course("title = \"Week\"\nlessons = [\"before\", \"hold\"]\n"),
    );
}

#[test]
fn minutes() {
    let course = |course| Case {
        lesson_head: "minutes = 90",
        course,
        ..Case::default()
    };
    // A lesson in two parts: 60 + 20 is not 90, 60 + 30 is.
    const DAY: &str = "title = \"Week\"\nlessons = [\"hold\"]\n[[day]]\ntitle = \"D\"\nbegins = \"09:00\"\ngroup = 2\n\
        per_instructor = 2\nsite = \"S\"\nweather = \"W\"\nrescue = \"R\"\n\
        [[day.part]]\nlesson = \"hold\"\nminutes = 60\n[[day.part]]\nlesson = \"hold\"\nminutes = ";
    check(
        "minutes",
        &course(format!("{DAY}20\n")),
        &course(format!("{DAY}30\n")),
    );
    let hours = |hours: &str| {
        course(format!(
            "hours = {hours}\ntitle = \"Week\"\nlessons = [\"hold\"]\n"
        ))
    };
    check("minutes", &hours("1.4"), &hours("1.5"));
}

#[test]
fn outcome() {
    let course = "title = \"Week\"\nlessons = [\"before\", \"hold\"]\n[[outcome]]\nkey = \"O1\"\ntext = \"Holds a place\"\n";
    let marked = |after| Case {
        lesson_head: "outcomes = [\"O1\"]",
        course: course.into(),
        after,
        ..Case::default()
    };
    let with_criterion =
        "\n```marking\n[[criterion]]\ntext = \"Holds still.\"\noutcome = \"O1\"\n```\n";
    check("outcome", &marked(""), &marked(with_criterion));
    let steps = "\n```steps\n[[step]]\ndo = \"Load it slowly.\"\ncritical = true\n```\n";
    let both = "\n```steps\n[[step]]\ndo = \"Load it slowly.\"\ncritical = true\n```\n\n```marking\n[[criterion]]\ntext = \"Loads it slowly.\"\ncritical = true\n```\n";
    check(
        "outcome",
        &Case {
            after: steps,
            ..Case::default()
        },
        &Case {
            after: both,
            ..Case::default()
        },
    );
}

#[test]
fn a_wrong_rig_breaks_exactly_the_rules_it_names() {
    let wrong = |names: &str, rig: String| Case::rig(format!("wrong = [{names}]\n{rig}"));
    let wide = wrong("\"wide-spread\", \"rope-angle\"", spread(62.0));
    assert_eq!(wide.codes(), [""; 0], "{:#?}", wide.findings());
    let unnamed = wrong("\"wide-spread\"", spread(62.0)).findings();
    assert!(
        unnamed
            .iter()
            .any(|f| f.code == "wrong" && f.message.contains("rope-angle")),
        "{unnamed:#?}"
    );
    let not_broken = wrong("\"wide-spread\", \"rope-angle\"", spread(50.0)).findings();
    assert!(
        not_broken
            .iter()
            .any(|f| f.code == "wrong" && f.message.contains("wide-spread")),
        "{not_broken:#?}"
    );
}

/// The wide spread, with what `rules.toml` says about it.
fn weighed(rules: &'static str) -> Vec<Finding> {
    let case = Case {
        rules,
        ..Case::rig(spread(60.1))
    };
    case.findings()
}

#[test]
fn a_pack_weighs_rules_with_its_source_beside_the_finding() {
    let found = weighed("[wide-spread]\nseverity = \"error\"\nsource = \"Crew school rule 7\"\n");
    let own = found.iter().find(|f| f.code == "wide-spread").unwrap();
    assert_eq!(own.severity.word(), "error");
    let help = own.help.as_ref().unwrap();
    assert!(help.contains("basis: geometry"), "{help}");
    assert!(
        help.ends_with("weighed as error after Crew school rule 7"),
        "{help}"
    );
    // A rule that is not named keeps its weight.
    let other = found.iter().find(|f| f.code == "rope-angle").unwrap();
    assert_eq!(other.severity.word(), "note");
}

#[test]
fn a_silenced_rule_leaves_a_note_with_its_source() {
    let found = weighed("[wide-spread]\nseverity = \"none\"\nsource = \"Crew school rule 7\"\n");
    let own: Vec<_> = found.iter().filter(|f| f.code == "wide-spread").collect();
    assert_eq!(own.len(), 1, "{own:#?}");
    assert_eq!(own[0].severity.word(), "note");
    let message = &own[0].message;
    assert!(
        message.contains("Crew school rule 7: 1 finding is not shown"),
        "{message}"
    );
}

#[test]
fn a_rule_that_protects_people_is_not_silenced_without_a_source() {
    let found = weighed("[wide-spread]\nseverity = \"none\"\n");
    let codes: Vec<_> = found.iter().map(|f| f.code).collect();
    assert!(codes.contains(&"missing-key"), "{codes:?}");
    let own = found.iter().find(|f| f.code == "wide-spread").unwrap();
    assert_eq!(own.severity.word(), "warning", "the rule still speaks");
    for rule in RULES {
        let about_courses = ["expect", "order", "minutes", "outcome"].contains(&rule.name);
        assert_eq!(rule.protects(), !about_courses, "{}", rule.name);
    }
    let order = Case {
        rules: "[order]\nseverity = \"none\"\n",
        ..Case::default()
    };
    assert_eq!(order.codes(), ["order"], "one note, and no error");
}

#[test]
fn what_has_no_answer_stays_an_error() {
    let apart = "[climber]\nmass = \"86 kg\"\n[point.a]\nat = [0.0, 9.0]\n[point.b]\nat = [6.0, 9.0]\n\
        [line.main]\nrun = [\"bridge\", \"a\"]\nlength = \"2 m\"\n[line.second]\nrun = [\"centre\", \"b\"]\nlength = \"3.9 m\"\n";
    let case = Case {
        rules: "[no-hold]\nseverity = \"note\"\nsource = \"A slip\"\n",
        ..Case::rig(apart)
    };
    let found = case.findings();
    let own = found.iter().find(|f| f.code == "no-hold").unwrap();
    assert_eq!(own.severity.word(), "error", "{found:#?}");
}
