//! Checks of whole figures by their measured boxes, over random rigs and a worked one.

use kurbo::{Point, Rect};

use super::hit::{Outline, rect_gap, segments_cross};
use super::label::Cover;
use super::shape::{Item, Layer};
use super::{Composed, Detail, Shelf, Style, compose, draw};
use crate::quantity::Units;
use crate::rig::{FigureKind, Over, Rig, RigBuilder, ZoneAsk};
use crate::statics::{Ask, solve};

pub(super) const STYLE: Style<'static> = Style {
    units: Units::Metric,
    width_mm: 160.0,
    detail: Detail::Full,
    shelf: Shelf::EMPTY,
    right: false,
};

#[test]
fn effort_shows_the_hand_and_only_where_a_line_comes_back() {
    // By hand: over a pulley of efficiency 0.8, legs side by side, T_hand = W/(1 + 0.8) and
    // T_other = 0.8·W/(1 + 0.8); 100 kg weigh 0.98 kN.
    let rig = RigBuilder::new("doubled")
        .mass_kg(100.0)
        .climber([0.0, 2.0])
        .point("top", [0.0, 9.0])
        .efficiency(0.8)
        .line("main", &["bridge", "top", "bridge"])
        .build()
        .expect("a rig");
    let solved = solve(&rig, Ask::PULLS).expect("an answer");
    let figure = compose(&rig, &solved, FigureKind::Effort, STYLE).expect("it comes back");
    for words in [
        "0.98 kN",
        "hand pulls 0.54 kN",
        "carries 0.44 kN",
        "1.25 times",
        "be 0.49 kN",
    ] {
        let words = words.replace(" kN", "\u{a0}kN");
        let said = figure.description.replace(" kN", "\u{a0}kN");
        assert!(said.contains(&words), "{words}: {said}");
    }
    let single = RigBuilder::new("single")
        .mass_kg(100.0)
        .climber([0.0, 2.0])
        .point("top", [0.0, 9.0])
        .line("main", &["bridge", "top"])
        .build()
        .expect("a rig");
    let solved = solve(&single, Ask::PULLS).expect("an answer");
    assert!(compose(&single, &solved, FigureKind::Effort, STYLE).is_none());
}

/// The planar rig of the drawings' brief: a doubled line to the stem, a single one to a limb.
fn two_limb() -> RigBuilder {
    RigBuilder::new("two-limb")
        .mass_kg(86.0)
        .climber([3.7, 4.2])
        .point("top", [0.32, 7.6])
        .efficiency(0.85)
        .on("stem")
        .point("upper-end", [5.5, 8.05])
        .on("upper-limb")
        .line("main", &["bridge", "top", "bridge"])
        .limit_n(1500.0)
        .adjust_m(2.0, 11.2)
        .line("second", &["centre", "upper-end"])
        .limit_n(1000.0)
        .adjust_m(1.0, 5.6)
        .stem("stem", [0.0, 0.0], [0.1, 9.0], (0.62, 0.34))
        .limb("upper-limb", [0.08, 7.95], [6.35, 8.72], (0.25, 0.1))
        .limb("side-limb", [0.08, 1.3], [6.2, 3.82], (0.23, 0.1))
        .ground_m(0.0)
        .zone(ZoneAsk {
            spread_rad: None,
            work_reach_m: Some(0.7),
        })
}

/// Numbers in 0..1 from a seed: Knuth's MMIX multiplier and increment.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 33) as f64 / f64::from(1_u32 << 31))
    }
}

/// A planar rig of one to four lines, single, doubled or tied at a base, that may or may not hold.
fn random_rig(seed: u64) -> Rig {
    let mut dice = Dice(seed);
    for _ in 0..4 {
        dice.roll(0.0, 1.0);
    }
    let high = dice.roll(6.0, 14.0);
    let mut rig = RigBuilder::new("random")
        .mass_kg(dice.roll(55.0, 120.0))
        .climber([dice.roll(-1.0, 5.0), dice.roll(1.2, high - 3.0)])
        .stem("stem", [0.0, 0.0], [0.2, high + 1.0], (0.6, 0.3))
        .limb("limb", [0.1, high - 1.0], [6.0, high], (0.25, 0.1))
        .ground_m(0.0);
    let count = dice.roll(1.0, 4.999) as usize;
    let names = ["main", "second", "long-line-with-a-name", "lanyard"];
    for name in names.iter().take(count) {
        let point = format!("{name}-end");
        rig = rig.point(&point, [dice.roll(-2.0, 6.0), dice.roll(2.0, high)]);
        rig = match dice.roll(0.0, 3.0) as usize {
            0 => rig.line(name, &["bridge", &point]),
            1 => rig
                .efficiency(dice.roll(0.7, 1.0))
                .line(name, &["bridge", &point, "bridge"]),
            _ => {
                let base = format!("{name}-base");
                rig.over(Over::Limb)
                    .friction(dice.roll(0.0, 0.4))
                    .point(&base, [dice.roll(-0.3, 0.5), 0.8])
                    .line(name, &["centre", &point, &base])
            }
        };
    }
    rig.build().expect("a rig of known names")
}

