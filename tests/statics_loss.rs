//! Losses: the swing against an integrated pendulum and an integrated fall onto two lines, its
//! height and its strikes against hand calculation.

mod common;

use common::{level, three_lines, two_limbs};
use glam::DVec3;
use proptest::prelude::*;
use ropeleaf::rig::{Rig, RigBuilder};
use ropeleaf::statics::{Ask, LossOutcome, STANDARD_GRAVITY, Strike, solve, swing};

struct Held {
    start: DVec3,
    rest: DVec3,
    drop_m: f64,
    speed_m_s: f64,
    pull_n: Option<f64>,
    path: Vec<DVec3>,
    strikes: Option<Strike>,
    weight_n: f64,
}

/// The loss of a rig's line by name.
fn lose(rig: &Rig, name: &str) -> Held {
    let solved = solve(rig, Ask::LOSSES).expect("an answer");
    let index = rig.lines.iter().position(|l| l.name == name).unwrap();
    match solved.loss[index].outcome.clone() {
        LossOutcome::Held {
            rest,
            drop_m,
            speed_m_s,
            pull_n,
            strikes,
            ..
        } => Held {
            start: solved.climber_at,
            weight_n: solved.weight_n,
            rest,
            drop_m,
            speed_m_s,
            pull_n,
            path: swing(rig, &solved, &solved.loss[index]),
            strikes,
        },
        LossOutcome::NothingHolds => panic!("{name}: nothing holds"),
    }
}

/// A pendulum by its equation of motion, θ'' = −(g/L)·sin θ, in steps of a tenth of a millisecond
/// (classical Runge-Kutta): lowest place, speed there, pull there over the weight.
fn pendulum(anchor: DVec3, start: DVec3) -> (DVec3, f64, f64) {
    let length = anchor.distance(start);
    let mut angle = libm::atan2(start.x - anchor.x, anchor.z - start.z);
    let mut rate: f64 = 0.0;
    let side = angle.signum();
    let step = 1e-4;
    let bend = |a: f64| -STANDARD_GRAVITY / length * libm::sin(a);
    let (mut before, mut before_rate) = (angle, rate);
    while angle * side > 0.0 {
        (before, before_rate) = (angle, rate);
        let (k1, l1) = (rate, bend(angle));
        let (k2, l2) = (rate + step / 2.0 * l1, bend(angle + step / 2.0 * k1));
        let (k3, l3) = (rate + step / 2.0 * l2, bend(angle + step / 2.0 * k2));
        let (k4, l4) = (rate + step * l3, bend(angle + step * k3));
        angle += step / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
        rate += step / 6.0 * (l1 + 2.0 * l2 + 2.0 * l3 + l4);
    }
    // The pull is greatest at the bottom; interpolate to it.
    let share = before / (before - angle);
    let rate = before_rate + share * (rate - before_rate);
    let speed = (rate * length).abs();
    let pull = 1.0 + speed * speed / (STANDARD_GRAVITY * length);
    (anchor - DVec3::Z * length, speed, pull)
}

#[test]
fn a_swing_on_one_line_is_the_integrated_pendulum() {
    let rig = two_limbs().build().unwrap();
    for (lost, anchor) in [("main", [4.9, 7.6]), ("second", [0.2, 10.5])] {
        let loss = lose(&rig, lost);
        let anchor = DVec3::new(anchor[0], 0.0, anchor[1]);
        let (rest, speed, pull) = pendulum(anchor, loss.start);
        assert!(loss.rest.distance(rest) < 1e-9);
        assert!((loss.speed_m_s - speed).abs() < 1e-6 * speed);
        let got = loss.pull_n.expect("one straight line") / loss.weight_n;
        assert!((got - pull).abs() < 1e-6 * pull, "{got}, want {pull}");
        let length = anchor.distance(loss.start);
        for at in &loss.path {
            assert!(
                (at.distance(anchor) - length).abs() < 1e-9,
                "off the circle: {at}"
            );
        }
        let end = loss.path[loss.path.len() - 1];
        let mirror = DVec3::new(2.0 * anchor.x - loss.start.x, 0.0, loss.start.z);
        assert!(end.distance(mirror) < 1e-6, "{end}, want {mirror}");
    }
}

