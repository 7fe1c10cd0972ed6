//! The height staff at the left of a picture: metres (or feet) filled in turn, lettered.

use kurbo::{Point, Rect};

use super::frame::Frame;
use super::hit::Outline;
use super::label::Cover;
use super::shape::{Ink, Layer, Shape, Stroke};
use super::sheet::{Sheet, rect_path};
use super::text::{Align, SIZE_MM, Text, plain, width};
use crate::quantity::{M_PER_FT, Units, number_text};

/// Left edge and width of the staff, mm.
const LEFT_MM: f64 = 4.5;
const WIDTH_MM: f64 = 1.8;
/// From the staff to its numbers, mm.
const GAP_MM: f64 = 1.0;
/// Least distance between numbers, mm.
const LEAST_NUMBER_MM: f64 = 9.0;

/// Room that the staff takes at the left of a sheet, mm.
pub const ROOM_MM: f64 = 16.0;

/// Draws the staff from one height to another (metres), and letters every second, fifth or tenth.
pub fn draw(sheet: &mut Sheet, frame: &Frame, low_m: f64, high_m: f64, units: Units) {
    let (unit_m, word) = match units {
        Units::Metric => (1.0, "m"),
        Units::Imperial => (M_PER_FT, "ft"),
    };
    let steps = [1, 2, 5, 10, 20, 50, 100];
    let least_part = 4.0 / (unit_m * frame.scale);
    let part = *steps
        .iter()
        .find(|s| f64::from(**s) >= least_part)
        .unwrap_or(&100);
    let part_mm = f64::from(part) * unit_m * frame.scale;
    // Numbers stand at every part, or at every second where parts are short.
    let each = if part_mm >= 1.6 * LEAST_NUMBER_MM {
        1
    } else {
        2
    };
    let first = (low_m / unit_m / f64::from(part) - 1e-9).ceil() as i64;
    let last = (high_m / unit_m / f64::from(part) + 1e-9).floor() as i64;
    let y = |count: i64| frame.origin.y - count as f64 * part_mm;
    for count in first..last {
        let ink = if (count - first) % 2 == 0 {
            Ink::Soft
        } else {
            Ink::Paper
        };
        let rect = Rect::new(LEFT_MM, y(count + 1), LEFT_MM + WIDTH_MM, y(count));
        let edge = Stroke::solid(Ink::Soft, 0.25);
        sheet.add(Layer::Key, Shape::both(rect_path(rect), ink, edge));
        sheet.block(Cover::Never, Outline::Box(rect));
    }
    let lettered: Vec<i64> = (first..=last).filter(|c| c.rem_euclid(each) == 0).collect();
    for count in &lettered {
        let number = number_text((*count * i64::from(part)) as f64, 0);
        let unit = if Some(count) == lettered.last() {
            format!("\u{a0}{word}")
        } else {
            String::new()
        };
        let lift = if *count == first { 0.0 } else { 1.25 };
        let at = Point::new(LEFT_MM + WIDTH_MM + GAP_MM, y(*count) + lift);
        let runs = vec![plain(format!("{number}{unit}"), Ink::Soft)];
        debug_assert!(
            width(&runs, SIZE_MM) < ROOM_MM,
            "a number wider than the staff's room"
        );
        sheet.letter(Layer::Key, Text::new(at, Align::Start, runs));
    }
}
