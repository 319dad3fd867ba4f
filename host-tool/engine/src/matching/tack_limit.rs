//! Below which arc time a bead is a tack.

use super::model::{LONGEST_TACK, MatchInput};
use coldsquare_core::units::Seconds;

/// The limit asked for, or the smaller of the longest tack and half of the shortest run.
pub(super) fn tack_limit(input: &MatchInput<'_>) -> Seconds {
    input.tack_below.unwrap_or_else(|| {
        let runs = input
            .welds
            .iter()
            .map(|weld| weld.arc_time.0 / f64::from(weld.runs.max(1)));
        Seconds(runs.fold(2.0 * LONGEST_TACK.0, f64::min) / 2.0)
    })
}

#[cfg(test)]
mod tests;