/// Row E1 of the published values: University Physics Volume 1 (OpenStax), Example 8.7, a
/// pendulum of 1.0 m let go at 30 deg; prints 1.62 m/s with g = 9.8.
#[test]
fn the_speed_of_a_swing_matches_a_published_pendulum() {
    let (sin, cos) = (0.5, 3f64.sqrt() / 2.0);
    let rig = RigBuilder::new("pendulum")
        .climber([sin, 0.0])
        .point("pivot", [0.0, cos])
        .point("side", [sin + 1.0, 0.0])
        .line("string", &["bridge", "pivot"])
        .line("hold", &["bridge", "side"])
        .build()
        .unwrap();
    let loss = lose(&rig, "hold");
    let speed = loss.speed_m_s * (9.8 / STANDARD_GRAVITY).sqrt();
    assert!((speed - 1.62).abs() <= 0.005, "{speed}");
    // Row E4, from memory there: 3 − 2·cos θ at the bottom.
    let pull = loss.pull_n.unwrap() / loss.weight_n;
    assert!((pull - (3.0 - 2.0 * cos)).abs() < 1e-9);
}

/// Two remaining lines: the swing follows one circle and stops where the other line comes taut.
#[test]
fn a_second_line_stops_the_swing_where_it_comes_taut() {
    let rig = three_lines().build().unwrap();
    let loss = lose(&rig, "one");
    let lines = [
        (DVec3::new(2.2, 0.0, 10.5), 6.537584),
        (DVec3::new(4.5, 0.0, 7.0), 4.242641),
    ];
    for at in &loss.path {
        let over = lines
            .iter()
            .map(|(anchor, length)| at.distance(*anchor) - length)
            .fold(f64::NEG_INFINITY, f64::max);
        assert!(over.abs() < 1e-6, "{at} is not on the edge: {over} m");
    }
    assert!(loss.path.iter().any(|at| at.distance(loss.rest) < 1e-9));
    let end = loss.path[loss.path.len() - 1];
    assert!((end.z - loss.start.z).abs() < 1e-9 && end.x > loss.rest.x);
}

/// In space two remaining lines swing the climber on a circle about the axis through their
/// anchors: a closed form.
#[test]
fn two_lines_in_space_swing_about_the_axis_of_their_anchors() {
    let (left, right) = (DVec3::new(0.0, -2.0, 9.0), DVec3::new(0.0, 2.5, 9.6));
    let start = DVec3::new(2.0, 0.3, 5.0);
    let rig = RigBuilder::new("plane-three")
        .mass_kg(84.0)
        .climber(start.to_array())
        .point("left", left.to_array())
        .point("right", right.to_array())
        .point("out", [6.0, 0.2, 6.5])
        .line("port", &["bridge", "left"])
        .line("starboard", &["bridge", "right"])
        .line("out", &["centre", "out"])
        .build()
        .unwrap();
    // The climber is not in the plane of any two lines, and three lines in space are determinate;
    // this start holds because all three pull.
    let loss = lose(&rig, "out");
    let axis = (right - left).normalize();
    let hub = left + axis * (start - left).dot(axis);
    let radius = start.distance(hub);
    let down = (-DVec3::Z - axis * -axis.z).normalize();
    assert!(loss.rest.distance(hub + down * radius) < 1e-9);
    for at in &loss.path {
        assert!((at.distance(hub) - radius).abs() < 1e-8);
        assert!((*at - hub).dot(axis).abs() < 1e-8);
    }
    let end = loss.path[loss.path.len() - 1];
    assert!((end.z - start.z).abs() < 1e-9);
    assert!(end.x < 0.0, "{end}");
}

