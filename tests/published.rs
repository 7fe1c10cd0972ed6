//! Published values of swings, falls, wood and units, each with its source beside it, and those
//! rows of sling angles, blocks and capstans that `statics_published.rs` leaves.
//!
//! Numbers only are taken from the sources. The tolerance is half a unit of the source's last
//! printed digit unless the row says why it is more. g is the source's own.

mod common;

use common::near;
use ropeleaf::quantity::{Dimension, KG_PER_LB, M_PER_FT, N_PER_LBF, parse};
use ropeleaf::rig::{Over, RigBuilder};
use ropeleaf::statics::{
    Ask, GREEN_STRENGTHS, STANDARD_GRAVITY, StrengthSource, bending_stress_pa, effort_n,
    fall_factor, green_strength, modulus_from_rated_n, modulus_from_stretch_n, peak_force_n,
    small_swing_period_s, solve, speed_after_drop_m_s, stretch_m, swing_drop_m, swing_pull_share,
};

const DEG: f64 = std::f64::consts::PI / 180.0;
const PI: f64 = std::f64::consts::PI;

#[test]
fn swings() {
    let g = 9.8;
    // Row E1: University Physics 1 (OpenStax) Ex. 8.7, 1.0 m from 30°: 1.62 m/s.
    let speed = speed_after_drop_m_s(swing_drop_m(1.0, 30.0 * DEG), g);
    near("E1", speed, 1.62, 0.005);
    // Row E2: the same at 0.81 m/s is 0.10 m above the lowest place.
    let drop = swing_drop_m(1.0, 30.0 * DEG);
    let fallen = 0.81 * 0.81 / (2.0 * g);
    near("E2", drop - fallen, 0.10, 0.005);
    near("E2", speed_after_drop_m_s(fallen, g), 0.81, 0.005);
    // Row E3: University Physics 1 ch. 6, 30.0 g at 200.0 cm/s on 25.0 cm: 0.774 N at the foot.
    // The drop that gives that speed, as a height over the length, stands for the swing.
    let drop = 2.0 * 2.0 / (2.0 * g);
    near("E3", 0.030 * g * (1.0 + 2.0 * drop / 0.25), 0.774, 0.0005);
    // Row E4 (MEMORY: standard result, not seen printed): T/W = 3 − 2·cos θ.
    for (deg, want) in [(0.0, 1.0), (60.0, 2.0), (90.0, 3.0)] {
        near("E4", swing_pull_share(7.0, deg * DEG), want, 1e-12);
    }
    for (deg, want) in [(15.0, 1.06815), (30.0, 1.26795), (45.0, 1.58579)] {
        near("E4", swing_pull_share(1.0, deg * DEG), want, 5e-6);
    }
    // Row E6: University Physics 1 §15.4, a swing 4.00 m below its pivot: 4.01 s.
    near("E6", small_swing_period_s(4.0, g), 4.01, 0.005);
    // Row E7: College Physics 2e, 6.21 cm for 0.500 s and University Physics 1, 24.8 cm for 1.00 s.
    // Half a unit of a length is 0.0002 s of the period.
    near("E7", small_swing_period_s(0.0621, g), 0.500, 0.0005);
    near("E7", small_swing_period_s(0.248, g), 1.00, 0.001);
    // Row E8: College Physics 2e, 5.00 cm: 2.23 Hz.
    near("E8", 1.0 / small_swing_period_s(0.05, g), 2.23, 0.005);
    // Row E9: College Physics 2e Ex. 16.5, 75.000 cm and 1.7357 s give g = 9.8281 m/s².
    near("E9", small_swing_period_s(0.75, 9.8281), 1.7357, 0.00005);
    // Row E11 (answer not printed; ours): 9.0 m/s carries 4.13 m up, whatever the length.
    near("E11", speed_after_drop_m_s(4.13, g), 9.0, 0.005);
    // Row E12 (answer not printed; ours): 1.0 kg at 10 m/s on 2.0 m pulls 59.8 N at the foot.
    let drop = 100.0 / (2.0 * g);
    near("E12", g * (1.0 + 2.0 * drop / 2.0), 59.8, 0.05);
}

