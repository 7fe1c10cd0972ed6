//! The `zone` figure: where the climber can be held, how hard each line pulls there, why it ends.
//!
//! ```text
//! Scene + Zone ─fill, edge, contours, reasons, key→ Composed
//! ```
//!
//! Over 500 lines: edge, contours and limits share what they are drawn and lettered with.

use glam::DVec3;
use kurbo::{BezPath, Point, Rect, Vec2};

use super::facts::{force, is_climber, spaced};
use super::forces::{number, unit_word};
use super::frame::CLIMBER_M;
use super::hit::{self, Outline, rect_gap, rects_meet, segment_meets_rect};
use super::key::{self, Entry, SYMBOL_MM};
use super::label::{Cover, Spot, Wish};
use super::naming::line_entries;
use super::scene::{Room, Scene};
use super::shape::{Cap, Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, Way, polygon, polyline, rect_path};
use super::text::{Align, Block, Run, bold, plain};
use super::{Composed, Detail, Style, climber, describe};
use crate::quantity::{Quantity, quantity_text};
use crate::rig::{LineId, Node, Rig};
use crate::statics::{Contour, NotHeld, Solved, Zone, ZoneEdge};

/// Edge of the zone, reach, contours, mm.
const EDGE_MM: f64 = 0.6;
const REACH_MM: f64 = 0.55;
const CONTOUR_MM: f64 = 0.4;
/// The longest or shortest line beyond the edge: stroke, dashes, how far it goes on, steps, mm.
const LIMIT_MM: f64 = 0.3;
const LIMIT_DASH: [f64; 4] = [4.0, 1.0, 1.0, 1.0];
const LIMIT_ON_MM: f64 = 24.0;
const LIMIT_STEP_MM: f64 = 1.0;
/// A contour runs along the edge within this, and crowds another of its line within that, mm; the
/// share of it that may, and at how many places this is looked at.
const ON_EDGE_MM: f64 = 1.2;
const APART_MM: f64 = 4.6;
const MOST_SHARED: f64 = 0.55;
const CONTOUR_CHECKS: i32 = 24;
/// Two runs of one reason whose ends are nearer than this share a label, mm.
const SAME_RUN_MM: f64 = 14.0;
/// Runs of the edge shorter than this get no label, mm; nor the longest of its reason under that.
const LEAST_RUN_MM: f64 = 12.0;
const LEAST_ONLY_RUN_MM: f64 = 4.0;
/// Prices of a contour's label: for each other line's contour within this, mm, and for each point
/// or climber within that, where ropes and contours meet.
const BESIDE_MM: f64 = 4.0;
const BESIDE_COST: f64 = 0.8;
const AT_POINT_MM: f64 = 14.0;
const AT_POINT_COST: f64 = 2.0;

/// Composes the figure; `None` where there is no zone.
pub fn compose(rig: &Rig, solved: &Solved, style: Style) -> Option<Composed> {
    let zone = solved.zone.as_ref()?;
    if zone.outline.is_empty() {
        return None;
    }
    // The whole zone is in the picture, however far it reaches below the climber.
    let places = zone.outline.iter().flatten();
    let lowest = places.min_by(|a, b| a.z.total_cmp(&b.z))?;
    // A place of the harness point has the climber's legs below it; here nobody hangs.
    let stands = *lowest + DVec3::Z * CLIMBER_M.1;
    let scene = Scene::lay(rig, solved, style, &[stands], Room::of(style, 8.0));
    let mut sheet = Sheet::default();
    scene.draw_tree(&mut sheet);
    let contours = clear_contours(&scene, zone);
    draw_zone(&mut sheet, &scene, zone, &contours);
    draw_limits(&mut sheet, &scene, zone);
    let asked = scene.asked_at(solved.climber_at, false);
    scene.draw_climber(&mut sheet, climber::climber(&asked));
    scene.draw_ropes(&mut sheet);
    scene.draw_marks(&mut sheet);
    wish_contours(&mut sheet, &scene, &contours);
    let inner = sheet.wishes();
    wish_edges(&mut sheet, &scene, zone);
    let outer = sheet.wishes();
    let [_, left_out] =
        sheet.settle_in_turn(scene.field, [(inner, Ink::Zone), (outer, Ink::Paper)]);
    let height = match style.detail {
        Detail::Full => {
            let mut entries = entries(&scene, zone, &contours);
            // What found no room at the edge is said here.
            entries.extend(left_out.iter().map(|wish| {
                let words = wish.block.words();
                Entry::note(format!("edge not lettered: {words}"))
            }));
            key::lay(&mut sheet, &entries, None, scene.field.y1, style.width_mm)
        }
        _ => scene.field.y1,
    };
    Some(Composed {
        title: format!("{}: where the climber can be held", rig.title),
        description: describe::zone(&scene, zone, &reasons(&scene, zone)),
        sheet,
        size_mm: (style.width_mm, height),
    })
}

