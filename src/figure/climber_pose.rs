//! The climber's joints: proportions, poses, hands on ropes and feet on wood.
//!
//! ```text
//! PoseName ─angles→ Joints ─reach→ hands and feet where the rig has them (two-bone inverse kinematics)
//! ```
//!
//! Lengths are shares of stature; the origin is the harness point; x runs forward (the way the figure
//! faces), y down. Angles of limbs are degrees from straight down, forward positive, so arms up are
//! 180; trunk and head lean from the vertical, forward positive; feet are toe up from level.

use kurbo::{Point, Vec2};

use super::curve::{Stance, from_down, turned};

/// Stature of the figure where the scale of the drawing asks for one, metres.
///
/// A round value near the middle of adult statures; the model of statics knows no stature.
pub const STATURE_M: f64 = 1.75;

// Segment lengths, shares of stature: Drillis and Contini 1966 as reprinted in Winter, Biomechanics
// and Motor Control of Human Movement; written from memory, to be checked before they are cited.
// They serve the drawing only: no number that Ropeleaf prints depends on them.
/// Hip to shoulder.
const TRUNK: f64 = 0.288;
/// Upper arm, and forearm with the hand up to the grip.
const ARM: (f64, f64) = (0.186, 0.146 + 0.070);
/// Elbow to wrist.
const FOREARM: f64 = 0.146;
/// Thigh, shank.
const LEG: (f64, f64) = (0.245, 0.246);
/// Ankle down to the sole.
pub const ANKLE_TO_SOLE: f64 = 0.039;
/// Shoulder up to the neck's root, and from there to the middle of the head: ours.
const NECK: (f64, f64) = (0.016, 0.112);
/// The harness point from the hip in the trunk's frame, forward and up: ours.
const HARNESS: (f64, f64) = (0.072, 0.035);
/// A limb is never stretched further than this share of its length.
const STRETCH: f64 = 0.999;
/// A hand takes a rope where the arm is neither folded nor stretched: shares of the arm's length.
const BENT: (f64, f64) = (0.36, 0.93);
/// Where hands may take a rope, from the harness point along it; and where they like to: below the
/// chin, in sight.
const GRIP: (f64, f64) = (0.12, 0.46);
const LIKED_GRIP: f64 = 0.25;
/// The second hand on one rope is so much further along.
const HAND_APART: f64 = 0.085;
/// The far foot is so much lower on a stem, or further along a limb.
const FOOT_APART: f64 = 0.115;
/// A foot stands on its middle, which is so far in front of the ankle.
const MIDFOOT: f64 = 0.03;

/// A posture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PoseName {
    /// Upright in the harness, nothing under the feet.
    Hanging,
    /// Leaning back into the line.
    SittingBack,
    /// Feet against a stem.
    FeetOnStem,
    /// Standing on a limb.
    FeetOnLimb,
    /// Bent forward, one arm out.
    Reaching,
}

/// Angles of a posture, degrees.
struct Angles {
    trunk: f64,
    head: f64,
    near_arm: (f64, f64),
    far_arm: (f64, f64),
    near_leg: (f64, f64),
    far_leg: (f64, f64),
    feet: (f64, f64),
}

impl PoseName {
    /// Every posture.
    pub const ALL: [Self; 5] = [
        Self::Hanging,
        Self::SittingBack,
        Self::FeetOnStem,
        Self::FeetOnLimb,
        Self::Reaching,
    ];

    /// Words for the sheet of marks.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Hanging => "hanging",
            Self::SittingBack => "sitting back",
            Self::FeetOnStem => "feet on the stem",
            Self::FeetOnLimb => "feet on a limb",
            Self::Reaching => "reaching",
        }
    }

    const fn angles(self) -> Angles {
        let row = match self {
            Self::Hanging => [-8, 6, 52, 148, 84, 166, 58, 2, 42, -8, -14, -20],
            Self::SittingBack => [-40, -16, 48, 112, 70, 128, 72, 44, 58, 24, 18, 6],
            Self::FeetOnStem => [-34, -12, 52, 112, 76, 128, 96, 72, 66, 86, 66, 74],
            Self::FeetOnLimb => [4, 8, 34, 96, 62, 150, 26, -12, 8, -10, 0, 0],
            Self::Reaching => [46, 34, 88, 94, 46, 140, 28, -34, 52, -4, -26, -8],
        };
        Angles {
            trunk: row[0] as f64,
            head: row[1] as f64,
            near_arm: (row[2] as f64, row[3] as f64),
            far_arm: (row[4] as f64, row[5] as f64),
            near_leg: (row[6] as f64, row[7] as f64),
            far_leg: (row[8] as f64, row[9] as f64),
            feet: (row[10] as f64, row[11] as f64),
        }
    }
}

/// An arm: shoulder, elbow, wrist, end of the hand.
pub type Arm = [Point; 4];

/// A leg: hip, knee, ankle; and the unit vector from heel to toe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Hip, knee, ankle.
    pub joints: [Point; 3],
    /// From heel to toe.
    pub toe: Vec2,
}

