//! Pulls of rigs with many lines: from four on values stand in a table, from six on each line has a
//! picture of its own.
//!
//! ```text
//! Scene ─table→ rows under the picture (four or five lines)
//! Rig ─panel each→ one line strong, the others quiet ─multiples→ Composed (six or more)
//! ```

use kurbo::{Point, Vec2};

use super::arrows::{self, Kind};
use super::facts::{LineFacts, SLACK_N, length};
use super::forces::{arrow_symbol, force_bar, force_scale, outgrowing};
use super::key::{self, EDGE_MM, Entry, broken, still};
use super::multiples::{self, Grid, Panel, Words};
use super::naming::line_words;
use super::scene::Scene;
use super::shape::{Ink, Item, Layer, Stroke};
use super::sheet::{Sheet, line};
use super::text::{Align, LEADING_MM, Run, SIZE_MM, bold, plain, width};
use super::{Composed, Detail, Style, climber, describe, rope};
use crate::quantity::{Quantity, degrees_text};
use crate::rig::{Rig, ValuePath};
use crate::statics::Solved;
use crate::value::evaluate;

/// From so many lines on, only names stand in the drawing.
pub const TABLE_FROM: usize = 4;
/// From so many lines on, no single drawing shows them.
pub const PANELS_FROM: usize = 6;

/// Right edges of the table's columns, as shares of the sheet's width: pull, range, angle, length.
const COLUMNS: [f64; 4] = [0.53, 0.71, 0.825, 0.97];
/// The same on a sheet narrower than this, mm, where ranges have rows of their own.
const NARROW_MM: f64 = 120.0;
const NARROW_COLUMNS: [f64; 4] = [0.53, 0.66, 0.82, 0.97];
/// Length of a line's sample, mm.
const SAMPLE_MM: f64 = 9.0;
/// Tallest picture of a panel, mm.
const TALLEST_MM: f64 = 80.0;

/// The values of all lines in their order, from `top` down; returns where the table ends.
pub fn table(sheet: &mut Sheet, scene: &Scene<'_>, top: f64) -> f64 {
    let units = scene.style.units;
    let whole = scene.style.width_mm;
    let columns = if whole < NARROW_MM {
        NARROW_COLUMNS
    } else {
        COLUMNS
    };
    let at = columns.map(|share| share * whole);
    let left = EDGE_MM + 0.8;
    let mut put = |x: f64, base: f64, align: Align, runs: Vec<Run>| {
        sheet.letter(Layer::Key, still(Point::new(x, base), align, runs));
    };
    let mut base = top + 5.0;
    let heads = ["pull", "range", "angle", "length"];
    for (x, head) in at.into_iter().zip(heads) {
        put(x, base, Align::End, vec![plain(head, Ink::Soft)]);
    }
    let rule = base + 1.9;
    base += LEADING_MM + 2.4;
    let mut samples: Vec<Item> = Vec::new();
    for facts in &scene.facts {
        let parts = facts.legs.len().max(1);
        let from = Point::new(left, base - 1.25);
        let sample = rope::sample(from, SAMPLE_MM, parts, facts.id.0);
        samples.extend(sample.into_iter().map(Item::Shape));
        let pull = if facts.is_slack() && !facts.is_unbounded() {
            "slack".to_owned()
        } else {
            let pull = facts.pull_text(units);
            let pull = pull.unwrap_or_else(|| "\u{2013}".to_owned());
            match facts.legs.len() {
                legs if legs > 1 => format!("{legs} \u{d7} {pull}"),
                _ => pull,
            }
        };
        let pull = vec![bold(pull, Ink::Ink)];
        let name = vec![bold(facts.name.clone(), Ink::line(facts.id.0))];
        let name_x = left + SAMPLE_MM + 2.2;
        let room = at[0] - width(&pull, SIZE_MM) - 2.0 - name_x;
        let lines = broken(&name, room);
        let fits = lines.iter().all(|line| width(line, SIZE_MM) <= room);
        let lines = if fits {
            lines
        } else {
            broken(&name, whole - name_x - EDGE_MM)
        };
        let count = lines.len();
        for (i, runs) in lines.into_iter().enumerate() {
            put(name_x, base, Align::Start, runs);
            if i + 1 < count || !fits {
                base += LEADING_MM;
            }
        }
        put(at[0], base, Align::End, pull);
        let angle = evaluate(scene.rig, scene.solved, ValuePath::Angle(facts.id));
        if let Some(Quantity::Angle(angle)) = angle {
            put(
                at[2],
                base,
                Align::End,
                vec![plain(degrees_text(angle), Ink::Ink)],
            );
        }
        let long = vec![plain(length(facts.length_m, units), Ink::Ink)];
        put(at[3], base, Align::End, long);
        if let Some(range) = facts.range_text(units) {
            let range = vec![plain(range, Ink::Soft)];
            // Where the columns are narrow the range has a row of its own.
            if width(&range, SIZE_MM) + 2.0 > at[1] - at[0] {
                base += LEADING_MM;
            }
            put(at[1], base, Align::End, range);
        }
        base += LEADING_MM + 0.8;
    }
    let ends = [Point::new(EDGE_MM, rule), Point::new(whole - EDGE_MM, rule)];
    sheet.add(
        Layer::Key,
        line(ends[0], ends[1], Stroke::solid(Ink::Ink, 0.35)),
    );
    sheet.extend(Layer::Key, samples);
    base - LEADING_MM
}

