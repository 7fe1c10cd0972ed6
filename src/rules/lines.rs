//! Rules about lines and the kit they are made of.

use super::Case;
use crate::finding::Finding;
use crate::kit::{KitItem, KitKind};
use crate::quantity::Quantity;
use crate::rig::{Attachment, LineId, Node};

/// The most that a line carries: its upper end with friction, or the nominal pull where that is
/// unbounded.
fn most_pull_n(case: &Case<'_>, id: LineId) -> Option<f64> {
    let answer = &case.solved.lines[id.0];
    answer.pull_high_n.or(answer.pull_n)
}

/// A line's most pull, with the allowance for movement, above its limit.
pub(super) fn over_limit(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let allowance = case.limit("over-limit", "allowance");
    for id in case.rig.line_ids() {
        let line = case.rig.line(id);
        let (Some(limit), Some(pull)) = (line.limit_n, most_pull_n(case, id)) else {
            continue;
        };
        if pull * allowance > limit {
            let message = format!(
                "line \"{}\" may carry {}, which with an allowance of {allowance} for movement is {}, above its limit of {}",
                line.name,
                case.text(Quantity::Force(pull)),
                case.text(Quantity::Force(pull * allowance)),
                case.text(Quantity::Force(limit)),
            );
            findings.push(case.finding("over-limit", line.place, message));
        }
    }
}

/// The climber heavier than the rated mass of a kit item in use.
pub(super) fn over_mass(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let mass = case.rig.climber.mass_kg.1;
    let of_lines = case.rig.lines.iter().flat_map(|line| {
        let fittings = line.assembly.connectors.iter().chain(&line.assembly.cord);
        line.kit.iter().chain(fittings)
    });
    let of_points = case
        .rig
        .points
        .iter()
        .flat_map(|point| point.kit.iter().chain(&point.fitting.closed_by));
    let of_rig = of_lines.chain(of_points);
    let of_rig = of_rig.filter_map(|name| case.kit(Some(name)));
    let of_lesson = case.lesson.kit.iter();
    let of_lesson = of_lesson.map(|used| case.pack.kit_item(used.item));
    let mut items: Vec<_> = of_rig.chain(of_lesson).collect();
    items.sort_by(|a, b| a.name.cmp(&b.name));
    items.dedup_by(|a, b| a.name == b.name);
    for item in items {
        if let Some(rated) = item.rated_mass_kg.filter(|rated| mass > *rated) {
            let message = format!(
                "the climber's {} with kit is more than the {} that \"{}\" is rated for",
                case.text(Quantity::Mass(mass)),
                case.text(Quantity::Mass(rated)),
                item.title,
            );
            findings.push(case.finding("over-mass", case.rig.climber.place, message));
        }
    }
}

/// The key of `low-strength` that goes for a kind of kit.
const fn strength_key(kind: KitKind) -> &'static str {
    if kind.is_metal() { "metal" } else { "textile" }
}

/// Strength over pull under the wanted factor, for lines and for kit at points.
pub(super) fn low_strength(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let lines = case.rig.line_ids().map(|id| {
        let line = case.rig.line(id);
        (&line.name, &line.kit, line.place, most_pull_n(case, id))
    });
    let points = case.rig.point_ids().map(|id| {
        let point = case.rig.point(id);
        (
            &point.name,
            &point.kit,
            point.place,
            case.solved.points[id.0].load_n.map(|v| v.length()),
        )
    });
    for (name, kit, place, force) in lines.chain(points) {
        let Some(item) = case.kit(kit.as_ref()) else {
            continue;
        };
        let (Some(strength), Some(force)) = (item.strength_n, force) else {
            continue;
        };
        let wanted = case.limit("low-strength", strength_key(item.kind));
        if strength < force * wanted {
            let message = format!(
                "\"{name}\" carries {} and its {} has a strength of {}: a factor of {:.1}, and {wanted} is wanted",
                case.text(Quantity::Force(force)),
                item.title,
                case.text(Quantity::Force(strength)),
                strength / force,
            );
            findings.push(case.finding("low-strength", place, message));
        }
    }
}

