//! Packs of any number of lessons, made up from a seed: the same seed gives the same bytes.
//!
//! ```text
//! seed, lessons ─pack→ files of a pack: every lesson has two rigs, figures pulls, polygon and zone
//! ```
//!
//! Rigs are those of work between two anchors on a limb, with places, masses and limits drawn at
//! random from ranges that hold, so that a pack proofs without findings.

// Each test and bench uses its own part of this.
#![allow(dead_code)]

use std::fmt::Write as _;

/// Lessons in one course.
const LESSONS_A_COURSE: usize = 12;

/// Small steady random numbers (a linear congruential generator after Knuth, MMIX).
pub struct Random(u64);

impl Random {
    /// Begins a row of numbers.
    pub fn new(seed: u64) -> Self {
        let mut row = Self(seed ^ 0x9e37_79b9_7f4a_7c15);
        row.next();
        row
    }

    fn next(&mut self) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        self.0 >> 33
    }

    /// A number below `count`.
    pub fn below(&mut self, count: usize) -> usize {
        (self.next() % count.max(1) as u64) as usize
    }

    /// A number from a range with two decimals.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        let share = self.next() as f64 / (1u64 << 31) as f64;
        ((low + (high - low) * share) * 100.0).round() / 100.0
    }
}

/// The files of a pack, path and text.
pub fn pack(seed: u64, lessons: usize) -> Vec<(String, String)> {
    let mut files = vec![
        ("pack.toml".to_owned(), PACK.to_owned()),
        ("glossary.toml".to_owned(), GLOSSARY.to_owned()),
    ];
    let record = |text: &str| format!("{text}{RECORD}");
    files.extend(
        KIT.iter()
            .map(|(name, text)| (format!("kit/{name}.toml"), record(text))),
    );
    for course in 0..lessons.div_ceil(LESSONS_A_COURSE) {
        let from = course * LESSONS_A_COURSE;
        let own = from..(from + LESSONS_A_COURSE).min(lessons);
        files.push((
            format!("courses/course-{course:04}.toml"),
            course_text(course, own),
        ));
    }
    for number in 0..lessons {
        files.push((lesson_path(number), lesson(seed, number)));
    }
    files
}

/// A pack of lessons with one plain rig each, quick to press, for tests of what only many lessons
/// show: the first lessons in two courses, the last two in none.
pub fn plain_pack(lessons: usize) -> Vec<(String, String)> {
    let said = "summary = \"Many lessons with little in each.\"\nlanguage";
    let pack = PACK.replacen("language", said, 1);
    let mut files = vec![("pack.toml".to_owned(), pack)];
    let half = lessons / 2;
    for (course, own) in [0..half, half..lessons - 2].into_iter().enumerate() {
        let path = format!("courses/course-{course:04}.toml");
        files.push((path, course_text(course, own)));
    }
    files.extend((0..lessons).map(|number| (lesson_path(number), plain_lesson(number))));
    files
}

/// A lesson of [`plain_pack`]: the zone of a rig with a hanging point is not worked out unless asked
/// for.
pub fn plain_lesson(number: usize) -> String {
    format!(
        "```lesson\ntitle = \"Straight down, place {number}\"\ncode = \"L-{number:05}\"\n\
         summary = \"One line straight down at place {number}.\"\n```\n\n\
         ```rig down-{number:05}\ntitle = \"Straight down, place {number}\"\nshow = [\"polygon\"]\n[climber]\n\
         mass = \"86 kg\"\n[point.left]\nat = [-1.0, 9.0]\n[point.right]\nat = [1.0, 9.0]\n[point.ring]\nhangs = true\n\
         grips = [\"across\"]\n[line.across]\nrun = [\"left\", \"ring\", \"right\"]\nlength = [\"2 m\", \"2 m\"]\n\
         [line.main]\nrun = [\"bridge\", \"ring\"]\nlength = \"2 m\"\n```\n\nYou hang.\n"
    )
}

