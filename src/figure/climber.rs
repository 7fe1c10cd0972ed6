//! The climber: an articulated figure of our own, drawn over its joints.
//!
//! ```text
//! Asked (place, size, facing, pose, ropes, feet) ─joints→ Joints ─draw→ Climber (body, near arm, outlines)
//! ```
//!
//! Tone carries depth: the near side is dark, the far side pale; every part is edged with paper, so
//! that it stands off ropes, wood and the part behind it. No face, no hair, nobody in particular. The
//! near arm is apart, so that it can lie over a rope that it holds.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Vec2};

use super::climber_pose::{Arm, Footing, Joints, Leg, PoseName, STATURE_M, joints};
use super::curve::{Stance, chain, circle, joined, polyline, smooth_closed};
use super::shape::{Cap, Ink, Item, Shape, Stroke};
use crate::rig::Facing;

/// Paper edge round each part, share of stature.
const EDGE: f64 = 0.013;
/// But at least so wide, mm.
const LEAST_EDGE_MM: f64 = 0.3;
/// What shows of a ghost's edge, mm, and its dashes.
const GHOST_MM: f64 = 0.35;
const GHOST_DASH: [f64; 2] = [1.2, 0.7];
/// Belt and leg strap, share of stature.
const BELT: f64 = 0.020;
const STRAP: f64 = 0.017;

// Outlines, shares of stature; forward and up in the part's own frame.
/// Trunk, from the hip.
const TRUNK: [(f64, f64); 12] = [
    (-0.058, -0.020),
    (-0.060, 0.045),
    (-0.050, 0.110),
    (-0.062, 0.205),
    (-0.050, 0.292),
    (-0.012, 0.317),
    (0.036, 0.300),
    (0.064, 0.225),
    (0.058, 0.130),
    (0.052, 0.060),
    (0.046, -0.010),
    (0.000, -0.055),
];
/// Jaw and back of the head, from the middle of the head.
const HEAD: [(f64, f64); 7] = [
    (-0.053, 0.007),
    (-0.043, -0.040),
    (-0.0145, -0.0615),
    (0.028, -0.068),
    (0.0525, -0.0475),
    (0.055, -0.007),
    (0.051, 0.017),
];
/// Crown of the helmet, and its peak and rim, from the middle of the head.
const CROWN: [(f64, f64); 7] = [
    (-0.066, -0.006),
    (-0.067, 0.030),
    (-0.044, 0.066),
    (-0.001, 0.080),
    (0.040, 0.068),
    (0.061, 0.038),
    (0.069, 0.018),
];
const PEAK: [(f64, f64); 3] = [(0.088, 0.012), (0.087, 0.001), (-0.061, -0.020)];
/// Foot, from the ankle.
const FOOT: [(f64, f64); 8] = [
    (-0.026, 0.030),
    (0.026, 0.030),
    (0.045, 0.002),
    (0.102, -0.008),
    (0.116, -0.023),
    (0.112, -0.039),
    (-0.054, -0.039),
    (-0.056, -0.010),
];

/// How the climber is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The harness point on the sheet, mm.
    pub at: Point,
    /// Millimetres for a metre.
    pub mm_per_m: f64,
    /// Which way the figure faces.
    pub facing: Facing,
    /// The posture.
    pub pose: PoseName,
    /// Directions on the sheet, from the harness point, of lines that hands may hold; best first.
    pub ropes: Vec<Vec2>,
    /// Where the feet push on the sheet (mm), and the direction out of the surface there.
    pub footing: Option<(Point, Vec2)>,
}

impl Asked {
    /// A hanging figure with nothing in its hands.
    pub const fn hanging(at: Point, mm_per_m: f64, facing: Facing) -> Self {
        Self {
            at,
            mm_per_m,
            facing,
            pose: PoseName::Hanging,
            ropes: Vec::new(),
            footing: None,
        }
    }
}

/// The drawn climber.
#[derive(Debug, Clone, PartialEq)]
pub struct Climber {
    /// All but the near arm, back to front.
    pub body: Vec<Item>,
    /// The near arm: over the ropes where it holds one, else with the body.
    pub near_arm: Vec<Item>,
    /// Whether the near hand holds a rope.
    pub near_grips: bool,
    /// Outlines of trunk, head, arms and legs on the sheet, for labels to keep clear of.
    pub outlines: Vec<BezPath>,
    /// Box of head and helmet on the sheet.
    pub head: Rect,
}