/// A doubled line through a ring that a sling holds: the edge is found at each height.
#[test]
fn a_swing_below_a_hanging_ring_keeps_all_lengths() {
    let hung = RigBuilder::new("cherry-ring")
        .mass_kg(84.0)
        .point("top", [0.0, 10.0])
        .point("limb", [4.0, 9.0])
        .point("side", [6.0, 6.0])
        .hanging("ring")
        .line("main", &["bridge", "ring", "top"])
        .lengths_m(&[8.4])
        .line("sling", &["ring", "limb"])
        .lengths_m(&[2.2])
        .line("second", &["centre", "side"])
        .lengths_m(&[3.6])
        .build()
        .unwrap();
    let loss = lose(&hung, "second");
    // The worked rig "cherry-drop-ring" is what remains.
    assert!((loss.rest.x - 1.9796).abs() < 1e-4 && (loss.rest.z - 2.453).abs() < 1e-4);
    assert!(loss.drop_m > 0.1, "{}", loss.drop_m);
    let end = loss.path[loss.path.len() - 1];
    assert!((end.z - loss.start.z).abs() < 1e-5);
    assert!(end.x < loss.rest.x, "it swings past the rest: {end}");
    let (top, limb) = (DVec3::new(0.0, 0.0, 10.0), DVec3::new(4.0, 0.0, 9.0));
    for at in &loss.path {
        // Some place of the ring on the sling's circle must leave the main line long enough.
        let nearest = (0..200_000)
            .map(|i| f64::from(i) * std::f64::consts::TAU / 200_000.0)
            .map(|turn| limb + 2.2 * DVec3::new(libm::cos(turn), 0.0, libm::sin(turn)))
            .map(|ring| ring.distance(top) + ring.distance(*at))
            .fold(f64::INFINITY, f64::min);
        assert!(nearest < 8.4 + 1e-5, "{at}");
    }
}

#[test]
fn a_swing_that_meets_the_stem_says_where_and_how_fast() {
    let rig = two_limbs()
        .stem("stem", [0.0, 0.0], [0.0, 13.0], (0.6, 0.6))
        .build()
        .unwrap();
    // On "main" alone the climber swings from x = 2.2 to the stem's face at x = 0.3, on a circle
    // of 5.85235 m about (0.2, 10.5).
    let loss = lose(&rig, "second");
    let strike = loss.strikes.expect("it swings into the stem");
    let length = (4.0f64 + 30.25).sqrt();
    let depth = (length * length - 0.01).sqrt();
    assert_eq!(strike.piece, "stem");
    // The path is a chain of chords a few centimetres long.
    assert!((strike.at.x - 0.3).abs() < 1e-6, "{}", strike.at);
    assert!((strike.at.z - (10.5 - depth)).abs() < 1e-3, "{}", strike.at);
    let speed = (2.0 * STANDARD_GRAVITY * (5.0 - 10.5 + depth)).sqrt();
    assert!(
        (strike.speed_m_s - speed).abs() < 1e-2,
        "{}",
        strike.speed_m_s
    );
    let arc = length * (libm::asin(2.0 / length) - libm::asin(0.1 / length));
    assert!((strike.after_m - arc).abs() < 1e-3, "{}", strike.after_m);
    // To the other side it meets nothing.
    assert_eq!(lose(&rig, "main").strikes, None);
}

#[test]
fn a_swing_that_ends_below_the_ground_strikes_it() {
    let rig = two_limbs().ground_m(4.2).build().unwrap();
    let strike = lose(&rig, "main").strikes.expect("the rest is at 3.85 m");
    assert_eq!(strike.piece, "ground");
    assert!((strike.at.z - 4.2).abs() < 1e-9);
    assert!((strike.speed_m_s - (2.0 * STANDARD_GRAVITY * 0.8).sqrt()).abs() < 1e-9);
}

