//! Zones: against a map that asks the held solver at every place, and against what geometry says.

use glam::DVec3;
use ropeleaf::rig::{LineId, Over, Rig, RigBuilder, ZoneAsk};
use ropeleaf::statics::{Ask, HoldAnswer, NotHeld, Prepared, Zone, ZoneEdge, solve};

fn zone(rig: &Rig) -> Zone {
    solve(rig, Ask::ZONE)
        .expect("a held rig")
        .zone
        .expect("asked for")
}

/// Nearer to an anchor than this a pull turns within a few cells: metres.
const NEAR_ANCHOR_M: f64 = 0.25;

/// The planar rig of the reference figures.
fn two_lines() -> Rig {
    RigBuilder::new("two-lines")
        .mass_kg(86.0)
        .climber([3.7, 4.2])
        .stem("stem", [0.0, 0.0], [0.1, 9.0], (0.62, 0.34))
        .limb("upper", [0.08, 7.95], [6.35, 8.72], (0.25, 0.10))
        .limb("side", [0.08, 1.3], [6.2, 3.82], (0.23, 0.10))
        .ground_m(0.0)
        .point("top", [0.32, 7.6])
        .over(Over::Pulley)
        .efficiency(0.85)
        .point("far", [5.5, 8.05])
        .line("main", &["bridge", "top", "bridge"])
        .adjust_m(0.0, 11.2)
        .limit_n(1500.0)
        .line("second", &["centre", "far"])
        .adjust_m(0.0, 5.6)
        .limit_n(1000.0)
        .build()
        .unwrap()
}

/// Every sample of a field with its place.
fn samples(zone: &Zone) -> impl Iterator<Item = (usize, DVec3)> + '_ {
    let field = &zone.field;
    (0..field.held.len()).map(|index| {
        let (i, j) = (index % field.size.0, index / field.size.0);
        let across = field.across * (i as f64 * field.cell_m.0);
        let up = field.up * (j as f64 * field.cell_m.1);
        (index, field.origin + across + up)
    })
}

/// Samples whose neighbours are not all alike: a map may differ there by one cell.
fn is_on_edge(zone: &Zone, index: usize) -> bool {
    let (across, held) = (zone.field.size.0, &zone.field.held);
    let around = [
        index + 1,
        index.wrapping_sub(1),
        index + across,
        index.wrapping_sub(across),
    ];
    around.iter().any(|n| {
        held.get(*n)
            .is_none_or(|h| h.is_ok() != held[index].is_ok())
    })
}

/// Two pulls by the sine rule on the triangle of forces, each over the weight.
fn sine_rule(at: DVec3, left: DVec3, right: DVec3) -> Option<(f64, f64)> {
    let (a, b) = (left - at, right - at);
    let (from_up_a, from_up_b) = (libm::atan2(-a.x, a.z), libm::atan2(b.x, b.z));
    let between = from_up_a + from_up_b;
    if from_up_a < 0.0 || from_up_b < 0.0 || between >= std::f64::consts::PI {
        return None;
    }
    Some((
        libm::sin(from_up_b) / libm::sin(between),
        libm::sin(from_up_a) / libm::sin(between),
    ))
}