/// A spatial rig of two to four lines, of which one may be doubled, that may or may not hold.
fn random_spatial_rig(seed: u64) -> Rig {
    let mut dice = Dice(seed);
    for _ in 0..4 {
        dice.roll(0.0, 1.0);
    }
    let high = dice.roll(6.0, 14.0);
    let mut rig = RigBuilder::new("random")
        .mass_kg(dice.roll(55.0, 120.0))
        .climber([
            dice.roll(0.5, 4.0),
            dice.roll(-1.5, 1.5),
            dice.roll(1.2, high - 3.0),
        ])
        .stem("stem", [0.0, 0.0, 0.0], [0.2, 0.0, high + 1.0], (0.6, 0.3))
        .limb(
            "near",
            [0.1, 0.0, high - 1.0],
            [5.0, -3.0, high],
            (0.25, 0.1),
        )
        .limb(
            "far",
            [0.1, 0.0, high - 2.0],
            [4.0, 3.5, high - 0.5],
            (0.25, 0.1),
        )
        .ground_m(0.0);
    let count = dice.roll(2.0, 4.999) as usize;
    let names = ["main", "second", "long-line-with-a-name", "lanyard"];
    for name in names.iter().take(count) {
        let point = format!("{name}-end");
        let at = [
            dice.roll(-1.0, 5.0),
            dice.roll(-3.0, 3.0),
            dice.roll(3.0, high),
        ];
        rig = rig.point(&point, at);
        rig = if dice.roll(0.0, 1.0) < 0.4 {
            let run = ["bridge", &point, "bridge"];
            rig.efficiency(dice.roll(0.7, 1.0)).line(name, &run)
        } else {
            rig.line(name, &["centre", &point])
        };
    }
    rig.build().expect("a rig of known names")
}

fn figure_of(rig: &Rig, kind: FigureKind, style: Style) -> Option<Composed> {
    let ask = match kind {
        FigureKind::Loss => Ask::LOSSES,
        FigureKind::Zone => Ask::ZONE,
        _ => Ask::PULLS,
    };
    let solved = solve(rig, ask).expect("a held rig has an answer");
    compose(rig, &solved, kind, style)
}

fn pulls_of(rig: &Rig, style: Style) -> Composed {
    figure_of(rig, FigureKind::Pulls, style).expect("pulls of every rig")
}

/// What is wrong with the boxes of a figure, if anything.
fn trouble(figure: &Composed) -> Option<String> {
    let boxes = figure.sheet.lettering();
    let paper = Rect::new(0.0, 0.0, figure.size_mm.0, figure.size_mm.1);
    for (i, a) in boxes.iter().enumerate() {
        if a.x0 < paper.x0 || a.x1 > paper.x1 || a.y0 < paper.y0 || a.y1 > paper.y1 {
            return Some(format!("text at {a:?} is cut off by {paper:?}"));
        }
        // Runs of one staff number or scale touch; nothing else may.
        if let Some(b) = boxes[i + 1..].iter().find(|b| rect_gap(*a, **b) < -0.05) {
            return Some(format!("texts at {a:?} and {b:?} overlap"));
        }
        let heads = figure
            .sheet
            .obstacles()
            .iter()
            .filter(|o| o.cover == Cover::Never && matches!(o.outline, Outline::Filled(..)));
        for head in heads {
            if head.outline.meets(*a) {
                return Some(format!(
                    "text at {a:?} lies on an arrow head or the climber"
                ));
            }
        }
    }
    None
}

#[test]
fn labels_of_random_rigs_in_space_keep_clear_too() {
    assert_eq!(check_labels(FigureKind::Space, random_spatial_rig), 200);
    assert_eq!(check_labels(FigureKind::Pulls, random_spatial_rig), 200);
    assert_eq!(check_labels(FigureKind::Space, random_rig), 0);
}

/// As [`random_rig`], with limits of pull and length, so that its zone has edges of every sort.
fn random_zone_rig(seed: u64) -> Rig {
    let mut rig = random_rig(seed);
    let mut dice = Dice(seed + 1000);
    rig.zone.work_reach_m = (seed.is_multiple_of(2)).then_some(0.7);
    for line in &mut rig.lines {
        line.limit_n = Some(dice.roll(600.0, 1500.0));
        line.adjust_m = Some((dice.roll(0.5, 3.0), dice.roll(6.0, 16.0)));
    }
    rig
}