/// The posture for a rig: by the feet where they push on something, else by how far the lines' common
/// pull leans from the vertical. `pull` is the sum of all pulls on the sheet, y down; only its
/// direction counts. `on_stem` says what the feet are on.
pub fn choose_pose(feet_on_stem: Option<bool>, pull: Vec2) -> PoseName {
    /// A pull that leans less than this from the vertical leaves the climber upright: tan 20°.
    const LEAN: f64 = 0.364;
    match feet_on_stem {
        Some(true) => PoseName::FeetOnStem,
        Some(false) => PoseName::FeetOnLimb,
        None if pull.x.abs() <= LEAN * pull.y.abs() => PoseName::Hanging,
        None => PoseName::SittingBack,
    }
}

/// Draws the climber.
pub fn climber(asked: &Asked) -> Climber {
    draw(asked)
}

/// The climber as it was before: the outline of the whole in dashes, filled with paper.
///
/// The dashes of all parts come first and the fills of all parts over them, so that the inner edges
/// vanish: a small figure stays one figure.
pub fn ghost(asked: &Asked) -> Vec<Item> {
    let parts = joined(draw(asked).outlines);
    let dashes = Stroke::dashed(Ink::Ghost, 2.0 * GHOST_MM, &GHOST_DASH);
    vec![
        Shape::stroked(parts.clone(), dashes).into(),
        Shape::filled(parts, Ink::Paper).into(),
    ]
}

/// Colours and edges of one figure.
struct Pen {
    to_sheet: Affine,
    stature_mm: f64,
}

impl Pen {
    fn edge_mm(&self) -> f64 {
        2.0 * (EDGE * self.stature_mm).max(LEAST_EDGE_MM)
    }

    /// A part in one tone, with its paper edge behind it.
    fn part(&self, path: BezPath, ink: Ink) -> Vec<Shape> {
        let path = self.to_sheet * path;
        vec![
            Shape::stroked(path.clone(), Stroke::solid(Ink::Paper, self.edge_mm())),
            Shape::filled(path, ink),
        ]
    }

    /// A strap over a part.
    fn strap(&self, from: Point, to: Point, wide: f64) -> Vec<Shape> {
        let path = self.to_sheet * polyline(&[from, to]);
        let width = (wide * self.stature_mm).max(LEAST_EDGE_MM);
        let stroke = Stroke::solid(Ink::Kit, width).cap(Cap::Butt);
        vec![Shape::stroked(path, stroke)]
    }
}

fn draw(asked: &Asked) -> Climber {
    let stature_mm = STATURE_M * asked.mm_per_m;
    let side = match asked.facing {
        Facing::Right => 1.0,
        Facing::Left => -1.0,
    };
    let to_sheet = Affine::new([
        side * stature_mm,
        0.0,
        0.0,
        stature_mm,
        asked.at.x,
        asked.at.y,
    ]);
    let to_figure = to_sheet.inverse();
    let turn = |v: Vec2| Vec2::new(side * v.x, v.y);
    let footing = asked.footing.map(|(at, normal)| Footing {
        at: to_figure * at,
        normal: Stance::new(Point::ORIGIN, turn(normal)).along,
    });
    let ropes: Vec<Vec2> = asked.ropes.iter().map(|rope| turn(*rope)).collect();
    let found = joints(asked.pose, &ropes, footing);
    let pen = Pen {
        to_sheet,
        stature_mm,
    };

    let mut body: Vec<Shape> = Vec::new();
    let (far_arm, near_arm) = (arm_path(&found.far_arm), arm_path(&found.near_arm));
    let (far_leg, near_leg) = (leg_path(&found.far_leg), leg_path(&found.near_leg));
    let (trunk, head) = (trunk_path(&found), head_path(&found));
    body.extend(pen.part(far_arm.clone(), Ink::Far));
    body.extend(pen.part(far_leg.clone(), Ink::Far));
    body.extend(pen.part(joined([trunk.clone(), head.clone()]), Ink::Near));
    body.extend(pen.part(near_leg.clone(), Ink::Near));
    let on_trunk = local(found.hip, found.trunk_up);
    body.extend(pen.strap(on_trunk(-0.060, 0.052), on_trunk(0.056, 0.038), BELT));
    let [hip, knee, _] = found.near_leg.joints;
    let thigh = Stance::new(hip, knee - hip);
    body.extend(pen.strap(thigh.point(0.075, -0.050), thigh.point(0.075, 0.050), STRAP));
    let helmet = helmet_path(&found);
    body.extend(pen.part(helmet.clone(), Ink::Ink));
    let arm = pen.part(near_arm.clone(), Ink::Near);
    let head = joined([head, helmet]);
    let seen_head = (to_sheet * head.clone()).bounding_box();
    let outlines = [trunk, head, far_arm, near_arm, far_leg, near_leg];
    Climber {
        body: body.into_iter().map(Item::from).collect(),
        near_arm: arm.into_iter().map(Item::from).collect(),
        near_grips: found.near_grips,
        outlines: outlines.into_iter().map(|path| to_sheet * path).collect(),
        head: seen_head,
    }
}

