//! A figure in sentences, made from the same numbers: for readers who do not see the drawing.

use glam::DVec3;

use super::Style;
use super::effort::Rising;
use super::facts::{LineFacts, SLACK_N, force, length, spaced};
use super::loss_words::{STAYS_M, remaining};
use super::scene::Scene;
use super::space::turns;
use super::strip::{Strip, percent};
use crate::quantity::{Quantity, Units, degrees_text, number_text, quantity_text};
use crate::rig::{Rig, ValuePath};
use crate::statics::{LossOutcome, Solved, Zone};
use crate::value::evaluate;

/// The `pulls` figure.
pub fn pulls(scene: &Scene<'_>) -> String {
    let (rig, solved, units) = (scene.rig, scene.solved, scene.style.units);
    let mut say = vec![opening(rig, solved, units)];
    say.extend(scene.facts.iter().map(|f| line(rig, solved, f, units)));
    say.extend(feet(solved, units));
    say.extend(missing(solved, units));
    say.extend(spreads(scene));
    say.extend(loads(scene));
    say.join(" ")
}

/// The `setup` figure.
pub fn setup(scene: &Scene<'_>) -> String {
    let rig = scene.rig;
    let lines = scene.facts.iter().map(|facts| {
        let run: Vec<String> = rig.lines[facts.id.0]
            .run
            .iter()
            .map(|node| spaced(rig.node_name(*node)))
            .collect();
        let hitch = rig.lines[facts.id.0].hitch.as_ref();
        let hitch = hitch.map_or_else(String::new, |h| format!(", on a {h} hitch"));
        format!("The {} line runs {}{hitch}.", facts.name, run.join(" to "))
    });
    let mut say = vec!["Who is tied to what, without numbers.".to_owned()];
    say.extend(lines);
    say.join(" ")
}

/// The `zone` figure.
pub fn zone(scene: &Scene<'_>, zone: &Zone, reasons: &[String]) -> String {
    let units = scene.style.units;
    let (rig, solved) = (scene.rig, scene.solved);
    let area = quantity_text(Quantity::Area(zone.area_m2), units);
    let mut say = vec![
        opening(rig, solved, units),
        format!("With the feet off, the lines hold over an area of {area}."),
    ];
    if !reasons.is_empty() {
        say.push(format!("It ends where: {}.", reasons.join("; ")));
    }
    for facts in &scene.facts {
        let levels: Vec<String> = zone
            .contours
            .iter()
            .filter(|c| c.line == facts.id)
            .map(|c| force(c.pull_n, units))
            .collect();
        let mut levels = levels;
        levels.dedup();
        if !levels.is_empty() {
            say.push(format!(
                "Curves of equal pull of the {} line: {}.",
                facts.name,
                levels.join(", ")
            ));
        }
        say.push(line(rig, solved, facts, units));
    }
    say.join(" ")
}

/// The `polygon` figure.
///
/// - `unclosed`: name and newtons of each line's side, where the polygon does not close.
pub fn polygon(
    rig: &Rig,
    solved: &Solved,
    facts: &[LineFacts],
    units: Units,
    unclosed: Option<&[(&str, f64)]>,
) -> String {
    let mut say = vec![opening(rig, solved, units)];
    say.push("The forces on the climber drawn head to tail, the weight first.".to_owned());
    say.extend(facts.iter().map(|f| line(rig, solved, f, units)));
    say.extend(feet(solved, units));
    match unclosed {
        None => say.push("The polygon closes: the climber is in balance.".to_owned()),
        Some(sides) => {
            say.push("The polygon does not close.".to_owned());
            let nearest = sides
                .iter()
                .map(|(name, n)| format!("{name} {}", force(*n, units)));
            let nearest: Vec<String> = nearest.collect();
            if !nearest.is_empty() {
                say.push(format!("Pulls that come nearest: {}.", nearest.join(", ")));
            }
        }
    }
    say.extend(missing(solved, units));
    say.join(" ")
}

