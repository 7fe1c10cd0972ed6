//! Random rigs of every kind against an independent convex reference (`tests/reference`), and
//! hung rigs against the optimality conditions of their convex program, which only its one answer
//! can satisfy.
//!
//! Every test asserts its worst difference against `AGREES`; with `ROPELEAF_TALLY` set and
//! `--nocapture` it is printed.

mod reference;

use glam::DVec3;
use reference::{Found, Model};
use ropeleaf::rig::{Node, Over, Rig, RigBuilder};
use ropeleaf::statics::{Ask, Solved, solve};

/// Largest difference from the reference, over the larger of the weight and the value.
const AGREES: f64 = 1e-6;

/// Largest force left at a free place, over the weight, and length missed, metres.
const RESIDUAL: f64 = 1e-9;

/// A push below this over the weight is too near the edge of holding for an interior-point solver
/// to tell; rigs that the program says do not hold by less are left out, and counted.
const EDGE: f64 = 1e-5;

/// Rigs of each kind.
const EACH: u64 = 110;

/// Seeded random numbers (SplitMix64, Steele, Lea and Flood 2014), so that a failure comes back.
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    /// A planar place above the climber (who is near the origin), left or right.
    fn above(&mut self, side: f64) -> [f64; 2] {
        [side * self.within(0.2, 5.0), self.within(1.0, 9.0)]
    }

    fn above_in_space(&mut self, quarter: f64) -> [f64; 3] {
        let (turn, out) = (quarter + self.within(-0.6, 0.6), self.within(0.5, 5.0));
        [
            out * libm::cos(turn),
            out * libm::sin(turn),
            self.within(1.0, 9.0),
        ]
    }
}

fn answer(rig: &Rig) -> Solved {
    solve(rig, Ask::PULLS).unwrap_or_else(|p| panic!("{}: {p:?}", rig.name))
}

/// Force left at a free place, over the weight.
fn residual(rig: &Rig, solved: &Solved) -> f64 {
    let mut worst: f64 = 0.0;
    let hanging = rig.point_ids().filter(|id| rig.point(*id).hangs);
    for spot in std::iter::once(None).chain(hanging.map(Some)) {
        let mut sum = DVec3::ZERO;
        for span in &solved.spans {
            let unit = (span.to_at - span.from_at).normalize_or_zero();
            let is_here = |node: Node| match (node, spot) {
                (Node::Climber(_), None) => true,
                (Node::Point(id), Some(spot)) => id == spot,
                _ => false,
            };
            let pull = unit * span.pull_n.expect("it holds");
            if is_here(span.from) {
                sum += pull;
            }
            if is_here(span.to) {
                sum -= pull;
            }
        }
        if spot.is_none() {
            sum += solved.feet_push_n.unwrap_or_default() - DVec3::Z * solved.weight_n;
        }
        worst = worst.max(sum.length() / solved.weight_n);
    }
    worst
}

/// What a kind of rig came to.
#[derive(Debug, Default)]
struct Tally {
    held: usize,
    with_friction: usize,
    not_held: usize,
    on_edge: usize,
    unbounded: usize,
    worst: f64,
}

