//! What must be true of every rig, whatever its numbers; and facts of the trade.

mod common;

use common::{between, level, loop_over_two_limbs};
use glam::DVec3;
use proptest::prelude::*;
use ropeleaf::rig::{LineId, Rig, RigBuilder};
use ropeleaf::statics::{Ask, LossOutcome, Mode, Solved, effort_n, solve};
use ropeleaf::statics::{HoldAnswer, Prepared};

/// Differences that count as rounding, over the weight.
const ROUNDING: f64 = 1e-8;

fn answer(rig: &Rig) -> Solved {
    solve(rig, Ask::PULLS).expect("an answer")
}

fn answer_with_losses(rig: &Rig) -> Solved {
    solve(rig, Ask::LOSSES).expect("an answer")
}

/// A redirect over a limb, a doubled line and a straight one: friction, a range and a choice.
#[derive(Debug, Clone)]
struct Numbers {
    mass: f64,
    top: [f64; 2],
    bend: [f64; 2],
    side: [f64; 2],
    base: [f64; 2],
    mu: f64,
    eta: f64,
}

fn numbers() -> impl Strategy<Value = Numbers> {
    let place = |x: std::ops::Range<f64>, z: std::ops::Range<f64>| (x, z).prop_map(|(x, z)| [x, z]);
    (
        50.0..120.0f64,
        place(-3.0..3.0, 4.0..9.0),
        place(-5.0..-0.5, 2.0..8.0),
        place(0.5..5.0, 1.0..6.0),
        place(-3.0..3.0, -4.0..-1.0),
        0.05..0.5f64,
        0.6..0.98f64,
    )
        .prop_map(|(mass, top, bend, side, base, mu, eta)| Numbers {
            mass,
            top,
            bend,
            side,
            base,
            mu,
            eta,
        })
}

impl Numbers {
    fn rig(&self) -> RigBuilder {
        RigBuilder::new("any")
            .mass_kg(self.mass)
            .climber([0.0, 0.0])
            .point("top", self.top)
            .efficiency(self.eta)
            .point("bend", self.bend)
            .friction(self.mu)
            .point("side", self.side)
            .point("base", self.base)
            .line("main", &["bridge", "top", "bridge"])
            .line("second", &["centre", "bend", "base"])
            .line("third", &["front-left", "side"])
    }

    fn built(&self) -> Rig {
        self.rig().build().unwrap()
    }
}

/// Pull, least and most of every span over a weight.
fn table(solved: &Solved, weight: f64) -> Vec<[Option<f64>; 3]> {
    let over = |n: Option<f64>| n.map(|n| n / weight);
    solved
        .spans
        .iter()
        .map(|s| [over(s.pull_n), over(s.pull_low_n), over(s.pull_high_n)])
        .collect()
}

fn same(a: &[[Option<f64>; 3]], b: &[[Option<f64>; 3]]) -> bool {
    a.len() == b.len()
        && a.iter()
            .flatten()
            .zip(b.iter().flatten())
            .all(|pair| match pair {
                (Some(a), Some(b)) => (a - b).abs() <= ROUNDING * a.abs().max(1.0),
                (None, None) => true,
                _ => false,
            })
}

