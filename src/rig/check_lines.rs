//! The points and lines of a rig block: runs, passes, grips, lengths, kit.

use std::collections::BTreeMap;

use super::check::{Around, Coordinates, unknown_name};
use super::check_tree::read_on;
use super::{Assembly, Attachment, Fitting, Line, LineId, Node, Over, Pass, Point, PointId, Tree};
use crate::block::{Item, Problem, Table, Text};
use crate::finding::Place;
use crate::kit::KitItem;
use crate::quantity::Dimension;

/// First parts of a value's path: a line or point of such a name could not be asked about.
const PATH_WORDS: &[&str] = &["climber", "zone", "loss", "effort", "spread"];

/// A point whose grips are still words.
#[derive(Debug)]
pub(super) struct RawPoint {
    point: Point,
    grips: Vec<Text>,
    at_place: Option<Place>,
}

impl RawPoint {
    /// The point, without its grips.
    pub(super) fn into_point(self) -> Point {
        self.point
    }
}

/// Everything that a run may name.
#[derive(Debug)]
pub(super) struct Names {
    nodes: BTreeMap<String, Node>,
    words: Vec<String>,
}

impl Names {
    /// Attachments and the points of the rig.
    pub(super) fn new(points: &[RawPoint]) -> Self {
        let attachments = Attachment::ALL
            .into_iter()
            .map(|a| (a.word().to_owned(), Node::Climber(a)));
        let own = points.iter().enumerate();
        let own = own.map(|(i, raw)| (raw.point.name.clone(), Node::Point(PointId(i))));
        let pairs: Vec<_> = own.chain(attachments).collect();
        let words = pairs.iter().map(|(name, _)| name.clone()).collect();
        Self {
            nodes: pairs.into_iter().collect(),
            words,
        }
    }
}

/// Whether a name can stand in a path, in a file name and in an id.
pub(crate) fn is_plain_name(name: &str) -> bool {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '-' | '_');
    name.chars()
        .next()
        .is_some_and(|c| c.is_ascii_alphanumeric())
        && name.chars().all(plain)
}

fn check_name(table: &Table<'_>, what: &'static str, name: &Text) {
    let why = if !is_plain_name(&name.value) {
        "only small letters, digits, hyphens and underlines can stand in it"
    } else if PATH_WORDS.contains(&name.value.as_str()) {
        "values such as `climber/weight` begin with this word"
    } else if what == "point" && Attachment::ALL.iter().any(|a| a.word() == name.value) {
        "it is an attachment of the harness"
    } else {
        return;
    };
    let problem = Problem::BadName {
        what,
        name: name.value.clone(),
        why,
    };
    table.report(&problem, name.place);
}

/// Reads all `[point.NAME]`.
pub(super) fn read_points(
    root: &mut Table<'_>,
    coordinates: &mut Coordinates,
    tree: &Tree,
    around: Around<'_>,
    hung: bool,
) -> Vec<RawPoint> {
    let tables = root.named_tables("point");
    let points = tables.into_iter().map(|(name, mut table)| {
        check_name(&table, "point", &name);
        let hangs = table.flag("hangs");
        let at_item = table.take("at");
        let at = at_item.as_ref().and_then(|item| item.coordinate());
        let at = at.map(|c| coordinates.note(c));
        let over_words = Over::ALL.map(|over| (over.word(), over));
        let over = table.take("over").and_then(|item| item.word(&over_words));
        let on = read_on(&mut table, tree);
        let kit = read_kit(&mut table, "kit", around);
        let pass = read_pass(&mut table, kit.as_ref().and_then(|(_, item)| *item));
        let grips = table.texts("grips");
        let fitting = read_fitting(&mut table, around);
        match (at_item, hangs && hung) {
            (None, false) => table.missing("at", "at = [0.2, 11.0]"),
            (Some(item), true) => item.report(&Problem::Unused {
                key: "at".to_owned(),
                why: "the lengths of a hung rig give a hanging point its place",
            }),
            _ => {}
        }
        let place = table.place();
        table.finish();
        RawPoint {
            point: Point {
                name: name.value,
                at: at.map(|c| c.at).filter(|_| !(hangs && hung)),
                hangs,
                on,
                over,
                pass,
                grips: Vec::new(),
                kit: kit.map(|(name, _)| name),
                fitting,
                place,
            },
            grips,
            at_place: at.map(|c| c.place),
        }
    });
    points.collect()
}