fn on_sheet(scene: &Scene<'_>, path: &[DVec3]) -> Vec<Point> {
    path.iter().map(|p| scene.frame.at(*p)).collect()
}

/// Pattern of a line's contours, mm: told apart without colour.
const fn pattern(index: usize) -> &'static [f64] {
    match index {
        0 => &[],
        1 => &[2.2, 1.0],
        2 => &[0.8, 0.8],
        _ => &[4.0, 0.8, 0.8, 0.8],
    }
}

fn contour_stroke(index: usize) -> Stroke {
    Stroke::dashed(Ink::line(index), CONTOUR_MM, pattern(index))
}

fn reach_stroke() -> Stroke {
    Stroke::dashed(Ink::Reach, REACH_MM, &[0.01, 1.5]).cap(Cap::Round)
}

fn draw_zone(sheet: &mut Sheet, scene: &Scene<'_>, zone: &Zone, contours: &[Drawn<'_>]) {
    let mut whole = BezPath::new();
    for ring in &zone.outline {
        whole.extend(polygon(&on_sheet(scene, ring)));
    }
    for outline in Outline::of_stroked_path(&whole, EDGE_MM / 2.0) {
        sheet.block(Cover::Rope, outline);
    }
    sheet.add(Layer::Zone, Shape::filled(whole.clone(), Ink::Zone));
    for reach in &zone.reach {
        let path = polygon(&on_sheet(scene, reach));
        for outline in Outline::of_stroked_path(&path, REACH_MM / 2.0) {
            sheet.block(Cover::Thin, outline);
        }
        sheet.add(Layer::Zone, Shape::stroked(path, reach_stroke()));
    }
    sheet.add(
        Layer::Zone,
        Shape::stroked(whole, Stroke::solid(Ink::ZoneEdge, EDGE_MM)),
    );
    for drawn in contours {
        for two in drawn.path.windows(2) {
            let outline = Outline::segment(two[0], two[1], CONTOUR_MM / 2.0);
            sheet.block(Cover::Thin, outline);
        }
        let stroke = contour_stroke(drawn.contour.line.0);
        sheet.add(
            Layer::Contour,
            Shape::stroked(polyline(&drawn.path), stroke),
        );
    }
}

/// A contour that is drawn.
struct Drawn<'a> {
    /// Its place among all.
    number: usize,
    contour: &'a Contour,
    /// On the sheet.
    path: Vec<Point>,
    /// The box round it.
    around: Rect,
}

/// The contours that tell something: none that runs along the edge of the zone, or so near to one of
/// its own line that their labels would not fit between them.
fn clear_contours<'a>(scene: &Scene<'_>, zone: &'a Zone) -> Vec<Drawn<'a>> {
    let edges: Vec<Vec<Point>> = zone
        .edges
        .iter()
        .map(|edge| on_sheet(scene, &edge.path))
        .collect();
    let mut kept: Vec<Drawn<'a>> = Vec::new();
    for (number, contour) in zone.contours.iter().enumerate() {
        let path = on_sheet(scene, &contour.path);
        let places = places_along(&path);
        let own = kept.iter().filter(|k| k.contour.line == contour.line);
        let along_edge = mostly_near(&places, edges.iter(), ON_EDGE_MM);
        if !along_edge && !mostly_near(&places, own.map(|k| &k.path), APART_MM) {
            kept.push(Drawn {
                number,
                contour,
                around: around(&path),
                path,
            });
        }
    }
    kept
}

/// The box round places, of which there is one at least.
fn around(places: &[Point]) -> Rect {
    let first = Rect::from_points(places[0], places[0]);
    places.iter().fold(first, |around, p| around.union_pt(*p))
}

/// Places at even distances along a path, both ends among them.
fn places_along(path: &[Point]) -> Vec<Point> {
    let way = Way::new(path);
    (0..=CONTOUR_CHECKS)
        .map(|i| way.at(f64::from(i) / f64::from(CONTOUR_CHECKS)).0)
        .collect()
}

