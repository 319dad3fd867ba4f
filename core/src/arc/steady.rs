//! Most samples change nothing: they lie among the ones before, and the arc goes on as it was.

use super::{ArcConfig, ArcState, Phase};
use crate::calibration::CountLimits;
use crate::samples::RawPair;

/// The samples that only have to be added: as many as leave room in the window, between its least and greatest so
/// far, short of the limits of the channels, and on the same side of the arc's threshold as the last one.
///
/// Two comparisons a channel say so. What does not fit here is nothing special; it is looked at in full, and may widen
/// what fits. The default lets nothing through.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Steady {
    /// Samples in the window when the next one has to be looked at: the one that fills it closes it, too.
    end: u16,
    voltage: Band,
    current: Band,
}

impl Steady {
    /// After `last` was added.
    pub(super) fn after(state: &ArcState, config: &ArcConfig, last: RawPair) -> Self {
        let sums = &state.window.sums;
        // Where the current may be without a change of phase. An arc on AC changes sides through a dip, and goes on
        // from there on the other side. What saturates lies far past all counts.
        let counts = &config.counts;
        let (zero, burning) = (counts.zero, counts.burning);
        let (from, to) = match state.phase {
            Phase::Dip => return Self::default(),
            Phase::Burning if last.current() >= zero => {
                (zero.saturating_add_unsigned(burning), i32::MAX)
            }
            Phase::Burning => (i32::MIN, zero.saturating_sub_unsigned(burning)),
            Phase::Gap | Phase::Idle => {
                let within = counts.striking.saturating_sub(1);
                (
                    zero.saturating_sub_unsigned(within),
                    zero.saturating_add_unsigned(within),
                )
            }
        };
        let voltage = Band::between(sums.v_min, sums.v_max, config.voltage_limits);
        let current = Band::between(
            from.max(sums.i_min),
            to.min(sums.i_max),
            config.current_limits,
        );
        match (voltage, current) {
            (Some(voltage), Some(current)) => Self {
                // A window is shorter than its sums have room for: the configuration sees to that.
                end: u16::try_from((u32::from(sums.n) + state.room(config)).saturating_sub(1))
                    .unwrap_or(u16::MAX),
                voltage,
                current,
            },
            _ => Self::default(),
        }
    }

    /// True when this sample only has to be added to a window of so many.
    #[inline(always)]
    pub(super) const fn takes(&self, n: u16, pair: RawPair) -> bool {
        n < self.end && self.voltage.holds(pair.voltage()) && self.current.holds(pair.current())
    }
}

/// Counts from `from` on, and `width` more.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Band {
    from: i32,
    width: u32,
}

impl Band {
    /// From one count to another, both included, without those that are clipped; `None` when none is left.
    fn between(from: i32, to: i32, limits: CountLimits) -> Option<Self> {
        let from = from.max(limits.lowest.saturating_add(1));
        let to = to.min(limits.highest.saturating_sub(1));
        (from <= to).then(|| Self {
            from,
            width: to.wrapping_sub(from).cast_unsigned(),
        })
    }

    #[inline(always)]
    const fn holds(self, count: i32) -> bool {
        count.wrapping_sub(self.from).cast_unsigned() <= self.width
    }
}
