//! Converter counts, and the exact sums that everything else is calculated from.
//!
//! For each sample the logger only adds integers. The sums are free of rounding, so a better calibration corrects every
//! bead ever logged (docs/decisions/0001). [`WindowSums`] fits the registers of a small processor and covers a short
//! time; [`Sums`] covers a bead or a whole day.
//!
//! ```
//! use coldsquare_core::samples::{RawPair, Sums, WindowSums};
//!
//! let mut window = WindowSums::EMPTY;
//! window.add(RawPair::new(180, 1200));
//! window.add(RawPair::new(190, 1100));
//! let sums = Sums::from(window);
//! // The sum of products, not the product of sums: true power.
//! assert_eq!((sums.n, sums.vi), (2, 180 * 1200 + 190 * 1100));
//! ```

use serde::{Deserialize, Serialize};

/// Largest magnitude of a raw converter count: converters may have up to 24 bits.
pub const MAX_COUNT: i32 = (1 << 23) - 1;

/// One sample: both channels at the same moment, in converter counts.
///
/// Each count is in `-MAX_COUNT ..= MAX_COUNT`; [`RawPair::new`] clamps it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RawPair {
    voltage: i32,
    current: i32,
}

impl RawPair {
    /// A pair of counts, clamped to ± [`MAX_COUNT`].
    #[must_use]
    pub const fn new(voltage: i32, current: i32) -> Self {
        Self {
            voltage: clamp_count(voltage),
            current: clamp_count(current),
        }
    }

    /// Counts of the voltage channel.
    #[must_use]
    pub const fn voltage(self) -> i32 {
        self.voltage
    }

    /// Counts of the current channel.
    #[must_use]
    pub const fn current(self) -> i32 {
        self.current
    }
}

const fn clamp_count(count: i32) -> i32 {
    if count > MAX_COUNT {
        MAX_COUNT
    } else if count < -MAX_COUNT {
        -MAX_COUNT
    } else {
        count
    }
}

/// Sums over at most [`WindowSums::CAPACITY`] samples, in 64-bit integers that cannot overflow.
///
/// Proof: |count| < 2^23, so a product is below 2^46 and 65 535 of them stay below 2^62.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct WindowSums {
    /// Number of samples.
    pub n: u16,
    /// Σ v, counts.
    pub v: i64,
    /// Σ i, counts.
    pub i: i64,
    /// Σ v², counts².
    pub vv: i64,
    /// Σ i², counts².
    pub ii: i64,
    /// Σ v·i, counts².
    pub vi: i64,
    /// Least voltage count, or `i32::MAX` when empty.
    pub v_min: i32,
    /// Greatest voltage count, or `i32::MIN` when empty.
    pub v_max: i32,
    /// Least current count, or `i32::MAX` when empty.
    pub i_min: i32,
    /// Greatest current count, or `i32::MIN` when empty.
    pub i_max: i32,
}

impl Default for WindowSums {
    fn default() -> Self {
        Self::EMPTY
    }
}

impl WindowSums {
    /// The most samples a window can hold.
    pub const CAPACITY: u16 = u16::MAX;

    /// No samples.
    pub const EMPTY: Self = Self {
        n: 0,
        v: 0,
        i: 0,
        vv: 0,
        ii: 0,
        vi: 0,
        v_min: i32::MAX,
        v_max: i32::MIN,
        i_min: i32::MAX,
        i_max: i32::MIN,
    };

    /// Adds one sample. Returns false, and adds nothing, if the window is full.
    #[inline]
    pub fn add(&mut self, pair: RawPair) -> bool {
        if self.n == Self::CAPACITY {
            return false;
        }
        let (v, i) = (i64::from(pair.voltage), i64::from(pair.current));
        self.n += 1;
        self.v += v;
        self.i += i;
        self.vv += v * v;
        self.ii += i * i;
        self.vi += v * i;
        self.v_min = self.v_min.min(pair.voltage);
        self.v_max = self.v_max.max(pair.voltage);
        self.i_min = self.i_min.min(pair.current);
        self.i_max = self.i_max.max(pair.current);
        true
    }

    /// Adds one sample that is known to be between the least and the greatest so far, to a window that is not full.
    #[inline(always)]
    pub(crate) const fn add_within_range(&mut self, pair: RawPair) {
        let (v, i) = (pair.voltage as i64, pair.current as i64);
        self.n = self.n.wrapping_add(1);
        self.v += v;
        self.i += i;
        self.vv += v * v;
        self.ii += i * i;
        self.vi += v * i;
    }

