//! Repeatable chance: what a hand would vary, fixed by a name.
//!
//! The same limb is drawn the same way in every figure, on every machine, from press to press.

/// A source of numbers that depend on a name alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seed(u64);

impl Seed {
    /// The seed of a name (FNV-1a, 64 bits: Fowler, Noll and Vo).
    pub fn new(name: &str) -> Self {
        const OFFSET: u64 = 0xcbf2_9ce4_8422_2325;
        const PRIME: u64 = 0x0000_0100_0000_01b3;
        Self(name.bytes().fold(OFFSET, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(PRIME)
        }))
    }

    /// The number of a lane, in `0..1`.
    pub fn at(self, lane: u32) -> f64 {
        // SplitMix64's finaliser (Steele, Lea and Flood 2014) over seed and lane.
        let mut z = self
            .0
            .wrapping_add(u64::from(lane).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        (z >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Numbers one after another, from a lane on.
    pub const fn dice(self, lane: u32) -> Dice {
        Dice { seed: self, lane }
    }
}

/// Numbers one after another.
#[derive(Debug, Clone)]
pub struct Dice {
    seed: Seed,
    lane: u32,
}

impl Dice {
    /// The next number, in `0..1`.
    pub fn next(&mut self) -> f64 {
        self.lane = self.lane.wrapping_add(1);
        self.seed.at(self.lane)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hashing_matches_the_published_test_vectors() {
        // FNV-1a test vectors, draft-eastlake-fnv: 64 bits of "" and of "a".
        assert_eq!(Seed::new("").0, 0xcbf2_9ce4_8422_2325);
        assert_eq!(Seed::new("a").0, 0xaf63_dc4c_8601_ec8c);
    }

    #[test]
    fn numbers_stay_in_range_and_spread() {
        let mut dice = Seed::new("upper limb").dice(0);
        let numbers: Vec<f64> = (0..1000).map(|_| dice.next()).collect();
        assert!(numbers.iter().all(|n| (0.0..1.0).contains(n)));
        let mean = numbers.iter().sum::<f64>() / 1000.0;
        // Uniform: standard error of the mean is 1/√12000 ≈ 0.009; five of them.
        assert!((mean - 0.5).abs() < 0.045, "{mean}");
    }
}