#[test]
fn labels_of_random_zones_keep_clear_too() {
    // Lines that pull from one side only hold nowhere.
    let drawn = check_labels(FigureKind::Zone, random_zone_rig);
    assert!(drawn > 60, "{drawn}");
}

#[test]
fn labels_of_random_polygons_keep_clear_too() {
    // Some rigs hold by one line alone, or not at all: their polygons are thin, or do not close.
    let drawn = check_labels(FigureKind::Polygon, random_rig);
    assert!(drawn > 150, "{drawn}");
}

/// Draws one kind of 200 rigs, a half of them narrow, and returns how many had such a figure.
fn check_labels(kind: FigureKind, rig: fn(u64) -> Rig) -> usize {
    let mut count = 0;
    for seed in 0..200 {
        let width_mm = [160.0, 85.0, 160.0, 106.0][seed as usize % 4];
        let Some(figure) = figure_of(&rig(seed), kind, Style { width_mm, ..STYLE }) else {
            continue;
        };
        count += 1;
        if let Some(trouble) = trouble(&figure) {
            panic!("{kind:?}, seed {seed}: {trouble}");
        }
    }
    count
}

#[test]
fn labels_of_random_rigs_keep_clear_of_each_other_and_of_arrow_heads() {
    assert_eq!(check_labels(FigureKind::Pulls, random_rig), 200);
}

#[test]
fn labels_of_random_losses_keep_clear_too() {
    // A rig that does not hold has nothing to lose.
    let drawn = check_labels(FigureKind::Loss, random_rig);
    assert!(drawn > 60, "{drawn}");
}

#[test]
fn names_of_random_set_ups_and_strips_keep_clear_of_each_other() {
    for seed in 0..40 {
        let rig = random_rig(seed);
        let solved = solve(
            &rig,
            Ask {
                loss: false,
                zone: false,
            },
        )
        .expect("an answer");
        for kind in [FigureKind::Setup, FigureKind::Strip, FigureKind::Effort] {
            for width_mm in [58.0, 106.0, 160.0] {
                let style = Style { width_mm, ..STYLE };
                let Some(figure) = compose(&rig, &solved, kind, style) else {
                    assert_eq!(
                        kind,
                        FigureKind::Effort,
                        "the others say something of every rig"
                    );
                    continue;
                };
                if let Some(trouble) = trouble(&figure) {
                    panic!("seed {seed}, {kind:?}, {width_mm} mm: {trouble}");
                }
            }
        }
    }
}

#[test]
fn files_are_small_readable_and_the_same_each_time() {
    let rig = two_limb().build().expect("a rig");
    let solved = solve(&rig, Ask::ALL).expect("an answer");
    for (kind, most) in [
        (FigureKind::Setup, 48_000),
        (FigureKind::Pulls, 40_000),
        (FigureKind::Polygon, 40_000),
        (FigureKind::Zone, 60_000),
        (FigureKind::Loss, 80_000),
    ] {
        let drawing = draw(&rig, &solved, kind, STYLE).expect("this rig has it");
        let bytes = drawing.svg.len();
        assert!(bytes <= most, "{kind:?}: {bytes} bytes");
        let again = draw(&rig, &solved, kind, STYLE).expect("this rig has it");
        assert_eq!(drawing, again);
        let png = super::png(&drawing, 160, false).expect("the raster reads it");
        assert_eq!(&png[1..4], b"PNG");
        for line in &rig.lines {
            assert!(drawing.description.contains(&line.name), "{kind:?}");
        }
    }
}

#[test]
fn the_description_says_every_number_of_the_pulls() {
    // Numbers of figures.md's planar rig, worked out apart from this program.
    let rig = two_limb().build().expect("a rig");
    let figure = pulls_of(&rig, STYLE);
    for words in ["0.84", "0.19", "0.17 to 0.21", "0.63", "45°", "25°", "70°"] {
        assert!(
            figure.description.contains(words),
            "{words}: {}",
            figure.description
        );
    }
}

#[test]
fn a_mistake_says_so_in_word_and_sign() {
    let mut rig = two_limb().build().expect("a rig");
    rig.wrong = vec![("over-limit".to_owned(), rig.place)];
    let figure = pulls_of(&rig, STYLE);
    assert!(figure.title.starts_with("Mistake"));
    assert!((figure.size_mm.0 - STYLE.width_mm).abs() < 1e-9);
    assert!(figure.sheet.layers().any(|(layer, _)| layer == Layer::Flag));
    assert_eq!(trouble(&figure), None);
}

