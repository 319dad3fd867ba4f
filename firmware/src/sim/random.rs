//! Chance that can be repeated.

/// A permuted congruential generator, PCG-XSH-RR with 64 bits of state and 32 of output.
///
/// Source: M. E. O'Neill, PCG: A Family of Simple Fast Space-Efficient Statistically Good Algorithms for Random Number
/// Generation, Harvey Mudd College HMC-CS-2014-0905, 2014, 6.3.
#[derive(Clone, Debug)]
pub struct Random {
    state: u64,
}

const MULTIPLIER: u64 = 6_364_136_223_846_793_005;
const INCREMENT: u64 = 1_442_695_040_888_963_407;

impl Random {
    /// The sequence of this seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        let first = seed.wrapping_add(INCREMENT).wrapping_mul(MULTIPLIER);
        Self {
            state: first.wrapping_add(INCREMENT),
        }
    }

    /// 32 random bits.
    // The generator is defined by which bits are cut off.
    pub const fn bits(&mut self) -> u32 {
        let old = self.state;
        self.state = old.wrapping_mul(MULTIPLIER).wrapping_add(INCREMENT);
        let mixed = (((old >> 18) ^ old) >> 27) as u32;
        mixed.rotate_right((old >> 59) as u32)
    }

    /// Evenly from 0 up to, but not including, 1.
    pub fn fraction(&mut self) -> f64 {
        f64::from(self.bits()) / 4_294_967_296.0
    }

    /// Evenly between two values.
    pub fn between(&mut self, least: f64, greatest: f64) -> f64 {
        least + (greatest - least) * self.fraction()
    }

    /// A whole number from 0 up to, but not including, `count`; 0 when that is 0.
    pub const fn below(&mut self, count: u32) -> u32 {
        ((self.bits() as u64 * count as u64) >> 32) as u32
    }

    /// Bell-shaped about 0 with standard deviation 1, never beyond ± 3.5: four evenly spread bytes, added.
    pub fn bell(&mut self) -> f64 {
        let bytes = self.bits().to_le_bytes();
        let sum: u32 = bytes.into_iter().map(u32::from).sum();
        // Each byte has mean 127.5 and variance (256² − 1) / 12; four together have standard deviation 147.8.
        (f64::from(sum) - 510.0) / 147.800_541_270_998_05
    }
}
