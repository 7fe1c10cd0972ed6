//! Paths of drawings as text: places rounded to a grid, steps between rounded places, so that rounding
//! does not add up.
//!
//! ```text
//! BezPath ─round→ whole units of a grid ─Pen→ path data
//! ```

use std::cell::RefCell;

use kurbo::{BezPath, PathEl, Point};

use super::number::{Grid, PLACE, Place, READY, Ready, Signs, hundredths, tenths};

/// The longest command: a letter and three places.
const LONGEST: usize = 1 + 3 * PLACE;

thread_local! {
    /// Room that this thread has written drawings in.
    static ROOM: RefCell<[Vec<u8>; 2]> = const { RefCell::new([Vec::new(), Vec::new()]) };
}

/// Two empty texts with the room that earlier drawings took: they would grow to it step by step.
pub(crate) fn room() -> [Vec<u8>; 2] {
    ROOM.take()
}

/// Takes their room back.
pub(crate) fn reuse(mut room: [Vec<u8>; 2]) {
    room.iter_mut().for_each(Vec::clear);
    ROOM.set(room);
}

/// Long paths that a drawing has already, each with where its text stands: a paper edge, bark or the
/// core of a rope has the outline of what it belongs to.
pub(crate) struct Known<'a, T>(Vec<(&'a BezPath, T)>);

impl<T> Default for Known<'_, T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<'a, T: Clone> Known<'a, T> {
    /// Shorter paths are sooner written than found.
    const LONG: usize = 6;

    /// What is known of a path.
    pub(crate) fn find(&self, path: &BezPath) -> Option<T> {
        let elements = path.elements();
        if elements.len() < Self::LONG {
            return None;
        }
        let same = |(known, _): &&(&BezPath, T)| known.elements() == elements;
        self.0.iter().rev().find(same).map(|(_, at)| at.clone())
    }

    /// Notes a path.
    pub(crate) fn note(&mut self, path: &'a BezPath, at: T) {
        if path.elements().len() >= Self::LONG {
            self.0.push((path, at));
        }
    }
}

/// Writes path data: it starts at an absolute place, the rest is relative to the rounded places
/// before it.
pub(crate) fn push_path(out: &mut Vec<u8>, path: &BezPath) {
    Pen::new(out, Grid::Hundredths, Hand::Whole).draw(path);
}

/// How much a pen writes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Hand {
    /// Path data that stands by itself.
    Whole,
    /// What follows the place where the path begins; level and upright lines in fewest bytes.
    Shape,
}

/// Writes paths one after another, each from where the one before ended.
pub(crate) struct Pen<'a> {
    out: &'a mut Vec<u8>,
    /// What it has not handed over yet; nothing between two paths.
    signs: Signs<{ 2 * LONGEST }>,
    grid: Grid,
    /// The grid's.
    ready: &'static [Ready; READY],
    hand: Hand,
    /// Where all begins.
    first: Option<Place>,
    at: Place,
    /// Where the present stretch began.
    start: Place,
    command: u8,
    /// Whether the last number has a decimal point.
    pointed: bool,
}

impl<'a> Pen<'a> {
    /// A pen that has written nothing.
    pub(crate) fn new(out: &'a mut Vec<u8>, grid: Grid, hand: Hand) -> Self {
        Self {
            out,
            signs: Signs::new(),
            grid,
            ready: grid.ready(),
            hand,
            first: None,
            at: (0, 0),
            start: (0, 0),
            command: b' ',
            pointed: false,
        }
    }

    /// Writes a path.
    pub(crate) fn draw(&mut self, path: &BezPath) {
        match self.grid {
            Grid::Hundredths => self.draw_on(path, hundredths),
            Grid::Tenths => self.draw_on(path, tenths),
        }
    }

    fn draw_on(&mut self, path: &BezPath, round: impl Fn(f64) -> i64 + Copy) {
        let place = |p: Point| (round(p.x), round(p.y));
        for el in path.elements() {
            match *el {
                PathEl::MoveTo(p) => self.go_to(place(p)),
                PathEl::LineTo(p) => self.line_to(place(p)),
                PathEl::QuadTo(a, p) => self.step(b'q', [place(a), place(p)]),
                PathEl::CurveTo(a, b, p) => self.step(b'c', [place(a), place(b), place(p)]),
                PathEl::ClosePath => self.close(),
            }
            if self.signs.len > LONGEST {
                self.signs.write(self.out);
            }
        }
        self.signs.write(self.out);
    }