/// Whether more of some places than may lie within so many mm of others' paths.
fn mostly_near<'a>(
    places: &[Point],
    others: impl Iterator<Item = &'a Vec<Point>> + Clone,
    within_mm: f64,
) -> bool {
    let around = around(places);
    let strokes = others.flat_map(|points| points.windows(2));
    let strokes = strokes.filter(|two| rect_gap(hit::around(two[0], two[1]), around) <= within_mm);
    let strokes: Vec<[Point; 2]> = strokes.map(|two| [two[0], two[1]]).collect();
    let least = (MOST_SHARED * places.len() as f64).floor() as usize + 1;
    let mut near = 0;
    for (i, place) in places.iter().enumerate() {
        // Neither can what is left bring enough, nor is more needed than enough.
        if near >= least || near + places.len() - i < least {
            break;
        }
        let reach = Rect::from_center_size(*place, (2.0 * within_mm, 2.0 * within_mm));
        near += usize::from(
            strokes
                .iter()
                .any(|[a, b]| segment_meets_rect(*a, *b, reach)),
        );
    }
    near >= least
}

/// The circle on which a line is as long as it can be, or as short: centre and radius on the sheet.
/// `None` for a line whose legs run to different points, or to one that hangs.
fn limit_circle(scene: &Scene<'_>, id: LineId, limit_m: f64) -> Option<(Point, f64)> {
    let legs = &scene.facts[id.0].legs;
    let spans = legs.iter().map(|i| &scene.solved.spans[*i]);
    let mut own_m = 0.0;
    let mut centre: Option<(Node, DVec3)> = None;
    for span in spans {
        let far = if is_climber(span.from) {
            (span.to, span.to_at)
        } else {
            (span.from, span.from_at)
        };
        if centre.is_some_and(|(node, _)| node != far.0) {
            return None;
        }
        centre = Some(far);
        own_m += span.length_m;
    }
    let (node, at) = centre?;
    if matches!(node, Node::Point(id) if scene.rig.point(id).hangs) {
        return None;
    }
    let fixed_m = scene.facts[id.0].length_m - own_m;
    let radius_m = (limit_m - fixed_m) / legs.len() as f64;
    (radius_m > 0.0).then(|| (scene.frame.at(at), radius_m * scene.frame.scale))
}

/// A line's own limit of length at an edge, metres.
fn limit_of(scene: &Scene<'_>, why: NotHeld) -> Option<(LineId, f64)> {
    let adjust = |id: LineId| scene.rig.line(id).adjust_m;
    match why {
        NotHeld::TooShort(id) => Some((id, adjust(id)?.1)),
        NotHeld::TooLong(id) => Some((id, adjust(id)?.0)),
        _ => None,
    }
}

/// The line whose circle goes on past a stretch of the edge, its centre and radius; `None` for a
/// stretch with another reason, and for one too small to go on from.
fn circle_of(scene: &Scene<'_>, edge: &ZoneEdge) -> Option<(LineId, Point, f64)> {
    let (id, limit_m) = limit_of(scene, edge.why)?;
    let (centre, radius) = limit_circle(scene, id, limit_m)?;
    let long = length_of(&on_sheet(scene, &edge.path));
    (long >= 3.0 * LIMIT_STEP_MM && radius >= LIMIT_ON_MM / 2.0).then_some((id, centre, radius))
}

fn limit_stroke(ink: Ink) -> Stroke {
    Stroke::dashed(ink, LIMIT_MM, &LIMIT_DASH)
}

/// Where the longest or shortest line ends the zone, its circle goes on thinly past both ends.
fn draw_limits(sheet: &mut Sheet, scene: &Scene<'_>, zone: &Zone) {
    let field = scene.field.inset(-2.0);
    let low = scene.ground_y().unwrap_or(field.y1);
    for edge in &zone.edges {
        let Some((id, centre, radius)) = circle_of(scene, edge) else {
            continue;
        };
        let run = on_sheet(scene, &edge.path);
        let (first, last) = (run[0], run[run.len() - 1]);
        let way = Way::new(&run);
        let ((_, out), (_, into)) = (way.at(0.98), way.at(0.02));
        for (from, way) in [(last, out), (first, -into)] {
            // The run itself lies on the circle to a cell: start where the circle is nearest.
            let angle = libm::atan2(from.y - centre.y, from.x - centre.x);
            let tangent = Vec2::new(-libm::sin(angle), libm::cos(angle));
            let turn = LIMIT_STEP_MM / radius * tangent.dot(way).signum();
            let steps = (LIMIT_ON_MM / LIMIT_STEP_MM) as i32;
            let on: Vec<Point> = (0..=steps)
                .map(|i| angle + turn * f64::from(i))
                .map(|a| centre + Vec2::new(libm::cos(a), libm::sin(a)) * radius)
                .take_while(|p| field.contains(*p) && p.y < low)
                .collect();
            if on.len() > 3 {
                let path = polyline(&on);
                for outline in Outline::of_stroked_path(&path, LIMIT_MM / 2.0) {
                    sheet.block(Cover::Thin, outline);
                }
                let stroke = limit_stroke(Ink::line(id.0));
                sheet.add(Layer::Contour, Shape::stroked(path, stroke));
            }
        }
    }
}