/// The `effort` figure.
pub fn effort(rig: &Rig, solved: &Solved, lines: &[Rising], units: Units) -> String {
    let mut say = vec![opening(rig, solved, units)];
    for line in lines {
        let name = &line.facts.name;
        let share = force(line.share_n, units);
        let Some(running) = &line.running else {
            say.push(format!(
                "The {name} line does not come back to the climber: to rise, all of the {share} that it carries must be raised."
            ));
            continue;
        };
        say.push(format!(
            "The {name} line, {}, carries {share} of the climber.",
            line.facts.way(rig)
        ));
        for (point, factor) in &running.passes {
            say.push(format!(
                "At {} the pull grows {} times.",
                spaced(&rig.point(*point).name),
                number_text(*factor, 2)
            ));
        }
        let part = |newtons: f64| {
            let share = number_text(newtons / line.share_n.max(1.0) * 100.0, 0);
            format!("{} ({share} %)", force(newtons, units))
        };
        say.push(format!(
            "To rise, the hand pulls {} on the hitch leg and the other leg carries {}; without friction each would be {}.",
            part(line.hand_n()),
            part(line.other_n()),
            part(line.even_n())
        ));
    }
    say.join(" ")
}

/// The `strip` figure.
pub fn strip(rig: &Rig, solved: &Solved, strips: &[Strip<'_>], style: Style<'_>) -> String {
    let units = style.units;
    let mut say = vec![opening(rig, solved, units)];
    for strip in strips {
        say.push(format!(
            "The {} line, {}, is made up of {} parts in order.",
            strip.facts.name,
            strip.facts.way(rig),
            strip.parts.len()
        ));
        for (i, part) in strip.parts.iter().enumerate() {
            let mut words = format!("{}: {}, {}", i + 1, part.role, part.which);
            if let Some(n) = part.carries_n {
                words.push_str(&format!(", carries {}", force(n, units)));
            }
            if let Some(n) = part.works_to_n {
                words.push_str(&format!(", works to {}", force(n, units)));
            }
            if let Some(share) = part.share() {
                words.push_str(&format!(", a share of {}", percent(share)));
            }
            say.push(format!("{words}."));
        }
        let tightest: Vec<String> = strip
            .tightest()
            .0
            .iter()
            .map(|i| (i + 1).to_string())
            .collect();
        if !tightest.is_empty() {
            say.push(format!("Tightest: part {}.", tightest.join(" and ")));
        }
    }
    say.join(" ")
}

/// The `loss` figure.
pub fn loss(rig: &Rig, solved: &Solved, facts: &[LineFacts], units: Units) -> String {
    let speed_text = |v: f64| quantity_text(Quantity::Speed(v), units);
    let mut say = vec![opening(rig, solved, units)];
    for loss in &solved.loss {
        let gone = &facts[loss.line.0];
        let carried = match carries(gone, units, solved.holds) {
            slack if slack.starts_with(" and") => ", which is slack".to_owned(),
            pulls => pulls.replace("and carries", "which carries"),
        };
        let LossOutcome::Held {
            drop_m,
            speed_m_s,
            pull_n,
            strikes,
            ..
        } = &loss.outcome
        else {
            say.push(format!(
                "If the {} line{carried}, goes, nothing holds: the climber falls.",
                gone.name
            ));
            continue;
        };
        let mut then = if *drop_m < STAYS_M {
            "the climber stays in place".to_owned()
        } else {
            let drop = length(*drop_m, units);
            let speed = speed_text(*speed_m_s);
            format!("the climber comes to rest {drop} lower, on the way at most {speed} fast")
        };
        if let (Some(pull), Some(left)) = (pull_n, remaining(facts, loss.line)) {
            let pull = force(*pull, units);
            then.push_str(&format!("; the {} line peaks at {pull}", left.name));
        }
        match strikes {
            Some(strike) => {
                let piece = spaced(&strike.piece);
                let after = length(strike.after_m, units);
                let speed = speed_text(strike.speed_m_s);
                then.push_str(&format!(
                    "; the harness point strikes the {piece} after {after} at up to {speed}"
                ));
            }
            None if *drop_m >= STAYS_M => then.push_str("; its path meets no wood"),
            None => {}
        }
        say.push(format!("If the {} line{carried}, goes, {then}.", gone.name));
    }
    say.join(" ")
}

/// The `space` figure.
pub fn space(rig: &Rig, solved: &Solved, facts: &[LineFacts], units: Units) -> String {
    let mut say = vec![opening(rig, solved, units)];
    say.push("Seen from the front and from above.".to_owned());
    say.extend(facts.iter().map(|f| line(rig, solved, f, units)));
    for (a, b, _, turn) in turns(facts) {
        let (a, b) = (&facts[a.0].name, &facts[b.0].name);
        let angle = degrees_text(turn);
        let nothing = if turn > std::f64::consts::PI {
            ", a side on which nothing pulls"
        } else {
            ""
        };
        say.push(format!(
            "Seen from above, clockwise, it is {angle} from {a} to {b}{nothing}."
        ));
    }
    say.extend(missing(solved, units));
    say.join(" ")
}

/// Who hangs where.
pub fn opening(rig: &Rig, solved: &Solved, units: Units) -> String {
    let mass = Quantity::Mass(rig.climber.nominal_mass_kg());
    let weight = force(solved.weight_n, units);
    let count = match rig.lines.len() {
        1 => "one line".to_owned(),
        2 => "two lines".to_owned(),
        3 => "three lines".to_owned(),
        n => format!("{n} lines"),
    };
    let held = if solved.holds {
        "is held by"
    } else {
        "cannot be held by"
    };
    format!(
        "A climber of {} with kit, weight {weight}, {held} {count}.",
        quantity_text(mass, units)
    )
}

/// One line: where it runs, at which angle, how it is rigged, what it carries.
pub fn line(rig: &Rig, solved: &Solved, facts: &LineFacts, units: Units) -> String {
    let angle = evaluate(rig, solved, ValuePath::Angle(facts.id));
    let runs = match (facts.direction, angle) {
        (Some(direction), Some(Quantity::Angle(angle))) => {
            let angle = degrees_text(angle);
            format!(
                "runs from the climber {} at {angle} from the vertical, {}",
                way(direction),
                facts.way(rig)
            )
        }
        _ => format!("runs {}", facts.way(rig)),
    };
    let carries = carries(facts, units, solved.holds);
    let long = length(facts.length_m, units);
    format!("The {} line {runs}, {long} long{carries}.", facts.name)
}

fn carries(facts: &LineFacts, units: Units, holds: bool) -> String {
    if !holds {
        return String::new();
    }
    let range = facts
        .range_text(units)
        .map_or_else(String::new, |r| format!(" ({r} with friction)"));
    if facts.is_slack() && !facts.is_unbounded() && range.is_empty() {
        return " and slack".to_owned();
    }
    let each = if facts.legs.len() > 1 && facts.legs_alike() {
        " in each leg"
    } else {
        ""
    };
    if facts.legs.len() > 1 && !facts.legs_alike() {
        let legs: Vec<String> = facts.leg_pulls_n.iter().map(|n| force(*n, units)).collect();
        return format!(", and carries {} in its legs{range}", legs.join(" and "));
    }
    facts.pull_text(units).map_or_else(String::new, |pull| {
        format!(", and carries {pull}{each}{range}")
    })
}

/// A direction in words: `up and left`.
fn way(v: DVec3) -> String {
    let upright = if v.z >= 0.0 { "up" } else { "down" };
    let across = v.x / v.length();
    if across.abs() < 0.02 {
        format!("straight {upright}")
    } else if across < 0.0 {
        format!("{upright} and left")
    } else {
        format!("{upright} and right")
    }
}

fn feet(solved: &Solved, units: Units) -> Option<String> {
    let push = solved.feet_push_n?;
    let push = force(push.length(), units);
    Some(format!("The feet push with {push}."))
}

fn missing(solved: &Solved, units: Units) -> Option<String> {
    let push = solved.push_needed_n?;
    let missing = force(push.length(), units);
    let goes = way(-push);
    Some(format!(
        "To hold there, {missing} are missing; without them the climber moves {goes}."
    ))
}

fn spreads(scene: &Scene<'_>) -> Option<String> {
    let [a, b] = &scene.facts[..] else {
        return None;
    };
    let spread = ValuePath::Spread(a.id, b.id);
    match evaluate(scene.rig, scene.solved, spread)? {
        Quantity::Angle(angle) => Some(format!("The two lines spread {}.", degrees_text(angle))),
        _ => None,
    }
}

fn loads(scene: &Scene<'_>) -> Option<String> {
    let units = scene.style.units;
    let loads: Vec<String> = scene
        .solved
        .points
        .iter()
        .zip(&scene.rig.points)
        .filter(|(_, point)| !point.hangs)
        .filter_map(|(answer, point)| {
            let load = answer.load_n?.length();
            let words = format!("{} on {}", force(load, units), spaced(&point.name));
            (load > SLACK_N).then_some(words)
        })
        .collect();
    (!loads.is_empty()).then(|| format!("Loads: {}.", loads.join(", ")))
}