proptest! {
    // Rigs a property: the kinds differ in places only, so that more would find little more.
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn mirror_images_mirror(n in numbers()) {
        let flip = |[x, z]: [f64; 2]| [-x, z];
        let mirror = Numbers {
            top: flip(n.top),
            bend: flip(n.bend),
            side: flip(n.side),
            base: flip(n.base),
            ..n.clone()
        };
        let (one, other) = (answer_with_losses(&n.built()), answer_with_losses(&mirror.built()));
        prop_assert_eq!(one.holds, other.holds);
        prop_assert!(same(&table(&one, one.weight_n), &table(&other, one.weight_n)));
        for (a, b) in one.loss.iter().zip(&other.loss) {
            if let (
                LossOutcome::Held { rest: a, .. },
                LossOutcome::Held { rest: b, .. },
            ) = (&a.outcome, &b.outcome)
            {
                prop_assert!((a.x + b.x).abs() < 1e-7 && (a.z - b.z).abs() < 1e-7);
            } else {
                prop_assert_eq!(&a.outcome, &b.outcome);
            }
        }
    }

    #[test]
    fn twice_the_mass_pulls_twice(n in numbers()) {
        let heavy = Numbers { mass: 2.0 * n.mass, ..n.clone() };
        let (one, two) = (answer(&n.built()), answer(&heavy.built()));
        prop_assert_eq!(one.holds, two.holds);
        prop_assert!(same(&table(&one, one.weight_n), &table(&two, 2.0 * one.weight_n)));
        let push = |s: &Solved| s.push_needed_n.unwrap_or_default();
        prop_assert!((2.0 * push(&one) - push(&two)).length() <= ROUNDING * one.weight_n);
    }

    #[test]
    fn friction_widens_ranges_and_never_narrows(n in numbers(), more in 1.01..3.0f64) {
        let rough = Numbers { mu: n.mu * more, eta: n.eta / more, ..n.clone() };
        let (one, two) = (answer(&n.built()), answer(&rough.built()));
        prop_assert!(two.holds || !one.holds, "friction never takes a hold away");
        for (a, b) in one.spans.iter().zip(&two.spans).filter(|_| one.holds) {
            let slack = ROUNDING * one.weight_n;
            prop_assert!(b.pull_low_n.unwrap() <= a.pull_low_n.unwrap() + slack);
            let high = |p: Option<f64>| p.unwrap_or(f64::INFINITY);
            prop_assert!(high(b.pull_high_n) >= high(a.pull_high_n) - slack);
        }
    }

    #[test]
    fn a_slack_line_changes_nothing(n in numbers(), spare in 0.1..3.0f64) {
        // At the place where lengths leave the climber; the rig itself gives the lengths.
        let held = answer(&n.built());
        let mut hung = n.built();
        hung.climber.at = None;
        for (line, solved) in hung.lines.iter_mut().zip(&held.lines) {
            line.lengths_m = vec![solved.length_m];
        }
        let one = answer(&hung);
        prop_assert_eq!(one.mode, Mode::Hung);
        let mut more = hung.clone();
        let mut slack = hung.lines[2].clone();
        slack.name = "spare".into();
        slack.lengths_m = vec![one.climber_at.distance(hung.points[2].at.unwrap()) + spare];
        more.lines.push(slack);
        let two = answer(&more);
        prop_assert!(one.climber_at.distance(two.climber_at) < 1e-8);
        let spans = one.spans.len();
        prop_assert_eq!(two.spans[spans].pull_n, Some(0.0));
        let table_two = table(&two, one.weight_n);
        prop_assert!(same(&table(&one, one.weight_n), &table_two[..spans]));
    }

    #[test]
    fn ranges_contain_the_nominal_pull(n in numbers()) {
        let solved = answer(&n.built());
        for span in solved.spans.iter().filter(|_| solved.holds) {
            let pull = span.pull_n.unwrap();
            prop_assert!(span.pull_low_n.unwrap() <= pull);
            prop_assert!(span.pull_high_n.is_none_or(|high| high >= pull));
        }
    }

    #[test]
    fn the_prepared_rig_agrees_with_the_solved_one(n in numbers(), x in -4.0..4.0f64, z in -3.0..5.0f64) {
        for lines in 1..=3 {
            let mut rig = n.built();
            rig.lines.truncate(lines);
            let mut prepared = Prepared::new(&rig);
            let mut here = HoldAnswer::default();
            let place = DVec3::new(x, 0.0, z);
            prepared.hold_at(place, &mut here);
            rig.climber.at = Some(place);
            let solved = answer(&rig);
            prop_assert_eq!(here.holds, solved.holds);
            prop_assert_eq!(here.needs_friction, solved.needs_friction);
            for (got, span) in here.pull_n.iter().zip(&solved.spans).filter(|_| solved.holds) {
                prop_assert!((got - span.pull_n.unwrap()).abs() <= ROUNDING * solved.weight_n);
            }
        }
    }

    /// The inscribed angle theorem (Euclid III.21): from every place of an arc through two
    /// anchors, the two lines spread by the same angle; at 120 deg level anchors' arc has the
    /// place below the middle where each line carries the weight.
    #[test]
    fn equal_spread_lies_on_an_arc(share in 0.05..0.95f64, spread_deg in 40.0..150.0f64) {
        let spread = spread_deg.to_radians();
        // Anchors 6 m apart; the circle's centre is below them by half/tan(spread).
        let half = 3.0;
        let radius = half / libm::sin(spread);
        let centre = -half / libm::tan(spread);
        // Lower arc between the anchors, from the left one round to the right one.
        let edge = libm::atan2(-centre, -half);
        let turn = if edge > 0.0 { edge - std::f64::consts::TAU } else { edge };
        let end = -std::f64::consts::PI - turn;
        let angle = turn + share * (end - turn);
        let at = [radius * libm::cos(angle), centre + radius * libm::sin(angle)];
        let rig = RigBuilder::new("arc")
            .climber(at)
            .point("left", [-half, 0.0])
            .point("right", [half, 0.0])
            .line("port", &["bridge", "left"])
            .line("starboard", &["bridge", "right"])
            .build()
            .unwrap();
        let solved = answer(&rig);
        let along = |i: usize| (solved.spans[i].to_at - solved.spans[i].from_at).normalize();
        let between = libm::acos(along(0).dot(along(1)));
        prop_assert!((between - spread).abs() < 1e-9, "{} {}", between, spread);
        // By the law of sines in the force triangle the pulls follow from the lines' angles.
        if solved.holds {
            let from_plumb = |i: usize| libm::acos(along(i).z);
            let want = solved.weight_n * libm::sin(from_plumb(1)) / libm::sin(spread);
            prop_assert!((solved.spans[0].pull_n.unwrap() - want).abs() < ROUNDING * solved.weight_n);
        }
    }
}

#[test]
fn at_120_degrees_each_line_carries_the_weight() {
    let rig = between([-3f64.sqrt(), 1.0], [3f64.sqrt(), 1.0])
        .build()
        .unwrap();
    let solved = answer(&rig);
    for span in &solved.spans {
        assert!((span.pull_n.unwrap() - solved.weight_n).abs() < 1e-9 * solved.weight_n);
    }
}