/// `loop`, `closed_by` and `gate`.
fn read_fitting(table: &mut Table<'_>, around: Around<'_>) -> Fitting {
    let loop_m = table.positive("loop", Dimension::Length);
    let closed_by = read_kit(table, "closed_by", around).map(|(name, _)| name);
    let faces = [("to-rope", true), ("away", false)];
    Fitting {
        loop_m,
        closed_by,
        gate_to_rope: table.take("gate").and_then(|item| item.word(&faces)),
    }
}

/// `cord`, `connectors`, `stopper`, `slides`, `slack` and `retrieve`.
fn read_assembly(table: &mut Table<'_>, points: &[RawPoint], around: Around<'_>) -> Assembly {
    let cord = read_kit(table, "cord", around).map(|(name, _)| name);
    let connectors = table.texts("connectors");
    let stopper = table.take("stopper").and_then(|item| item.boolean());
    let slides = table.flag("slides");
    let slack_m = table.take("slack").and_then(|item| {
        let slack = item.quantity(Dimension::Length)?;
        if slack < 0.0 {
            item.out_of_range("a length of zero or more");
            return None;
        }
        Some(slack)
    });
    let mut retrieve = Vec::new();
    for text in table.texts("retrieve") {
        let found = points.iter().position(|p| p.point.name == text.value);
        match found {
            Some(i) => retrieve.push(PointId(i)),
            None => {
                let valid = points.iter().map(|p| p.point.name.as_str());
                table.report(&unknown_name("point", &text.value, valid), text.place);
            }
        }
    }
    let known = connectors
        .into_iter()
        .filter(|text| find_kit(table, text, around).is_some());
    Assembly {
        cord,
        connectors: known.map(|text| text.value).collect(),
        stopper,
        slides,
        slack_m,
        retrieve,
    }
}

/// `efficiency`, or `friction` with `turns`; from kit where the block says neither.
fn read_pass(table: &mut Table<'_>, kit: Option<&KitItem>) -> Pass {
    let efficiency_item = table.take("efficiency");
    let efficiency = efficiency_item.as_ref().and_then(read_efficiency);
    let friction_item = table.take("friction");
    let friction = friction_item
        .as_ref()
        .and_then(|item| item.number_from(0.0));
    let turns_item = table.take("turns");
    let turns = turns_item.as_ref().and_then(|item| item.number_from(0.0));
    if let (Some(item), true) = (&efficiency_item, friction_item.is_some()) {
        item.report(&Problem::Conflict {
            message: "`efficiency` and `friction` both say how the line slides here".to_owned(),
            help: "keep `efficiency` for a pulley, `friction` for anything else".to_owned(),
        });
    } else if let (Some(_), Some(item)) = (&efficiency_item, &turns_item) {
        item.report(&Problem::Conflict {
            message: "`turns` goes with `friction`, and this point has an `efficiency`".to_owned(),
            help: "take `turns` out, or give `friction` instead of `efficiency`".to_owned(),
        });
    }
    let turns = turns.unwrap_or(0.0);
    let from_kit = |item: &KitItem| {
        let by_friction = item.friction.map(|mu| Pass::Friction { mu, turns });
        item.efficiency.map(Pass::Efficiency).or(by_friction)
    };
    match (efficiency, friction) {
        (Some(eta), _) => Pass::Efficiency(eta),
        (None, Some(mu)) => Pass::Friction { mu, turns },
        (None, None) => kit
            .and_then(from_kit)
            .unwrap_or(Pass::Friction { mu: 0.0, turns }),
    }
}

