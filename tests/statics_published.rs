//! Published values of statics, each with its source beside it.
//!
//! Numbers only are taken from the sources. The tolerance is half a unit of the source's last
//! printed digit unless the row says why it is more: some tables are cut off, not rounded. Where
//! a source has its own g, its weight is used. Factors do not depend on it.

mod common;

use common::near;
use glam::DVec3;
use ropeleaf::rig::{Rig, RigBuilder};
use ropeleaf::statics::{Ask, STANDARD_GRAVITY, Solved, solve};

const DEG: f64 = std::f64::consts::PI / 180.0;

fn answer(rig: &Rig) -> Solved {
    let solved = solve(rig, Ask::PULLS).expect("an answer");
    assert!(solved.holds, "{}", rig.name);
    solved
}

/// A climber of a given weight in newtons (or whatever unit the source has).
fn weighing(weight: f64) -> RigBuilder {
    RigBuilder::new("published").mass_kg(weight / STANDARD_GRAVITY)
}

fn pull(solved: &Solved, span: usize) -> f64 {
    solved.spans[span].pull_n.expect("it holds")
}

/// Two equal lines, each at an angle from the horizontal: the pull of one over half the weight.
fn leg_factor(from_horizontal_deg: f64) -> f64 {
    let (sin, cos) = (
        libm::sin(from_horizontal_deg * DEG),
        libm::cos(from_horizontal_deg * DEG),
    );
    let rig = weighing(2.0)
        .climber([0.0, 0.0])
        .point("left", [-5.0 * cos, 5.0 * sin])
        .point("right", [5.0 * cos, 5.0 * sin])
        .line("port", &["bridge", "left"])
        .line("starboard", &["bridge", "right"])
        .build()
        .unwrap();
    pull(&answer(&rig), 0)
}