/// A reason in words, for a label: the reason, then the line and its number.
fn reason_words(scene: &Scene<'_>, why: NotHeld) -> Option<Vec<Vec<Run>>> {
    let units = scene.style.units;
    let line = |id: crate::rig::LineId| &scene.rig.lines[id.0];
    let named = |id: crate::rig::LineId| bold(spaced(&line(id).name), Ink::line(id.0));
    let head = |words: &str| vec![bold(words, Ink::Ink)];
    let metres = |m: f64| quantity_text(Quantity::Length(m), units);
    Some(match why {
        NotHeld::CannotBalance => vec![head("cannot balance")],
        NotHeld::OverLimit(id) => {
            let limit = line(id).limit_n.unwrap_or_default();
            let above = format!(" above {}", force(limit, units));
            vec![head("over limit"), vec![named(id), plain(above, Ink::Ink)]]
        }
        NotHeld::TooShort(id) => {
            let most = line(id).adjust_m.map_or(0.0, |a| a.1);
            let at = format!(" at {}", metres(most));
            vec![head("line too short"), vec![named(id), plain(at, Ink::Ink)]]
        }
        NotHeld::TooLong(id) => {
            let least = line(id).adjust_m.map_or(0.0, |a| a.0);
            let at = format!(" at {}", metres(least));
            vec![head("line too long"), vec![named(id), plain(at, Ink::Ink)]]
        }
        NotHeld::Spread(..) => {
            let mut lines = vec![head("spread")];
            if let Some(most) = scene.rig.zone.spread_rad {
                let most = quantity_text(Quantity::Angle(most), units);
                lines.push(vec![plain(format!("over {most}"), Ink::Ink)]);
            }
            lines
        }
        NotHeld::Wood => vec![head("wood")],
        NotHeld::Ground => vec![head("ground")],
        NotHeld::Beyond => return None,
    })
}

/// The reasons that the zone ends, each once, in words.
fn reasons(scene: &Scene<'_>, zone: &Zone) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for edge in &zone.edges {
        if let Some(lines) = reason_words(scene, edge.why) {
            let words = Block::new(lines).words();
            if !all.contains(&words) {
                all.push(words);
            }
        }
    }
    all
}

fn length_of(points: &[Point]) -> f64 {
    points.windows(2).map(|two| two[0].distance(two[1])).sum()
}

fn wish_edges(sheet: &mut Sheet, scene: &Scene<'_>, zone: &Zone) {
    let mut runs: Vec<(f64, usize)> = zone
        .edges
        .iter()
        .enumerate()
        .map(|(i, edge)| (length_of(&on_sheet(scene, &edge.path)), i))
        .collect();
    runs.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    // On a small sheet every run of a reason may be short: the longest says it all the same.
    let mut known: Vec<NotHeld> = Vec::new();
    runs.retain(|(long, i)| {
        let why = zone.edges[*i].why;
        let first = !known.contains(&why);
        known.push(why);
        *long > LEAST_RUN_MM || (first && *long > LEAST_ONLY_RUN_MM)
    });
    let mut said: Vec<(NotHeld, Vec<Point>)> = Vec::new();
    for (_, i) in runs {
        let edge = &zone.edges[i];
        let Some(lines) = reason_words(scene, edge.why) else {
            continue;
        };
        let points = on_sheet(scene, &edge.path);
        // A limb that crosses the edge cuts one reason in two: it is said once.
        let again = said.iter().any(|(why, other)| {
            let ends = |path: &[Point]| [path[0], path[path.len() - 1]];
            let near = |a: Point| ends(other).iter().any(|b| a.distance(*b) < SAME_RUN_MM);
            *why == edge.why && ends(&points).into_iter().any(near)
        });
        said.push((edge.why, points.clone()));
        if again {
            continue;
        }
        let (target, _) = Way::new(&points).at(0.5);
        sheet.wish(Wish {
            name: format!("edge-{}", i + 1),
            block: Block::new(lines),
            target,
            spots: Vec::new(),
            search: true,
        });
    }
}

