//! Kit against the world outside: due dates against another calendar library, the demo pack's items
//! against figures of the standards marked on them.
//!
//! SEEN: the figure was read in a public summary of the standard, not in the standard itself.
//! MEMORY: it was recalled and not seen. Either way a user is told to check the standard.

use chrono::{Days, Months, NaiveDate};
use jiff::civil::{Date, date};

use ropeleaf::finding::{SourceFile, Sources};
use ropeleaf::kit::{KitItem, KitKind};
use ropeleaf::pack::{self, Pack, Scope};
use ropeleaf::rulebook::Rulebook;

fn read_pack(kit: &str) -> Pack {
    let file = |path: &str, text: &str| SourceFile {
        path: path.to_owned(),
        bytes: text.into(),
    };
    let sources = Sources::new(vec![
        file("pack.toml", "title = \"P\"\n"),
        file(
            "lessons/a.md",
            "```lesson\ntitle = \"A\"\ncode = \"A\"\n```\n\nText.\n",
        ),
        file("kit/item.toml", kit),
    ]);
    let reading = pack::read(sources, Scope::Pack);
    assert_eq!(reading.findings, []);
    reading.pack
}

fn item(first_used: Date, months: u32, examined: &str) -> KitItem {
    let pack = read_pack(&format!(
        "title = \"A line\"\nkind = \"rope\"\n[life]\nfrom_first_use = \"{months} months\"\n\
         examine_every = \"{months} months\"\n[record]\nfirst_used = {first_used}\n{examined}"
    ));
    pack.kit[0].clone()
}

fn chrono_date(date: Date) -> NaiveDate {
    let part = |v: i8| u32::try_from(v).unwrap();
    NaiveDate::from_ymd_opt(i32::from(date.year()), part(date.month()), part(date.day())).unwrap()
}

/// Month ends and leap years: every 17th day of four years, the last days of every month, and the
/// leap days of 2024 and 2000, each with seven intervals.
#[test]
fn due_dates_agree_with_another_calendar() {
    let mut days: Vec<Date> = Vec::new();
    let mut day = date(2023, 1, 1);
    while day < date(2027, 1, 1) {
        let tomorrow = day.tomorrow().unwrap();
        if day.day_of_year() % 17 == 0 || tomorrow.month() != day.month() || day.day() >= 29 {
            days.push(day);
        }
        day = tomorrow;
    }
    days.extend([date(2000, 2, 29), date(2024, 2, 29), date(2100, 2, 28)]);
    let mut short = 0;
    for from in days {
        // One reading covers an interval; seven cover them all.
        for months in [1, 3, 6, 11, 12, 60, 120] {
            let other = chrono_date(from)
                .checked_add_months(Months::new(months))
                .unwrap();
            let own = item(from, months, "");
            let retire = own.retire_by().unwrap();
            assert_eq!(chrono_date(retire), other, "{months} months after {from}");
            assert_eq!(own.examine_by(6), Some(retire), "examined: never");
            short += u32::from(retire.day() != from.day());
        }
    }
    assert!(
        short > 50,
        "only {short} cases end on the last day of a shorter month"
    );
    let leap = chrono_date(date(2024, 2, 29)).checked_add_days(Days::new(366));
    assert_eq!(leap, Some(chrono_date(date(2025, 3, 1))));
}

#[test]
fn an_examiner_can_ask_for_an_earlier_date_and_not_for_a_later_one() {
    let next = |day: &str| {
        let history = format!(
            "examined = [2025-06-30]\n[[examination]]\ndated = 2025-08-31\nreason = \"after a fall\"\n\
             found = \"nothing\"\nby = \"A person\"\nnext = {day}\n"
        );
        item(date(2025, 1, 10), 6, &history)
    };
    let early = next("2025-11-30");
    assert_eq!(early.examine_by(6), Some(date(2025, 11, 30)));
    // Six months after the last of August end in February, on its last day.
    assert_eq!(next("2027-01-01").examine_by(6), Some(date(2026, 2, 28)));
    let days: Vec<Date> = early.record.examined.iter().map(|e| e.dated).collect();
    assert_eq!(days, [date(2025, 6, 30), date(2025, 8, 31)]);
}

/// LOLER 1998 reg. 9(3)(a)(i): equipment for lifting persons at least every 6 months; SEEN
/// (legislation.gov.uk). EN 358:2018, free fall at most 0.5 m, and EN 355 / EN 363, at most 6 kN on
/// the user: MEMORY.
#[test]
fn built_in_limits_are_those_of_the_standards() {
    let book = Rulebook::default();
    assert_eq!(book.limit("examine", "every"), 6.0);
    assert_eq!(book.limit("slack", "fall"), 0.5);
    assert_eq!(book.limit("fall-force", "peak"), 6000.0);
    for rule in ["slack", "fall-force", "record"] {
        assert!(book.basis(rule).contains("recalled, not seen"), "{rule}");
    }
    assert!(book.basis("examine").contains("LOLER 1998 reg. 9"));
}

fn demo() -> Pack {
    let mut files = Vec::new();
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/content");
    for entry in walkdir::WalkDir::new(root).sort_by_file_name() {
        let entry = entry.unwrap();
        if entry.file_type().is_file() {
            let path = entry.path().strip_prefix(root).unwrap();
            files.push(SourceFile {
                path: path.to_string_lossy().replace('\\', "/"),
                bytes: std::fs::read(entry.path()).unwrap(),
            });
        }
    }
    pack::read(Sources::new(files), Scope::Pack).pack
}