    /// Where it began and where it is.
    pub(crate) fn ends(&self) -> (Place, Place) {
        (self.first.unwrap_or_default(), self.at)
    }

    /// Bytes in what it writes to.
    pub(crate) fn written(&self) -> usize {
        self.out.len()
    }

    fn go_to(&mut self, to: Place) {
        // A number after a move would be read as a line to there: the next command says its letter.
        self.command = b'M';
        if self.first.is_some() {
            self.signs.put(b'm');
            self.number(to.0 - self.at.0, true);
            self.number(to.1 - self.at.1, false);
        } else {
            self.first = Some(to);
            if self.hand == Hand::Whole {
                self.signs.put(b'M');
                self.number(to.0, true);
                self.number(to.1, false);
            }
        }
        self.at = to;
        self.start = to;
    }

    fn line_to(&mut self, to: Place) {
        if let Hand::Shape = self.hand {
            match (to.0 - self.at.0, to.1 - self.at.1) {
                (0, 0) if self.command != b'M' => {}
                (x, 0) => self.along(b'h', x),
                (0, y) => self.along(b'v', y),
                _ => self.step(b'l', [to]),
            }
            self.at = to;
        } else {
            self.step(b'l', [to]);
        }
    }

    fn step<const N: usize>(&mut self, command: u8, places: [Place; N]) {
        // What goes nowhere draws nothing, but for a path of a single place: a dot with round ends.
        let from = self.at;
        if self.command != b'M' && places == [from; N] {
            return;
        }
        let mut first = self.says(command);
        for (x, y) in places {
            self.number(x - from.0, first);
            self.number(y - from.1, false);
            first = false;
        }
        self.at = places[N - 1];
    }

    fn along(&mut self, command: u8, n: i64) {
        let first = self.says(command);
        self.number(n, first);
    }

    /// Writes the letter of a command unless it goes on from the last; whether it did.
    fn says(&mut self, command: u8) -> bool {
        let new = self.command != command;
        if new {
            self.signs.put(command);
            self.command = command;
        }
        new
    }

    fn close(&mut self) {
        self.signs.put(b'z');
        self.command = b'z';
        self.at = self.start;
    }

    #[inline]
    fn number(&mut self, n: i64, first: bool) {
        // A sign parts two numbers; so does a second decimal point (SVG 2, 9.3.9).
        let Some(ready) = self.ready.get(n.unsigned_abs() as usize) else {
            return self.long(n, first);
        };
        let space = !first & (n >= 0) & !(self.pointed & ready.bare());
        self.signs.ready(*ready, n < 0, space);
        self.pointed = ready.pointed();
    }

    #[cold]
    fn long(&mut self, n: i64, first: bool) {
        self.signs.long(self.grid, n, !first && n >= 0);
        self.pointed = self.grid == Grid::Hundredths && n % 100 != 0;
    }
}

#[cfg(test)]
mod tests {
    use kurbo::{ParamCurve, PathSeg, Shape};
    use proptest::prelude::*;

    use super::super::number::text_of;
    use super::*;

    /// Path data grammar: SVG 2, section 9.3.
    #[test]
    fn relative_rounding_does_not_add_up() {
        let mut path = BezPath::new();
        path.move_to((0.0, 0.0));
        for i in 1..=300 {
            path.line_to((f64::from(i) * 0.333_333, 1.0));
        }
        path.close_path();
        let mut data = Vec::new();
        push_path(&mut data, &path);
        let read = BezPath::from_svg(&text_of(data)).expect("valid path data");
        let last = read.elements()[300].end_point().expect("a line");
        assert!((last.x - 100.0).abs() < 0.006, "{last:?}");
        assert_eq!(read.elements().last(), Some(&PathEl::ClosePath));
    }

    /// What a path is from its place, and that place.
    fn shape(d: &str, grid: Grid) -> (Place, String) {
        let path = BezPath::from_svg(d).expect("path data");
        let mut out = Vec::new();
        let mut pen = Pen::new(&mut out, grid, Hand::Shape);
        pen.draw(&path);
        let (start, _) = pen.ends();
        (start, text_of(out))
    }

    /// Points along a path, eight a segment, scaled.
    fn along(d: &str, scale: f64) -> Vec<(f64, f64)> {
        let path = BezPath::from_svg(d).expect("path data");
        let segs: Vec<PathSeg> = path.path_segments(0.1).collect();
        let points = segs
            .iter()
            .flat_map(|seg| (0..=8).map(|i| seg.eval(f64::from(i) / 8.0)));
        points.map(|p| (p.x * scale, p.y * scale)).collect()
    }