/// Where a lesson stands.
pub fn lesson_path(number: usize) -> String {
    format!("lessons/lesson-{number:05}.md")
}

fn course_text(course: usize, lessons: std::ops::Range<usize>) -> String {
    let names: Vec<_> = lessons.map(|n| format!("\"lesson-{n:05}\"")).collect();
    format!(
        "title = \"Course {course}\"\ncode = \"C{course}\"\nsummary = \"Work between two anchors, part {course}.\"\n\
         hours = 24\nlessons = [{}]\n\n[[outcome]]\nkey = \"O1\"\ntext = \"Say what each line carries\"\n\n\
         [[outcome]]\nkey = \"O2\"\ntext = \"Keep the swing short\"\n",
        names.join(", ")
    )
}

/// A lesson's text.
pub fn lesson(seed: u64, number: usize) -> String {
    let mut random = Random::new(seed.wrapping_mul(1_000_003).wrapping_add(number as u64));
    let (near, wide) = (format!("near-{number:05}"), format!("wide-{number:05}"));
    let mut text = format!(
        "```lesson\ntitle = \"Between two anchors, place {number}\"\ncode = \"L-{number:05}\"\n\
         summary = \"Two lines hold one place. How they share the weight depends on where it is.\"\n\
         minutes = {}\nlevel = \"{} of 3\"\noutcomes = [\"O1\", \"O2\"]\nkit = [\"climbing-line\", \"second-line\", \
         {{ item = \"hitch-cord\", count = 2 }}, \"pulley-saver\", \"anchor-sling\", \
         {{ item = \"connector\", count = 4 }}, \"harness\", \"helmet\"]\ntwo_lines = true\n```\n\n## The hold\n\n",
        30 + 15 * random.below(5),
        1 + random.below(3),
    );
    rig(&mut text, &mut random, &near, (3.2, 3.8), (5.2, 6.0), 0.9);
    paragraphs(&mut text, &mut random, &near, 2);
    let _ = write!(
        text,
        "| | pull | from straight down |\n| --- | --- | --- |\n\
         | main | `rig:{near}/main/pull` | `rig:{near}/main/angle` |\n\
         | second | `rig:{near}/second/pull` | `rig:{near}/second/angle` |\n\n## Anchors farther apart\n\n"
    );
    rig(&mut text, &mut random, &wide, (2.2, 2.8), (6.2, 7.0), 1.4);
    paragraphs(&mut text, &mut random, &wide, 3);
    let _ = write!(
        text,
        "## Steps\n\n```steps\n[[step]]\ndo = \"Set both lines and load each in turn, low down.\"\n\
         why = \"Each must hold you alone.\"\ncheck = \"You hung in each line by itself.\"\ncritical = true\n\n\
         [[step]]\ndo = \"Go to the place of work with both lines straight.\"\nwhy = \"Slack is a swing.\"\n\
         check = \"Both lines straight.\"\n\n[[step]]\ndo = \"Say what each line carries.\"\n\
         why = \"The second carries `rig:{near}/second/pull` here.\"\ncheck = \"Within a tenth.\"\n```\n\n\
         ## Faults\n\n```faults\n[[fault]]\nseen = \"A line hangs in a bow.\"\nleads_to = \"The other carries all.\"\n\
         put_right = \"Take in until it is straight.\"\n```\n\n\
         ## Questions\n\n```questions\n[[question]]\nask = \"What does the second line carry?\"\n\
         number = \"rig:{wide}/second/pull\"\ntolerance = \"0.1 kN\"\nbecause = \"The triangle of forces says so.\"\n\n\
         [[question]]\nask = \"Flat lines pull less.\"\ntrue_false = false\n\
         because = \"Only the upward part of a pull holds you.\"\n```\n\n\
         ## Marking\n\n```marking\n[[criterion]]\ntext = \"Says what each line carries.\"\ncritical = true\n\
         measure = \"rig:{near}/main/on-climber\"\ntolerance = \"0.2 kN\"\noutcome = \"O1\"\n\n\
         [[criterion]]\ntext = \"Says how far the swing would go.\"\noutcome = \"O2\"\n```\n"
    );
    text
}

