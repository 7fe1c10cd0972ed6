//! Two lines in a plane, each with all its legs to one place: pulls, lengths and directions at a
//! place in closed form, from what is worked out once.

use glam::{DVec2, DVec3};

use super::verdict::{LineAt, LineShape};
use crate::statics::Prepared;
use crate::statics::prepared::two_pulls;

/// The two lines of an upright plane that meet the harness.
pub(super) struct TwoLines {
    lines: [Line; 2],
    /// Lines that do not meet the harness: they carry nothing.
    others: Vec<usize>,
    weight_n: f64,
}

/// A line that meets the harness.
struct Line {
    /// Its number in the rig.
    line: usize,
    /// Where its legs lead, (x, z) in metres.
    far: DVec2,
    /// How many lead there.
    legs: f64,
    /// Length of the spans that do not meet the harness, metres.
    rest_m: f64,
}

impl TwoLines {
    /// The lines of a rig, if they are such.
    pub fn of(prepared: &Prepared, lines: &[LineShape]) -> Option<Self> {
        let (met, others): (Vec<_>, Vec<_>) =
            (0..lines.len()).partition(|line| !lines[*line].legs.is_empty());
        let [first, second] = met[..] else {
            return None;
        };
        let line = |line: usize| {
            let shape = &lines[line];
            let (_, far) = shape.legs.first().filter(|_| shape.leads_together)?;
            Some(Line {
                line,
                far: DVec2::new(far.x, far.z),
                legs: shape.legs.len() as f64,
                rest_m: shape.rest_m,
            })
        };
        prepared.is_of_two_pulls().then_some(Self {
            lines: [line(first)?, line(second)?],
            others,
            weight_n: prepared.weight_n(),
        })
    }