    #[test]
    fn a_path_on_a_grid_stays_within_a_unit_of_it() {
        let d =
            "M73.07 16.13q1.27-2.31 1.83-4.44l.5 0-.26 1.18m2.5-1c-.25-.03-.44-.26-.41-.51l0 .3z";
        let ((x, y), light) = shape(d, Grid::Tenths);
        assert!(!light.contains('.'), "{light}");
        let light = format!("M{x} {y}{light}");
        let (before, after) = (along(d, 1.0), along(&light, 0.1));
        assert_eq!(before.len(), after.len(), "{light}");
        for (a, b) in before.iter().zip(&after) {
            let off = (a.0 - b.0).abs().max((a.1 - b.1).abs());
            assert!(off <= 0.0501, "{a:?} became {b:?} in {light}");
        }
    }

    #[test]
    fn steps_along_an_axis_say_one_number() {
        let (start, light) = shape("M0.5 10l3.5 0 0-.05.26 1.18z", Grid::Hundredths);
        assert_eq!((start, light.as_str()), ((50, 1000), "h3.5v-.05l.26 1.18z"));
    }

    #[test]
    fn a_dot_stays_a_dot() {
        let (start, light) = shape("M1 1l0 0", Grid::Tenths);
        assert_eq!((start, light.as_str()), ((10, 10), "h0"));
    }

    proptest! {
        /// Any path is read back as the rounded places that it goes to, one after another.
        #[test]
        fn what_is_written_is_read_back_to_the_unit(
            steps in prop::collection::vec(
                (0..5usize, prop::array::uniform6(-1.0..1.0f64), 0..7u32, 0..3u32),
                1..40,
            ),
            tenths_of_mm in any::<bool>(),
        ) {
            let grid = if tenths_of_mm { Grid::Tenths } else { Grid::Hundredths };
            let mut path = BezPath::new();
            path.move_to((1.0, -2.0));
            for (kind, numbers, size, whole) in steps {
                // From hundredths of a millimetre to kilometres; whole millimetres; the same place again.
                let scale = 0.1 * f64::from(10_u32.pow(size));
                let [a, b, c] = [0, 2, 4].map(|k| {
                    let place = Point::new(numbers[k] * scale, numbers[k + 1] * scale);
                    [place, place.round(), Point::new(1.0, -2.0)][whole as usize]
                });
                match kind {
                    0 => path.move_to(a),
                    1 => path.line_to(a),
                    2 => path.quad_to(a, b),
                    3 => path.curve_to(a, b, c),
                    _ => {
                        path.close_path();
                        path.move_to(a);
                    }
                }
            }
            let places = |path: &BezPath, units: f64| {
                let mut places: Vec<Place> = Vec::new();
                for el in path.elements() {
                    let ends: &[Point] = match el {
                        PathEl::MoveTo(p) | PathEl::LineTo(p) => &[*p],
                        PathEl::QuadTo(a, p) => &[*a, *p],
                        PathEl::CurveTo(a, b, p) => &[*a, *b, *p],
                        PathEl::ClosePath => &[],
                    };
                    places.extend(ends.iter().map(|p| {
                        let [x, y] = [p.x, p.y].map(|n| (n * units).round() as i64);
                        if units < 100.0 || grid == Grid::Hundredths {
                            (x, y)
                        } else {
                            let tenth = |n: i64| (n + 5 * n.signum()) / 10;
                            (tenth(x), tenth(y))
                        }
                    }));
                }
                // What goes nowhere is not written.
                places.dedup();
                places
            };
            for hand in [Hand::Whole, Hand::Shape] {
                let mut out = Vec::new();
                let mut pen = Pen::new(&mut out, grid, hand);
                pen.draw(&path);
                let ((x, y), _) = pen.ends();
                let mut data = text_of(out);
                if hand == Hand::Shape {
                    data.insert_str(0, &coord_of(grid, x, y));
                }
                let read = BezPath::from_svg(&data).expect("path data");
                let units = if tenths_of_mm { 1.0 } else { 100.0 };
                prop_assert_eq!(places(&read, units), places(&path, 100.0), "{}", data);
            }
        }
    }

    /// A move to a place of a grid.
    fn coord_of(grid: Grid, x: i64, y: i64) -> String {
        let mut out = b"M".to_vec();
        grid.push_place(&mut out, (x, y));
        text_of(out)
    }
}
