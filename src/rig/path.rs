//! Reading a value's path over a rig's names: `main/pull`, `spread/main/second`, `climber/weight`.

use std::ops::Range;

use super::{LineId, Node, PointId, Rig, ValuePath};
use crate::block::Problem;
use crate::finding::nearest;
use crate::quantity::Dimension;

/// What is wrong with a path, and which bytes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PathProblem {
    /// The problem.
    pub problem: Problem,
    /// The part of the path.
    pub at: Range<usize>,
}

/// How each value is written, for errors and the authors' guide.
pub const VALUE_FORMS: &[&str] = &[
    "LINE/pull",
    "LINE/pull/low",
    "LINE/pull/high",
    "LINE/on-climber",
    "LINE/share",
    "LINE/length",
    "LINE/angle",
    "POINT/load",
    "POINT/load/angle",
    "spread/LINE/LINE",
    "climber/weight",
    "zone/area",
    "loss/LINE/drop",
    "loss/LINE/speed",
    "loss/LINE/pull",
    "effort/LINE",
];

/// The words after a line's name.
const LINE_VALUES: &[&str] = &["pull", "on-climber", "share", "length", "angle"];
/// The words after `loss/LINE`.
const LOSS_VALUES: &[&str] = &["drop", "speed", "pull"];

/// One part between slashes, with its bytes.
type Part<'a> = (&'a str, Range<usize>);

impl ValuePath {
    /// Reads a path over the names of a rig, and makes sure that the rig can have such a number.
    ///
    /// # Errors
    /// [`PathProblem`] with the part of the text that is wrong and the nearest valid name.
    pub fn parse(text: &str, rig: &Rig) -> Result<Self, PathProblem> {
        let path = read(text, rig)?;
        match path.impossible(rig) {
            Some(why) => Err(PathProblem {
                problem: Problem::NoSuchNumber {
                    path: text.to_owned(),
                    why,
                },
                at: 0..text.len(),
            }),
            None => Ok(path),
        }
    }

    /// The kind of number that the path names.
    pub const fn dimension(self) -> Dimension {
        match self {
            Self::Pull(_)
            | Self::PullLow(_)
            | Self::PullHigh(_)
            | Self::OnClimber(_)
            | Self::Load(_)
            | Self::Weight
            | Self::LossPull(_)
            | Self::Effort(_) => Dimension::Force,
            Self::Share(_) => Dimension::Share,
            Self::Length(_) | Self::LossDrop(_) => Dimension::Length,
            Self::Angle(_) | Self::LoadAngle(_) | Self::Spread(..) => Dimension::Angle,
            Self::ZoneArea => Dimension::Area,
            Self::LossSpeed(_) => Dimension::Speed,
        }
    }

    /// Why no solution of this rig could have such a number, as the rest of a sentence.
    fn impossible(self, rig: &Rig) -> Option<String> {
        let name = |id: LineId| &rig.line(id).name;
        let broken = |id: LineId| rig.line(id).run.is_empty();
        let away = |id: LineId| {
            (legs(rig, id) == 0 && !broken(id))
                .then(|| format!("line \"{}\" does not meet the climber", name(id)))
        };
        match self {
            Self::OnClimber(id) | Self::Share(id) | Self::Angle(id) => away(id),
            Self::Spread(a, b) => away(a).or_else(|| away(b)),
            Self::Effort(id) if legs(rig, id) < 2 && !broken(id) => Some(format!(
                "line \"{}\" is single; only a doubled line is taken in at the climber",
                name(id)
            )),
            Self::Load(id) | Self::LoadAngle(id) if rig.point(id).hangs => Some(format!(
                "point \"{}\" hangs, so the pulls on it add up to nothing",
                rig.point(id).name
            )),
            _ => None,
        }
    }
}

/// How many legs of a line meet the climber.
fn legs(rig: &Rig, id: LineId) -> usize {
    let run = &rig.line(id).run;
    let ends = run.iter().filter(|n| matches!(n, Node::Climber(_)));
    ends.count()
}

