//! How one degree of freedom is restrained, and which stiffnesses are possible.

/// How one displacement or rotation is restrained.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fixity {
    /// Not at all.
    Free,
    /// By a spring: N/mm, or N·mm/rad for a rotation; 0 to 1e14.
    Spring(f64),
    /// Completely.
    Fixed,
}

impl Fixity {
    pub(super) fn is_valid(self) -> bool {
        match self {
            Self::Free | Self::Fixed => true,
            Self::Spring(k) => is_stiffness(k),
        }
    }
}

/// Stiffer than any steel part of this size, N/mm or N·mm/rad; beyond it rounding would hide the rest of the frame.
const MAX_STIFFNESS: f64 = 1e14;

pub(super) fn is_stiffness(value: f64) -> bool {
    (0.0..=MAX_STIFFNESS).contains(&value)
}
