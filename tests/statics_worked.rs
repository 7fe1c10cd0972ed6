//! Nine rigs of the Aldermoor Arboretum whose numbers were worked out outside the program, with
//! SciPy (linear programs, least squares) and cvxpy (cone programs). The files that come from
//! there print six decimals of a kilonewton or a metre, fewer where the last column says so.

mod common;

use common::{loop_over_two_limbs, three_lines, two_limbs};
use ropeleaf::rig::{Over, Rig, RigBuilder};
use ropeleaf::statics::{Ask, LossOutcome, Mode, Solved, StaticsProblem, solve, swing};

const MASS_KG: f64 = 84.0;
/// Half a unit of the sixth decimal, and as much again for their solver's own tolerance: N or m.
const SIX: f64 = 1e-6;

fn answer(rig: &Rig) -> Solved {
    solve(rig, Ask::LOSSES).expect("the rig has an answer")
}

fn doubled() -> RigBuilder {
    RigBuilder::new("oak-doubled")
        .mass_kg(MASS_KG)
        .climber([2.2, 5.0])
        .point("top", [0.2, 10.5])
        .over(Over::Pulley)
        .efficiency(0.85)
        .point("side", [4.9, 7.6])
        .line("main", &["bridge", "top", "bridge"])
        .line("second", &["centre", "side"])
}

fn base_tied() -> RigBuilder {
    RigBuilder::new("ash-base-tied")
        .mass_kg(MASS_KG)
        .climber([3.4, 3.2])
        .point("base", [0.1, 0.8])
        .point("top", [0.6, 11.2])
        .over(Over::Limb)
        .friction(0.2)
        .point("side", [5.6, 6.4])
        .line("main", &["bridge", "top", "base"])
        .line("second", &["centre", "side"])
}

fn stem_strop() -> RigBuilder {
    RigBuilder::new("larch-strop")
        .mass_kg(MASS_KG)
        .climber([0.65, 4.0])
        .com(0.0, 0.1)
        .feet([0.22, 3.08], [1.0, 0.05], 4.0)
        .point("behind", [-0.25, 4.15])
        .over(Over::Stem)
        .line("round", &["front-left", "behind", "front-right"])
}

