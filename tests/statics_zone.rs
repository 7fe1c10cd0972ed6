//! Zones: against a map that asks the held solver at every place, and against what geometry says.

use glam::{DVec2, DVec3};
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

/// Step of a map that asks at every place: metres.
const STEP_M: f64 = 0.02;

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

/// The outline in the coordinates of its plane.
fn rings(zone: &Zone) -> Vec<Vec<DVec2>> {
    let flat = |at: &DVec3| DVec2::new(at.dot(zone.field.across), at.dot(zone.field.up));
    let rings = zone.outline.iter();
    rings.map(|ring| ring.iter().map(flat).collect()).collect()
}

/// The sides of rings.
fn sides(rings: &[Vec<DVec2>]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    rings
        .iter()
        .flat_map(|ring| (0..ring.len()).map(|k| (ring[k], ring[(k + 1) % ring.len()])))
}

/// Whether a place lies inside rings: an odd number of sides stands to its right.
fn is_inside(rings: &[Vec<DVec2>], at: DVec2) -> bool {
    let right = sides(rings).filter(|(a, b)| {
        (a.y > at.y) != (b.y > at.y) && at.x < a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x)
    });
    right.count() % 2 == 1
}

fn distance_to(rings: &[Vec<DVec2>], at: DVec2) -> f64 {
    let distances = sides(rings).map(|(a, b)| {
        let share = ((at - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
        at.distance(a.lerp(b, share))
    });
    distances.fold(f64::INFINITY, f64::min)
}

/// A map over the box of a zone and a little more: asks at every place, and finds no place that the
/// outline has on the wrong side but for one step beside it. Gives the area of what is held, m².
fn mapped_m2(name: &str, zone: &Zone, mut is_held: impl FnMut(DVec3) -> bool) -> f64 {
    let (rings, field) = (rings(zone), &zone.field);
    let origin = field.origin
        - field.across * field.origin.dot(field.across)
        - field.up * field.origin.dot(field.up);
    let places = || rings.iter().flatten().copied();
    let low = places().fold(DVec2::INFINITY, DVec2::min) - 0.5;
    let high = places().fold(DVec2::NEG_INFINITY, DVec2::max) + 0.5;
    let count = ((high - low) / STEP_M).as_usizevec2();
    let mut held_m2 = 0.0;
    for j in 0..count.y {
        for i in 0..count.x {
            let at = low + DVec2::new(i as f64 + 0.5, j as f64 + 0.5) * STEP_M;
            let place = origin + field.across * at.x + field.up * at.y;
            let held = is_held(place);
            held_m2 += if held { STEP_M * STEP_M } else { 0.0 };
            assert!(
                held == is_inside(&rings, at) || distance_to(&rings, at) < STEP_M,
                "{name}: {place} is held: {held}"
            );
        }
    }
    assert!(held_m2 > 0.1, "{name}: {held_m2} m²");
    held_m2
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
    let counted = mapped_m2("two lines", &zone, |at| {
        sine_rule(at, top, far).is_some_and(|(main, second)| {
            // Both legs of the main line lie side by side.
            main / 2.0 * weight <= 1500.0
                && second * weight <= 1000.0
                && 2.0 * at.distance(top) <= 11.2
                && at.distance(far) <= 5.6
                && at.z >= 0.0
        })
    });
    let mut held = 0;
    for (index, at) in samples(&zone).filter(|(index, _)| zone.field.held[*index].is_ok()) {
        held += 1;
        let (main, second) = sine_rule(at, top, far).expect("a balance");
        let got = zone.field.pull_n.iter().map(|pull| f64::from(pull[index]));
        for (got, want) in got.zip([main / 2.0 * weight, second * weight]) {
            assert!((got - want).abs() < 0.01, "{at}: {got} N, want {want} N");
        }
    }
    assert!(held > 100, "{held} samples");
    // The reference map of this rig: 15.45 m² counting cells of 0.02 m.
    assert!((counted - 15.45).abs() < 0.02, "counted {counted}");
    assert!(
        (zone.area_m2 - counted).abs() < 0.005,
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

/// Whether the held solver, the limits, the ground and the wood allow a place.
fn asked(rig: &Rig) -> impl FnMut(DVec3) -> bool + '_ {
    let mut prepared = Prepared::new(rig);
    let mut answer = HoldAnswer::default();
    let lines: Vec<usize> = prepared.span_lines().collect();
    move |at| {
        prepared.hold_at(at, &mut answer);
        let mut pulls = lines.iter().zip(&answer.pull_n);
        answer.holds
            && pulls.all(|(line, pull)| rig.lines[*line].limit_n.is_none_or(|limit| *pull <= limit))
            && at.z >= rig.tree.ground_m.unwrap_or(0.0)
            && rig.tree.pieces.iter().all(|p| p.depth_m(at) <= 0.0)
    }
}

/// The outline and the field of a zone say what the held solver says at every place.
fn agrees_everywhere(rig: &Rig, zone: &Zone) {
    mapped_m2(&rig.name, zone, asked(rig));
    let mut asked = asked(rig);
    for (index, at) in samples(zone) {
        assert_eq!(
            asked(at),
            zone.field.held[index].is_ok(),
            "{}: {at}",
            rig.name
        );
    }
}

#[test]
fn three_lines_and_wood_agree_with_a_map() {
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
    agrees_everywhere(&rig, &zone);
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
    agrees_everywhere(&rig, &zone);
    assert!(zone.outline[0].iter().all(|at| at.y == 0.4));
    let plan = zone.plan.as_ref().expect("a plan");
    agrees_everywhere(&rig, plan);
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
fn a_field_is_coarse_and_covers_the_zone() {
    let zone = zone(&two_lines());
    let field = &zone.field;
    assert!(field.size.0 <= 40 && field.size.1 <= 40 && field.size.0.max(field.size.1) > 20);
    assert_eq!(field.held.len(), field.size.0 * field.size.1);
    assert!(
        field
            .pull_n
            .iter()
            .all(|pull| pull.len() == field.held.len())
    );
    let places: Vec<DVec3> = samples(&zone).map(|(_, at)| at).collect();
    let (first, last) = (places[0], places[places.len() - 1]);
    for at in zone.outline.iter().flatten() {
        assert!(
            at.x > first.x - 0.1 && at.x < last.x + 0.1 && at.z > first.z && at.z < last.z + 0.2
        );
    }
}

#[test]
fn what_is_thin_is_found() {
    // Anchors 6 cm apart: what they hold between them is a strip of that width. And two of which
    // one may carry a hundredth of the weight: a wedge below the other.
    let strip = RigBuilder::new("strip")
        .mass_kg(80.0)
        .climber([0.53, 3.0])
        .point("left", [0.503, 8.0])
        .point("right", [0.563, 8.1])
        .line("port", &["bridge", "left"])
        .limit_n(3000.0)
        .line("starboard", &["centre", "right"])
        .limit_n(3000.0)
        .build()
        .unwrap();
    let wedge = RigBuilder::new("wedge")
        .mass_kg(80.0)
        .climber([0.01, 3.0])
        .point("left", [0.0, 8.0])
        .point("right", [3.0, 7.0])
        .line("port", &["bridge", "left"])
        .line("starboard", &["centre", "right"])
        .limit_n(8.0)
        .build()
        .unwrap();
    for (rig, least_m2) in [(strip, 0.4), (wedge, 0.1)] {
        let zone = zone(&rig);
        let counted = mapped_m2(&rig.name, &zone, asked(&rig));
        assert!(zone.area_m2 > least_m2, "{}: {}", rig.name, zone.area_m2);
        let off = (zone.area_m2 - counted).abs();
        assert!(
            off < 0.02,
            "{}: {} m² and {counted} m²",
            rig.name,
            zone.area_m2
        );
    }
}