/// Rows E1 and E4 through the solver: the loss of a second line lets the climber swing on the
/// first, 30° off the plumb line on 1.0 m.
#[test]
fn a_swing_after_a_loss_has_the_published_speed_and_pull() {
    let (sin, cos) = (libm::sin(30.0 * DEG), libm::cos(30.0 * DEG));
    let rig = RigBuilder::new("pendulum")
        .mass_kg(80.0)
        .climber([sin, -cos])
        .point("pivot", [0.0, 0.0])
        .point("aside", [sin + 2.0, -cos + 0.5])
        .line("main", &["bridge", "pivot"])
        .line("second", &["centre", "aside"])
        .build()
        .unwrap();
    let solved = solve(&rig, Ask::LOSSES).unwrap();
    let ropeleaf::statics::LossOutcome::Held {
        speed_m_s, pull_n, ..
    } = &solved.loss[1].outcome
    else {
        panic!("the main line holds");
    };
    // With g = 9.8 the source prints 1.62 m/s; g = 9.80665 makes that 0.0005 more.
    near("E1", *speed_m_s, 1.62, 0.005);
    near("E4", pull_n.unwrap() / solved.weight_n, 1.26795, 5e-6);
}

#[test]
fn falls_and_stretch() {
    let g = 9.8;
    // Row F1: University Physics 1 §15.2 (a, b): a nylon rope of 1.40e4 N/m stops 90.0 kg after
    // 2.00 m: 56.9 cm, F = kx. The rope's length cancels; 10 m here.
    let (weight, length, stiffness) = (90.0 * g, 10.0, 1.40e4);
    let peak = peak_force_n(weight, stiffness * length, fall_factor(2.0, length));
    near("F1", 100.0 * peak / stiffness, 56.9, 0.06);
    near("F1", peak, 7965.07, 0.005);
    // Row F4: a rope without slack takes twice the weight.
    near("F4", peak_force_n(800.0, 25e3, 0.0), 1600.0, 1e-9);
    // Row F5: standard fall, 2 × 2.3 m on 2.6 m: factor 1.77, 9.5 m/s (g = 9.81).
    near("F5", fall_factor(4.6, 2.6), 1.77, 0.005);
    near("F5", speed_after_drop_m_s(4.6, 9.81), 9.5, 0.02);
    // Row F6 (MEMORY: the worked number is ours): 9 kN with 80 kg gives 24.08 kN and back.
    let (weight, factor) = (80.0 * 9.81, fall_factor(4.6, 2.6));
    let modulus = modulus_from_rated_n(9000.0, weight, factor).unwrap();
    near("F6", modulus, 24_080.0, 5.0);
    near("F6", peak_force_n(weight, modulus, factor), 9000.0, 1e-6);
    assert_eq!(modulus_from_rated_n(2.0 * weight, weight, factor), None);
    // Row F7: University Physics 1 §12.3: 90 kg stretch 30.0 m of Ø1.0 cm by 25.0 cm: 1.35e9 Pa.
    let area = PI * 0.01 * 0.01 / 4.0;
    let modulus = modulus_from_stretch_n(90.0 * g, 0.25 / 30.0);
    near("F7", modulus / area, 1.35e9, 1.35e9 * 0.005);
    // Row F8: University Physics 1 §12.3: 65.0 kg on 35.0 m of Ø0.800 cm: 32.9 cm.
    let area = PI * 0.008 * 0.008 / 4.0;
    let stretch = |force, length, young: f64, area| 100.0 * stretch_m(force, length, young * area);
    near("F8", stretch(65.0 * g, 35.0, 1.35e9, area), 32.9, 0.06);
    // Row F9: College Physics 2e §5.3, the same with 5e9 Pa: 9 cm.
    near("F9", stretch(65.0 * g, 35.0, 5e9, area), 9.0, 0.2);
    // Row F10: College Physics 2e Ex. 5.3, a steel span: 18 m.
    near(
        "F10",
        stretch(3.0e6, 3020.0, 210e9, 2.46e-3) / 100.0,
        18.0,
        0.5,
    );
    // Row F11: College Physics 2e §5.3, the tightrope's steel: 1.4 cm.
    let area = PI * 0.005 * 0.005 / 4.0;
    near("F11", stretch(3.94e3, 15.0, 210e9, area), 1.4, 0.05);
    // Row F13 (MEMORY: derived, ours): 100 kg more over 5 % of stretch is 19.61 kN.
    near("F13", modulus_from_stretch_n(980.665, 0.05), 19_613.3, 1e-6);
}

