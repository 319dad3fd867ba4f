//! The four phases of the arc.

use super::config::ArcCounts;

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Phase {
    #[default]
    Idle,
    Burning,
    Dip,
    Gap,
}

impl Phase {
    /// The least and greatest current, in counts, that leave the phase as it is after `last`; `None` in a dip, which ends
    /// soon. AC passes through a dip each time it changes sign, so only the side of `last` counts.
    #[inline]
    pub(super) const fn steady_currents(self, counts: &ArcCounts, last: i32) -> Option<(i32, i32)> {
        // Values that saturate lie far outside all counts.
        let (zero, burning) = (counts.zero, counts.burning);
        match self {
            Self::Dip => None,
            Self::Burning if last >= zero => {
                Some((zero.saturating_add_unsigned(burning), i32::MAX))
            }
            Self::Burning => Some((i32::MIN, zero.saturating_sub_unsigned(burning))),
            Self::Gap | Self::Idle => {
                let within = counts.striking.saturating_sub(1);
                Some((
                    zero.saturating_sub_unsigned(within),
                    zero.saturating_add_unsigned(within),
                ))
            }
        }
    }
}