#[test]
fn the_right_way_says_so_and_is_as_large_as_the_mistake() {
    let mut rig = two_limb().build().expect("a rig");
    let right = Style {
        right: true,
        ..STYLE
    };
    let good = pulls_of(&rig, right);
    assert!(good.title.starts_with("Right"));
    assert_eq!(trouble(&good), None);
    rig.wrong = vec![("over-limit".to_owned(), rig.place)];
    // A rig that shows a mistake is never the right way.
    let bad = pulls_of(&rig, right);
    assert!(bad.title.starts_with("Mistake"));
    assert_eq!(bad.size_mm, good.size_mm);
}

/// What a figure says, as a reader meets it: title, description, named groups, lettering with its
/// place in whole millimetres. The paths are left to the eye.
fn outline_of(drawing: &super::Drawing) -> String {
    use std::fmt::Write as _;
    let mut text = format!("{}\n{}\n\n", drawing.title, drawing.description);
    let (width, height) = drawing.size_mm;
    let _ = writeln!(text, "{width:.0} x {height:.0} mm");
    for line in drawing.svg.lines() {
        let attribute = |name: &str| {
            let rest = line.split_once(&format!(" {name}=\""))?.1;
            rest.split('"').next()
        };
        if let Some(id) = attribute("id").filter(|_| line.starts_with("<g")) {
            let _ = writeln!(text, "{id}");
        }
        if line.starts_with("<text") {
            let place = |name| {
                attribute(name)
                    .and_then(|v| v.parse::<f64>().ok())
                    .unwrap_or(0.0)
            };
            let words: String = line
                .split('<')
                .filter_map(|part| Some(part.split_once('>')?.1))
                .collect();
            let (x, y) = (place("x"), place("y"));
            let _ = writeln!(text, "    {x:.0},{y:.0} {words}");
        }
    }
    text
}

#[test]
fn every_kind_says_what_it_said() {
    let planar = two_limb().build().expect("a rig");
    let spatial = RigBuilder::new("three-limb")
        .mass_kg(86.0)
        .climber([2.6, 0.1, 3.9])
        .point("top", [0.3, 0.0, 7.6])
        .efficiency(0.85)
        .point("near", [4.3, -2.25, 7.75])
        .point("far", [2.9, 2.5, 6.9])
        .line("main", &["bridge", "top", "bridge"])
        .line("second", &["centre", "near"])
        .line("third", &["centre", "far"])
        .build()
        .expect("a rig");
    for kind in FigureKind::ALL {
        let rig = if kind == FigureKind::Space {
            &spatial
        } else {
            &planar
        };
        let solved = solve(rig, Ask::ALL).expect("an answer");
        let drawing = draw(rig, &solved, kind, STYLE).expect("this rig has it");
        insta::assert_snapshot!(kind.word(), outline_of(&drawing));
    }
}

/// Beside a table there is no key to say an angle whose label has no place.
#[test]
fn no_spread_is_drawn_without_its_angle() {
    let (mut shown, mut dropped) = (0, 0);
    for width_mm in [85.0, 104.0] {
        for seed in 0..300 {
            let style = Style {
                width_mm,
                detail: Detail::Beside,
                ..STYLE
            };
            let figure = pulls_of(&random_rig(seed), style);
            let has = |name: &str| {
                let mut groups = figure.sheet.layers().flat_map(|(_, items)| items);
                groups.any(|item| matches!(item, Item::Group { id: Some(id), .. } if id == name))
            };
            assert_eq!(has("angle-spread"), has("label-angle-spread"), "{seed}");
            if has("angle-spread") {
                shown += 1;
            } else {
                dropped += 1;
            }
        }
    }
    assert!(shown > 10 && dropped > 10, "{shown} shown, {dropped} not");
}

/// A load between two ropes that lead nearly the same way meets neither.
#[test]
fn the_load_of_a_base_tie_stands_clear_of_both_ropes() {
    let rig = RigBuilder::new("base-tied")
        .mass_kg(82.0)
        .climber([2.5, 4.2])
        .point("top", [2.5, 10.0])
        .point("base", [0.45, 1.1])
        .line("main", &["bridge", "top", "base"])
        .ground_m(0.0)
        .build()
        .expect("a rig");
    let figure = pulls_of(&rig, STYLE);
    let obstacles = figure.sheet.obstacles();
    let strokes = |cover: Cover| {
        obstacles.iter().filter_map(move |o| match o.outline {
            Outline::Segment(a, b, _) if o.cover == cover => Some((a, b)),
            _ => None,
        })
    };
    let long = |(a, b): &(Point, Point)| a.distance(*b) > 30.0;
    let load = strokes(Cover::Shaft)
        .find(long)
        .expect("the load on the top");
    let ropes: Vec<_> = strokes(Cover::Rope).filter(long).collect();
    assert_eq!(ropes.len(), 2, "{ropes:?}");
    for rope in ropes {
        assert!(!segments_cross(load, rope), "{load:?} {rope:?}");
    }
}
