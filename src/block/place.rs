//! From an offset in a block's text to the true place in the file.
//!
//! A fenced block inside a list or a quote, or in a file with CRLF endings, is not one stretch of
//! the file: the reader of Markdown hands it over in pieces. A TOML string with escapes is in
//! pieces again. [`PlaceMap`] keeps the pieces, so that both are mapped exactly.

use std::ops::Range;

use crate::finding::Place;

/// One stretch that runs alike in the block and in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Piece {
    /// First byte in the block's text.
    from: usize,
    /// Bytes in the block's text.
    len: usize,
    /// First byte in the file.
    to: usize,
    /// Bytes in the file; differs from `len` only for an escape such as `\n`.
    to_len: usize,
}

/// A piecewise map from byte offsets of a text to byte offsets of a file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlaceMap {
    file: usize,
    pieces: Vec<Piece>,
}

impl PlaceMap {
    /// An empty map into a file, to be filled with [`PlaceMap::push`].
    pub const fn new(file: usize) -> Self {
        Self {
            file,
            pieces: Vec::new(),
        }
    }

    /// The map of a text that stands in the file as it is, from byte `start`.
    pub fn straight(file: usize, start: usize, len: usize) -> Self {
        let mut map = Self::new(file);
        map.push(len, start..start + len);
        map
    }

    /// Appends `len` bytes of text that stand at `to` in the file.
    pub fn push(&mut self, len: usize, to: Range<usize>) {
        let from = self.len();
        let to_len = to.len();
        if let Some(last) = self.pieces.last_mut() {
            let both_plain = last.len == last.to_len && len == to_len;
            if both_plain && last.to + last.to_len == to.start {
                last.len += len;
                last.to_len += to_len;
                return;
            }
        }
        self.pieces.push(Piece {
            from,
            len,
            to: to.start,
            to_len,
        });
    }

    /// Bytes of text that are mapped.
    pub fn len(&self) -> usize {
        self.pieces.last().map_or(0, |p| p.from + p.len)
    }

    /// Whether nothing is mapped.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The place in the file of a range of the text. The end is that of the last byte inside, so
    /// a token before a line break never takes in the return, the quote mark or the indent.
    pub fn place(&self, range: Range<usize>) -> Place {
        let start = self.start(range.start);
        let end = if range.end > range.start {
            self.end(range.end)
        } else {
            start
        };
        Place {
            file: self.file,
            start,
            end: end.max(start),
        }
    }

    /// The range of the text that stands at a place; the way back of [`PlaceMap::place`].
    pub fn range_of(&self, place: Place) -> Option<Range<usize>> {
        let inside = |byte: usize| {
            let piece = self
                .pieces
                .iter()
                .find(|p| p.to <= byte && byte < p.to + p.to_len)?;
            let into = if piece.len == piece.to_len {
                byte - piece.to
            } else {
                0
            };
            Some(piece.from + into)
        };
        let start = inside(place.start)?;
        let last = inside(place.end.checked_sub(1)?)?;
        (place.file == self.file && start <= last).then_some(start..last + 1)
    }

    /// This map followed by another: text → middle → file.
    #[must_use]
    pub fn then(&self, next: &Self) -> Self {
        let mut out = Self::new(next.file);
        for piece in &self.pieces {
            if piece.len != piece.to_len {
                let place = next.place(piece.to..piece.to + piece.to_len);
                out.push_apart(piece.len, place.start..place.end);
                continue;
            }
            let mut at = piece.to;
            let stop = piece.to + piece.to_len;
            while at < stop {
                let (len, to) = next.stretch(at, stop);
                out.push_apart(len, to);
                at += len;
            }
        }
        out
    }

    /// As [`PlaceMap::push`], for zero-length targets too.
    fn push_apart(&mut self, len: usize, to: Range<usize>) {
        if len > 0 {
            self.push(len, to);
        }
    }

    /// The longest stretch from `at`, not past `stop`, that runs alike; at least one byte.
    fn stretch(&self, at: usize, stop: usize) -> (usize, Range<usize>) {
        match self.piece(at) {
            Some(p) if at < p.from + p.len && p.len == p.to_len => {
                let len = (p.from + p.len).min(stop) - at;
                let to = p.to + (at - p.from);
                (len, to..to + len)
            }
            Some(p) => (1, p.to..p.to + p.to_len),
            None => (1, 0..0),
        }
    }

    fn piece(&self, offset: usize) -> Option<&Piece> {
        let next = self.pieces.partition_point(|p| p.from <= offset);
        next.checked_sub(1).map(|i| &self.pieces[i])
    }

