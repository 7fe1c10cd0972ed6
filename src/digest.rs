//! SHA-256 of bytes.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use sha2::{Digest as _, Sha256};

/// The letters of [`Digest::hex`].
const HEX: &[u8; 16] = b"0123456789abcdef";

/// A SHA-256 digest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Digest(pub [u8; 32]);

impl Digest {
    /// Of bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// In small hexadecimal letters.
    pub fn hex(self) -> String {
        let letter = |half: u8| char::from(HEX[usize::from(half)]);
        let letters = self.0.iter().flat_map(|b| [letter(b >> 4), letter(b & 15)]);
        letters.collect()
    }

    /// From [`Digest::hex`].
    pub fn from_hex(text: &str) -> Option<Self> {
        let mut bytes = [0; 32];
        if text.len() != 64 || !text.is_ascii() {
            return None;
        }
        for (i, byte) in bytes.iter_mut().enumerate() {
            *byte = u8::from_str_radix(&text[2 * i..2 * i + 2], 16).ok()?;
        }
        Some(Self(bytes))
    }
}

/// Letters for people, bytes otherwise.
impl Serialize for Digest {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match to.is_human_readable() {
            true => self.hex().serialize(to),
            false => self.0.serialize(to),
        }
    }
}

impl<'de> Deserialize<'de> for Digest {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        if !from.is_human_readable() {
            return Deserialize::deserialize(from).map(Self);
        }
        let text = String::deserialize(from)?;
        let wrong = || serde::de::Error::custom("not a SHA-256 in hexadecimal letters");
        Self::from_hex(&text).ok_or_else(wrong)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_digest_is_read_back_from_its_letters() {
        let digest = Digest::of(b"x");
        assert_eq!(Digest::from_hex(&digest.hex()), Some(digest));
        assert_eq!(Digest::from_hex("00"), None);
    }
}
