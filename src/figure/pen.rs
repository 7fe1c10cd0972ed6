//! Numbers and paths of drawings as text: places rounded to a grid, steps between rounded places, so
//! that rounding does not add up.
//!
//! ```text
//! BezPath ─round→ whole units of a grid ─Pen→ path data
//! ```

use std::cell::RefCell;

use kurbo::{BezPath, PathEl, Point};

/// A place in units of a grid.
pub(crate) type Place = (i64, i64);

/// The grid that places are rounded to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Grid {
    /// 0.01 mm, written in millimetres.
    Hundredths,
    /// 0.1 mm, written as whole numbers. A drawing for 160 mm of paper is shown about 700 px wide,
    /// so that rounding to 0.1 mm moves a line by 0.2 px at most.
    Tenths,
}

impl Grid {
    /// Numbers of few units, ready.
    const fn ready(self) -> &'static [Ready; READY] {
        match self {
            Self::Hundredths => &READY_HUNDREDTHS,
            Self::Tenths => &READY_TENTHS,
        }
    }

    /// Its written units in a millimetre.
    pub(crate) const fn per_mm(self) -> f64 {
        match self {
            Self::Hundredths => 1.0,
            Self::Tenths => 10.0,
        }
    }

    /// Writes a place: two numbers with no sign to spare.
    pub(crate) fn push_place(self, out: &mut Vec<u8>, (x, y): Place) {
        let mut signs = Signs::<PLACE>::new();
        signs.number(self, x, false);
        signs.number(self, y, y >= 0);
        signs.write(out);
    }

    /// Writes a number of its units.
    pub(crate) fn push(self, out: &mut Vec<u8>, n: i64) {
        let mut signs = Signs::<PLACE>::new();
        signs.number(self, n, false);
        signs.write(out);
    }
}

/// A figure coordinate in millimetres: two decimals at most, never `-0`.
///
/// Every number of a drawing goes through here or through the [`Pen`], which rounds alike, so a
/// last-bit difference of a platform does not reach the file unless it straddles a rounding edge.
pub fn coord(mm: f64) -> String {
    let mut text = Vec::new();
    push_coord(&mut text, mm);
    text_of(text)
}

/// As [`coord`], after what is there.
pub(crate) fn push_coord(out: &mut Vec<u8>, mm: f64) {
    Grid::Hundredths.push(out, hundredths(mm));
}

/// The nearest whole number of hundredths of a millimetre, halves away from nought.
fn hundredths(mm: f64) -> i64 {
    debug_assert!(mm.is_finite(), "figure coordinate {mm} is not finite");
    // As `round`, which is a call where the processor has no instruction for it.
    let n = mm * 100.0;
    (n + 0.5_f64.copysign(n)) as i64
}

/// Of the hundredths, so that a place on one grid is near the same place on the other.
fn tenths(mm: f64) -> i64 {
    let n = hundredths(mm);
    (n + if n < 0 { -5 } else { 5 }) / 10
}

/// What was written: texts are UTF-8, and what pens write is ASCII.
pub(crate) fn text_of(written: Vec<u8>) -> String {
    String::from_utf8(written).unwrap_or_default()
}

/// The longest place: two numbers, each with a space or a sign, 19 digits and a point, and room
/// behind it for the bytes that a ready one has too many.
const PLACE: usize = 2 * (1 + 19 + 1) + 8;

/// The longest command: a letter and three places.
const LONGEST: usize = 1 + 3 * PLACE;

/// `00` to `99`.
const PAIRS: [[u8; 2]; 100] = {
    let mut pairs = [[b'0'; 2]; 100];
    let mut n = 0;
    while n < 100 {
        pairs[n] = [b'0' + (n / 10) as u8, b'0' + (n % 10) as u8];
        n += 1;
    }
    pairs
};

/// Numbers of fewer units than this are written as they stand in a table: most steps of a path.
const READY: usize = 1000;

/// A number of a grid's units as it is written, without its sign: four bytes of text from the lowest
/// on, then its length, then whether it has a decimal point, then whether it begins with it.
#[derive(Clone, Copy)]
struct Ready(u64);

