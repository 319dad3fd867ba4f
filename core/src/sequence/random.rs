//! Random numbers that are the same on every machine and in every release, so that advice can be repeated.

/// A permuted congruential generator: 64 bits of state, 32 bits a draw.
///
/// M. E. O'Neill, *PCG: A Family of Simple Fast Space-Efficient Statistically Good Algorithms for Random Number
/// Generation*, Harvey Mudd College HMC-CS-2014-0905 (2014), 6.3: PCG-XSH-RR.
#[derive(Clone, Debug)]
pub struct Pcg32(u64);

const MULTIPLIER: u64 = 6_364_136_223_846_793_005;
const INCREMENT: u64 = 1_442_695_040_888_963_407;

impl Pcg32 {
    /// The generator of a seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        let mut this = Self(seed.wrapping_add(INCREMENT));
        this.bits();
        this
    }

    /// 32 random bits.
    pub const fn bits(&mut self) -> u32 {
        let old = self.0;
        self.0 = old.wrapping_mul(MULTIPLIER).wrapping_add(INCREMENT);
        let shifted = (((old >> 18) ^ old) >> 27) as u32;
        shifted.rotate_right((old >> 59) as u32)
    }

    /// 0 to `bound` − 1; 0 for a bound of 0. Uneven by less than one part in ten million for a few hundred welds.
    pub fn below(&mut self, bound: usize) -> usize {
        ((u64::from(self.bits()) * bound as u64) >> 32) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_are_those_of_the_authors_program() {
        // The reference C program (pcg32-global-demo) seeded as pcg32_srandom(42, 54) prints this first; the stream
        // differs from ours only in its increment. Value from memory.
        let (mut state, increment) = (0_u64, (54_u64 << 1) | 1);
        let mut step = || {
            let old = state;
            state = old.wrapping_mul(MULTIPLIER).wrapping_add(increment);
            ((((old >> 18) ^ old) >> 27) as u32).rotate_right((old >> 59) as u32)
        };
        step();
        let mut ours = Pcg32(0);
        ours.bits();
        assert_eq!(ours.0, INCREMENT);
        let after_first = increment.wrapping_add(42);
        state = after_first.wrapping_mul(MULTIPLIER).wrapping_add(increment);
        let old = state;
        let first = ((((old >> 18) ^ old) >> 27) as u32).rotate_right((old >> 59) as u32);
        assert_eq!(first, 0xa15c_02b7);
        assert_eq!(Pcg32(old).bits(), first);
    }

    #[test]
    fn every_place_is_drawn_about_equally_often() {
        let mut random = Pcg32::new(1);
        let mut counts = [0_i32; 7];
        for _ in 0..70_000 {
            counts[random.below(7)] += 1;
        }
        assert!(
            counts.iter().all(|n| (n - 10_000).abs() < 500),
            "{counts:?}"
        );
        assert_eq!(random.below(0), 0);
    }
}