/// Common practice, no source: two lines at 45 deg each carry about 0.7 of the weight.
#[test]
fn two_lines_at_45_degrees_carry_seven_tenths_each() {
    let rig = between([-3.0, 3.0], [3.0, 3.0]).build().unwrap();
    let solved = answer(&rig);
    for span in &solved.spans {
        assert!((span.pull_n.unwrap() / solved.weight_n - 0.7).abs() < 0.01);
    }
}

/// Common practice, no source: a line tied at the base and run over a top loads the top with
/// about twice the climber's weight.
#[test]
fn a_base_tied_line_loads_its_top_twice() {
    let rig = RigBuilder::new("base-tied")
        .climber([0.5, 6.0])
        .point("base", [0.2, 0.5])
        .point("top", [0.5, 14.0])
        .friction(0.15)
        .line("main", &["bridge", "top", "base"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    let load = solved.points[1].load_n.unwrap();
    assert!((load.length() / solved.weight_n - 2.0).abs() < 0.001);
    assert!(load.z < 0.0);
}

/// Common practice, no source: a doubled line over a free-running top shares the weight in halves.
#[test]
fn a_doubled_line_over_a_free_top_shares_in_halves() {
    let rig = RigBuilder::new("doubled")
        .climber([0.0, 0.0])
        .point("top", [0.0, 9.0])
        .line("main", &["bridge", "top", "bridge"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    for span in &solved.spans {
        let share = span.pull_n.unwrap() / solved.weight_n;
        assert!((share - 0.5).abs() < 1e-12);
        assert_eq!(span.pull_low_n, span.pull_high_n);
    }
    let all = solved.lines[0].on_climber_n.unwrap();
    assert!((all - DVec3::Z * solved.weight_n).length() < 1e-9 * solved.weight_n);
}

/// The closed form of the effort: W·r/(1 + r) for a doubled line alone, r = e^(μπ) over a bend of
/// half a turn; a single line gives no help.
#[test]
fn the_effort_of_a_doubled_line_alone() {
    let rig = RigBuilder::new("doubled")
        .climber([0.0, 0.0])
        .point("top", [0.0, 9.0])
        .friction(0.2)
        .line("main", &["bridge", "top", "bridge"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    let r = libm::exp(0.2 * std::f64::consts::PI);
    let want = solved.weight_n * r / (1.0 + r);
    let got = effort_n(&rig, &solved, LineId(0)).unwrap();
    assert!((got - want).abs() < 1e-9 * want, "{got}, want {want}");
    let single = RigBuilder::new("single")
        .climber([0.0, 0.0])
        .point("top", [0.0, 9.0])
        .line("main", &["bridge", "top"])
        .build()
        .unwrap();
    assert_eq!(effort_n(&single, &answer(&single), LineId(0)), None);
}

/// Legs that lean differently: the hitch leg, and 1/r of it in the other, lift the weight together.
/// Angles by hand: the loop over two limbs leans atan(2.5/4.5) and atan(1.5/4.9) from plumb.
#[test]
fn the_effort_of_legs_that_lean_differently() {
    let rig = loop_over_two_limbs().build().unwrap();
    let solved = answer(&rig);
    let (other, hitch) = (libm::atan2(2.5, 4.5), libm::atan2(1.5, 4.9));
    // From the one leg to the other the line turns by half a turn and both leans, whatever the run
    // between the limbs rises.
    let wraps = std::f64::consts::PI + other + hitch;
    let r = libm::exp(0.3 * wraps);
    let want = solved.weight_n / (libm::cos(hitch) + libm::cos(other) / r);
    let got = effort_n(&rig, &solved, LineId(0)).unwrap();
    assert!((got - want).abs() < 1e-9 * want, "{got}, want {want}");
}

/// A mass given as a range gives pulls as ranges: everything is in proportion to it.
#[test]
fn a_range_of_mass_gives_a_range_of_pulls() {
    let rig = RigBuilder::new("plumb")
        .mass_range_kg(70.0, 100.0)
        .climber([0.0, 0.0])
        .point("top", [0.0, 9.0])
        .line("main", &["bridge", "top"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    let span = &solved.spans[0];
    let (low, high) = solved.weight_range_n;
    assert_eq!((span.pull_low_n, span.pull_high_n), (Some(low), Some(high)));
    assert!((span.pull_n.unwrap() - 85.0 * 9.80665).abs() < 1e-9);
}

/// Two lines that pull against each other may carry anything: no most pull, and it is said.
#[test]
fn lines_that_pull_against_each_other_have_no_most() {
    let rig = level().build().unwrap();
    let solved = answer(&rig);
    let most: Vec<_> = solved.lines.iter().map(|l| l.pull_high_n).collect();
    assert_eq!(most[..2], [None, None]);
    assert!((most[2].unwrap() - solved.weight_n).abs() < 1e-9 * solved.weight_n);
    assert_eq!(
        solved.spans[0].pull_n,
        Some(0.0),
        "the least squares leave them slack"
    );
}
