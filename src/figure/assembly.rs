//! What a line is made up of, in order, and what each part carries and works to.
//!
//! ```text
//! Line + Solved + Shelf ─parts→ Part… from the harness outwards (newtons)
//! ```
//!
//! Connectors are listed from the harness outwards. A line that comes back to the harness has all of
//! them there; another has the first there and the others at its far end.

use super::facts::{LineFacts, is_climber, spaced};
use super::shelf::Shelf;
use crate::kit::{KitItem, KitKind};
use crate::rig::{Attachment, Line, Node, Over, PointId, Rig};
use crate::statics::Solved;

/// What a part looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// The harness, where each leg of the line meets it.
    Harness(Attachment, Attachment),
    /// So many connectors.
    Connectors(usize),
    /// A hitch on the rope.
    Hitch,
    /// A device on the rope.
    Device,
    /// The place where a line that does not meet the harness begins.
    Start(PointId),
    /// The rope itself.
    Rope,
    /// A place where the rope goes on beyond.
    Pass(PointId),
    /// The place where a rope that comes back turns.
    Turn(PointId),
    /// The place where a rope ends.
    End(PointId),
}

/// A part of a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it looks like.
    pub mark: Mark,
    /// What it is: `connector`.
    pub role: String,
    /// Which one, or where.
    pub which: String,
    /// What it carries, newtons; `None` where the rig does not hold.
    pub carries_n: Option<f64>,
    /// What it may carry in use, newtons; `None` where nothing says so.
    pub works_to_n: Option<f64>,
}

impl Part {
    /// What it carries as a share of what it works to.
    pub fn share(&self) -> Option<f64> {
        let limit = self.works_to_n.filter(|n| *n > 0.0)?;
        Some(self.carries_n? / limit)
    }
}

/// The parts of a line, from the harness outwards; from its first point where it does not meet the
/// harness.
pub fn parts(rig: &Rig, solved: &Solved, facts: &LineFacts, shelf: Shelf<'_>) -> Vec<Part> {
    let line = rig.line(facts.id);
    let mut run = line.run.clone();
    if run.last().copied().is_some_and(is_climber) && !is_climber(run[0]) {
        run.reverse();
    }
    let from_harness = is_climber(run[0]);
    let comes_back = is_comes_back(&run);
    let leg_n = facts.leg_pulls_n.iter().copied().reduce(f64::max);
    let whole_n = facts.on_climber_n.map(|v| v.length());
    let mut parts = Vec::new();
    if let Node::Climber(first) = run[0] {
        let second = match run[run.len() - 1] {
            Node::Climber(second) => second,
            Node::Point(_) => first,
        };
        let item = shelf.harness();
        parts.push(Part {
            mark: Mark::Harness(first, second),
            role: "harness".to_owned(),
            which: short_attachment(first).to_owned(),
            carries_n: whole_n,
            works_to_n: item.and_then(|i| shelf.works_to(i)),
        });
    }
    let (connectors, devices) = fittings(line, shelf);
    let near = match (from_harness, comes_back) {
        (false, _) => 0,
        (true, true) => connectors.len(),
        (true, false) => connectors.len().min(1),
    };
    if let Node::Point(id) = run[0] {
        parts.push(place(rig, solved, facts, shelf, id, Mark::Start(id)));
    }
    let (near, far) = connectors.split_at(near);
    // One connector takes both legs of a line that comes back to one attachment.
    let both = near.len() == 1 && comes_back && run[0] == run[run.len() - 1];
    parts.extend(connector_part(
        near,
        "at the harness",
        if both { whole_n } else { leg_n },
        shelf,
    ));
    if let Some(hitch) = &line.hitch {
        let cord = shelf.item(line.assembly.cord.as_ref());
        parts.push(Part {
            mark: Mark::Hitch,
            role: hitch.clone(),
            which: cord.map_or_else(|| "hitch".to_owned(), short_title),
            carries_n: leg_n,
            works_to_n: cord.and_then(|i| shelf.works_to(i)),
        });
    }
    for device in devices {
        parts.push(Part {
            mark: Mark::Device,
            role: "device".to_owned(),
            which: short_title(device),
            carries_n: leg_n,
            works_to_n: shelf.works_to(device),
        });
    }
    let rope = shelf.item(line.kit.as_ref());
    parts.push(Part {
        mark: Mark::Rope,
        role: match rope.map(|item| item.kind) {
            Some(KitKind::Lanyard) => "lanyard",
            Some(KitKind::Cord) => "cord",
            _ => "rope",
        }
        .to_owned(),
        which: rope.map_or_else(|| ways(facts.legs.len()).to_owned(), short_title),
        carries_n: facts.pull_n,
        works_to_n: line.limit_n.or_else(|| shelf.works_to(rope?)),
    });
    let last = run.len() - 1;
    let points = run
        .iter()
        .enumerate()
        .skip(1)
        .filter_map(|(i, node)| match node {
            Node::Point(id) => Some((i, *id)),
            Node::Climber(_) => None,
        });
    for (i, id) in points {
        let mark = if i == last {
            let pull = solved.spans.iter().rfind(|s| s.line == facts.id);
            let pull = pull.and_then(|s| s.pull_n);
            parts.extend(connector_part(far, "at the anchor", pull, shelf));
            Mark::End(id)
        } else if comes_back && i == last - 1 {
            Mark::Turn(id)
        } else {
            Mark::Pass(id)
        };
        parts.push(place(rig, solved, facts, shelf, id, mark));
    }
    parts
}

