//! Trouble with the store.

use coldsquare_core::trouble::Trouble;

/// Trouble that is not over, or not told yet.
#[derive(Clone, Copy, Debug)]
pub(super) struct Absence {
    /// What it was first, or what was found out since.
    pub trouble: Trouble,
    /// Beads before it.
    pub beads: u32,
    /// It stands in the log.
    pub is_told: bool,
}