fn compare(rig: &Rig, tally: &mut Tally) {
    let solved = answer(rig);
    let points: Vec<DVec3> = solved.points.iter().map(|p| p.at).collect();
    let friction = Model::new(rig, solved.climber_at, &points, true);
    let free = Model::new(rig, solved.climber_at, &points, false);
    let push = friction.push();
    let size = |push: Option<DVec3>| push.map_or(f64::INFINITY, DVec3::length);
    let mut note = |what: &str, got: f64, want: f64| {
        let off = (got - want).abs() / want.abs().max(1.0);
        assert!(off <= AGREES, "{} {what}: {got}, want {want}", rig.name);
        tally.worst = tally.worst.max(off);
    };
    if !solved.holds {
        let got = solved.push_needed_n.expect("it does not hold") / solved.weight_n;
        if got.length() < EDGE {
            tally.on_edge += 1;
            return;
        }
        assert!(size(push) >= EDGE, "{}: the reference holds", rig.name);
        for axis in (0..3).filter(|_| push.is_some()) {
            note("push", got[axis], push.expect("some")[axis]);
        }
        tally.not_held += 1;
        return;
    }
    // That it holds is shown by its own residual below; that it needs friction, by the reference.
    if solved.needs_friction && size(free.push()) < EDGE {
        tally.on_edge += 1;
        return;
    }
    assert!(
        size(push) <= EDGE,
        "{}: the reference does not hold",
        rig.name
    );
    assert!(residual(rig, &solved) <= RESIDUAL, "{}", rig.name);
    let model = if solved.needs_friction {
        &friction
    } else {
        &free
    };
    let (pulls, feet) = model.nominal().expect("the push is none");
    let over = |n: Option<f64>| n.expect("it holds") / solved.weight_n;
    for (i, span) in solved.spans.iter().enumerate() {
        note("pull", over(span.pull_n), pulls[i]);
        match friction.extreme(i, 1.0) {
            Some(Found::Value(low)) => note("least", over(span.pull_low_n), low),
            _ => panic!("{}: no least pull", rig.name),
        }
        match friction.extreme(i, -1.0) {
            Some(Found::Value(high)) => note("most", over(span.pull_high_n), high),
            Some(Found::Unbounded) => {
                assert_eq!(span.pull_high_n, None, "{}: unbounded", rig.name);
                tally.unbounded += 1;
            }
            None => panic!("{}: no most pull", rig.name),
        }
    }
    if let (Some(got), Some(want)) = (solved.feet_push_n, feet) {
        note("feet x", got.x / solved.weight_n, want.x);
        note("feet z", got.z / solved.weight_n, want.z);
    }
    tally.held += 1;
    tally.with_friction += usize::from(solved.needs_friction);
}

#[expect(clippy::print_stderr, reason = "printed on request only")]
fn check(kind: &str, make: impl Fn(&mut Random, RigBuilder) -> Rig) -> Tally {
    let mut tally = Tally::default();
    for seed in 0..EACH {
        let mut random = Random(seed);
        let mass = random.within(50.0, 120.0);
        let builder = RigBuilder::new(&format!("{kind}-{seed}")).mass_kg(mass);
        compare(&make(&mut random, builder), &mut tally);
    }
    if std::env::var_os("ROPELEAF_TALLY").is_some() {
        eprintln!("{kind}: {tally:?}");
    }
    assert!(tally.on_edge * 50 <= EACH as usize, "{kind}: {tally:?}");
    tally
}

#[test]
fn straight_lines_in_a_plane() {
    let tally = check("straight", |r, b| {
        let b = b.climber([0.0, 0.0]);
        let (left, right) = (r.above(-1.0), r.above(1.0));
        let b = b.point("left", left).point("right", right);
        let b = b.line("port", &["bridge", "left"]);
        let b = b.line("starboard", &["centre", "right"]);
        match r.next() < 0.7 {
            true => b
                .point("third", [r.within(-4.0, 4.0), r.within(-1.0, 8.0)])
                .line("spare", &["bridge", "third"]),
            false => b,
        }
        .build()
        .unwrap()
    });
    assert!(tally.held > 50, "{tally:?}");
}

#[test]
fn straight_lines_to_any_side() {
    let tally = check("any-side", |r, b| {
        let mut b = b.climber([0.0, 0.0]);
        let lines = 1 + (r.next() * 4.0) as usize;
        for i in 0..lines {
            let at = [r.within(-5.0, 5.0), r.within(-3.0, 8.0)];
            let (point, line) = (format!("p{i}"), format!("l{i}"));
            b = b.point(&point, at).line(&line, &["bridge", &point]);
        }
        b.build().unwrap()
    });
    assert!(tally.not_held > 20 && tally.unbounded > 0, "{tally:?}");
}

#[test]
fn doubled_and_base_tied_lines() {
    let tally = check("doubled", |r, b| {
        let b = b.climber([0.0, 0.0]);
        let b = b.point("top", r.above(-1.0)).over(Over::Pulley);
        let b = b.efficiency(r.within(0.6, 1.0));
        let b = b.point("bend", r.above(1.0)).over(Over::Limb);
        let b = b
            .friction(r.within(0.0, 0.6))
            .turns((r.next() * 3.0).floor());
        let b = b.point("base", [r.within(-3.0, 3.0), r.within(-4.0, 0.0)]);
        let b = b.line("main", &["bridge", "top", "bridge"]);
        b.line("second", &["centre", "bend", "base"])
            .build()
            .unwrap()
    });
    assert!(tally.held > 50, "{tally:?}");
}