    /// Fills the pull of each line in one leg, newtons, and what the lines are at a place, and says how
    /// clearly the pulls make a balance, as [`Prepared::hold_near`] does; `None` where the two are too
    /// nearly parallel for that.
    pub fn pulls(&self, at: DVec2, pulls_n: &mut [f64], lines: &mut [LineAt]) -> Option<f64> {
        let [first, second] = &self.lines;
        let mut leads = |line: &Line| {
            let along = line.far - at;
            let length = along.length();
            let way = match length > 0.0 {
                true => along * (1.0 / length),
                false => DVec2::ZERO,
            };
            lines[line.line] = LineAt {
                length_m: line.rest_m + line.legs * length,
                way: DVec3::new(way.x, 0.0, way.y),
            };
            way * line.legs
        };
        let sums = [leads(first), leads(second)];
        let (pulls, margin) = two_pulls(sums)?;
        pulls_n[first.line] = pulls[0].max(0.0) * self.weight_n;
        pulls_n[second.line] = pulls[1].max(0.0) * self.weight_n;
        for line in &self.others {
            pulls_n[*line] = 0.0;
        }
        Some(margin)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::mesh::Source;
    use super::super::plane::Plane;
    use super::super::verdict::Judge;
    use super::*;
    use crate::rig::{Over, Rig, RigBuilder};
    use crate::statics::STANDARD_GRAVITY;
    use crate::statics::held::{Hold, hold};
    use crate::statics::layout::Layout;

    const MASS_KG: f64 = 80.0;
    const WEIGHT_N: f64 = MASS_KG * STANDARD_GRAVITY;

    /// A rig of two lines: from the harness to an anchor, there and back over a pulley, or over it to a
    /// place where its end is tied.
    fn two_lines(anchors: [[f64; 2]; 2], forms: [usize; 2]) -> Rig {
        let mut rig = RigBuilder::new("two").mass_kg(MASS_KG).climber([0.0, 1.0]);
        for (far, at) in ["left", "right"].into_iter().zip(anchors) {
            rig = rig.point(far, at).over(Over::Pulley).efficiency(0.8);
        }
        rig = rig.point("tie", [0.7, 0.2]);
        for (far, form) in ["left", "right"].into_iter().zip(forms) {
            let run = ["bridge", far, ["", "bridge", "tie"][form]];
            let ends = if form == 0 { 2 } else { 3 };
            rig = rig.line(&format!("to {far}"), &run[..ends]);
        }
        rig.build().expect("a rig")
    }

    /// What the closed form says at a place: how clearly the two hold, the pulls in one leg, newtons,
    /// and length and direction of each.
    type Quick = (f64, [f64; 2], Vec<LineAt>);

    fn quick(rig: &Rig, at: DVec2) -> Option<Quick> {
        let shapes = LineShape::of(rig, &Layout::new(rig), Plane::upright(DVec3::ZERO));
        let two = TwoLines::of(&Prepared::new(rig), &shapes).expect("two lines to one place each");
        let unknown = LineAt {
            length_m: f64::NAN,
            way: DVec3::NAN,
        };
        let (mut pulls_n, mut lines) = ([f64::NAN; 2], vec![unknown; 2]);
        let margin = two.pulls(at, &mut pulls_n, &mut lines)?;
        Some((margin, pulls_n, lines))
    }

    /// The largest pull of each line in a span, newtons, by the solver of held rigs; `None` where they
    /// do not hold.
    fn solved(rig: &Rig, at: DVec2) -> Option<[f64; 2]> {
        let layout = Layout::new(rig);
        let places = layout.places(rig, DVec3::new(at.x, 0.0, at.y));
        let Hold::Yes { pulls, .. } = hold(&layout, &places, |_| true, None) else {
            return None;
        };
        let mut pulls_n = [0.0; 2];
        for (span, pull) in layout.spans.iter().zip(pulls) {
            pulls_n[span.line] = f64::max(pulls_n[span.line], pull * WEIGHT_N);
        }
        Some(pulls_n)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        #[test]
        fn two_lines_in_closed_form_are_those_of_the_solver(
            x in prop::array::uniform3(-4.0..4.0f64),
            z in (3.0..9.0f64, 3.0..9.0f64, -1.0..10.0f64),
            level in any::<bool>(),
            forms in prop::array::uniform2(0..3usize),
        ) {
            let anchors = [[x[0], z.0], [x[1], if level { z.0 } else { z.1 }]];
            let rig = two_lines(anchors, forms);
            let at = DVec2::new(x[2], z.2);
            let (margin, pulls_n, lines) = quick(&rig, at).expect("no two places lie in one direction");
            // Law of sines on the triangle of forces: each pull goes with the sine of the angle
            // between the plumb line and the other line.
            let ways = anchors.map(|far| (DVec2::from(far) - at).normalize());
            let sine = ways[0].perp_dot(ways[1]);
            let legs = forms.map(|form| if form == 1 { 2.0 } else { 1.0 });
            let by_hand = [-ways[1].x / sine / legs[0], ways[0].x / sine / legs[1]];
            let least = by_hand[0].min(by_hand[1]);
            prop_assume!(least.abs() > 1e-6);
            prop_assert_eq!(margin >= 0.0, least > 0.0);
            let solved = solved(&rig, at);
            prop_assert_eq!(solved.is_some(), least > 0.0);
            for (k, pull) in pulls_n.into_iter().enumerate().filter(|_| least > 0.0) {
                let near = 1e-9 * WEIGHT_N / sine.abs();
                prop_assert!((pull - by_hand[k] * WEIGHT_N).abs() < near, "{pull} by hand {by_hand:?}");
                let solver = solved.expect("it holds")[k];
                prop_assert!((pull - solver).abs() < near, "{pull} by the solver {solver}");
            }
            for (k, line) in lines.into_iter().enumerate() {
                let far = DVec2::from(anchors[k]);
                let tied = if forms[k] == 2 { far.distance(DVec2::new(0.7, 0.2)) } else { 0.0 };
                let length_m = legs[k] * far.distance(at) + tied;
                prop_assert!((line.length_m - length_m).abs() < 1e-12 * (1.0 + length_m));
                prop_assert!(line.way.distance(DVec3::new(ways[k].x, 0.0, ways[k].y)) < 1e-12);
            }
        }
    }

    #[test]
    fn two_lines_in_one_direction_are_left_to_the_solver() {
        let level = two_lines([[-2.0, 5.0], [2.0, 5.0]], [0, 1]);
        let above = two_lines([[1.0, 5.0], [1.0, 8.0]], [0, 0]);
        let same = two_lines([[1.0, 5.0], [1.0, 5.0]], [1, 0]);
        for (rig, at, holds) in [
            // Between the anchors and beside them, at their height; at one of them.
            (&level, [0.5, 5.0], false),
            (&level, [-3.0, 5.0], false),
            (&level, [2.0, 5.0], false),
            // Below both, between them, above both, at one.
            (&above, [1.0, 3.0], true),
            (&above, [1.0, 6.0], true),
            (&above, [1.0, 9.0], false),
            (&above, [1.0, 5.0], true),
            (&same, [1.0, 3.0], true),
            (&same, [1.5, 3.0], false),
        ] {
            let at = DVec2::from(at);
            assert!(quick(rig, at).is_none(), "{at}");
            assert_eq!(solved(rig, at).is_some(), holds, "{at}");
            let mut judge = Judge::new(rig, Plane::upright(DVec3::ZERO));
            let mut pulls_n = [f64::NAN; 2];
            assert_eq!(judge.ask(at, &mut pulls_n).held.is_ok(), holds, "{at}");
            let sum: f64 = pulls_n.iter().sum();
            assert!(
                !holds || (sum > 0.3 * WEIGHT_N && sum < 1.01 * WEIGHT_N),
                "{pulls_n:?}"
            );
        }
        // Below one anchor that line carries all, however long the other is.
        let at = DVec2::new(-2.0, 1.0);
        let (margin, pulls_n, _) = quick(&level, at).expect("two directions");
        assert!(
            margin >= 0.0 && (pulls_n[0] - WEIGHT_N).abs() < 1e-9,
            "{pulls_n:?}"
        );
        assert!(pulls_n[1].abs() < 1e-9, "{pulls_n:?}");
    }
}
