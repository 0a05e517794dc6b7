//! A small generator of repeatable numbers: the search draws from it so
//! that the same job gives the same nest everywhere.

/// `SplitMix64` (Steele, Lea and Flood 2014, "Fast splittable pseudorandom
/// number generators"): 64 bits of state, any seed will do.
#[derive(Debug, Clone)]
pub(super) struct Random(u64);

impl Random {
    /// A stream for a step of the search: streams of different numbers are unrelated.
    pub(super) fn new(stream: u64) -> Self {
        let mut r = Self(stream.wrapping_mul(0xd134_2543_de82_ef95));
        r.next();
        r
    }

    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly from 0 up to 1, 1 excluded.
    pub(super) fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / 9_007_199_254_740_992.0
    }

    /// Evenly from 0 up to `n`, `n` excluded; 0 where `n` is 0.
    pub(super) fn below(&mut self, n: usize) -> usize {
        #[expect(clippy::cast_possible_truncation, reason = "the remainder is below n")]
        let k = (self.next() % n.max(1) as u64) as usize;
        k
    }

    /// True with this probability.
    pub(super) fn chance(&mut self, p: f64) -> bool {
        self.unit() < p
    }
}
