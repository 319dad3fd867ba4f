//! Repeatable random numbers of the simulator.

use coldsquare_core::sequence::random::Pcg32;

/// Random numbers from a seed.
#[derive(Clone, Debug)]
pub struct Random(Pcg32);

impl Random {
    /// The sequence of this seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(Pcg32::new(seed))
    }

    /// 32 random bits.
    pub const fn bits(&mut self) -> u32 {
        self.0.bits()
    }

    /// Uniform from 0 up to, but not including, 1.
    pub fn fraction(&mut self) -> f64 {
        f64::from(self.bits()) / 4_294_967_296.0
    }

    /// Uniform between two values.
    pub fn between(&mut self, least: f64, greatest: f64) -> f64 {
        least + (greatest - least) * self.fraction()
    }

    /// A whole number from 0 up to, but not including, `count`; 0 if that is 0.
    pub const fn below(&mut self, count: u32) -> u32 {
        ((self.bits() as u64 * count as u64) >> 32) as u32
    }

    /// Approximately normal with mean 0 and standard deviation 1, within ± 3.5: the sum of four uniform bytes.
    pub fn normal(&mut self) -> f64 {
        let bytes = self.bits().to_le_bytes();
        let sum: u32 = bytes.into_iter().map(u32::from).sum();
        // Each byte has mean 127.5 and variance (256² − 1) / 12; four together have standard deviation 147.8.
        (f64::from(sum) - 510.0) / 147.800_541_270_998_05
    }
}