#[test]
fn loops_that_lean_on_friction() {
    let tally = check("loop", |r, b| {
        let b = b.climber([0.0, 0.0]);
        let b = b.point("left", r.above(-1.0)).over(Over::Limb);
        let b = b.friction(r.within(0.05, 0.7));
        let b = b.point("right", r.above(1.0)).over(Over::Limb);
        let b = b.friction(r.within(0.05, 0.7));
        b.line("loop", &["bridge", "left", "right", "bridge"])
            .build()
            .unwrap()
    });
    assert!(tally.with_friction > 30, "{tally:?}");
}

#[test]
fn feet_on_a_surface() {
    let tally = check("feet", |r, b| {
        let b = b.climber([0.0, 0.0]);
        let b = b.com(r.within(-0.05, 0.15), r.within(0.0, 0.2));
        let feet = [r.within(-0.7, -0.1), r.within(-1.0, -0.5)];
        let b = b.feet(feet, [1.0, r.within(-0.3, 1.0)], r.within(0.2, 4.0));
        let b = b.point("behind", [r.within(-1.2, -0.6), r.within(-0.2, 1.0)]);
        let b = b.over(Over::Stem).friction(r.within(0.0, 0.4));
        let side = if r.next() < 0.5 { -1.0 } else { 1.0 };
        let b = b.point("top", r.above(side));
        let b = b.line("strop", &["front-left", "behind", "front-right"]);
        match r.next() < 0.6 {
            true => b.line("main", &["bridge", "top"]),
            false => b,
        }
        .build()
        .unwrap()
    });
    assert!(tally.held > 20 && tally.not_held > 10, "{tally:?}");
}

#[test]
fn lines_in_space() {
    let tally = check("space", |r, b| {
        let mut b = b.climber([0.0, 0.0, 0.0]);
        let lines = 3 + (r.next() * 3.0) as usize;
        for i in 0..lines {
            let (point, line) = (format!("p{i}"), format!("l{i}"));
            let at = r.above_in_space(i as f64 * 2.1);
            b = b.point(&point, at).line(&line, &["bridge", &point]);
        }
        b.build().unwrap()
    });
    assert!(tally.held > 50, "{tally:?}");
}

#[test]
fn passes_in_space() {
    let tally = check("space-passes", |r, b| {
        let b = b.climber([0.0, 0.0, 0.0]);
        let b = b
            .point("top", r.above_in_space(0.0))
            .efficiency(r.within(0.6, 1.0));
        let b = b
            .point("bend", r.above_in_space(2.1))
            .friction(r.within(0.0, 0.5));
        let b = b.point("base", [r.within(-3.0, 3.0), r.within(-3.0, 3.0), -3.0]);
        let b = b
            .point("knee", r.above_in_space(4.2))
            .friction(r.within(0.0, 0.5));
        let b = b.line("main", &["bridge", "top", "bridge"]);
        let b = b.line("second", &["centre", "bend", "base"]);
        b.line("third", &["bridge", "knee", "bend"])
            .build()
            .unwrap()
    });
    assert!(tally.held > 50, "{tally:?}");
}

/// A held rig at the place where a hung one rests, to give hanging points a balance.
fn held_at_rest(rig: Rig) -> Rig {
    let solved = answer(&rig);
    check_rest(&rig, &solved);
    let mut held = rig;
    held.climber.at = Some(solved.climber_at);
    for (point, at) in held.points.iter_mut().zip(&solved.points) {
        point.at = Some(at.at);
    }
    for line in &mut held.lines {
        line.lengths_m.clear();
    }
    held
}

