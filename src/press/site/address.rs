//! Zone letters and addresses: `C3` is the third line of zone C.
//!
//! Letters run A, B, C … without I and O, which read as one and nought (the habit of drawing
//! borders, ISO 5457); after Z comes AA.

/// Letters of one place.
const LETTERS: &[u8; 24] = b"ABCDEFGHJKLMNPQRSTUVWXYZ";

/// The letter of a zone, counted from 0.
pub(super) fn zone_letter(index: usize) -> String {
    let mut rest = index;
    let mut out = Vec::new();
    loop {
        out.push(LETTERS[rest % LETTERS.len()]);
        rest /= LETTERS.len();
        if rest == 0 {
            break;
        }
        rest -= 1;
    }
    out.reverse();
    out.into_iter().map(char::from).collect()
}

/// Counts the lines of one zone, over all its blocks.
#[derive(Debug)]
pub(super) struct Lines {
    zone: String,
    last: usize,
}

impl Lines {
    /// The lines of a zone, none yet.
    pub(super) fn of(zone: &str) -> Self {
        Self {
            zone: zone.to_owned(),
            last: 0,
        }
    }

    /// The next line's number and address.
    pub(super) fn next(&mut self) -> (usize, String) {
        self.last += 1;
        (self.last, format!("{}{}", self.zone, self.last))
    }
}

#[cfg(test)]
mod tests {
    use super::zone_letter;

    #[test]
    fn letters_leave_out_i_and_o() {
        let first: String = (0..24).map(zone_letter).collect();
        assert_eq!(first, "ABCDEFGHJKLMNPQRSTUVWXYZ");
        assert_eq!(zone_letter(24), "AA");
        assert_eq!(zone_letter(47), "AZ");
        assert_eq!(zone_letter(48), "BA");
    }
}
