//! Checks of the palette by published formulas: contrast, colour-vision deficiency, grey.
//!
//! Sources, by name; all values here are from memory and were checked against each other:
//! - WCAG 2.2, relative luminance and contrast ratio (and IEC 61966-2-1 for sRGB).
//! - G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for Simulation of
//!   Color Vision Deficiency", IEEE TVCG 15(6), 2009: the matrices for severity 1.0.
//! - CIE 142-2001 (CIEDE2000), with the test data of G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000
//!   Color-Difference Formula", Color Research and Application 30(1), 2005, table 1.

use super::shape::Ink;

type Rgb = [f64; 3];
type Lab = [f64; 3];

/// Linear light of a literal.
fn linear(hex: &str) -> Rgb {
    [1, 3, 5].map(|at| {
        let c = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).expect("hex")) / 255.0;
        if c <= 0.04045 {
            c / 12.92
        } else {
            libm::pow((c + 0.055) / 1.055, 2.4)
        }
    })
}

fn luminance([r, g, b]: Rgb) -> f64 {
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

/// WCAG contrast ratio.
fn contrast(a: &str, b: &str) -> f64 {
    let (a, b) = (luminance(linear(a)), luminance(linear(b)));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// CIE L*a*b* under D65.
fn lab([r, g, b]: Rgb) -> Lab {
    let f = |t: f64| {
        if t > 216.0 / 24389.0 {
            libm::cbrt(t)
        } else {
            (24389.0 / 27.0 * t + 16.0) / 116.0
        }
    };
    let x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
    let y = f(luminance([r, g, b]));
    let z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// Hue in degrees, 0 to 360; 0 for grey.
fn hue(b: f64, a: f64) -> f64 {
    if a == 0.0 && b == 0.0 {
        return 0.0;
    }
    libm::atan2(b, a).to_degrees().rem_euclid(360.0)
}

/// CIEDE2000 with all weights 1.
fn ciede2000(one: Lab, two: Lab) -> f64 {
    let to7 = |c: f64| libm::pow(c, 7.0);
    let of25 = |c: f64| (to7(c) / (to7(c) + to7(25.0))).sqrt();
    let cos = |degrees: f64| libm::cos(degrees.to_radians());
    let mean_c = f64::midpoint(libm::hypot(one[1], one[2]), libm::hypot(two[1], two[2]));
    let g = 0.5 * (1.0 - of25(mean_c));
    let (a1, a2) = ((1.0 + g) * one[1], (1.0 + g) * two[1]);
    let (c1, c2) = (libm::hypot(a1, one[2]), libm::hypot(a2, two[2]));
    let (h1, h2) = (hue(one[2], a1), hue(two[2], a2));
    let grey = c1 * c2 == 0.0;
    let turn = match h2 - h1 {
        _ if grey => 0.0,
        d if d > 180.0 => d - 360.0,
        d if d < -180.0 => d + 360.0,
        d => d,
    };
    let dh = 2.0 * (c1 * c2).sqrt() * libm::sin((turn / 2.0).to_radians());
    let (dl, dc) = (two[0] - one[0], c2 - c1);
    let (l, c) = (f64::midpoint(one[0], two[0]), f64::midpoint(c1, c2));
    let h = match ((h1 - h2).abs() <= 180.0, h1 + h2) {
        _ if grey => h1 + h2,
        (true, sum) => sum / 2.0,
        (false, sum) if sum < 360.0 => (sum + 360.0) / 2.0,
        (false, sum) => (sum - 360.0) / 2.0,
    };
    let t = 1.0 - 0.17 * cos(h - 30.0) + 0.24 * cos(2.0 * h) + 0.32 * cos(3.0 * h + 6.0)
        - 0.20 * cos(4.0 * h - 63.0);
    let spread = 30.0 * libm::exp(-((h - 275.0) / 25.0) * ((h - 275.0) / 25.0));
    let off = (l - 50.0) * (l - 50.0);
    let sl = 1.0 + 0.015 * off / (20.0 + off).sqrt();
    let (sc, sh) = (1.0 + 0.045 * c, 1.0 + 0.015 * c * t);
    let rt = -libm::sin((2.0 * spread).to_radians()) * 2.0 * of25(c);
    let (l, c, h) = (dl / sl, dc / sc, dh / sh);
    (l * l + c * c + h * h + rt * c * h).sqrt()
}

/// Machado 2009, severity 1.0.
const DEFICIENCIES: [(&str, [[f64; 3]; 3]); 3] = [
    (
        "protan",
        [
            [0.152_286, 1.052_583, -0.204_868],
            [0.114_503, 0.786_281, 0.099_216],
            [-0.003_882, -0.048_116, 1.051_998],
        ],
    ),
    (
        "deutan",
        [
            [0.367_322, 0.860_646, -0.227_968],
            [0.280_085, 0.672_501, 0.047_413],
            [-0.011_820, 0.042_940, 0.968_881],
        ],
    ),
    (
        "tritan",
        [
            [1.255_528, -0.076_749, -0.178_779],
            [-0.078_411, 0.930_809, 0.147_602],
            [0.004_733, 0.691_367, 0.303_900],
        ],
    ),
];

fn seen(matrix: &[[f64; 3]; 3], rgb: Rgb) -> Rgb {
    matrix.map(|row| (0..3).map(|k| row[k] * rgb[k]).sum::<f64>().clamp(0.0, 1.0))
}

type Literal = fn(Ink) -> &'static str;
const SCHEMES: [(&str, Literal); 2] = [("light", Ink::light), ("dark", Ink::dark)];

#[test]
fn the_colour_difference_is_the_published_one() {
    let cases: [(Lab, Lab, f64); 12] = [
        ([50.0, 2.6772, -79.7751], [50.0, 0.0, -82.7485], 2.0425),
        ([50.0, 3.1571, -77.2803], [50.0, 0.0, -82.7485], 2.8615),
        ([50.0, 2.8361, -74.02], [50.0, 0.0, -82.7485], 3.4412),
        ([50.0, -1.3802, -84.2814], [50.0, 0.0, -82.7485], 1.0),
        ([50.0, 0.0, 0.0], [50.0, -1.0, 2.0], 2.3669),
        ([50.0, 2.49, -0.001], [50.0, -2.49, 0.0009], 7.1792),
        ([50.0, 2.5, 0.0], [73.0, 25.0, -18.0], 27.1492),
        ([50.0, 2.5, 0.0], [61.0, -5.0, 29.0], 22.8977),
        ([50.0, 2.5, 0.0], [56.0, -27.0, -3.0], 31.903),
        ([50.0, 2.5, 0.0], [58.0, 24.0, 15.0], 19.4535),
        (
            [60.2574, -34.0099, 36.2677],
            [60.4626, -34.1751, 39.4387],
            1.2644,
        ),
        (
            [35.0831, -44.1164, 3.7933],
            [35.0232, -40.0716, 1.5901],
            1.8645,
        ),
    ];
    for (a, b, want) in cases {
        // Half a unit in the last printed digit, both ways round: the difference is symmetric.
        for got in [ciede2000(a, b), ciede2000(b, a)] {
            assert!((got - want).abs() < 5e-5, "{a:?} {b:?}: {got}, want {want}");
        }
    }
    // WCAG: black on white is 21:1.
    assert!((contrast("#000000", "#FFFFFF") - 21.0).abs() < 1e-9);
}

/// Least distance of any two of the first `count` lines, as one sees them who has a deficiency.
fn least(literal: Literal, matrix: &[[f64; 3]; 3], count: usize) -> f64 {
    let seen: Vec<Lab> = (0..count)
        .map(|i| lab(seen(matrix, linear(literal(Ink::line(i))))))
        .collect();
    let pairs = (0..count).flat_map(|i| (0..i).map(move |j| (i, j)));
    pairs
        .map(|(i, j)| ciede2000(seen[i], seen[j]))
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn lines_stay_apart_for_the_common_colour_vision_deficiencies() {
    // What the palette reaches, to a tenth, so that a changed colour is seen here: three lines, four.
    // The fifth is grey and meets the fourth; its tracer tells it apart, as tracers tell all.
    let reached = [
        ("light", [(17.1, 15.2), (18.1, 16.2), (16.5, 16.0)]),
        ("dark", [(24.2, 14.9), (21.8, 14.2), (16.6, 14.8)]),
    ];
    for ((scheme, literal), (_, wanted)) in SCHEMES.into_iter().zip(reached) {
        for ((name, matrix), (three, four)) in DEFICIENCIES.iter().zip(wanted) {
            for (count, want) in [(3, three), (4, four)] {
                let got = least(literal, matrix, count);
                // 10 is told apart at a glance (a just noticeable difference is about 1).
                assert!(got > 10.0, "{scheme} {name} {count}: {got}");
                assert!(
                    (got - want).abs() < 0.15,
                    "{scheme} {name} {count}: {got}, was {want}"
                );
            }
        }
    }
}

#[test]
fn grey_is_not_what_tells_lines_apart() {
    // In grey print lines have L* 30, 40, 47, 49, 45 on white: too near each other, so each has its own
    // tracer as well, and all are far from paper, wood and zone.
    let grey = |ink: Ink| lab(linear(ink.light()))[0];
    let wanted = [30.0, 40.0, 47.0, 49.0, 45.0];
    for (i, want) in wanted.into_iter().enumerate() {
        let got = grey(Ink::line(i));
        assert!((got - want).abs() < 1.0, "line {}: {got}", i + 1);
        for ground in [Ink::Paper, Ink::Wood, Ink::Zone] {
            assert!(grey(ground) - got > 35.0, "line {} on {ground:?}", i + 1);
        }
        for j in 0..i {
            assert_ne!(
                super::rope::tracer(i, 0.4, 1.0),
                super::rope::tracer(j, 0.4, 1.0)
            );
        }
    }
    // The mistake's frame and the right way's are told by hatching, sign and word: nearly one grey.
    assert!((grey(Ink::Bad) - grey(Ink::Good)).abs() < 8.0);
}

#[test]
fn text_and_strokes_have_the_contrast_of_the_standard() {
    const LINES: [Ink; 5] = [Ink::L1, Ink::L2, Ink::L3, Ink::L4, Ink::L5];
    for (scheme, literal) in SCHEMES {
        let ratio = |ink: Ink, ground: Ink| contrast(literal(ink), literal(ground));
        // WCAG 1.4.3: text 4.5. Names stand in their line's colour on paper.
        let text = [Ink::Ink, Ink::Soft, Ink::Bad, Ink::Good]
            .into_iter()
            .chain(LINES);
        for ink in text {
            let got = ratio(ink, Ink::Paper);
            assert!(got >= 4.5, "{scheme}: text {ink:?} on paper {got:.2}");
        }
        for ink in [Ink::Ink, Ink::Soft] {
            for ground in [Ink::Wood, Ink::Zone] {
                assert!(
                    ratio(ink, ground) >= 4.5,
                    "{scheme}: text {ink:?} on {ground:?}"
                );
            }
        }
        // The tab's word is in paper on the verdict's colour.
        for ink in [Ink::Bad, Ink::Good] {
            assert!(ratio(Ink::Paper, ink) >= 4.5, "{scheme}: {ink:?}");
        }
        // WCAG 1.4.11: what must be seen to understand a graphic, 3.0.
        let strokes = [Ink::Ink, Ink::MetalEdge, Ink::ZoneEdge, Ink::Near]
            .into_iter()
            .chain(LINES);
        for ink in strokes {
            for ground in [Ink::Paper, Ink::Wood, Ink::Zone] {
                let got = ratio(ink, ground);
                assert!(got >= 3.0, "{scheme}: {ink:?} on {ground:?} {got:.2}");
            }
        }
        assert!(ratio(Ink::Bark, Ink::Paper) >= 3.0, "{scheme}: bark");
    }
}
