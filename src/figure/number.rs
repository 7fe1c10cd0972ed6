//! Numbers of drawings as text: whole units of a grid, in as few bytes as they take.
//!
//! ```text
//! millimetres ─hundredths, tenths→ units of a Grid ─Signs→ digits, a point, a sign or a space
//! ```

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
    pub(super) const fn ready(self) -> &'static [Ready; READY] {
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
/// Every number of a drawing goes through here or through the pen, which rounds alike, so a last-bit
/// difference of a platform does not reach the file unless it straddles a rounding edge.
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
pub(super) fn hundredths(mm: f64) -> i64 {
    debug_assert!(mm.is_finite(), "figure coordinate {mm} is not finite");
    // As `round`, but for the number next below a half: that is a call where the processor has no
    // instruction for it.
    let n = mm * 100.0;
    (n + 0.5_f64.copysign(n)) as i64
}

/// Of the hundredths, so that a place on one grid is near the same place on the other.
pub(super) fn tenths(mm: f64) -> i64 {
    let n = hundredths(mm);
    (n + if n < 0 { -5 } else { 5 }) / 10
}

/// What was written: texts are UTF-8, and what pens write is ASCII.
pub(crate) fn text_of(written: Vec<u8>) -> String {
    String::from_utf8(written).unwrap_or_default()
}

/// The longest place: two numbers, each with a space or a sign, 19 digits and a point, and room
/// behind it for the bytes that a ready one has too many.
pub(super) const PLACE: usize = 2 * (1 + 19 + 1) + 8;

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
pub(super) const READY: usize = 1000;

/// A number of a grid's units as it is written, without its sign: four bytes of text from the lowest
/// on, then its length, then whether it has a decimal point, then whether it begins with it.
#[derive(Clone, Copy)]
pub(super) struct Ready(u64);

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

    pub(super) const fn pointed(self) -> bool {
        self.0 >> 40 & 1 == 1
    }

    pub(super) const fn bare(self) -> bool {
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
pub(super) struct Signs<const ROOM: usize> {
    text: [u8; ROOM],
    pub(super) len: usize,
}

impl<const ROOM: usize> Signs<ROOM> {
    pub(super) const fn new() -> Self {
        Self {
            text: [0; ROOM],
            len: 0,
        }
    }

    pub(super) const fn put(&mut self, byte: u8) {
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
    pub(super) fn ready(&mut self, ready: Ready, minus: bool, space: bool) {
        let lead = u64::from(minus | space);
        let sign = u64::from(if minus { b'-' } else { b' ' }) * lead;
        // Eight bytes at once; what comes next overwrites those that are too many.
        let word = ready.text() << (8 * lead) | sign;
        self.text[self.len..self.len + 8].copy_from_slice(&word.to_le_bytes());
        self.len += lead as usize + ready.len();
    }

    /// A number that is not ready.
    pub(super) fn long(&mut self, grid: Grid, n: i64, space: bool) {
        if space {
            self.put(b' ');
        }
        if n < 0 {
            self.put(b'-');
        }
        self.digits_of(grid, n.unsigned_abs());
    }

    /// Hands them over.
    pub(super) fn write(&mut self, out: &mut Vec<u8>) {
        out.extend_from_slice(&self.text[..self.len]);
        self.len = 0;
    }
}

#[cfg(test)]
mod tests {
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
}