/// A pulley's efficiency: above 0, at most 1; `0.92` or `"92 %"`.
pub(crate) fn read_efficiency(item: &Item<'_>) -> Option<f64> {
    let eta = item.quantity(Dimension::Share)?;
    if eta <= 0.0 || eta > 1.0 {
        item.out_of_range("above 0 and at most 1");
        return None;
    }
    Some(eta)
}

/// The name of a kit item, and the item where it could be read.
fn read_kit<'a>(
    table: &mut Table<'_>,
    key: &'static str,
    around: Around<'a>,
) -> Option<(String, Option<&'a KitItem>)> {
    let text = table.text(key)?;
    let item = find_kit(table, &text, around)?;
    Some((text.value, item))
}

/// The kit item of a name: `None` where there is none (noted), `Some(None)` where it has an error.
fn find_kit<'a>(
    table: &Table<'_>,
    Text { value, place, .. }: &Text,
    around: Around<'a>,
) -> Option<Option<&'a KitItem>> {
    let item = around.kit.get(value.as_str()).copied();
    if item.is_none() && around.has_kit && !around.broken_kit.contains(value) {
        let valid = around.kit.keys().copied();
        let valid = valid.chain(around.broken_kit.iter().map(String::as_str));
        table.report(&unknown_name("kit item", value, valid), *place);
        return None;
    }
    Some(item)
}

/// Reads all `[line.NAME]`.
pub(super) fn read_lines(
    root: &mut Table<'_>,
    names: &Names,
    points: &[RawPoint],
    around: Around<'_>,
    hung: bool,
) -> Vec<Line> {
    let tables = root.named_tables("line");
    if tables.is_empty() {
        root.missing("line", "[line.main]");
    }
    let lines = tables.into_iter().map(|(name, mut table)| {
        check_name(&table, "line", &name);
        let run = read_run(&mut table, &name.value, names);
        let kit = read_kit(&mut table, "kit", around);
        let hitch = table.string("hitch");
        let adjust_m = table
            .take("adjust")
            .and_then(|item| item.positive_range(Dimension::Length));
        let own_limit = table.positive("limit", Dimension::Force);
        let assembly = read_assembly(&mut table, points, around);
        let lengths_m = read_lengths(&mut table, &name.value, &run, points, hung);
        let place = table.place();
        table.finish();
        let kit_limit = kit.as_ref().and_then(|(_, item)| item.as_ref());
        let kit_limit = kit_limit.and_then(|item| item.working_limit_n);
        Line {
            name: name.value,
            run,
            kit: kit.map(|(name, _)| name),
            hitch,
            adjust_m,
            limit_n: own_limit.or(kit_limit),
            assembly,
            lengths_m,
            place,
        }
    });
    lines.collect()
}

/// Reads `run`: at least two places, no two neighbours alike. Empty where it cannot be read whole,
/// so that nothing more is said about what would follow from it.
fn read_run(table: &mut Table<'_>, line: &str, names: &Names) -> Vec<Node> {
    let Some(item) = table.need("run", "run = [\"bridge\", \"top\"]") else {
        return Vec::new();
    };
    let Some(items) = item.list() else {
        return Vec::new();
    };
    let texts = items.iter().map(Item::text);
    let nodes: Vec<Option<(Node, Place)>> = texts
        .map(|text| {
            let text = text?;
            let node = names.nodes.get(&text.value).copied();
            if node.is_none() {
                let valid = names.words.iter().map(String::as_str);
                let problem = unknown_name("point or attachment", &text.value, valid);
                table.report(&problem, text.place);
            }
            Some((node?, text.place))
        })
        .collect();
    for pair in nodes.windows(2) {
        let [Some((before, _)), Some((after, at))] = pair else {
            continue;
        };
        let why = match (before, after) {
            (Node::Climber(_), Node::Climber(_)) => "goes from the harness straight back to it",
            _ if before == after => "names a place twice in a row",
            _ => continue,
        };
        let line = line.to_owned();
        table.report(&Problem::ShortRun { line, why }, *at);
    }
    if items.len() < 2 {
        let line = line.to_owned();
        let why = "needs a run of two places at least";
        item.report(&Problem::ShortRun { line, why });
        return Vec::new();
    }
    let run: Option<Vec<Node>> = nodes.into_iter().map(|n| n.map(|(node, _)| node)).collect();
    run.unwrap_or_default()
}