/// Whether a run starts and ends at the harness.
fn is_comes_back(run: &[Node]) -> bool {
    run.len() > 2 && is_climber(run[0]) && is_climber(run[run.len() - 1])
}

/// Pairs are named once.
const fn short_attachment(attachment: Attachment) -> &'static str {
    match attachment {
        Attachment::Bridge => "bridge",
        Attachment::Centre => "centre ring",
        Attachment::FrontLeft | Attachment::FrontRight => "front rings",
        Attachment::SideLeft | Attachment::SideRight => "side rings",
        Attachment::Rear => "rear ring",
    }
}

/// Connectors, and what else the block lists among them: a device on the rope.
fn fittings<'a>(line: &Line, shelf: Shelf<'a>) -> (Vec<Option<&'a KitItem>>, Vec<&'a KitItem>) {
    let mut connectors = Vec::new();
    let mut devices = Vec::new();
    for name in &line.assembly.connectors {
        match shelf.item(Some(name)) {
            Some(item) if item.kind != KitKind::Connector => devices.push(item),
            item => connectors.push(item),
        }
    }
    (connectors, devices)
}

fn connector_part(
    connectors: &[Option<&KitItem>],
    which: &str,
    carries_n: Option<f64>,
    shelf: Shelf<'_>,
) -> Option<Part> {
    let limits = connectors.iter().map(|item| shelf.works_to((*item)?));
    let weakest = limits.reduce(|a, b| a.zip(b).map(|(a, b)| a.min(b)))?;
    let count = connectors.len();
    Some(Part {
        mark: Mark::Connectors(count),
        role: match count {
            1 => "connector".to_owned(),
            n => format!("{n} connectors"),
        },
        which: which.to_owned(),
        carries_n,
        works_to_n: weakest,
    })
}

fn place(
    rig: &Rig,
    solved: &Solved,
    facts: &LineFacts,
    shelf: Shelf<'_>,
    id: PointId,
    mark: Mark,
) -> Part {
    let ends = matches!(mark, Mark::Start(_) | Mark::End(_));
    let point = rig.point(id);
    let item = shelf.item(point.kit.as_ref());
    let here = solved
        .spans
        .iter()
        .filter(|s| s.line == facts.id && (s.from == Node::Point(id) || s.to == Node::Point(id)));
    let most = here
        .map(|s| s.pull_n)
        .reduce(|a, b| a.zip(b).map(|(a, b)| a.max(b)));
    let load = solved.points[id.0].load_n.map(|v| v.length());
    Part {
        mark,
        role: match (ends, point.over) {
            (true, _) if point.hangs => "ring",
            (true, _) => "anchor",
            (false, Some(Over::Pulley)) => "pulley",
            (false, Some(Over::Limb)) => "limb",
            (false, Some(Over::Stem)) => "stem",
            (false, Some(Over::Ring) | None) => "ring",
        }
        .to_owned(),
        which: item.map_or_else(|| spaced(&point.name), short_title),
        // What hangs on lines alone has no load of its own.
        carries_n: if point.hangs { most.flatten() } else { load },
        works_to_n: item.and_then(|i| shelf.works_to(i)),
    }
}

const fn ways(legs: usize) -> &'static str {
    match legs {
        0 | 1 => "one leg",
        2 => "two legs",
        _ => "many legs",
    }
}

/// A title up to its first comma: sizes and lengths are in the register.
fn short_title(item: &KitItem) -> String {
    let title = item.title.split(',').next().unwrap_or(&item.title);
    title.to_owned()
}