/// Forward and up in the frame of a part, as a point of the figure.
fn local(at: Point, up: Vec2) -> impl Fn(f64, f64) -> Point {
    let forward = Vec2::new(-up.y, up.x);
    move |ahead, above| at + forward * ahead + up * above
}

fn nodes(nodes: &[(f64, f64)], place: impl Fn(f64, f64) -> Point) -> Vec<Point> {
    nodes.iter().map(|&(x, y)| place(x, y)).collect()
}

fn arm_path(&[shoulder, elbow, wrist, grip]: &Arm) -> BezPath {
    let fist = wrist.lerp(grip, 0.55);
    chain(&[
        (shoulder, 0.033),
        (elbow, 0.026),
        (wrist, 0.018),
        (fist, 0.0215),
        (grip, 0.017),
    ])
}

fn leg_path(leg: &Leg) -> BezPath {
    let [hip, knee, ankle] = leg.joints;
    let up = Vec2::new(leg.toe.y, -leg.toe.x);
    let foot = smooth_closed(&nodes(&FOOT, local(ankle, up)));
    joined([chain(&[(hip, 0.056), (knee, 0.039), (ankle, 0.025)]), foot])
}

fn trunk_path(found: &Joints) -> BezPath {
    smooth_closed(&nodes(&TRUNK, local(found.hip, found.trunk_up)))
}

/// Head and neck.
fn head_path(found: &Joints) -> BezPath {
    let head = smooth_closed(&nodes(&HEAD, local(found.head, found.head_up)));
    let neck = chain(&[
        (found.neck - found.head_up * 0.02, 0.03),
        (found.head, 0.03),
    ]);
    // Both run the same way round, so that the fill has no hole where they overlap.
    joined([head.reverse_subpaths(), neck])
}

fn helmet_path(found: &Joints) -> BezPath {
    let place = local(found.head, found.head_up);
    let crown = nodes(&CROWN, &place);
    let mut path = super::curve::smooth_open(&crown);
    for point in nodes(&PEAK, &place) {
        path.line_to(point);
    }
    path.close_path();
    path
}

/// The climber from above: shoulders, arms half forward, thighs, a helmet whose ridge and peak point
/// the way; `heading` is that way on the sheet.
pub fn plan(at: Point, mm_per_m: f64, heading: Vec2) -> Vec<Item> {
    let stance = Stance::new(at, heading).scaled(STATURE_M * mm_per_m);
    let pen = Pen {
        to_sheet: stance.affine(),
        stature_mm: stance.scale,
    };
    let p = Point::new;
    let mut shapes = Vec::new();
    for side in [1.0, -1.0] {
        let thigh = chain(&[
            (p(-0.05, 0.05 * side), 0.050),
            (p(0.115, 0.095 * side), 0.036),
            (p(0.205, 0.092 * side), 0.020),
        ]);
        shapes.extend(pen.part(thigh, Ink::Far));
    }
    for side in [1.0, -1.0] {
        let arm = chain(&[
            (p(-0.085, 0.135 * side), 0.032),
            (p(-0.015, 0.245 * side), 0.024),
            (p(0.135, 0.185 * side), 0.016),
        ]);
        shapes.extend(pen.part(arm, Ink::Near));
    }
    let half = [
        (-0.13, 0.0),
        (-0.125, 0.07),
        (-0.116, 0.125),
        (-0.072, 0.150),
        (-0.034, 0.120),
        (-0.022, 0.06),
    ];
    let mirrored = half[1..].iter().rev().map(|&(x, y)| (x, -y));
    let shoulders: Vec<_> = half
        .into_iter()
        .chain(mirrored)
        .map(|(x, y)| p(x, y))
        .collect();
    shapes.extend(pen.part(smooth_closed(&shoulders), Ink::Near));
    let half = [
        (-0.114, 0.0),
        (-0.090, 0.052),
        (-0.040, 0.062),
        (0.006, 0.048),
        (0.030, 0.026),
        (0.046, 0.0),
    ];
    let mirrored = half[1..5].iter().rev().map(|&(x, y)| (x, -y));
    let helmet: Vec<_> = half
        .into_iter()
        .chain(mirrored)
        .map(|(x, y)| p(x, y))
        .collect();
    shapes.extend(pen.part(smooth_closed(&helmet), Ink::Ink));
    shapes.extend(pen.strap(p(-0.098, 0.0), p(0.020, 0.0), 0.012));
    shapes.into_iter().map(Item::from).collect()
}