#[test]
fn two_lines_hold_where_the_sine_rule_and_the_lengths_say() {
    let zone = zone(&two_lines());
    let (top, far) = (DVec3::new(0.32, 0.0, 7.6), DVec3::new(5.5, 0.0, 8.05));
    let weight = 86.0 * 9.80665;
    let (mut counted, mut off) = (0.0, 0);
    for (index, at) in samples(&zone) {
        let pulls = sine_rule(at, top, far);
        if at.distance(top).min(at.distance(far)) < NEAR_ANCHOR_M {
            continue;
        }
        let held = pulls.is_some_and(|(main, second)| {
            // Both legs of the main line lie side by side.
            main / 2.0 * weight <= 1500.0
                && second * weight <= 1000.0
                && 2.0 * at.distance(top) <= 11.2
                && at.distance(far) <= 5.6
                && at.z >= 0.0
        });
        counted += if held {
            zone.field.cell_m.0 * zone.field.cell_m.1
        } else {
            0.0
        };
        if held != zone.field.held[index].is_ok() {
            off += 1;
            assert!(is_on_edge(&zone, index), "sample {at} is not {held}");
        }
        if let (true, Some((main, second))) = (held, pulls) {
            let got = (zone.field.pull_n[0][index], zone.field.pull_n[1][index]);
            assert!(
                (f64::from(got.0) - main / 2.0 * weight).abs() < 2.0,
                "{at} {got:?}"
            );
            assert!(
                (f64::from(got.1) - second * weight).abs() < 2.0,
                "{at} {got:?}"
            );
        }
    }
    assert!(off < 100, "{off} samples differ");
    // The reference map of this rig: 15.45 m² counting cells of 0.02 m.
    assert!((counted - 15.45).abs() < 0.02, "counted {counted}");
    assert!(
        (zone.area_m2 - counted).abs() < 0.02,
        "outlined {}",
        zone.area_m2
    );
}

#[test]
fn its_edges_are_the_two_longest_lines_the_limit_and_the_plumb_lines() {
    let zone = zone(&two_lines());
    assert_eq!(zone.outline.len(), 1);
    let [main, second] = [LineId(0), LineId(1)];
    let of = |why: NotHeld| zone.edges.iter().filter(move |e| e.why == why);
    for at in of(NotHeld::TooShort(main)).flat_map(|e| &e.path) {
        let length = 2.0 * at.distance(DVec3::new(0.32, 0.0, 7.6));
        assert!((length - 11.2).abs() < 0.04, "{at}: {length} m");
    }
    for at in of(NotHeld::TooShort(second)).flat_map(|e| &e.path) {
        assert!((at.distance(DVec3::new(5.5, 0.0, 8.05)) - 5.6).abs() < 0.02);
    }
    for why in [
        NotHeld::TooShort(main),
        NotHeld::TooShort(second),
        NotHeld::OverLimit(second),
        NotHeld::CannotBalance,
    ] {
        assert!(of(why).count() > 0, "no edge for {why:?}");
    }
    assert_eq!(of(NotHeld::Beyond).count(), 0);
}

#[test]
fn contours_carry_their_level() {
    let rig = two_lines();
    let zone = zone(&rig);
    let mut prepared = Prepared::new(&rig);
    let mut answer = HoldAnswer::default();
    assert!(zone.contours.iter().any(|c| c.line == LineId(0)));
    for contour in &zone.contours {
        let span = if contour.line == LineId(0) { 0 } else { 2 };
        let anchors = rig.points.iter().filter_map(|p| p.at);
        let far = |at: &&DVec3| anchors.clone().all(|a| a.distance(**at) > NEAR_ANCHOR_M);
        for at in contour.path.iter().filter(far) {
            prepared.hold_at(*at, &mut answer);
            let got = answer.pull_n[span];
            let off = (got - contour.pull_n).abs() / contour.pull_n;
            assert!(
                off < 0.005,
                "{got} N on the contour of {} N",
                contour.pull_n
            );
        }
    }
}

/// Where the held solver says so at every sample: no block was filled wrongly.
fn agrees_with_every_sample(rig: &Rig, zone: &Zone) {
    let mut prepared = Prepared::new(rig);
    let mut answer = HoldAnswer::default();
    let lines: Vec<usize> = prepared.span_lines().collect();
    let mut held = 0;
    for (index, at) in samples(zone) {
        prepared.hold_at(at, &mut answer);
        let within = lines
            .iter()
            .zip(&answer.pull_n)
            .all(|(line, pull)| rig.lines[*line].limit_n.is_none_or(|limit| *pull <= limit));
        let clear = at.z >= rig.tree.ground_m.unwrap_or(0.0)
            && rig.tree.pieces.iter().all(|p| p.depth_m(at) <= 0.0);
        let want = answer.holds && within && clear;
        held += usize::from(want);
        if want != zone.field.held[index].is_ok() {
            assert!(is_on_edge(zone, index), "{}: {at} is not {want}", rig.name);
        }
    }
    assert!(held > 100, "{}: {held} samples", rig.name);
}