impl Ready {
    const fn new(grid: Grid, n: usize) -> Self {
        let mut signs = Signs::<4>::new();
        signs.digits_of(grid, n as u64);
        let pointed = matches!(grid, Grid::Hundredths) && !n.is_multiple_of(100);
        let bare = pointed && n < 100;
        let text = u32::from_le_bytes(signs.text) as u64;
        Self(text | (signs.len as u64) << 32 | (pointed as u64) << 40 | (bare as u64) << 48)
    }

    const fn text(self) -> u64 {
        self.0 & 0xffff_ffff
    }

    const fn len(self) -> usize {
        (self.0 >> 32 & 0xff) as usize
    }

    const fn pointed(self) -> bool {
        self.0 >> 40 & 1 == 1
    }

    const fn bare(self) -> bool {
        self.0 >> 48 == 1
    }
}

static READY_HUNDREDTHS: [Ready; READY] = ready(Grid::Hundredths);
static READY_TENTHS: [Ready; READY] = ready(Grid::Tenths);

const fn ready(grid: Grid) -> [Ready; READY] {
    let mut all = [Ready(0); READY];
    let mut n = 0;
    while n < READY {
        all[n] = Ready::new(grid, n);
        n += 1;
    }
    all
}

/// Signs on their way to a text, so that it takes them many at a time.
struct Signs<const ROOM: usize> {
    text: [u8; ROOM],
    len: usize,
}

impl<const ROOM: usize> Signs<ROOM> {
    const fn new() -> Self {
        Self {
            text: [0; ROOM],
            len: 0,
        }
    }

    const fn put(&mut self, byte: u8) {
        self.text[self.len] = byte;
        self.len += 1;
    }

    const fn digits(&mut self, n: u64) {
        if n < 10 {
            return self.put(b'0' + n as u8);
        }
        if n >= 100 {
            self.digits(n / 100);
        }
        let [ten, one] = PAIRS[(n % 100) as usize];
        self.put(ten);
        self.put(one);
    }

    /// A number of a grid's units without its sign: no zero before the point, none at the end.
    const fn digits_of(&mut self, grid: Grid, n: u64) {
        if matches!(grid, Grid::Tenths) {
            return self.digits(n);
        }
        let (whole, part) = (n / 100, n % 100);
        if whole > 0 || part == 0 {
            self.digits(whole);
        }
        if part > 0 {
            let [tenth, hundredth] = PAIRS[part as usize];
            self.put(b'.');
            self.put(tenth);
            if hundredth != b'0' {
                self.put(hundredth);
            }
        }
    }

    /// A number of a grid's units, with a space before it where one is wanted.
    fn number(&mut self, grid: Grid, n: i64, space: bool) {
        match grid.ready().get(n.unsigned_abs() as usize) {
            Some(ready) => self.ready(*ready, n < 0, space),
            None => self.long(grid, n, space),
        }
    }

    /// A ready number, with its sign or a space.
    #[inline]
    fn ready(&mut self, ready: Ready, minus: bool, space: bool) {
        let lead = u64::from(minus | space);
        let sign = u64::from(if minus { b'-' } else { b' ' }) * lead;
        // Eight bytes at once; what comes next overwrites those that are too many.
        let word = ready.text() << (8 * lead) | sign;
        self.text[self.len..self.len + 8].copy_from_slice(&word.to_le_bytes());
        self.len += lead as usize + ready.len();
    }

    /// A number that is not ready.
    fn long(&mut self, grid: Grid, n: i64, space: bool) {
        if space {
            self.put(b' ');
        }
        if n < 0 {
            self.put(b'-');
        }
        self.digits_of(grid, n.unsigned_abs());
    }

    /// Hands them over.
    fn write(&mut self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.text[..self.len]);
        self.len = 0;
    }
}

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

    use super::*;

    #[test]
    fn coordinates_have_two_decimals_and_no_negative_zero() {
        let cases = [
            (0.0, "0"),
            (-0.001, "0"),
            (0.5, ".5"),
            (-0.25, "-.25"),
            (12.0, "12"),
            (100.0, "100"),
            (12.345_678, "12.35"),
            (-3.1, "-3.1"),
            (0.05, ".05"),
            (10.1, "10.1"),
            (-100.07, "-100.07"),
            (123_456.5, "123456.5"),
        ];
        for (mm, text) in cases {
            assert_eq!(coord(mm), text);
        }
    }

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
}