/// The optimality conditions of a resting place: lengths kept, balance with pulls that are not
/// negative and equal along a part, none in a slack part. The program is convex, so a place that
/// meets them is the lowest.
fn check_rest(rig: &Rig, solved: &Solved) {
    assert!(solved.holds && !solved.needs_friction, "{}", rig.name);
    assert!(residual(rig, solved) <= RESIDUAL, "{}", rig.name);
    for id in rig.line_ids() {
        let spans: Vec<_> = solved.spans.iter().filter(|s| s.line == id).collect();
        let mut parts: Vec<Vec<_>> = Vec::new();
        for span in spans {
            let cut = match span.from {
                Node::Point(p) => rig.point(p).grips.contains(&id),
                Node::Climber(_) => false,
            };
            match parts.last_mut() {
                Some(part) if !cut => part.push(span),
                _ => parts.push(vec![span]),
            }
        }
        assert_eq!(parts.len(), rig.line(id).lengths_m.len());
        for (part, length) in parts.iter().zip(&rig.line(id).lengths_m) {
            let over = part.iter().map(|s| s.length_m).sum::<f64>() - length;
            assert!(over <= RESIDUAL, "{}: {over} m too long", rig.name);
            for span in part {
                let pull = span.pull_n.expect("it holds") / solved.weight_n;
                let first = part[0].pull_n.expect("it holds") / solved.weight_n;
                assert!(pull >= 0.0 && (pull - first).abs() <= RESIDUAL);
                assert!(
                    over >= -RESIDUAL || pull == 0.0,
                    "{}: slack pulls",
                    rig.name
                );
            }
        }
    }
}

#[test]
fn rings_at_rest() {
    let tally = check("ring", |r, b| {
        let (top, limb) = (r.above(-1.0), r.above(1.0));
        let apart = glam::DVec2::from(top).distance(limb.into());
        let sling = apart * r.within(0.2, 0.9);
        let rig = b
            .point("top", top)
            .point("limb", limb)
            .hanging("ring")
            .over(Over::Ring)
            .friction(r.within(0.0, 0.4))
            .line("main", &["bridge", "ring", "top"])
            .lengths_m(&[apart + r.within(0.5, 4.0)])
            .line("sling", &["ring", "limb"])
            .lengths_m(&[sling])
            .build()
            .unwrap();
        held_at_rest(rig)
    });
    assert!(tally.held > 80, "{tally:?}");
}

#[test]
fn grips_in_space_at_rest() {
    let tally = check("grip", |r, b| {
        let (a, c, top) = (
            r.above_in_space(0.0),
            r.above_in_space(2.6),
            r.above_in_space(4.5),
        );
        let apart = DVec3::from(a).distance(DVec3::from(c));
        let share = r.within(0.3, 0.7);
        let whole = apart * r.within(1.02, 1.4);
        let rig = b
            .point("a", a)
            .point("c", c)
            .point("top", top)
            .efficiency(r.within(0.6, 1.0))
            .hanging("grip")
            .grips(&["across"])
            .line("across", &["a", "grip", "c"])
            .lengths_m(&[whole * share, whole * (1.0 - share)])
            .line("tether", &["bridge", "grip"])
            .lengths_m(&[r.within(0.3, 2.0)])
            .line("main", &["bridge", "top", "bridge"])
            .lengths_m(&[2.0 * r.within(6.0, 14.0)])
            .build()
            .unwrap();
        held_at_rest(rig)
    });
    assert!(tally.held > 60, "{tally:?}");
}

#[test]
fn many_lines_some_slack() {
    let (mut slack, mut taut) = (0, 0);
    for seed in 0..2 * EACH {
        let mut r = Random(seed);
        let mut b = RigBuilder::new(&format!("slack-{seed}"));
        for i in 0..5 {
            let (point, line) = (format!("p{i}"), format!("l{i}"));
            let at = [
                r.within(-5.0, 5.0),
                r.within(-3.0, 3.0),
                r.within(6.0, 10.0),
            ];
            // Every line reaches a place below the middle, so that they can meet.
            let meet = DVec3::new(0.0, 0.0, 3.0);
            let length = DVec3::from(at).distance(meet) + r.within(0.05, 2.0);
            b = match seed % 2 {
                0 => b.point(&point, at),
                _ => b.point(&point, [at[0], at[2]]),
            };
            b = b.line(&line, &["bridge", &point]).lengths_m(&[length]);
        }
        let rig = b.build().unwrap();
        let solved = answer(&rig);
        check_rest(&rig, &solved);
        for line in &solved.lines {
            match line.pull_n == Some(0.0) {
                true => slack += 1,
                false => taut += 1,
            }
        }
    }
    assert!(slack > 300 && taut > 300, "{slack} slack, {taut} taut");
}