fn read(text: &str, rig: &Rig) -> Result<ValuePath, PathProblem> {
    let parts = split(text);
    let words: Vec<&str> = parts.iter().map(|(word, _)| *word).collect();
    match words[..] {
        ["climber", "weight"] => Ok(ValuePath::Weight),
        ["zone", "area"] => Ok(ValuePath::ZoneArea),
        ["spread", _, _] => Ok(ValuePath::Spread(
            line_of(&parts[1], rig)?,
            line_of(&parts[2], rig)?,
        )),
        ["effort", _] => Ok(ValuePath::Effort(line_of(&parts[1], rig)?)),
        ["loss", _, what] => {
            let id = line_of(&parts[1], rig)?;
            match what {
                "drop" => Ok(ValuePath::LossDrop(id)),
                "speed" => Ok(ValuePath::LossSpeed(id)),
                "pull" => Ok(ValuePath::LossPull(id)),
                _ => Err(unknown(text, &parts[2], LOSS_VALUES)),
            }
        }
        [_, "load"] => point_of(&parts[0], rig).map(ValuePath::Load),
        [_, "load", "angle"] => point_of(&parts[0], rig).map(ValuePath::LoadAngle),
        [_, "load", _] => Err(unknown(text, &parts[2], &["angle"])),
        [_, "pull", "low"] => line_of(&parts[0], rig).map(ValuePath::PullLow),
        [_, "pull", "high"] => line_of(&parts[0], rig).map(ValuePath::PullHigh),
        [_, "pull", _] => Err(unknown(text, &parts[2], &["low", "high"])),
        ["climber", _] => Err(unknown(text, &parts[1], &["weight"])),
        ["zone", _] => Err(unknown(text, &parts[1], &["area"])),
        [_, "pull"] => line_of(&parts[0], rig).map(ValuePath::Pull),
        [_, "on-climber"] => line_of(&parts[0], rig).map(ValuePath::OnClimber),
        [_, "share"] => line_of(&parts[0], rig).map(ValuePath::Share),
        [_, "length"] => line_of(&parts[0], rig).map(ValuePath::Length),
        [_, "angle"] => line_of(&parts[0], rig).map(ValuePath::Angle),
        [first, _] => Err(unknown_last(text, first, &parts[1], rig)),
        [first, _, _] => Err(unknown_first(text, first, &parts[0])),
        _ => Err(whole(text)),
    }
}

fn split(text: &str) -> Vec<Part<'_>> {
    let mut at = 0;
    let parts = text.split('/').map(|word| {
        let range = at..at + word.len();
        at = range.end + 1;
        (word, range)
    });
    parts.collect()
}

fn line_of((name, at): &Part<'_>, rig: &Rig) -> Result<LineId, PathProblem> {
    let found = rig.lines.iter().position(|l| l.name == *name);
    found.map(LineId).ok_or_else(|| {
        let valid = rig.lines.iter().map(|l| l.name.clone()).collect();
        no_name("line", name, valid, at)
    })
}

fn point_of((name, at): &Part<'_>, rig: &Rig) -> Result<PointId, PathProblem> {
    let found = rig.points.iter().position(|p| p.name == *name);
    found.map(PointId).ok_or_else(|| {
        let valid = rig.points.iter().map(|p| p.name.clone()).collect();
        no_name("point", name, valid, at)
    })
}

fn no_name(what: &'static str, name: &str, valid: Vec<String>, at: &Range<usize>) -> PathProblem {
    PathProblem {
        problem: Problem::UnknownName {
            what,
            name: name.to_owned(),
            valid,
        },
        at: at.clone(),
    }
}

/// A two-part path whose second part is not a value; the first may be a line, a point or a word.
fn unknown_last(text: &str, first: &str, last: &Part<'_>, rig: &Rig) -> PathProblem {
    if rig.lines.iter().any(|l| l.name == first) {
        return unknown(text, last, LINE_VALUES);
    }
    if rig.points.iter().any(|p| p.name == first) {
        return unknown(text, last, &["load"]);
    }
    whole(text)
}

/// A three-part path whose first part should be a word.
fn unknown_first(text: &str, first: &str, part: &Part<'_>) -> PathProblem {
    match nearest(first, ["loss", "spread"]) {
        Some(_) => unknown(text, part, &["loss", "spread"]),
        None => whole(text),
    }
}

/// One part is wrong; the help is the same path with the nearest word in its place.
fn unknown(text: &str, (word, at): &Part<'_>, valid: &[&str]) -> PathProblem {
    let near = nearest(word, valid.iter().copied());
    let near = near.or(if valid.len() == 1 {
        Some(valid[0])
    } else {
        None
    });
    PathProblem {
        problem: Problem::UnknownValue {
            path: text.to_owned(),
            nearest: near.map(|w| format!("{}{w}{}", &text[..at.start], &text[at.end..])),
            valid: valid.iter().map(|w| (*w).to_owned()).collect(),
        },
        at: at.clone(),
    }
}

/// Nothing of the path fits.
fn whole(text: &str) -> PathProblem {
    PathProblem {
        problem: Problem::UnknownValue {
            path: text.to_owned(),
            nearest: None,
            valid: VALUE_FORMS.iter().map(|w| (*w).to_owned()).collect(),
        },
        at: 0..text.len(),
    }
}