#[test]
fn wood() {
    // Rows H1 to H10: Wood Handbook, USDA FPL-GTR-190 (2010), Table 5-3a, green, kPa.
    let read = [
        ("ponderosa pine", 35_000.0),
        ("red pine", 40_000.0),
        ("shortleaf pine", 51_000.0),
        ("slash pine", 60_000.0),
        ("pond pine", 51_000.0),
        ("sand pine", 52_000.0),
        ("spruce pine", 41_000.0),
        ("sugar pine", 34_000.0),
        ("virginia pine", 50_000.0),
        ("western white pine", 32_000.0),
        // Row H11: the same table.
        ("old-growth redwood", 52_000.0),
        ("young-growth redwood", 41_000.0),
    ];
    for (species, kpa) in read {
        let found = green_strength(species).expect(species);
        near(species, found.rupture_pa, kpa * 1e3, 1e-6);
        assert_eq!(found.source, StrengthSource::HandbookMetric);
    }
    // Rows H12, H13: clear-wood table after ASTM D2555, psi; here as the row's MPa, one decimal.
    let inch_pound = [
        ("white fir", 40.4),
        ("western hemlock", 45.8),
        ("lodgepole pine", 37.9),
        ("eastern hemlock", 44.3),
        ("black cottonwood", 33.7),
    ];
    for (species, mpa) in inch_pound {
        near(
            species,
            green_strength(species).unwrap().rupture_pa / 1e6,
            mpa,
            0.05,
        );
    }
    // Rows H14 to H25 (MEMORY): the metric value recalled and the inch-pound one recalled agree
    // to the rounding of both, 500 kPa and 50 psi.
    let recalled = [
        ("white oak", 8_300.0),
        ("northern red oak", 8_300.0),
        ("white ash", 9_500.0),
        ("american beech", 8_600.0),
        ("sugar maple", 9_400.0),
        ("red maple", 7_700.0),
        ("silver maple", 5_800.0),
        ("yellow birch", 8_300.0),
        ("douglas-fir", 7_700.0),
        ("sitka spruce", 5_700.0),
        ("eastern white pine", 4_900.0),
        ("loblolly pine", 7_300.0),
        ("yellow-poplar", 6_000.0),
        ("quaking aspen", 5_100.0),
        ("eastern cottonwood", 5_300.0),
    ];
    for (species, psi) in recalled {
        let found = green_strength(species).expect(species);
        near(species, found.rupture_pa, psi * 6894.757, 845e3);
        assert_eq!(found.source, StrengthSource::HandbookFromMemory);
    }
    assert_eq!(
        GREEN_STRENGTHS.len(),
        read.len() + 1 + inch_pound.len() + recalled.len(),
        "every strength is checked; the red pine has two names"
    );
    // Rows H26, H27 (MEMORY: check values are ours): σ = 32·F·a/(π·d³).
    near(
        "H27",
        bending_stress_pa(1000.0, 2.0, 0.1) / 1e6,
        20.372,
        0.0005,
    );
    let weight = 100.0 * STANDARD_GRAVITY;
    near(
        "H27",
        bending_stress_pa(weight, 1.5, 0.12) / 1e6,
        8.671,
        0.0005,
    );
}

#[test]
fn units() {
    let force = |text: &str| parse(text, Dimension::Force).expect(text);
    // Row I1: 3rd CGPM (1901), as in scipy.constants: exact.
    near("I1", STANDARD_GRAVITY, 9.80665, 0.0);
    // Row I3, I4, I5: scipy.constants lbf, lb, foot: exact.
    near("I3", N_PER_LBF, 4.448_221_615_260_5, 0.0);
    near("I4", KG_PER_LB, 0.453_592_37, 0.0);
    near("I4", KG_PER_LB, 7000.0 * 64.798_91e-6, 1e-15);
    near("I5", M_PER_FT, 0.3048, 0.0);
    // Row I2: a kilogram-force is 9.80665 N; row I9: 20 of them 196.133 N.
    near("I9", ropeleaf::quantity::weight_n(20.0), 196.133, 1e-12);
    // Row I6: scipy.constants psi, through the one use of it, white fir's 5854 psi.
    let fir = green_strength("white fir").unwrap().rupture_pa;
    near("I6", fir / 5854.0, 6_894.757_293_168, 6_894.757 * 1e-9);
    // Row I7: a kip is 4448.2216 N.
    near("I7", force("1000 lbf"), 4448.2216, 4448.2216 * 1e-7);
    // Row I8: standard gravity is 32.17405 ft/s².
    near("I8", STANDARD_GRAVITY / M_PER_FT, 32.17405, 5e-6);
    // Row I10: 10 lbf are 4.535924 kgf.
    near("I10", force("10 lbf") / STANDARD_GRAVITY, 4.535_924, 5e-7);
    // Row I12: 22 kN, 5000 lbf, 5400 lbf, 1 kN.
    near("I12", force("22 kN") / N_PER_LBF, 4945.8, 0.05);
    near("I12", force("5000 lbf"), 22_241.0, 0.5);
    near("I12", force("5400 lbf"), 24_020.0, 0.5);
    near("I12", force("1 kN") / N_PER_LBF, 224.809, 0.0005);
}