#[test]
fn three_lines_and_wood_agree_with_every_sample() {
    let rig = RigBuilder::new("three")
        .mass_kg(84.0)
        .climber([1.5, 4.0])
        .ground_m(2.0)
        .limb("thin", [-1.0, 5.0], [3.0, 6.5], (0.12, 0.05))
        .point("a", [-1.5, 9.0])
        .point("b", [2.2, 10.5])
        .point("c", [4.5, 7.0])
        .line("one", &["bridge", "a"])
        .line("two", &["bridge", "b"])
        .limit_n(700.0)
        .line("three", &["centre", "c"])
        .limit_n(500.0)
        .build()
        .unwrap();
    let zone = zone(&rig);
    agrees_with_every_sample(&rig, &zone);
    assert!(zone.edges.iter().any(|e| e.why == NotHeld::Wood));
    assert!(zone.edges.iter().any(|e| e.why == NotHeld::Ground));
}

#[test]
fn a_spatial_rig_has_a_slice_and_a_plan() {
    let rig = RigBuilder::new("space")
        .mass_kg(84.0)
        .climber([1.2, 0.4, 4.0])
        .point("a", [0.0, -1.0, 9.0])
        .point("b", [3.5, 0.5, 8.5])
        .point("c", [1.0, 3.0, 10.0])
        .line("one", &["bridge", "a"])
        .line("two", &["bridge", "b"])
        .line("three", &["centre", "c"])
        .limit_n(600.0)
        .build()
        .unwrap();
    let zone = zone(&rig);
    agrees_with_every_sample(&rig, &zone);
    assert!(zone.outline[0].iter().all(|at| at.y == 0.4));
    let plan = zone.plan.as_ref().expect("a plan");
    agrees_with_every_sample(&rig, plan);
    assert!(plan.outline[0].iter().all(|at| at.z == 4.0));
    assert!(plan.area_m2 > 1.0);
}

#[test]
fn a_circle_of_wood_is_a_hole_and_the_spread_an_arc() {
    // Inscribed angle theorem: places that see two anchors under the same angle lie on a circle
    // through them. For anchors 6 m apart and 90° it is the circle over the line between them.
    let rig = RigBuilder::new("arc")
        .mass_kg(80.0)
        .climber([0.0, 3.0])
        .limb("stub", [0.0, 2.0], [0.001, 2.0], (0.8, 0.8))
        .ground_m(0.0)
        .point("left", [-3.0, 6.0])
        .point("right", [3.0, 6.0])
        .line("port", &["bridge", "left"])
        .line("starboard", &["centre", "right"])
        .zone(ZoneAsk {
            spread_rad: Some(std::f64::consts::FRAC_PI_2),
            work_reach_m: Some(0.7),
        })
        .build()
        .unwrap();
    let zone = zone(&rig);
    let spread = |e: &&ZoneEdge| matches!(e.why, NotHeld::Spread(..));
    let arc: Vec<DVec3> = zone
        .edges
        .iter()
        .filter(spread)
        .flat_map(|e| e.path.clone())
        .collect();
    assert!(arc.len() > 5);
    for at in &arc {
        let radius = at.distance(DVec3::new(0.0, 0.0, 6.0));
        assert!((radius - 3.0).abs() < 0.02, "{at} at {radius} m");
    }
    let pi = std::f64::consts::PI;
    let hole = pi * 0.4 * 0.4;
    let want = 6.0 * 6.0 - pi * 3.0 * 3.0 / 2.0 - hole;
    assert!(
        (zone.area_m2 - want).abs() < 0.02,
        "{} m², want {want}",
        zone.area_m2
    );
    assert_eq!(zone.outline.len(), 2);
    // The hands reach 0.7 m farther at both sides, and into the wood; not below the ground.
    let (low, high) = zone
        .reach
        .iter()
        .flatten()
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), at| {
            (low.min(*at), high.max(*at))
        });
    assert!(
        (low.x + 3.7).abs() < 0.01 && (high.x - 3.7).abs() < 0.01,
        "{low} {high}"
    );
    assert!(low.z.abs() < 0.01, "{low}");
    assert_eq!(zone.reach.len(), 1);
}

