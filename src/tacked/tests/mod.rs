//! Tests of the check: rows of stanchions with planted faults, in one view; and
//! whole surveys of a made-up edge.

mod rows;
mod surveys;

/// Even numbers from -1 to 1 by a fixed rule (xorshift; Marsaglia, J. Stat. Softw. 8, 2003).
struct Dice(u64);

impl Dice {
    fn throw(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
}