/// A line through a pulley that a second, fixed end holds: the load on the pulley over the pull.
/// `between` is the angle between its two spans.
fn block_factor(between_deg: f64) -> f64 {
    // The climber hangs straight down from the block, the other span leaves at the angle.
    let end = [
        3.0 * libm::sin(between_deg * DEG),
        8.0 - 3.0 * libm::cos(between_deg * DEG),
    ];
    let rig = weighing(1.0)
        .climber([0.0, 0.0])
        .point("block", [0.0, 8.0])
        .point("end", end)
        .line("main", &["bridge", "block", "end"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    solved.points[0].load_n.expect("it holds").length() / pull(&solved, 0)
}

/// The most that one span pull may be of the other over a bend with friction: the least pull of
/// the far span, by the program's ranges, turned into a ratio.
fn capstan_ratio(mu: f64, wrap_turns: f64) -> f64 {
    // Straight up and straight down again is half a turn; the rest are extra turns.
    let rig = weighing(1.0)
        .climber([0.0, 0.0])
        .point("bend", [0.0, 8.0])
        .friction(mu)
        .turns(wrap_turns - 0.5)
        .point("base", [0.0, -1.0])
        .line("main", &["bridge", "bend", "base"])
        .build()
        .unwrap();
    let far = &answer(&rig).spans[1];
    let (low, high) = (far.pull_low_n.unwrap(), far.pull_high_n.unwrap());
    assert!((low * high - 1.0).abs() < 1e-9, "T/r and T·r of T = 1");
    1.0 / low
}

#[test]
fn leg_angle_factors() {
    // Row A1: industrial sling maker's public chart; 65°, 40° and 35° are mis-rounded in print.
    let print = [
        (90.0, 1.0),
        (85.0, 1.004),
        (80.0, 1.015),
        (75.0, 1.035),
        (70.0, 1.064),
        (65.0, 1.104),
        (60.0, 1.155),
        (55.0, 1.221),
        (50.0, 1.305),
        (45.0, 1.414),
        (40.0, 1.555),
        (35.0, 1.742),
        (30.0, 2.0),
    ];
    for (deg, want) in print {
        near("A1", leg_factor(deg), want, 0.0016);
    }
    // Row A2: a second, independent print of the same, cut off at three decimals.
    let print = [
        (85.0, 1.003),
        (80.0, 1.015),
        (75.0, 1.035),
        (70.0, 1.064),
        (65.0, 1.103),
        (60.0, 1.154),
        (55.0, 1.220),
        (50.0, 1.305),
        (45.0, 1.414),
        (40.0, 1.555),
        (35.0, 1.743),
        (30.0, 2.0),
    ];
    for (deg, want) in print {
        near("A2", leg_factor(deg), want, 0.0010);
    }
    // Row A3: the same chart's reduction factors H/L = 1/factor.
    for (deg, want) in [(85.0, 0.996), (60.0, 0.866), (45.0, 0.707), (30.0, 0.5)] {
        near("A3", 1.0 / leg_factor(deg), want, 0.0006);
    }
    // Row A4: sling lifting efficiency with very flat angles, %.
    for (deg, want) in [(90.0, 100.0), (75.0, 96.6), (15.0, 25.8), (5.0, 8.7)] {
        near("A4", 100.0 / leg_factor(deg), want, 0.1);
    }
}

#[test]
fn leg_pulls_worked_out() {
    // Rows A5, A6: two legs, 1000 lb, 60° and 45° from the horizontal.
    near("A5", 500.0 * leg_factor(60.0), 577.0, 0.5);
    near("A6", 500.0 * leg_factor(45.0), 707.0, 0.5);
    // Row A7: US Navy manual NAVEDTRA 14080, ch. 3, "Sling Angle": exact.
    near("A7", 500.0 * leg_factor(90.0), 500.0, 1e-9);
    near("A7", 500.0 * leg_factor(30.0), 1000.0, 1e-9);
    // Row A9: L = 120, H = 96 for a leg's share of 1200 lb: factor 1.25, 1500 lb. Exact.
    let flat = libm::asin(96.0 / 120.0) / DEG;
    near("A9", 1200.0 * leg_factor(flat), 1500.0, 1e-9);
    // Row A10: two legs, 2000 lb, 60°.
    near("A10", 1000.0 * leg_factor(60.0), 1154.0, 1.0);
    // Row A14: basket-hitch chart to AS 1353 / AS 4497 (read second-hand), 1000 kg a leg; the 30°
    // entry is rounded down to 1900 there.
    for (between, want, tol) in [
        (30.0, 1900.0, 35.0),
        (60.0, 1730.0, 5.0),
        (90.0, 1410.0, 5.0),
        (120.0, 1000.0, 1e-9),
    ] {
        let got = 2000.0 / leg_factor(90.0 - between / 2.0);
        near("A14", got, want, tol);
    }
    // Row A19, from memory there: DOE-STD-1090 sling table.
    for (deg, want) in [(60.0, 1.155), (45.0, 1.414), (30.0, 2.0)] {
        near("A19", leg_factor(deg), want, 0.001);
    }
}

#[test]
fn block_factors() {
    // Rows B1, B2: industrial wire-rope and rigging catalogue, p. 87; 40° and 45° are cut off.
    let print = [
        (0.0, 2.00),
        (10.0, 1.99),
        (20.0, 1.97),
        (30.0, 1.93),
        (40.0, 1.87),
        (45.0, 1.84),
        (50.0, 1.81),
        (60.0, 1.73),
        (70.0, 1.64),
        (80.0, 1.53),
        (90.0, 1.41),
    ];
    for (deg, want) in print {
        near("B1", block_factor(deg), want, 0.010);
    }
    let print = [
        (100.0, 1.29),
        (110.0, 1.15),
        (120.0, 1.00),
        (130.0, 0.84),
        (135.0, 0.76),
        (140.0, 0.68),
        (150.0, 0.52),
        (160.0, 0.35),
        (170.0, 0.17),
        (180.0, 0.0),
    ];
    for (deg, want) in print {
        near("B2", block_factor(deg), want, 0.006);
    }
    // Row B3: a second print, which has 1.98 for 10°.
    near("B3", block_factor(10.0), 1.98, 0.013);
    near("B3", block_factor(110.0), 1.15, 0.006);
    // Rows B4, B5: worked lead and foot blocks at 1000 lb.
    near("B4", 1000.0 * block_factor(50.0), 1810.0, 3.0);
    near("B5", 1000.0 * block_factor(135.0), 760.0, 6.0);
    // Rows B6, B7: a maker of boat blocks: 100 kg at 0°, 150 kg at 100°.
    near("B6", 100.0 * block_factor(0.0), 200.0, 1e-9);
    near("B7", 150.0 * block_factor(100.0), 193.4, 0.6);
    // Row B8: 500 lb at 30° and 90°.
    near("B8", 500.0 * block_factor(30.0), 965.0, 2.2);
    near("B8", 500.0 * block_factor(90.0), 705.0, 2.2);
    // Row B9: College Physics 2e (OpenStax) §4.6: 25.0 N each side, 15° off the line across:
    // 150° between the spans.
    near("B9", 25.0 * block_factor(150.0), 12.9, 0.05);
}

#[test]
fn capstan_ratios() {
    // Row C1: Baker and Haynes, Engineering Statics, ch. 9 "Rope Friction": 100 lb, 4½ turns.
    near("C1", 100.0 / capstan_ratio(0.23, 4.5), 0.15, 0.005);
    // Row C2: Engineering mechanics 1, exercise 27: 100 kg, g = 9.81, ¾ turn, μ = 0.2.
    near("C2", 981.0 / capstan_ratio(0.2, 0.75), 382.26, 0.01);
    // Rows C3, C4: applied-mechanics textbook Ex. 6.5 (read second-hand): 100 lb, μ = 0.40.
    near("C3", 100.0 / capstan_ratio(0.4, 0.5), 28.46, 0.01);
    near("C4", 100.0 / capstan_ratio(0.4, 1.5), 2.31, 0.01);
    // Row C7, recomputed there: cells of the turns table of "Capstan equation".
    near("C7", capstan_ratio(0.1, 1.0), 1.9, 0.05);
    near("C7", capstan_ratio(0.3, 2.0), 43.4, 0.05);
    near("C7", capstan_ratio(0.2, 3.0), 43.4, 0.05);
    // Rows C8, C9: a measured cord on a pine roller, 1½ turns: load ratios of 14 and of 19.
    near(
        "C8",
        libm::log(capstan_ratio(0.280012679, 1.5)),
        libm::log(14.0),
        1e-7,
    );
    near(
        "C9",
        libm::log(capstan_ratio(0.312414679, 1.5)),
        libm::log(19.0),
        1e-7,
    );
}

/// A weight on two lines at angles above the horizontal, left and right: their pulls.
fn two_lines(weight: f64, left_deg: f64, right_deg: f64) -> (f64, f64) {
    let end = |side: f64, deg: f64| {
        [
            4.0 * side * libm::cos(deg * DEG),
            4.0 * libm::sin(deg * DEG),
        ]
    };
    let rig = weighing(weight)
        .climber([0.0, 0.0])
        .point("left", end(-1.0, left_deg))
        .point("right", end(1.0, right_deg))
        .line("port", &["bridge", "left"])
        .line("starboard", &["bridge", "right"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    (pull(&solved, 0), pull(&solved, 1))
}

#[test]
fn particles_held_by_cords() {
    // Row D1: College Physics 2e, Ex. 4.6, tightrope of 70.0 kg at 5.0°: 3900 N, 3.94e3 later.
    near("D1", two_lines(70.0 * 9.8, 5.0, 5.0).0, 3940.0, 5.0);
    // Row D2: College Physics 2e, Ex. 4.8, traffic light of 15.0 kg, 30° and 45°: 108, 132 N.
    let (left, right) = two_lines(15.0 * 9.8, 30.0, 45.0);
    near("D2", left, 108.0, 0.5);
    near("D2", right, 132.0, 0.5);
    // Row D4: College Physics 2e §4.5, spider of 8.00e-5 kg at 12°: 1.89e-3 N (g = 9.80).
    let pull = two_lines(8.0e-5 * 9.8, 12.0, 12.0).0;
    near("D4", pull, 1.89e-3, 1.89e-3 * 0.003);
    // Row D8: University Physics 1 §5.6, bird of 26 g on a line at 5° and 0.5°: 1.5 N, 15 N.
    near("D8", two_lines(0.026 * 9.8, 5.0, 5.0).0, 1.5, 0.05);
    near("D8", two_lines(0.026 * 9.8, 0.5, 0.5).0, 15.0, 0.5);
    // Row D9: University Physics 1 §5.6: 200.0 N across the middle of a 3.0 m rope, 0.25 m aside.
    let flat = libm::asin(0.25 / 1.5) / DEG;
    near("D9", two_lines(200.0, flat, flat).0, 600.0, 5.0);
    // Row D32: University Physics 1 §6.1, 200 N at 41° and 63°; computed, answer not printed.
    let (left, right) = two_lines(200.0, 41.0, 63.0);
    near("D32", left, 93.58, 0.005);
    near("D32", right, 155.56, 0.005);
}

#[test]
fn a_pan_on_two_perpendicular_strings() {
    // Row D10: University Physics 1, Ex. 12.2: strings of 5.0 and 10.0 cm meet at a right angle;
    // the short one breaks first, at 2.80 N, under 42.0 g and 277 g more.
    let base = (25.0f64 + 100.0).sqrt();
    let (x, down) = (25.0 / base, 50.0 / base);
    let rig = weighing((0.042 + 0.277) * 9.8)
        .climber([x, -down])
        .point("left", [0.0, 0.0])
        .point("right", [base, 0.0])
        .line("short", &["bridge", "left"])
        .line("long", &["bridge", "right"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    near("D10", pull(&solved, 0), 2.80, 0.006);
    near("D10", pull(&solved, 0) / pull(&solved, 1), 2.0, 1e-9);
}

#[test]
fn a_climber_with_feet_on_the_wall() {
    // Row D7: University Physics 1 §6.2, 52.0 kg, rope 31° from the wall, feet's push 15° above
    // the horizontal: rope 512 N, feet 272 N (printed the other way round), μ = 0.268. The three
    // forces meet in the centre of mass here: it is put at the harness point.
    let feet = [-0.9 * libm::cos(15.0 * DEG), -0.9 * libm::sin(15.0 * DEG)];
    let wall = feet[0];
    let up = -wall / libm::tan(31.0 * DEG);
    let rig = |friction: f64| {
        weighing(52.0 * 9.8)
            .climber([0.0, 0.0])
            .com(0.0, 0.0)
            .feet(feet, [1.0, 0.0], friction)
            .point("anchor", [wall, up])
            .line("rope", &["bridge", "anchor"])
            .build()
            .unwrap()
    };
    let solved = answer(&rig(0.2685));
    near("D7", pull(&solved, 0), 512.0, 0.5);
    near("D7", solved.feet_push_n.unwrap().length(), 272.0, 1.2);
    // Less friction than tan 15° = 0.268 does not hold.
    assert!(!solve(&rig(0.2675), Ask::PULLS).unwrap().holds);
}

#[test]
fn particles_in_space() {
    // Row D24: Baker and Haynes ch. 3, balloon on three cables, 900 lb upwards (turned over here);
    // their y is up, feet: A 464, B 402, C 309 lb.
    let at = |x: f64, z: f64| [x, z, 30.0];
    let rig = weighing(900.0)
        .climber([0.0, 0.0, 0.0])
        .point("a", at(-20.0, 0.0))
        .point("b", at(30.0, 20.0))
        .point("c", at(0.0, -20.0))
        .line("a", &["bridge", "a"])
        .line("b", &["bridge", "b"])
        .line("c", &["bridge", "c"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    for (span, want) in [464.0, 402.0, 309.0].into_iter().enumerate() {
        near("D24", pull(&solved, span), want, 0.5);
    }
    // Row D25: Baker and Haynes ch. 3, camera of 20 kg, g = 9.81, on three cables given by
    // direction cosines (y up). They round their matrix, so C is 98.5 in print.
    let cos = |deg: f64| libm::cos(deg * DEG);
    let along = |x: f64, y: f64, z: f64| (5.0 * DVec3::new(x, z, y)).to_array();
    let rig = weighing(20.0 * 9.81)
        .climber([0.0, 0.0, 0.0])
        .point("a", along(cos(35.0), cos(55.0), 0.0))
        .point(
            "b",
            along(-cos(15.0) * cos(30.0), cos(75.0), -cos(15.0) * cos(60.0)),
        )
        .point("c", along(0.0, cos(70.0), cos(20.0)))
        .line("a", &["bridge", "a"])
        .line("b", &["bridge", "b"])
        .line("c", &["bridge", "c"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    for (span, (want, tol)) in [(196.4, 0.1), (192.2, 0.1), (98.5, 0.4)]
        .into_iter()
        .enumerate()
    {
        near("D25", pull(&solved, span), want, tol);
    }
    // Row D33: 500 lb on three equal cables; computed, answer not printed: 172.13 lb each.
    let (half, high) = (3f64.sqrt(), 2.0 * 15f64.sqrt());
    let rig = weighing(500.0)
        .climber([0.0, 0.0, -high])
        .point("a", [-2.0, 0.0, 0.0])
        .point("b", [1.0, half, 0.0])
        .point("c", [1.0, -half, 0.0])
        .line("a", &["bridge", "a"])
        .line("b", &["bridge", "b"])
        .line("c", &["bridge", "c"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    for span in 0..3 {
        near("D33", pull(&solved, span), 172.13, 0.005);
    }
}

#[test]
fn a_cable_with_one_end_level() {
    // Row D29: textbook Ex. 3.2 "Equilibrium of a Particle" (read second-hand), 2.452 kN on a
    // cable 30° above the horizontal and a level one: 4.90 and 4.25 kN.
    let (steep, level) = two_lines(2.452, 30.0, 0.0);
    near("D29", steep, 4.90, 0.005);
    near("D29", level, 4.25, 0.005);
    // Row D15: College Physics 2e §4.5: 5.00 kg on one rope, g = 9.80: 49.0 N.
    let rig = weighing(5.0 * 9.8)
        .climber([0.0, 0.0])
        .point("top", [0.0, 2.0])
        .line("main", &["bridge", "top"])
        .build()
        .unwrap();
    near("D15", pull(&answer(&rig), 0), 49.0, 0.05);
}