/// Points that a line passes: all of its run but the ends.
fn passes(run: &[Node]) -> impl Iterator<Item = PointId> + '_ {
    let inner = run.get(1..run.len().saturating_sub(1)).unwrap_or(&[]);
    inner.iter().filter_map(|node| match node {
        Node::Point(id) => Some(*id),
        Node::Climber(_) => None,
    })
}

/// Reads `length`: one for each part between grips, in hung rigs only.
fn read_lengths(
    table: &mut Table<'_>,
    line: &str,
    run: &[Node],
    points: &[RawPoint],
    hung: bool,
) -> Vec<f64> {
    let Some(item) = table.take("length") else {
        if hung {
            table.missing("length", "length = \"9.8 m\"");
        }
        return Vec::new();
    };
    let items = item.one_or_more();
    let lengths: Vec<f64> = items
        .iter()
        .filter_map(|part| part.positive(Dimension::Length))
        .collect();
    if !hung {
        item.report(&Problem::Unused {
            key: "length".to_owned(),
            why: "climber.at gives the lengths of a held rig",
        });
        return Vec::new();
    }
    let gripped = |id: &PointId| points[id.0].grips.iter().any(|g| g.value == line);
    let want = passes(run).filter(gripped).count() + 1;
    if !run.is_empty() && items.len() != want {
        item.report(&Problem::WrongCount {
            key: "length".to_owned(),
            found: items.len(),
            want: match want {
                1 => "one length: no grip cuts this line".to_owned(),
                _ => format!("{want} lengths: grips cut this line into so many parts"),
            },
        });
    }
    lengths
}

/// Resolves the grips of every point, in order, and finds hanging points that nothing holds up.
pub(super) fn resolve_grips(
    root: &Table<'_>,
    points: &[RawPoint],
    lines: &[Line],
) -> Vec<Vec<LineId>> {
    let resolved = points.iter().enumerate().map(|(i, raw)| {
        let id = PointId(i);
        note_unheld(root, raw, lines, id);
        let grips = raw.grips.iter().filter_map(|grip| {
            let found = lines.iter().position(|l| l.name == grip.value);
            let Some(found) = found else {
                let valid = lines.iter().map(|l| l.name.as_str());
                root.report(&unknown_name("line", &grip.value, valid), grip.place);
                return None;
            };
            let run = &lines[found].run;
            if !run.is_empty() && !passes(run).any(|p| p == id) {
                let passing = lines.iter().filter(|l| passes(&l.run).any(|p| p == id));
                let problem = Problem::NotPassing {
                    line: grip.value.clone(),
                    point: raw.point.name.clone(),
                    passing: passing.map(|l| l.name.clone()).collect(),
                };
                root.report(&problem, grip.place);
            }
            Some(LineId(found))
        });
        grips.collect()
    });
    resolved.collect()
}

/// A hanging point on no line cannot be in balance; a fixed one is only left over.
fn note_unheld(root: &Table<'_>, raw: &RawPoint, lines: &[Line], id: PointId) {
    let unsure = lines.is_empty() || lines.iter().any(|l| l.run.is_empty());
    if unsure || lines.iter().any(|l| l.run.contains(&Node::Point(id))) {
        return;
    }
    let name = &raw.point.name;
    if raw.point.hangs {
        let problem = Problem::Conflict {
            message: format!("point \"{name}\" hangs, but no line holds it up"),
            help: "put it into the run of a line".to_owned(),
        };
        root.report(&problem, raw.point.place);
    } else {
        let problem = Problem::Unused {
            key: format!("point.{name}"),
            why: "no line runs to it",
        };
        root.report(&problem, raw.at_place.unwrap_or(raw.point.place));
    }
}