/// A rope and hitch that the line's cord was not tested with. A line that names no cord is looked
/// up among the lesson's cords, or the pack's where the lesson lists none.
pub(super) fn untested_pairing(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let listed = &case.lesson.kit;
    let is_cord = |item: &&KitItem| item.kind == KitKind::Cord;
    let mut cords: Vec<&KitItem> = listed
        .iter()
        .map(|used| case.pack.kit_item(used.item))
        .filter(is_cord)
        .collect();
    if cords.is_empty() {
        cords = case.pack.kit.iter().filter(is_cord).collect();
    }
    for line in &case.rig.lines {
        let (Some(rope), Some(hitch)) = (case.kit(line.kit.as_ref()), &line.hitch) else {
            continue;
        };
        let own: Option<&KitItem> = case.kit(line.assembly.cord.as_ref());
        let tested = |cord: &KitItem| {
            let mut pairs = cord.tested_with.iter();
            pairs.any(|pair| pair.rope == rope.name && pair.hitch.eq_ignore_ascii_case(hitch))
        };
        let message = match own {
            Some(cord) if !tested(cord) => format!(
                "\"{}\" is not listed by its maker as tested with the {hitch} on \"{}\"",
                cord.title, rope.title
            ),
            None if !cords.iter().any(|cord| tested(cord)) => format!(
                "no cord of this lesson is listed by its maker as tested with the {hitch} on \"{}\"",
                rope.title
            ),
            _ => continue,
        };
        findings.push(case.finding("untested-pairing", line.place, message));
    }
}

/// Attachments that are made to be loaded in pairs.
const PAIRS: [(Attachment, Attachment); 2] = [
    (Attachment::FrontLeft, Attachment::FrontRight),
    (Attachment::SideLeft, Attachment::SideRight),
];

/// A front or side attachment loaded without its partner by the same line.
pub(super) fn unpaired(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for line in &case.rig.lines {
        let uses = |a: Attachment| line.run.contains(&Node::Climber(a));
        for (left, right) in PAIRS {
            let (alone, missing) = match (uses(left), uses(right)) {
                (true, false) => (left, right),
                (false, true) => (right, left),
                _ => continue,
            };
            let message = format!(
                "line \"{}\" loads {} without {}: these attachments are made to be loaded together",
                line.name,
                alone.word(),
                missing.word(),
            );
            findings.push(case.finding("unpaired", line.place, message));
        }
    }
}

/// Side attachments used with the feet off a surface.
pub(super) fn side_without_feet(case: &Case<'_>, findings: &mut Vec<Finding>) {
    if case.rig.feet.is_some() {
        return;
    }
    for line in &case.rig.lines {
        let side = |node: &Node| {
            matches!(
                node,
                Node::Climber(Attachment::SideLeft | Attachment::SideRight)
            )
        };
        if line.run.iter().any(side) {
            let message = format!(
                "line \"{}\" is on the side attachments and the feet are off: they support a climber who stands, never one who hangs",
                line.name
            );
            findings.push(case.finding("side-without-feet", line.place, message));
        }
    }
}

/// The run, the hitch and the tail need more line than the kit item has.
pub(super) fn too_short(case: &Case<'_>, findings: &mut Vec<Finding>) {
    for id in case.rig.line_ids() {
        let line = case.rig.line(id);
        let Some(has) = case.kit(line.kit.as_ref()).and_then(|item| item.length_m) else {
            continue;
        };
        let hitch = if line.hitch.is_some() {
            case.limit("too-short", "hitch")
        } else {
            0.0
        };
        let tail = case.limit("too-short", "tail");
        let run = case.solved.lines[id.0].length_m;
        let needs = run + hitch + tail;
        if needs > has {
            let message = format!(
                "line \"{}\" needs {} (run {}, hitch {}, tail {}) and its kit has {}",
                line.name,
                case.text(Quantity::Length(needs)),
                case.text(Quantity::Length(run)),
                case.text(Quantity::Length(hitch)),
                case.text(Quantity::Length(tail)),
                case.text(Quantity::Length(has)),
            );
            findings.push(case.finding("too-short", line.place, message));
        }
    }
}