/// One picture a line, all at one scale and frame.
pub fn panels(rig: &Rig, solved: &Solved, style: Style<'_>) -> Composed {
    let grid = Grid::new(style, rig.lines.len());
    let scene = multiples::scene(rig, solved, style, &grid, &[], TALLEST_MM);
    let scale = force_scale(
        solved.weight_n,
        style.width_mm,
        style.detail,
        outgrowing(&scene),
    );
    let panels: Vec<Panel> = scene
        .facts
        .iter()
        .map(|facts| panel(&scene, facts, scale, style))
        .collect();
    let mut sheet = Sheet::default();
    let bottom = multiples::set(&mut sheet, &grid, &panels, &scene, 1.0) + 1.5;
    let height = match style.detail {
        Detail::Full => {
            let scale = force_bar(scale, style.units, "Force scale");
            let entries = [Entry::new(
                arrow_symbol(Kind::AnyPull),
                "pull on the climber",
            )];
            key::lay(&mut sheet, &entries, Some(&scale), bottom, style.width_mm)
        }
        _ => bottom,
    };
    Composed {
        title: format!("{}: pulls", rig.title),
        description: describe::pulls(&scene),
        sheet,
        size_mm: (style.width_mm, height),
    }
}

fn panel(scene: &Scene<'_>, own: &LineFacts, scale: f64, style: Style<'_>) -> Panel {
    let mut sheet = Sheet::default();
    scene.draw_wood(&mut sheet);
    for facts in scene.facts.iter().filter(|f| f.id != own.id) {
        for stretch in scene.stretches(facts.id) {
            let (from, to) = (scene.frame.at(stretch.from), scene.frame.at(stretch.to));
            sheet.add(Layer::RopeBack, rope::quiet(from, to));
        }
    }
    let asked = scene.asked_at(scene.solved.climber_at, false);
    scene.draw_climber(&mut sheet, climber::climber(&asked));
    scene.draw_rope(&mut sheet, own.id, &scene.stretches(own.id));
    if let Some(pull) = own.on_climber_n.filter(|v| v.length() > SLACK_N) {
        let vector: Vec2 = scene.frame.direction(pull) * (scale / 1000.0);
        let id = format!("force-{}", scene.rig.line(own.id).name);
        let tip = scene.harness + vector;
        arrows::arrow(&mut sheet, &id, Kind::Pull(own.id.0), scene.harness, tip);
    }
    scene.draw_marks(&mut sheet);
    let said = line_words(own, style.units, scene.solved.holds);
    let mut lines = said.into_iter();
    let heading = lines.next().unwrap_or_default();
    let mut lines: Vec<Vec<Run>> = lines.collect();
    let angle = evaluate(scene.rig, scene.solved, ValuePath::Angle(own.id));
    let long = length(own.length_m, style.units);
    lines.push(vec![plain(
        match angle {
            Some(Quantity::Angle(angle)) => {
                format!("{long}, {} from the vertical", degrees_text(angle))
            }
            _ => long,
        },
        Ink::Ink,
    )]);
    Panel {
        suffix: format!("-of-{}", scene.rig.line(own.id).name),
        heading,
        picture: sheet,
        height_mm: scene.field.y1,
        words: vec![Words { sign: None, lines }],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Units;
    use crate::rig::{FigureKind, RigBuilder};
    use crate::statics::{Ask, solve};

    fn fan(lines: usize) -> Rig {
        let mut rig = RigBuilder::new("fan")
            .mass_kg(80.0)
            .climber([2.5, 4.0])
            .stem("stem", [0.0, 0.0], [0.1, 10.0], (0.5, 0.3))
            .ground_m(0.0);
        for i in 0..lines {
            let point = format!("point-{i}");
            let x = 0.3 + 5.0 * i as f64 / (lines - 1) as f64;
            rig = rig
                .point(&point, [x, 9.0])
                .line(&format!("line-{i}"), &["centre", &point]);
        }
        rig.build().expect("a rig")
    }

    #[test]
    fn values_of_four_lines_stand_in_a_table_and_six_have_a_picture_each() {
        let style = Style {
            units: Units::Metric,
            width_mm: 160.0,
            detail: Detail::Full,
            ..super::super::checks::STYLE
        };
        for (lines, pictures) in [(4, 1), (6, 6)] {
            let rig = fan(lines);
            let solved = solve(&rig, Ask::PULLS).expect("an answer");
            let drawn = super::super::draw(&rig, &solved, FigureKind::Pulls, style).expect("pulls");
            assert_eq!(
                drawn.svg.matches("id=\"fan-pulls-stem-stem").count(),
                pictures
            );
            for facts in super::super::facts::gather(&rig, &solved) {
                let pull = facts.pull_text(Units::Metric).expect("it holds");
                assert!(drawn.svg.contains(&pull), "{pull}");
                assert!(drawn.description.contains(&facts.name));
            }
        }
    }
}
