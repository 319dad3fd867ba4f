//! The fast path for most samples: within the range of those before, with no change of phase.

use super::config::ArcConfig;
use crate::calibration::CountLimits;
use crate::samples::{RawPair, WindowSums};

/// Which samples only need to be added: they leave room in the window, lie between its least and greatest count so far
/// and within the limits of the channels, and are on the same side of the arc threshold as the last one.
///
/// That takes two comparisons a channel. Any other sample takes the full step, which may widen the bands. The default
/// accepts nothing.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Steady {
    /// When the window has this many samples, the next takes the full step: it fills and closes the window.
    end: u16,
    voltage: Band,
    current: Band,
}

impl Steady {
    /// For currents in this range, within what the window has seen so far; `samples_left` is the room in the window.
    #[inline]
    pub(super) fn within(
        (from, to): (i32, i32),
        sums: &WindowSums,
        config: &ArcConfig,
        samples_left: impl FnOnce() -> u32,
    ) -> Self {
        let voltage = Band::between(sums.v_min, sums.v_max, config.voltage_limits);
        let current = Band::between(
            from.max(sums.i_min),
            to.min(sums.i_max),
            config.current_limits,
        );
        match (voltage, current) {
            (Some(voltage), Some(current)) => Self {
                // The configuration keeps a window shorter than the capacity of its sums.
                end: u16::try_from((u32::from(sums.n) + samples_left()).saturating_sub(1))
                    .unwrap_or(u16::MAX),
                voltage,
                current,
            },
            _ => Self::default(),
        }
    }

    /// True if this sample only needs to be added to a window of `n` samples.
    #[inline(always)]
    pub(super) const fn accepts(&self, n: u16, pair: RawPair) -> bool {
        n < self.end
            && self.voltage.contains(pair.voltage())
            && self.current.contains(pair.current())
    }
}

/// Counts from `from` to `from + width`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Band {
    from: i32,
    width: u32,
}

impl Band {
    /// From one count to another, both included, without clipped ones; `None` if none is left.
    fn between(from: i32, to: i32, limits: CountLimits) -> Option<Self> {
        let from = from.max(limits.lowest.saturating_add(1));
        let to = to.min(limits.highest.saturating_sub(1));
        (from <= to).then(|| Self {
            from,
            width: to.wrapping_sub(from).cast_unsigned(),
        })
    }

    #[inline(always)]
    const fn contains(self, count: i32) -> bool {
        count.wrapping_sub(self.from).cast_unsigned() <= self.width
    }
}