    fn start(&self, offset: usize) -> usize {
        match self.piece(offset) {
            Some(p) if offset >= p.from + p.len => p.to + p.to_len,
            Some(p) if p.len == p.to_len => p.to + (offset - p.from),
            Some(p) => p.to,
            None => 0,
        }
    }

    fn end(&self, offset: usize) -> usize {
        match self.piece(offset - 1) {
            Some(p) if p.len == p.to_len && offset <= p.from + p.len => p.to + (offset - p.from),
            Some(p) => p.to + p.to_len,
            None => 0,
        }
    }
}

/// The map from a TOML string's value to the text that it was written in.
///
/// `raw` is the string with its quotation marks, `start` its offset in the block's text, `value`
/// what it stands for.
pub fn string_map(raw: &str, start: usize, value: &str) -> PlaceMap {
    let (mark, multi) = match raw {
        _ if raw.starts_with("\"\"\"") || raw.starts_with("'''") => (3, true),
        _ => (1, false),
    };
    let basic = raw.starts_with('"');
    let mut at = mark;
    if multi {
        let rest = raw.get(at..).unwrap_or("");
        at += if rest.starts_with("\r\n") {
            2
        } else {
            usize::from(rest.starts_with('\n'))
        };
    }
    let mut map = PlaceMap::new(0);
    let plain = raw.get(at..at + value.len()) == Some(value);
    if plain && at + value.len() + mark == raw.len() {
        map.push(value.len(), start + at..start + at + value.len());
        return map;
    }
    for c in value.chars() {
        while basic && at < raw.len() {
            let skipped = line_end_escape(&raw[at..]);
            if skipped == 0 {
                break;
            }
            at += skipped;
        }
        let rest = raw.get(at..).unwrap_or("");
        let width = match rest.as_bytes().first() {
            Some(b'\\') if basic => escape_width(rest),
            Some(b'\r') if c == '\n' => 2.min(rest.len()),
            _ => c.len_utf8().min(rest.len()),
        };
        map.push(c.len_utf8(), start + at..start + at + width);
        at += width;
        while at < raw.len() && !raw.is_char_boundary(at) {
            at += 1;
        }
    }
    map
}

/// Bytes of a backslash at a line's end with the white space that it swallows; 0 if there is none.
fn line_end_escape(rest: &str) -> usize {
    let Some(after) = rest.strip_prefix('\\') else {
        return 0;
    };
    let blank = after.len() - after.trim_start_matches([' ', '\t', '\r', '\n']).len();
    if after[..blank].contains('\n') {
        1 + blank
    } else {
        0
    }
}

/// Bytes of the escape at the start of `rest`.
fn escape_width(rest: &str) -> usize {
    let width = match rest.as_bytes().get(1) {
        Some(b'x') => 4,
        Some(b'u') => 6,
        Some(b'U') => 10,
        _ => 2,
    };
    width.min(rest.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn maps_pieces_and_never_takes_in_what_stands_between() {
        // "ab\n" and "cd" in a file that has "> " before each line and CRLF endings.
        let mut map = PlaceMap::new(3);
        map.push(2, 10..12);
        map.push(1, 13..14);
        map.push(2, 16..18);
        let place = |start, end| Place {
            file: 3,
            start,
            end,
        };
        assert_eq!(map.place(0..2), place(10, 12));
        assert_eq!(map.place(1..4), place(11, 17));
        assert_eq!(map.place(3..5), place(16, 18));
        assert_eq!(map.place(5..5), place(18, 18));
        assert_eq!(map.place(0..0), place(10, 10));
    }

    #[test]
    fn maps_a_string_with_escapes() {
        let raw = r#""a\n\u00e9 b""#;
        let map = string_map(raw, 100, "a\né b");
        let file = map.then(&PlaceMap::straight(0, 1000, 200));
        let at = |needle: &str| {
            let i = "a\né b".find(needle).unwrap();
            let p = file.place(i..i + needle.len());
            (p.start, p.end)
        };
        assert_eq!(at("a"), (1101, 1102));
        assert_eq!(at("\n"), (1102, 1104));
        assert_eq!(at("é"), (1104, 1110));
        assert_eq!(at("b"), (1111, 1112));
    }

    #[test]
    fn maps_a_string_over_lines() {
        let raw = "\"\"\"\r\none \\\r\n   two\r\nthree\"\"\"";
        let value = "one two\nthree";
        let map = string_map(raw, 0, value);
        for word in ["one", "two", "three"] {
            let i = value.find(word).unwrap();
            let p = map.place(i..i + word.len());
            assert_eq!(&raw[p.start..p.end], word);
        }
    }
}