/// Pull of a leg of a symmetric two-leg bridle that is `long` for `high`, over the weight.
fn leg_share(long: f64, high: f64) -> f64 {
    let out = (long * long - high * high).sqrt();
    let rig = RigBuilder::new("bridle")
        .mass_kg(80.0)
        .climber([0.0, 0.0])
        .point("left", [-out, high])
        .point("right", [out, high])
        .line("port", &["bridge", "left"])
        .line("starboard", &["bridge", "right"])
        .build()
        .unwrap();
    let solved = solve(&rig, Ask::PULLS).unwrap();
    solved.spans[0].pull_n.unwrap() / solved.weight_n
}

#[test]
fn sling_legs_by_height_and_length() {
    let from_level = |deg: f64| leg_share(1.0, libm::sin(deg * DEG));
    // Row A8: NAVEDTRA 14080 p. 3-24: the load two legs carry is one leg's times 2·H/L.
    near("A8", 1.0 / leg_share(5.0, 3.0), 2.0 * 3.0 / 5.0, 1e-9);
    // Row A11: Michigan State University: legs 30° and 60° off the plumb line, 1000 lb each.
    near("A11", 2.0 * 1000.0 * from_level(60.0), 1154.0, 1.0);
    near("A11", 2.0 * 1000.0 * from_level(30.0), 2000.0, 1e-6);
    // Row A12: EN 13414-1:2003 Table 4 (read second-hand): two legs carry 1.4 and 1 of one, at
    // 45° and 60° off the plumb line; the standard rounds down.
    near("A12", 1.0 / from_level(45.0), 1.4, 0.022);
    near("A12", 1.0 / from_level(30.0), 1.0, 1e-9);
    // Row A15 (answer not printed; ours): 15,000 lb on legs of 16 ft over 12 ft: 10,000 lb.
    near("A15", 15_000.0 * leg_share(16.0, 12.0), 10_000.0, 1e-6);
    // Row A18 (MEMORY: withdrawn OSHA Table N-184-1): ¼ in chain of 3250 lb, double sling.
    for (deg, want) in [(60.0, 5650.0), (45.0, 4550.0), (30.0, 3250.0)] {
        near("A18", 3250.0 / from_level(deg), want, 50.0);
    }
    // Row A19 (MEMORY: DOE-STD-1090): factors 1.155, 1.414 and 2.000.
    for (deg, want) in [(60.0, 1.155), (45.0, 1.414), (30.0, 2.000)] {
        near("A19", 2.0 * from_level(deg), want, 0.001);
    }
}

#[test]
fn a_rope_over_an_anchor_loads_it_twice() {
    // Row B11: the page "Fall factor" of Wikipedia: roughly twice the force, without friction.
    let rig = RigBuilder::new("over")
        .mass_kg(80.0)
        .climber([0.0, 0.0])
        .point("top", [0.0, 6.0])
        .over(Over::Ring)
        .point("base", [0.0, -2.0])
        .line("main", &["bridge", "top", "base"])
        .build()
        .unwrap();
    let solved = solve(&rig, Ask::PULLS).unwrap();
    near(
        "B11",
        solved.points[0].load_n.unwrap().length() / solved.weight_n,
        2.0,
        1e-9,
    );
}

#[test]
fn turns_round_a_limb() {
    // Row C6: the page "Capstan equation" of Wikipedia: μ = 0.6, 5 turns: 153552935. Row C13
    // (answer not printed; ours): 1½ turns at 0.35 hold 1353.8 lb with 50. Through the hand force
    // of a doubled line, W·r/(1 + r), its legs together half a turn.
    let ratio = |mu: f64, turns: f64| {
        let rig = RigBuilder::new("turns")
            .mass_kg(80.0)
            .climber([0.0, 0.0])
            .point("limb", [0.0, 6.0])
            .over(Over::Limb)
            .friction(mu)
            .turns(turns - 0.5)
            .line("main", &["bridge", "limb", "bridge"])
            .build()
            .unwrap();
        let solved = solve(&rig, Ask::PULLS).unwrap();
        let hitch = effort_n(&rig, &solved, ropeleaf::rig::LineId(0)).unwrap();
        let rest = solved.weight_n - hitch;
        hitch / rest
    };
    near("C13", 50.0 * ratio(0.35, 1.5), 1353.8, 0.05);
    // What is left of the weight has seven digits here.
    near("C6", ratio(0.6, 5.0), 153_552_935.0, 153_552_935.0 * 1e-6);
}