fn marked<'a>(pack: &'a Pack, standard: &'a str) -> Vec<&'a KitItem> {
    let marks = move |item: &&KitItem| item.standards.iter().any(|s| s.starts_with(standard));
    let items: Vec<&KitItem> = pack.kit.iter().filter(marks).collect();
    assert!(
        !items.is_empty(),
        "no item of the demo pack is marked {standard}"
    );
    items
}

/// EN 1891:1998 type A, low-stretch ropes: strength at least 22 kN without terminations, at most
/// 5 % longer between 50 kg and 150 kg; SEEN. The modulus of the demo's ropes must be the one that
/// their stretch gives: 100 kg · 9.80665 m/s² over the stretch.
#[test]
fn ropes_of_the_demo_meet_en_1891() {
    let pack = demo();
    for rope in marked(&pack, "EN 1891:1998 type A") {
        assert_eq!(rope.kind, KitKind::Rope);
        assert!(rope.strength_n.unwrap() >= 22_000.0, "{}", rope.title);
        let stretch = rope.stretch.unwrap();
        assert!(stretch <= 0.05, "{}", rope.title);
        let modulus = 100.0 * 9.806_65 / stretch;
        let written = rope.modulus_n.unwrap();
        assert!(
            (modulus / written - 1.0).abs() < 0.005,
            "{}: {modulus}",
            rope.title
        );
    }
}

/// EN 564:2006, accessory cord: at least 3.2, 5.0, 7.2, 9.8, 12.8 kN for 4 to 8 mm; SEEN. All five
/// are d²/5, d in millimetres, F in kN (the rule's wording: MEMORY).
#[test]
fn cords_of_the_demo_meet_en_564() {
    let rule_kn = |mm: f64| mm * mm / 5.0;
    for (mm, kn) in [(4.0, 3.2), (5.0, 5.0), (6.0, 7.2), (7.0, 9.8), (8.0, 12.8)] {
        assert!((rule_kn(mm) - kn).abs() < 1e-9, "{mm} mm");
    }
    let pack = demo();
    for cord in marked(&pack, "EN 564") {
        assert_eq!(cord.kind, KitKind::Cord);
        let mm = cord.diameter_m.unwrap() * 1000.0;
        assert!(
            (4.0..=8.0).contains(&mm),
            "{}: beyond the standard's sizes",
            cord.title
        );
        assert!(
            cord.strength_n.unwrap() / 1000.0 >= rule_kn(mm),
            "{}",
            cord.title
        );
    }
}

/// EN 362:2004, class B: 20 kN closed and locked, 15 kN not locked, 7 kN across; SEEN. The strength
/// with an open gate, 7 kN, is that of EN 12275:2013 class B; SEEN.
#[test]
fn connectors_of_the_demo_meet_en_362() {
    let pack = demo();
    for item in marked(&pack, "EN 362:2004 class B") {
        let connector = item.connector.as_ref().unwrap();
        assert!(connector.major_n.unwrap() >= 20_000.0, "{}", item.title);
        assert!(connector.minor_n.unwrap() >= 7_000.0, "{}", item.title);
        assert!(connector.gate_open_n.unwrap() >= 7_000.0, "{}", item.title);
    }
}

/// EN 358:2018, belts and lanyards for work positioning, and EN 813:2008, sit harnesses: 15 kN for
/// 3 min; SEEN. EN 795:2012 anchor devices: 12 kN for 3 min, 18 kN with a load-bearing part that is
/// not metal; SEEN. Type B needs no structural anchor; SEEN.
#[test]
fn harness_lanyard_and_anchors_of_the_demo_meet_their_standards() {
    let pack = demo();
    let least = |standard: &str, newtons: f64| {
        for item in marked(&pack, standard) {
            assert!(
                item.strength_n.unwrap() >= newtons,
                "{}: {standard}",
                item.title
            );
        }
    };
    least("EN 358:2018", 15_000.0);
    least("EN 813:2008", 15_000.0);
    least("EN 795:2012 type B", 18_000.0);
    for item in marked(&pack, "EN 795:2012 type B") {
        assert!(item.anchor_device, "{}", item.title);
    }
    for item in marked(&pack, "EN 358:2018") {
        assert!(!item.anchor_device, "{}: for support only", item.title);
    }
}

/// EN 365:2004, the record card: product, maker and contact, serial or batch number, year of making,
/// purchase, first use, user, history of examinations and repairs with date, reason, findings, the
/// competent person's name, next due date; MEMORY, most fields SEEN on a maker's record sheet.
#[test]
fn a_record_holds_what_en_365_wants() {
    let pack = demo();
    for item in &pack.kit {
        let record = &item.record;
        let there = [
            record.serial.is_some(),
            record.maker.is_some(),
            record.user.is_some(),
            record.made.is_some(),
            record.bought.is_some(),
            record.first_used.is_some(),
        ];
        assert_eq!(there, [true; 6], "{}", item.title);
    }
    let rich = pack.kit.iter().find(|item| {
        let full = |e: &ropeleaf::kit::Examination| {
            e.reason.is_some() && e.found.is_some() && e.by.is_some() && e.next.is_some()
        };
        item.record.model.is_some()
            && item.record.contact.is_some()
            && item.record.examined.iter().any(full)
    });
    assert!(
        rich.is_some(),
        "no item of the demo pack has a whole record"
    );
}