#[test]
fn mirrored_rigs_have_mirrored_zones() {
    let make = |side: f64| {
        let rig = RigBuilder::new("mirror")
            .mass_kg(80.0)
            .climber([side * 1.0, 3.0])
            .point("a", [side * -2.0, 7.0])
            .point("b", [side * 3.0, 5.5])
            .line("one", &["bridge", "a"])
            .limit_n(650.0)
            .line("two", &["centre", "b"])
            .adjust_m(1.0, 5.0)
            .build()
            .unwrap();
        zone(&rig)
    };
    let (right, left) = (make(1.0), make(-1.0));
    assert!(right.area_m2 > 3.0);
    assert!((right.area_m2 - left.area_m2).abs() < 1e-3);
}

#[test]
fn one_line_alone_holds_on_a_line_without_area() {
    let rig = RigBuilder::new("alone")
        .mass_kg(80.0)
        .climber([0.0, 3.0])
        .point("top", [0.0, 8.0])
        .line("main", &["bridge", "top"])
        .build()
        .unwrap();
    let zone = zone(&rig);
    assert_eq!((zone.area_m2, zone.outline.len()), (0.0, 0));
}

#[test]
fn a_hanging_ring_on_a_short_sling_moves_the_zone_a_little() {
    // A sling of 5 cm to a ring: nearly the rig whose line passes the limb itself.
    let limits = (1.0, 6.0);
    let with_ring = RigBuilder::new("ring")
        .mass_kg(80.0)
        .climber([2.0, 3.0])
        .point("top", [0.0, 8.0])
        .point("limb", [5.0, 7.0])
        .hanging_at("ring", [4.9593, 6.9709])
        .over(Over::Ring)
        .line("main", &["bridge", "top"])
        .adjust_m(limits.0, limits.1)
        .line("second", &["centre", "ring"])
        .adjust_m(limits.0, limits.1)
        .limit_n(600.0)
        .line("sling", &["ring", "limb"])
        .build()
        .unwrap();
    let without = RigBuilder::new("no-ring")
        .mass_kg(80.0)
        .climber([2.0, 3.0])
        .point("top", [0.0, 8.0])
        .point("limb", [5.0, 7.0])
        .line("main", &["bridge", "top"])
        .adjust_m(limits.0, limits.1)
        .line("second", &["centre", "limb"])
        .adjust_m(limits.0 + 0.05, limits.1 + 0.05)
        .limit_n(600.0)
        .build()
        .unwrap();
    let (ring, plain) = (zone(&with_ring), zone(&without));
    // The ring lies in the second line's own direction, so the two are the same rig.
    assert!(plain.area_m2 > 8.0, "{}", plain.area_m2);
    let off = (ring.area_m2 - plain.area_m2).abs();
    assert!(off < 0.2, "{} and {}", ring.area_m2, plain.area_m2);
    for why in [NotHeld::OverLimit(LineId(1)), NotHeld::TooShort(LineId(0))] {
        assert!(
            ring.edges.iter().any(|e| e.why == why),
            "no edge for {why:?}"
        );
    }
}

#[test]
fn a_thinned_field_keeps_samples_at_their_places() {
    let zone = zone(&two_lines());
    let thin = zone.field.thinned(40);
    assert!(thin.size.0 <= 40 && thin.size.1 <= 40 && thin.size.1 > 20);
    assert_eq!(thin.held.len(), thin.size.0 * thin.size.1);
    let fine = &zone.field;
    let every = (thin.cell_m.0 / fine.cell_m.0).round() as usize;
    let every_up = (thin.cell_m.1 / fine.cell_m.1).round() as usize;
    for (k, held) in thin.held.iter().enumerate() {
        let (i, j) = (k % thin.size.0 * every, k / thin.size.0 * every_up);
        let own = j * fine.size.0 + i;
        assert_eq!(*held, fine.held[own]);
        let (a, b) = (thin.pull_n[0][k], fine.pull_n[0][own]);
        assert!(a == b || (a.is_nan() && b.is_nan()));
    }
}