/// Where everything is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Joints {
    /// Hip.
    pub hip: Point,
    /// From hip to shoulder, unit length.
    pub trunk_up: Vec2,
    /// Root of the neck.
    pub neck: Point,
    /// Middle of the head.
    pub head: Point,
    /// From neck to head, unit length.
    pub head_up: Vec2,
    /// The arm on the viewer's side.
    pub near_arm: Arm,
    /// The other arm.
    pub far_arm: Arm,
    /// The leg on the viewer's side.
    pub near_leg: Leg,
    /// The other leg.
    pub far_leg: Leg,
    /// Whether the near hand holds a rope.
    pub near_grips: bool,
}

/// A surface that carries the feet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Footing {
    /// Where they push.
    pub at: Point,
    /// Out of the surface, unit length.
    pub normal: Vec2,
}

/// The joints of a posture.
///
/// - `ropes`: directions from the harness point along the lines that hands may take, in the order of
///   liking; unit length is not needed.
/// - `footing`: puts the feet on a surface; out of reach they point there.
pub fn joints(pose: PoseName, ropes: &[Vec2], footing: Option<Footing>) -> Joints {
    let angles = pose.angles();
    let up = -from_down(-angles.trunk.to_radians());
    let forward = turned(up);
    let hip = (forward * -HARNESS.0 - up * HARNESS.1).to_point();
    let shoulder = hip + up * TRUNK;
    let neck = shoulder + up * NECK.0;
    let head_up = -from_down(-angles.head.to_radians());
    let mut found = Joints {
        hip,
        trunk_up: up,
        neck,
        head: neck + head_up * NECK.1,
        head_up,
        near_arm: arm(shoulder, angles.near_arm),
        far_arm: arm(shoulder, angles.far_arm),
        near_leg: leg(hip, angles.near_leg, angles.feet.0),
        far_leg: leg(hip, angles.far_leg, angles.feet.1),
        near_grips: false,
    };
    if let Some(footing) = footing {
        // The toes point the way the figure faces, or up a surface that it faces.
        let along = turned(footing.normal);
        let toe = if along.dot(Vec2::new(1.0, -0.6)) >= 0.0 {
            along
        } else {
            -along
        };
        let ankle = footing.at + footing.normal * ANKLE_TO_SOLE - toe * MIDFOOT;
        found.near_leg = stand(hip, ankle, toe);
        found.far_leg = stand(hip, ankle - toe * FOOT_APART, toe);
    }
    let spots = ropes.iter().filter_map(|rope| grip_spot(shoulder, *rope));
    take_ropes(&mut found, shoulder, spots, pose == PoseName::Reaching);
    found
}

/// Hands on the ropes; where one hand is busy, the far one alone.
fn take_ropes(
    found: &mut Joints,
    shoulder: Point,
    mut spots: impl Iterator<Item = Point>,
    busy: bool,
) {
    let Some(first) = spots.next() else { return };
    if busy {
        found.far_arm = reach_arm(shoulder, first);
        return;
    }
    found.near_arm = reach_arm(shoulder, first);
    found.near_grips = true;
    let along = Stance::new(Point::ORIGIN, first.to_vec2()).along;
    let second = spots.next().unwrap_or(first + along * HAND_APART);
    found.far_arm = reach_arm(shoulder, second);
}

/// Where a hand takes a rope: in front of the body or a little behind, above the harness point.
fn grip_spot(shoulder: Point, rope: Vec2) -> Option<Point> {
    /// A rope further behind than this (x of its unit vector) is left alone; so is one that runs
    /// level or down (y).
    const BEHIND: f64 = -0.6;
    const LEVEL: f64 = -0.25;
    const STEPS: u32 = 32;
    let along = Stance::new(Point::ORIGIN, rope).along;
    if along.x < BEHIND || along.y > LEVEL {
        return None;
    }
    let length = ARM.0 + ARM.1;
    (0..=STEPS)
        .map(|step| GRIP.0 + (GRIP.1 - GRIP.0) * f64::from(step) / f64::from(STEPS))
        .filter(|far| {
            let reach = (Point::ORIGIN + along * *far).distance(shoulder) / length;
            (BENT.0..BENT.1).contains(&reach)
        })
        .min_by(|a, b| (a - LIKED_GRIP).abs().total_cmp(&(b - LIKED_GRIP).abs()))
        .map(|far| Point::ORIGIN + along * far)
}

fn arm(shoulder: Point, (upper, fore): (f64, f64)) -> Arm {
    let elbow = shoulder + from_down(upper.to_radians()) * ARM.0;
    let way = from_down(fore.to_radians());
    [shoulder, elbow, elbow + way * FOREARM, elbow + way * ARM.1]
}

fn reach_arm(shoulder: Point, hand: Point) -> Arm {
    // Elbows hang below and behind.
    let (elbow, hand) = two_bones(shoulder, hand, ARM, Vec2::new(-0.6, 1.0));
    let way = (hand - elbow) / ARM.1;
    [shoulder, elbow, elbow + way * FOREARM, hand]
}