    /// Adds the same sample `times` times, as a slow recording repeats its values: the same sums as that many calls of
    /// [`WindowSums::add`]. Returns false, and adds nothing, if they do not fit.
    pub fn add_repeated(&mut self, pair: RawPair, times: u16) -> bool {
        if times == 0 {
            return true;
        }
        let mut one = Self::EMPTY;
        one.add(pair);
        let factor = i64::from(times);
        // One sample stays below 2^46 and the factor below 2^16: no overflow.
        self.merge(&Self {
            n: times,
            v: one.v * factor,
            i: one.i * factor,
            vv: one.vv * factor,
            ii: one.ii * factor,
            vi: one.vi * factor,
            ..one
        })
    }

    /// Adds all samples of another window. Returns false, and adds nothing, if both together do not fit.
    pub fn merge(&mut self, other: &Self) -> bool {
        let Some(n) = self.n.checked_add(other.n) else {
            return false;
        };
        self.n = n;
        // Saturates only with sums from a damaged log; our own cannot overflow (see above).
        self.v = self.v.saturating_add(other.v);
        self.i = self.i.saturating_add(other.i);
        self.vv = self.vv.saturating_add(other.vv);
        self.ii = self.ii.saturating_add(other.ii);
        self.vi = self.vi.saturating_add(other.vi);
        self.v_min = self.v_min.min(other.v_min);
        self.v_max = self.v_max.max(other.v_max);
        self.i_min = self.i_min.min(other.i_min);
        self.i_max = self.i_max.max(other.i_max);
        true
    }
}

/// Sums over any number of samples, in 128-bit integers.
///
/// For a bead, the idle time between beads, or a whole day: 2^64 samples of 24 bits stay below 2^110.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sums {
    /// Number of samples.
    pub n: u64,
    /// Σ v, counts.
    pub v: i128,
    /// Σ i, counts.
    pub i: i128,
    /// Σ v², counts².
    pub vv: i128,
    /// Σ i², counts².
    pub ii: i128,
    /// Σ v·i, counts².
    pub vi: i128,
}

impl Sums {
    /// Adds all samples of a window.
    pub fn add_window(&mut self, window: &WindowSums) {
        self.merge(&Self::from(*window));
    }

    /// Adds all samples of another sum: exact, associative and commutative.
    pub fn merge(&mut self, other: &Self) {
        // Saturates only with sums from a damaged log.
        self.n = self.n.saturating_add(other.n);
        self.v = self.v.saturating_add(other.v);
        self.i = self.i.saturating_add(other.i);
        self.vv = self.vv.saturating_add(other.vv);
        self.ii = self.ii.saturating_add(other.ii);
        self.vi = self.vi.saturating_add(other.vi);
    }
}

impl From<WindowSums> for Sums {
    fn from(window: WindowSums) -> Self {
        Self {
            n: u64::from(window.n),
            v: i128::from(window.v),
            i: i128::from(window.i),
            vv: i128::from(window.vv),
            ii: i128::from(window.ii),
            vi: i128::from(window.vi),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 24 bits, the lowest count of a converter left out.
    #[test]
    fn a_count_is_held_within_24_bits() {
        for (count, held) in [
            (i32::MAX, 8_388_607),
            (8_388_608, 8_388_607),
            (8_388_607, 8_388_607),
            (8_388_606, 8_388_606),
            (0, 0),
            (-1, -1),
            (-8_388_607, -8_388_607),
            (-8_388_608, -8_388_607),
            (i32::MIN, -8_388_607),
        ] {
            let pairs = [RawPair::new(count, 5), RawPair::new(5, count)];
            assert_eq!((pairs[0].voltage(), pairs[0].current()), (held, 5));
            assert_eq!((pairs[1].voltage(), pairs[1].current()), (5, held));
        }
    }

    /// The proof that sums cannot overflow rests on it.
    #[test]
    fn a_full_window_takes_nothing_more_whichever_way_it_comes() {
        let pair = RawPair::new(MAX_COUNT, -MAX_COUNT);
        let mut full = WindowSums::EMPTY;
        assert!(full.add_repeated(pair, WindowSums::CAPACITY - 1));
        let mut one = WindowSums::EMPTY;
        assert!(one.add(pair) && full.add(pair));
        let before = full;
        assert!(!full.add(pair) && !full.merge(&one) && !full.add_repeated(pair, 1));
        assert_eq!(full, before);
        assert_eq!(full.n, WindowSums::CAPACITY);
        assert_eq!(
            full.vv,
            i64::from(MAX_COUNT) * i64::from(MAX_COUNT) * 65_535
        );
    }
}