/// A lanyard to a point below the climber is slack until the climber has fallen past it.
#[test]
fn a_line_from_below_lets_the_climber_fall_straight_first() {
    let rig = RigBuilder::new("low-lanyard")
        .mass_kg(84.0)
        .climber([1.0, 8.0])
        .point("top", [1.0, 12.0])
        .point("low", [0.0, 7.5])
        .line("main", &["bridge", "top"])
        .line("lanyard", &["front-left", "low"])
        .build()
        .unwrap();
    let loss = lose(&rig, "main");
    let length = (1.0f64 + 0.25).sqrt();
    assert!((loss.drop_m - (0.5 + length)).abs() < 1e-9);
    for at in loss.path.iter().filter(|at| at.z > 7.0 && at.x > 0.9) {
        assert!((at.x - 1.0).abs() < 1e-9, "not straight down: {at}");
    }
}

/// The lowest place within every circle, by going through all that can be it: the bottom of each
/// circle and every crossing of two.
fn lowest_of_circles(circles: &[(DVec3, f64)]) -> DVec3 {
    let mut found: Vec<DVec3> = circles.iter().map(|(c, r)| *c - DVec3::Z * *r).collect();
    for (i, (a, r)) in circles.iter().enumerate() {
        for (b, s) in &circles[i + 1..] {
            let apart = a.distance(*b);
            let along = (apart * apart + r * r - s * s) / (2.0 * apart);
            let up = (r * r - along * along).max(0.0).sqrt();
            let unit = (*b - *a) / apart;
            let across = DVec3::new(-unit.z, 0.0, unit.x);
            found.extend([1.0, -1.0].map(|side| *a + unit * along + across * up * side));
        }
    }
    found.retain(|at| circles.iter().all(|(c, r)| at.distance(*c) <= r + 1e-9));
    let lowest = found.into_iter().min_by(|a, b| a.z.total_cmp(&b.z));
    lowest.expect("the start lies within every circle")
}

#[test]
fn rests_of_many_planar_rigs_are_the_lowest_of_their_circles() {
    let mut state: u64 = 7;
    let mut random = |low: f64, high: f64| {
        // Knuth's MMIX generator; its high bits are good enough for places.
        state = state
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        low + (high - low) * (state >> 11) as f64 / (1u64 << 53) as f64
    };
    let mut checked = 0;
    for seed in 0..60 {
        let mut b = RigBuilder::new(&format!("any-{seed}")).climber([0.0, 0.0]);
        let mut anchors = Vec::new();
        for i in 0..2 + seed % 3 {
            let side = if i % 2 == 0 { -1.0 } else { 1.0 };
            let at = [side * random(0.1, 5.0), random(0.5, 9.0)];
            anchors.push(DVec3::new(at[0], 0.0, at[1]));
            let (point, line) = (format!("p{i}"), format!("l{i}"));
            // Every other line is doubled or tied at a base beyond its anchor: circles as well.
            b = b.point(&point, at);
            b = match (i + seed) % 3 {
                0 => b.line(&line, &["bridge", &point]),
                1 => b.line(&line, &["bridge", &point, "bridge"]),
                _ => b
                    .point(&format!("base{i}"), [at[0], -3.0])
                    .line(&line, &["bridge", &point, &format!("base{i}")]),
            };
        }
        let rig = b.build().unwrap();
        for lost in 0..anchors.len() {
            let loss = lose(&rig, &format!("l{lost}"));
            let circles: Vec<(DVec3, f64)> = anchors
                .iter()
                .enumerate()
                .filter(|(i, _)| *i != lost)
                .map(|(_, at)| (*at, at.length()))
                .collect();
            let want = lowest_of_circles(&circles);
            assert!(
                loss.rest.distance(want) < 1e-6,
                "{seed}: {}, want {want}",
                loss.rest
            );
            assert!(
                (loss.drop_m + want.z).abs() < 1e-9,
                "{seed}: {}",
                loss.drop_m
            );
            for at in &loss.path {
                let over = circles.iter().map(|(c, r)| at.distance(*c) - r);
                assert!(
                    over.fold(f64::NEG_INFINITY, f64::max) < 1e-9,
                    "{seed}: {at}"
                );
            }
            if loss.drop_m > 1e-6 {
                let end = loss.path[loss.path.len() - 1];
                assert!(end.z.abs() < 1e-9, "{seed}: the swing ends at {end}");
                checked += 1;
            }
        }
    }
    assert!(checked > 45, "{checked}");
}