/// One span's numbers, kN: line, nominal, least, most.
type Row = (&'static str, f64, f64, f64);

fn check_spans(rig: &Rig, needs_friction: bool, rows: &[Row]) {
    let solved = answer(rig);
    assert!(solved.holds, "{}", rig.name);
    assert_eq!(solved.needs_friction, needs_friction, "{}", rig.name);
    assert_eq!(solved.spans.len(), rows.len());
    for (span, (line, pull, low, high)) in solved.spans.iter().zip(rows) {
        assert_eq!(rig.line(span.line).name, *line);
        for (got, want) in [
            (span.pull_n, pull),
            (span.pull_low_n, low),
            (span.pull_high_n, high),
        ] {
            let got = got.expect("it holds and is bounded") / 1000.0;
            assert!((got - want).abs() <= SIX, "{line}: {got} kN, want {want}");
        }
    }
}

#[test]
fn held_rigs_match_the_numbers_worked_out_outside() {
    check_spans(
        &two_limbs().build().unwrap(),
        false,
        &[
            ("main", 0.649202, 0.649202, 0.649202),
            ("second", 0.308002, 0.308002, 0.308002),
        ],
    );
    check_spans(
        &doubled().build().unwrap(),
        false,
        &[
            ("main", 0.324601, 0.298282, 0.35092),
            ("main", 0.324601, 0.298282, 0.35092),
            ("second", 0.308002, 0.308002, 0.308002),
        ],
    );
    check_spans(
        &base_tied().build().unwrap(),
        false,
        &[
            ("main", 0.578333, 0.578333, 0.578333),
            ("main", 0.578333, 0.33321, 1.003777),
            ("second", 0.337233, 0.337233, 0.337233),
        ],
    );
    check_spans(
        &three_lines().build().unwrap(),
        false,
        &[
            ("one", 0.363979, 0.146187, 0.600412),
            ("two", 0.365635, 0.0, 0.702442),
            ("three", 0.209468, 0.0, 0.436864),
        ],
    );
    check_spans(
        &loop_over_two_limbs().build().unwrap(),
        true,
        &[
            ("loop", 0.334781, 0.334781, 0.334781),
            ("loop", 0.307813, 0.307813, 0.606039),
            ("loop", 0.555436, 0.555436, 0.555436),
        ],
    );
    check_spans(
        &stem_strop().build().unwrap(),
        false,
        &[
            ("round", 0.18106, 0.18106, 0.18106),
            ("round", 0.18106, 0.18106, 0.18106),
        ],
    );
}

#[test]
fn the_feet_carry_what_the_strop_leaves() {
    let push = answer(&stem_strop().build().unwrap())
        .feet_push_n
        .expect("feet on");
    assert!((push.x / 1000.0 - 0.357193).abs() <= SIX, "{push}");
    assert!((push.z / 1000.0 - 0.764226).abs() <= SIX, "{push}");
}

#[test]
fn one_line_off_the_plumb_cannot_hold() {
    let rig = RigBuilder::new("oak-off-plumb")
        .mass_kg(MASS_KG)
        .climber([3.0, 5.0])
        .point("top", [0.5, 10.0])
        .line("main", &["bridge", "top"])
        .build()
        .unwrap();
    let solved = answer(&rig);
    assert!(!solved.holds);
    // The least push is the weight's part across the line: W·sin β, β from the vertical.
    let push = solved.push_needed_n.expect("it does not hold");
    let sin = 2.5 / (2.5_f64 * 2.5 + 5.0 * 5.0).sqrt();
    assert!((push.length() - solved.weight_n * sin).abs() < 1e-6 * solved.weight_n);
    assert!(push.x > 0.0 && push.z > 0.0, "{push}");
}

/// Half a unit of the fourth decimal of a metre and of the fifth of a kilonewton.
const PLACE_M: f64 = 5e-5 + 1e-9;
const PULL_KN: f64 = 5e-6 + 1e-9;

fn hung_ring() -> RigBuilder {
    RigBuilder::new("cherry-drop-ring")
        .mass_kg(MASS_KG)
        .point("top", [0.0, 10.0])
        .point("limb", [4.0, 9.0])
        .hanging("drop-ring")
        .over(Over::Ring)
        .line("main", &["bridge", "drop-ring", "top"])
        .lengths_m(&[8.4])
        .line("sling", &["drop-ring", "limb"])
        .lengths_m(&[2.2])
}

fn hung_in_space() -> RigBuilder {
    RigBuilder::new("plane-traverse")
        .mass_kg(MASS_KG)
        .point("a", [0.0, -1.0, 9.0])
        .point("b", [3.5, 0.5, 8.5])
        .point("top", [1.0, 3.0, 10.0])
        .over(Over::Pulley)
        .hanging("grip")
        .grips(&["across"])
        .line("across", &["a", "grip", "b"])
        .lengths_m(&[2.4, 2.2])
        .line("tether", &["bridge", "grip"])
        .lengths_m(&[1.0])
        .line("main", &["bridge", "top", "bridge"])
        .lengths_m(&[9.4])
}

fn check_hung(rig: &Rig, climber: [f64; 3], hanging: &[(usize, [f64; 3])], pulls: &[f64]) {
    let solved = answer(rig);
    assert_eq!(solved.mode, Mode::Hung);
    assert!(solved.holds && !solved.needs_friction);
    let near = |got: glam::DVec3, want: [f64; 3]| {
        let off = (got - glam::DVec3::from_array(want)).abs().max_element();
        assert!(off <= PLACE_M, "{}: {got}, want {want:?}", rig.name);
    };
    near(solved.climber_at, climber);
    for (point, want) in hanging {
        near(solved.points[*point].at, *want);
    }
    for (span, want) in solved.spans.iter().zip(pulls) {
        let got = span.pull_n.expect("it holds") / 1000.0;
        assert!(
            (got - want).abs() <= PULL_KN,
            "{}: {got} kN, want {want}",
            rig.name
        );
    }
}

#[test]
fn hung_rigs_match_the_numbers_worked_out_outside() {
    check_hung(
        &hung_ring().build().unwrap(),
        [1.9796, 0.0, 2.453],
        &[(2, [1.9796, 0.0, 8.1294])],
        &[0.82376, 0.82376, 0.65195],
    );
    check_hung(
        &hung_in_space().build().unwrap(),
        [1.6408, -0.061, 6.4915],
        &[(3, [1.6607, -0.156, 7.4868])],
        &[0.72591, 0.61853, 0.74607, 0.05439, 0.05439],
    );
}

#[test]
fn lengths_that_cannot_meet_name_their_lines() {
    let rig = RigBuilder::new("oak-too-short")
        .point("left", [0.0, 9.0])
        .point("right", [6.0, 9.0])
        .point("top", [3.0, 12.0])
        .line("port", &["bridge", "left"])
        .lengths_m(&[2.0])
        .line("starboard", &["bridge", "right"])
        .lengths_m(&[3.0])
        .line("spare", &["bridge", "top"])
        .lengths_m(&[8.0])
        .build()
        .unwrap();
    let problem = solve(&rig, Ask::PULLS).unwrap_err();
    let StaticsProblem::CannotMeet { lines } = problem else {
        panic!("{problem:?}")
    };
    let names: Vec<_> = lines.iter().map(|id| rig.line(*id).name.as_str()).collect();
    assert_eq!(names, ["port", "starboard"]);
}

#[test]
fn a_climber_tied_to_nothing_fixed_is_said_to_fall() {
    let rig = RigBuilder::new("oak-loose")
        .point("top", [3.0, 12.0])
        .hanging("ring")
        .line("tether", &["bridge", "ring"])
        .lengths_m(&[2.0])
        .build()
        .unwrap();
    let problem = solve(&rig, Ask::PULLS).unwrap_err();
    assert_eq!(problem, StaticsProblem::NothingHolds);
}

/// Rest (x, z), drop and speed after the loss of each line, in order; `None`: nothing holds.
type Lost = Option<([f64; 2], f64, f64)>;

fn check_losses(rig: &Rig, want: &[Lost]) {
    let solved = answer(rig);
    assert_eq!(solved.loss.len(), want.len());
    for (loss, want) in solved.loss.iter().zip(want) {
        match (&loss.outcome, want) {
            (LossOutcome::NothingHolds, None) => {}
            (
                LossOutcome::Held {
                    rest,
                    drop_m,
                    speed_m_s,
                    ..
                },
                Some(([x, z], drop, speed)),
            ) => {
                assert!(
                    (rest.x - x).abs() <= SIX && (rest.z - z).abs() <= SIX,
                    "{rest}"
                );
                assert!((drop_m - drop).abs() <= SIX, "{drop_m} m, want {drop}");
                // Their drop of 5e-13 m shows as 3e-6 m/s.
                assert!(
                    (speed_m_s - speed).abs() <= 4.0 * SIX,
                    "{speed_m_s} m/s, want {speed}"
                );
                assert_eq!(swing(rig, &solved, loss)[0], solved.climber_at);
            }
            (got, want) => panic!("{}: {got:?}, want {want:?}", rig.name),
        }
    }
}

#[test]
fn losses_match_the_numbers_worked_out_outside() {
    let of_two = [
        Some(([4.9, 3.851667], 1.148333, 4.745798)),
        Some(([0.2, 4.64765], 0.35235, 2.62883)),
    ];
    check_losses(&two_limbs().build().unwrap(), &of_two);
    check_losses(&doubled().build().unwrap(), &of_two);
    check_losses(
        &base_tied().build().unwrap(),
        &[
            Some(([5.6, 2.516702], 0.683298, 3.660836)),
            Some(([0.6, 2.724152], 0.475848, 3.054988)),
        ],
    );
    check_losses(
        &three_lines().build().unwrap(),
        &[
            Some(([2.2, 3.962416], 0.037584, 0.858568)),
            Some(([1.5, 4.0], 0.0, 0.0)),
            Some(([1.5, 4.0], 0.0, 0.0)),
        ],
    );
    check_losses(&loop_over_two_limbs().build().unwrap(), &[None]);
}
