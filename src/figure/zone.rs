//! The `zone` figure: where the climber can be held, how hard each line pulls there, why it ends.
//!
//! ```text
//! Scene + Zone ─fill, edge, contours, reasons, key→ Composed
//! ```

use glam::DVec3;
use kurbo::{BezPath, Point, Rect, Vec2};

use super::facts::{force, spaced};
use super::hit::Outline;
use super::key::{self, Entry, SYMBOL_MM};
use super::label::{Cover, Spot, Wish};
use super::pulls::{line_entries, number, unit_word};
use super::scene::{Room, Scene};
use super::shape::{Cap, Ink, Item, Layer, Shape, Stroke};
use super::sheet::{Sheet, polygon, polyline, rect_path};
use super::text::{Align, Block, Run, bold, plain};
use super::{Composed, Detail, Style, describe};
use crate::quantity::{Quantity, quantity_text};
use crate::rig::Rig;
use crate::statics::{NotHeld, Solved, Zone};

/// Edge of the zone, reach, contours, mm.
const EDGE_MM: f64 = 0.6;
const REACH_MM: f64 = 0.55;
const CONTOUR_MM: f64 = 0.4;
/// Runs of the edge shorter than this get no label, mm.
const LEAST_RUN_MM: f64 = 12.0;

/// Composes the figure; `None` where there is no zone.
pub fn compose(rig: &Rig, solved: &Solved, style: Style) -> Option<Composed> {
    let zone = solved.zone.as_ref()?;
    if zone.outline.is_empty() {
        return None;
    }
    let scene = Scene::lay(rig, solved, style, &[], Room::of(style, 8.0));
    let mut sheet = Sheet::default();
    scene.draw_tree(&mut sheet);
    draw_zone(&mut sheet, &scene, zone);
    let asked = scene.asked_at(solved.climber_at, false);
    scene.draw_climber(&mut sheet, &asked);
    scene.draw_ropes(&mut sheet);
    scene.draw_marks(&mut sheet);
    wish_contours(&mut sheet, &scene, zone);
    sheet.settle(scene.field, Ink::Zone);
    wish_edges(&mut sheet, &scene, zone);
    sheet.settle(scene.field, Ink::Paper);
    let height = match style.detail {
        Detail::Full => {
            let entries = entries(&scene, zone);
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

fn draw_zone(sheet: &mut Sheet, scene: &Scene<'_>, zone: &Zone) {
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
    for contour in &zone.contours {
        let path = polyline(&on_sheet(scene, &contour.path));
        for outline in Outline::of_stroked_path(&path, CONTOUR_MM / 2.0) {
            sheet.block(Cover::Thin, outline);
        }
        let stroke = contour_stroke(contour.line.0);
        sheet.add(Layer::Contour, Shape::stroked(path, stroke));
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
        NotHeld::Spread(..) => vec![head("spread")],
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

/// The place at a share of a polyline's length, and the direction there.
fn place_along(points: &[Point], share: f64) -> (Point, Vec2) {
    let mut left = share * length_of(points);
    for two in points.windows(2) {
        let step = two[0].distance(two[1]);
        if step >= left && step > 0.0 {
            let way = (two[1] - two[0]) / step;
            return (two[0] + way * left, way);
        }
        left -= step;
    }
    (points[points.len() - 1], Vec2::new(1.0, 0.0))
}

fn wish_edges(sheet: &mut Sheet, scene: &Scene<'_>, zone: &Zone) {
    let mut runs: Vec<(f64, usize)> = zone
        .edges
        .iter()
        .enumerate()
        .map(|(i, edge)| (length_of(&on_sheet(scene, &edge.path)), i))
        .filter(|(long, _)| *long > LEAST_RUN_MM)
        .collect();
    runs.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    for (_, i) in runs {
        let edge = &zone.edges[i];
        let Some(lines) = reason_words(scene, edge.why) else {
            continue;
        };
        let points = on_sheet(scene, &edge.path);
        let (target, _) = place_along(&points, 0.5);
        sheet.wish(Wish {
            name: format!("edge-{}", i + 1),
            block: Block::new(lines),
            target,
            spots: Vec::new(),
            search: true,
        });
    }
}

fn wish_contours(sheet: &mut Sheet, scene: &Scene<'_>, zone: &Zone) {
    for (i, contour) in zone.contours.iter().enumerate() {
        let points = on_sheet(scene, &contour.path);
        if length_of(&points) < LEAST_RUN_MM {
            continue;
        }
        let ink = Ink::line(contour.line.0);
        let level = number(contour.pull_n, scene.style.units);
        let trimmed = if level.contains('.') {
            level.trim_end_matches('0').trim_end_matches('.')
        } else {
            level.as_str()
        };
        let block = Block::new(vec![vec![bold(trimmed, ink)]]);
        let spots = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8]
            .iter()
            .enumerate()
            .map(|(step, share)| {
                let (at, _) = place_along(&points, *share);
                Spot {
                    corner: at - Vec2::new(block.width(), block.height()) / 2.0,
                    align: Align::Middle,
                    cost: 0.5 * step as f64,
                    leader: false,
                }
            })
            .collect();
        sheet.wish(Wish {
            name: format!("contour-{}", i + 1),
            target: points[0],
            block,
            spots,
            search: false,
        });
    }
}

fn entries(scene: &Scene<'_>, zone: &Zone) -> Vec<Entry> {
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
        if zone.contours.iter().any(|c| c.line == facts.id) {
            let each = if facts.legs.len() > 1 {
                " in each leg"
            } else {
                ""
            };
            let words = format!("{}, {}{each}", facts.name, unit_word(units));
            rows.push(stroke_row(contour_stroke(facts.id.0), words));
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