/// Whether a contour comes within so many mm of a place, across or up and down.
fn runs_within(drawn: &Drawn<'_>, at: Point, mm: f64) -> bool {
    let near = Rect::from_center_size(at, (2.0 * mm, 2.0 * mm));
    rects_meet(drawn.around, near)
        && drawn
            .path
            .windows(2)
            .any(|two| segment_meets_rect(two[0], two[1], near))
}

fn wish_contours(sheet: &mut Sheet, scene: &Scene<'_>, contours: &[Drawn<'_>]) {
    let places = scene.solved.points.iter().map(|p| scene.frame.at(p.at));
    let meetings: Vec<Point> = places.chain([scene.harness]).collect();
    for drawn in contours {
        let (contour, points) = (drawn.contour, &drawn.path);
        let way = Way::new(points);
        if way.long < LEAST_RUN_MM {
            continue;
        }
        let beside = |at: Point| {
            let others = contours.iter().filter(|o| o.number != drawn.number);
            let near = others.filter(|o| runs_within(o, at, BESIDE_MM));
            let met = meetings.iter().filter(|p| p.distance(at) < AT_POINT_MM);
            BESIDE_COST * near.count() as f64 + AT_POINT_COST * met.count() as f64
        };
        let ink = Ink::line(contour.line.0);
        let level = number(contour.pull_n, scene.style.units);
        let trimmed = if level.contains('.') {
            level.trim_end_matches('0').trim_end_matches('.')
        } else {
            level.as_str()
        };
        let block = Block::new(vec![vec![bold(trimmed, ink)]]);
        let spots = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88]
            .iter()
            .enumerate()
            .map(|(step, share)| {
                let (at, _) = way.at(*share);
                Spot {
                    corner: at - Vec2::new(block.width(), block.height()) / 2.0,
                    align: Align::Middle,
                    cost: 0.3 * step as f64 + beside(at),
                    leader: false,
                    tie: None,
                }
            })
            .collect();
        sheet.wish(Wish {
            name: format!("contour-{}", drawn.number + 1),
            target: points[0],
            block,
            spots,
            search: false,
        });
    }
}

fn entries(scene: &Scene<'_>, zone: &Zone, contours: &[Drawn<'_>]) -> Vec<Entry> {
    let units = scene.style.units;
    let area = quantity_text(Quantity::Area(zone.area_m2), units);
    let swatch = Rect::new(0.0, -1.7, SYMBOL_MM, 1.7);
    let edge = Stroke::solid(Ink::ZoneEdge, EDGE_MM);
    let fill: Item = Shape::both(rect_path(swatch), Ink::Zone, edge).into();
    let mut rows = vec![Entry::new(
        vec![fill],
        format!("the lines hold here: {area}"),
    )];
    let stroke_row = |stroke: Stroke, words: String| {
        let ends = [Point::ORIGIN, Point::new(SYMBOL_MM, 0.0)];
        Entry::new(vec![Shape::stroked(polyline(&ends), stroke).into()], words)
    };
    if let Some(reach) = scene
        .rig
        .zone
        .work_reach_m
        .filter(|_| !zone.reach.is_empty())
    {
        let more = quantity_text(Quantity::Length(reach), units);
        rows.push(stroke_row(
            reach_stroke(),
            format!("hands reach, {more} more"),
        ));
    }
    for facts in &scene.facts {
        if contours.iter().any(|drawn| drawn.contour.line == facts.id) {
            let each = if facts.legs.len() > 1 {
                " in each leg"
            } else {
                ""
            };
            let words = format!("{}, {}{each}", facts.name, unit_word(units));
            rows.push(stroke_row(contour_stroke(facts.id.0), words));
        }
    }
    let goes_on = |longest: bool| {
        zone.edges.iter().any(|edge| {
            let too_short = matches!(edge.why, NotHeld::TooShort(_));
            too_short == longest && circle_of(scene, edge).is_some()
        })
    };
    for (longest, words) in [(true, "longest line"), (false, "shortest line")] {
        if goes_on(longest) {
            rows.push(stroke_row(limit_stroke(Ink::Soft), words.to_owned()));
        }
    }
    rows.extend(line_entries(scene.rig, &scene.facts, units));
    let mass = Quantity::Mass(scene.rig.climber.nominal_mass_kg());
    let mass = quantity_text(mass, units);
    rows.push(Entry::note(format!(
        "Feet off. Climber of {mass} with kit."
    )));
    rows
}