/// Lines that lie flat leave no room for the climber to drop, whatever their pull.
#[test]
fn the_loss_above_two_level_lines_drops_nothing() {
    let rig = level().build().unwrap();
    let loss = lose(&rig, "main");
    assert!(loss.drop_m < 1e-3, "{}", loss.drop_m);
}

/// Two ends of one line at the same anchor, and twin lines of one length.
#[test]
fn twin_lines_leave_the_other_as_it_was() {
    let rig = RigBuilder::new("twins")
        .climber([0.0, 0.0])
        .point("top", [0.0, 6.0])
        .line("one", &["bridge", "top"])
        .line("other", &["centre", "top"])
        .build()
        .unwrap();
    let loss = lose(&rig, "one");
    assert_eq!(loss.drop_m, 0.0);
    assert_eq!(loss.path, [loss.start]);
    assert!((loss.pull_n.unwrap() - loss.weight_n).abs() < 1e-9 * loss.weight_n);
}

/// The first wood or ground that a path enters, looked for at every centimetre of it: its name, the last
/// place before it and the first within it. Wood that the start lies in is left out until it was left.
fn first_met(path: &[DVec3], rig: &Rig) -> Option<(String, [DVec3; 2])> {
    let depth_m = |thing: usize, at: DVec3| match rig.tree.pieces.get(thing) {
        Some(piece) => piece.depth_m(at),
        None => rig.tree.ground_m.expect("a ground") - at.z,
    };
    let things = 0..=rig.tree.pieces.len();
    let mut left: Vec<bool> = things.clone().map(|t| depth_m(t, path[0]) <= 0.0).collect();
    let mut before = path[0];
    for step in path.windows(2) {
        let checks = (step[0].distance(step[1]) / 0.01).ceil().max(1.0);
        for check in 1..=checks as usize {
            let at = step[0].lerp(step[1], check as f64 / checks);
            for thing in things.clone() {
                if depth_m(thing, at) <= 0.0 {
                    left[thing] = true;
                } else if left[thing] {
                    let piece = rig.tree.pieces.get(thing);
                    let name = piece.map_or("ground", |piece| &piece.name);
                    return Some((name.to_owned(), [before, at]));
                }
            }
            before = at;
        }
    }
    None
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Wood that tapers by as much as its length, limbs thinner than a step, wood round the climber.
    #[test]
    fn a_strike_is_the_first_that_a_look_at_every_centimetre_finds(
        pieces in prop::collection::vec(
            ((-4.0..8.0f64, 0.0..8.0f64), (-2.0..2.0f64, -2.0..4.0f64), (0.02..1.5f64, 0.02..0.5f64)),
            1..5,
        ),
        ground_m in 0.0..4.5f64,
    ) {
        let mut rig = two_limbs().ground_m(ground_m);
        for (i, (from, by, diameter_m)) in pieces.into_iter().enumerate() {
            let to = [from.0 + by.0, from.1 + by.1];
            rig = rig.limb(&format!("limb {i}"), [from.0, from.1], to, diameter_m);
        }
        let rig = rig.build().expect("a rig");
        for line in ["main", "second"] {
            let loss = lose(&rig, line);
            let met = first_met(&loss.path, &rig);
            prop_assert_eq!(loss.strikes.as_ref().map(|s| &s.piece), met.as_ref().map(|m| &m.0));
            if let (Some(strike), Some((_, [before, after]))) = (loss.strikes, met) {
                let between = strike.at.distance(before) + strike.at.distance(after);
                prop_assert!((between - before.distance(after)).abs() < 1e-9, "{}", strike.at);
            }
        }
    }
}