fn leg(hip: Point, (thigh, shank): (f64, f64), toe_up: f64) -> Leg {
    let knee = hip + from_down(thigh.to_radians()) * LEG.0;
    let ankle = knee + from_down(shank.to_radians()) * LEG.1;
    Leg {
        joints: [hip, knee, ankle],
        toe: from_down((90.0 + toe_up).to_radians()),
    }
}

fn stand(hip: Point, ankle: Point, toe: Vec2) -> Leg {
    // Knees point forward and up.
    let (knee, ankle) = two_bones(hip, ankle, LEG, Vec2::new(1.0, -0.8));
    Leg {
        joints: [hip, knee, ankle],
        toe,
    }
}

/// Joint and end of two bones from `root` towards `target`.
///
/// By the law of cosines: `a = arccos((l1² + d² − l2²) / (2·l1·d))` between the first bone and the
/// way to the target, `d` the distance, held to what the bones allow. Of the two bends, the one whose
/// joint lies further along `prefer`.
pub fn two_bones(root: Point, target: Point, (l1, l2): (f64, f64), prefer: Vec2) -> (Point, Point) {
    let way = Stance::new(root, target - root).along;
    let least = (l1 - l2).abs() / STRETCH;
    let d = target.distance(root).clamp(least, STRETCH * (l1 + l2));
    let cos = ((l1 * l1 + d * d - l2 * l2) / (2.0 * l1 * d)).clamp(-1.0, 1.0);
    let sin = (1.0 - cos * cos).sqrt();
    let side = turned(way);
    let joint = [1.0, -1.0]
        .map(|bend| root + (way * cos + side * (bend * sin)) * l1)
        .into_iter()
        .max_by(|a, b| (*a - root).dot(prefer).total_cmp(&(*b - root).dot(prefer)))
        .unwrap_or(root);
    (joint, root + way * d)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bones_keep_their_lengths() {
        // Law of cosines, limits: stretched, folded, out of reach.
        for target in [
            (0.3, 0.1),
            (0.0, 0.401),
            (5.0, 5.0),
            (0.001, 0.0),
            (-0.2, -0.2),
        ] {
            let root = Point::new(0.0, 0.0);
            let (joint, end) = two_bones(root, target.into(), ARM, Vec2::new(0.0, 1.0));
            assert!((root.distance(joint) - ARM.0).abs() < 1e-9, "{target:?}");
            assert!((joint.distance(end) - ARM.1).abs() < 1e-9, "{target:?}");
        }
    }

    #[test]
    fn a_right_angle_bends_as_pythagoras_says() {
        // Bones 3 and 4 reach 5 with a right angle between them.
        let (joint, end) = two_bones(
            Point::ORIGIN,
            Point::new(5.0, 0.0),
            (3.0, 4.0),
            Vec2::new(0.0, 1.0),
        );
        assert!(joint.distance(Point::new(1.8, 2.4)) < 1e-9, "{joint:?}");
        assert!(end.distance(Point::new(5.0, 0.0)) < 1e-9);
    }

    #[test]
    fn the_shoulder_is_as_high_as_in_surveys() {
        // ANSUR II (2012), medians of men: acromial height 1439 mm, stature 1755 mm.
        let height = ANKLE_TO_SOLE + LEG.0 + LEG.1 + TRUNK;
        assert!((height - 1439.0 / 1755.0).abs() < 0.005, "{height}");
    }

    #[test]
    fn feet_go_to_the_surface() {
        let normal = Vec2::new(-1.0, 0.0);
        let at = Point::new(0.36, 0.12);
        let found = joints(PoseName::FeetOnStem, &[], Some(Footing { at, normal }));
        let leg = found.near_leg;
        let sole = leg.joints[2] - normal * ANKLE_TO_SOLE + leg.toe * MIDFOOT;
        assert!(sole.distance(at) < 1e-9, "{sole:?}");
        assert!(leg.toe.y < -0.9, "toes up the stem");
        assert!(leg.joints[1].x > 0.0, "knee forward");
        let lower = found.far_leg.joints[2].y;
        assert!(lower > leg.joints[2].y);
    }

    #[test]
    fn hands_lie_on_the_rope() {
        for pose in PoseName::ALL {
            let rope = Vec2::new(0.45, -0.9);
            let found = joints(pose, &[rope], None);
            assert_eq!(found.near_grips, pose != PoseName::Reaching, "{pose:?}");
            let near = found.near_grips.then_some(found.near_arm);
            for arm in near.into_iter().chain([found.far_arm]) {
                let hand = arm[3].to_vec2();
                let off = hand.cross(rope) / rope.hypot();
                assert!(off.abs() < 0.02, "{pose:?}: {off}");
                assert!(hand.dot(rope) > 0.0);
            }
        }
    }

    #[test]
    fn a_rope_behind_or_below_is_left_alone() {
        for rope in [Vec2::new(-1.0, -0.5), Vec2::new(0.5, 1.0)] {
            assert!(!joints(PoseName::Hanging, &[rope], None).near_grips);
        }
    }
}