/// Room that the figure takes from above, for labels to keep clear of.
pub fn plan_outline(at: Point, mm_per_m: f64) -> BezPath {
    circle(at, 0.21 * STATURE_M * mm_per_m)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(pose: PoseName, facing: Facing) -> Asked {
        Asked {
            pose,
            ..Asked::hanging(Point::new(50.0, 60.0), 14.0, facing)
        }
    }

    fn bounds(climber: &Climber) -> Rect {
        let boxes = climber.outlines.iter().map(BezPath::bounding_box);
        boxes.reduce(|a, b| a.union(b)).unwrap()
    }

    #[test]
    fn every_pose_has_the_size_of_a_person() {
        for pose in PoseName::ALL {
            let climber = climber(&asked(pose, Facing::Right));
            let bounds = bounds(&climber);
            let tall = bounds.height() / 14.0;
            assert!((0.9..1.9).contains(&tall), "{pose:?}: {tall} m");
            assert!(bounds.contains(Point::new(50.0, 60.0)), "{pose:?}");
        }
    }

    #[test]
    fn facing_left_is_the_mirror_of_facing_right() {
        let right = bounds(&climber(&asked(PoseName::SittingBack, Facing::Right)));
        let left = bounds(&climber(&asked(PoseName::SittingBack, Facing::Left)));
        assert!((right.x1 - 50.0 - (50.0 - left.x0)).abs() < 1e-9);
        assert!((right.y0 - left.y0).abs() < 1e-9);
    }

    #[test]
    fn parts_have_no_holes() {
        for pose in PoseName::ALL {
            let found = joints(pose, &[], None);
            let head = head_path(&found);
            assert_ne!(head.winding(found.head.lerp(found.neck, 0.3)), 0);
            for leg in [found.near_leg, found.far_leg] {
                let path = leg_path(&leg);
                assert_ne!(
                    path.winding(leg.joints[2] + Vec2::new(0.004, 0.003)),
                    0,
                    "{pose:?}"
                );
            }
        }
    }

    #[test]
    fn feet_decide_the_pose_before_the_lean_of_the_pull() {
        let upright = Vec2::new(0.1, -1.0);
        let leaning = Vec2::new(-0.5, -1.0);
        assert_eq!(choose_pose(None, upright), PoseName::Hanging);
        assert_eq!(choose_pose(None, leaning), PoseName::SittingBack);
        assert_eq!(choose_pose(Some(true), upright), PoseName::FeetOnStem);
        assert_eq!(choose_pose(Some(false), leaning), PoseName::FeetOnLimb);
    }

    #[test]
    fn the_ghost_is_dashed_and_pale() {
        let items = ghost(&asked(PoseName::Hanging, Facing::Right));
        let [Item::Shape(edge), Item::Shape(inside)] = &items[..] else {
            panic!("an edge and what covers its inner half")
        };
        let stroke = edge.stroke.as_ref().expect("an edge");
        assert!(stroke.ink == Ink::Ghost && !stroke.dash.is_empty());
        assert_eq!((inside.fill, &inside.path), (Some(Ink::Paper), &edge.path));
    }
}