/// Where a rig's anchors stand along its two limbs, one behind the other, and how far its climber may be from their middle.
fn rig(
    text: &mut String,
    random: &mut Random,
    name: &str,
    left: (f64, f64),
    right: (f64, f64),
    aside: f64,
) {
    let (left, right) = (
        random.between(left.0, left.1),
        random.between(right.0, right.1),
    );
    let rise = random.between(0.06, 0.14);
    // The limb's axis; anchors hang a little below it.
    let limb = |x: f64| 9.4 + rise * (x + 2.0);
    let middle = (left + right) / 2.0 + random.between(-aside / 2.0, aside / 2.0);
    let height = random.between(4.6, 6.2);
    let mass = 70 + random.below(31);
    let _ = write!(
        text,
        "```rig {name}\ntitle = \"Held between two anchors\"\nshow = [\"pulls\", \"polygon\", \"zone\"]\n\
         expect = [\"second/pull < 1.2 kN\"]\n\n[climber]\nmass = \"{mass} kg\"\nat = [{middle:.2}, {height:.2}]\n\
         facing = \"{facing}\"\n\n[point.left]\nat = [{left:.2}, {left_z:.2}]\non = \"near-limb\"\nover = \"pulley\"\n\
         kit = \"pulley-saver\"\n\n[point.right]\nat = [{right:.2}, {right_z:.2}]\non = \"limb\"\nkit = \"anchor-sling\"\n\n\
         [line.main]\nrun = [\"bridge\", \"left\", \"bridge\"]\nkit = \"climbing-line\"\nhitch = \"Distel\"\n\
         cord = \"hitch-cord\"\nconnectors = [\"connector\", \"connector\"]\nstopper = true\nslides = true\n\
         adjust = \"1..{main} m\"\n\n[line.second]\nrun = [\"centre\", \"right\"]\nkit = \"second-line\"\nhitch = \"Prusik\"\n\
         cord = \"hitch-cord\"\nconnectors = [\"connector\", \"connector\"]\nstopper = true\nslides = true\n\
         adjust = \"0.8..{second} m\"\n\n[tree]\nstems = [{{ name = \"stem\", from = [-2.2, 0], to = [-2.0, 11.5], \
         diameter = [\"640 mm\", \"320 mm\"] }}]\nlimbs = [{{ name = \"limb\", from = [-2.0, {base:.2}], to = [8.0, {tip:.2}], \
         diameter = [\"320 mm\", \"140 mm\"] }}, {{ name = \"near-limb\", from = [-2.0, {base:.2}], \
         to = [{near:.2}, {near_tip:.2}], diameter = [\"320 mm\", \"200 mm\"] }}]\nground = 0.0\n\n[zone]\nspread = \"110 deg\"\n```\n\n",
        facing = ["left", "right"][random.below(2)],
        left_z = limb(left) - 0.15,
        right_z = limb(right) - 0.12,
        main = 15 + random.below(5),
        second = 7 + random.below(3),
        base = limb(-2.0),
        tip = limb(8.0),
        near = left + 1.0,
        near_tip = limb(left + 1.0),
    );
}

/// Ordinary text with numbers of a rig in it.
fn paragraphs(text: &mut String, random: &mut Random, rig: &str, count: usize) {
    const SENTENCES: [&str; 10] = [
        "You hang below the limb and let go with both hands.",
        "Neither line would keep you here by itself.",
        "Only the upward part of a pull holds you, and a steep line pulls mostly up.",
        "Look along each line before you load it: bark, dead wood and forks change what it does.",
        "A crew of two says aloud what each line carries before the saw starts.",
        "Keep the **second line** as short as the work allows.",
        "The *anchor* feels more than you weigh where the line runs over a wheel.",
        "Wind moves the limb, and the numbers with it.",
        "Move a little and both pulls change.",
        "Ask the ground crew to read the angle against the stem.",
    ];
    const VALUES: [&str; 6] = [
        "main/on-climber",
        "second/pull",
        "left/load",
        "right/load",
        "spread/main/second",
        "loss/second/drop",
    ];
    for _ in 0..count {
        for _ in 0..4 {
            text.push_str(SENTENCES[random.below(SENTENCES.len())]);
            text.push(' ');
        }
        let value = VALUES[random.below(VALUES.len())];
        let _ = write!(text, "Here it is `rig:{rig}/{value}`.\n\n");
    }
}

const PACK: &str = "title = \"A pack for measuring\"\norganisation = \"Aldermoor Arboretum crew school\"\n\
    language = \"en\"\nunits = \"metric\"\nrevision = \"A\"\ndated = 2026-03-02\n\n\
    [[change]]\nrevision = \"A\"\ndated = 2026-03-02\nwhat = \"First issue.\"\n";

const GLOSSARY: &str = "[[term]]\nterm = \"bridge\"\nmeans = \"The short rope across the front of a harness.\"\n\n\
    [[term]]\nterm = \"saver\"\nmeans = \"A strap with a pulley that goes round a limb.\"\n";

const RECORD: &str = "\n[record]\nserial = \"AA-1\"\nmaker = \"as marked on it\"\nmade = 2024-01-15\nuser = \"crew school\"\n\
    bought = 2024-03-18\nfirst_used = 2024-05-02\nexamined = [2025-11-19]\n";

const KIT: [(&str, &str); 8] = [
    (
        "climbing-line",
        "title = \"Climbing line\"\nkind = \"rope\"\nstandards = [\"EN 1891:1998 type A\"]\ndiameter = \"11.7 mm\"\nlength = \"45 m\"\nstrength = \"24 kN\"\nworking_limit = \"2.4 kN\"\nmodulus = \"30.6 kN\"\n",
    ),
    (
        "second-line",
        "title = \"Second line\"\nkind = \"rope\"\nstandards = [\"EN 1891:1998 type A\"]\ndiameter = \"11.7 mm\"\nlength = \"25 m\"\nstrength = \"24 kN\"\nworking_limit = \"2.4 kN\"\nmodulus = \"30.6 kN\"\n",
    ),
    (
        "hitch-cord",
        "title = \"Hitch cord\"\nkind = \"cord\"\nstandards = [\"EN 564:2006\"]\ndiameter = \"8 mm\"\nlength = \"0.9 m\"\nstrength = \"15 kN\"\n\n[[tested]]\nrope = \"climbing-line\"\nhitch = \"Distel\"\n\n[[tested]]\nrope = \"second-line\"\nhitch = \"Prusik\"\n",
    ),
    (
        "pulley-saver",
        "title = \"Pulley saver\"\nkind = \"pulley\"\nstandards = [\"EN 795:2012 type B\"]\nanchor_device = true\nefficiency = 0.92\nstrength = \"23 kN\"\n",
    ),
    (
        "anchor-sling",
        "title = \"Anchor sling\"\nkind = \"anchor-device\"\nstandards = [\"EN 795:2012 type B\"]\nlength = \"1.5 m\"\nstrength = \"22 kN\"\n",
    ),
    (
        "connector",
        "title = \"Connector\"\nkind = \"connector\"\nstandards = [\"EN 362:2004 class B\"]\nstrength = \"24 kN\"\n\n[connector]\nmajor = \"24 kN\"\nminor = \"8 kN\"\ngate_open = \"7 kN\"\ngate = \"triple action\"\n",
    ),
    (
        "harness",
        "title = \"Harness\"\nkind = \"harness\"\nstandards = [\"EN 358:2018\", \"EN 813:2008\"]\nrated_mass = \"140 kg\"\nstrength = \"15 kN\"\n",
    ),
    (
        "helmet",
        "title = \"Helmet\"\nkind = \"helmet\"\nstandards = [\"EN 12492:2012\"]\nmaterial = \"ABS shell\"\n",
    ),
];
