//! Taring the clamp: its zero, measured while no current flows.

use coldsquare_core::arc::ArcConfig;
use coldsquare_core::bead::Window;
use coldsquare_core::calibration::{Calibration, Channel};

/// The calibration with the current's zero at the mean of an arc-off window. `None` if the window is not suitable: shorter
/// than half an idle window, with the arc on, with lost samples, or with a current that varies as much as an arc would.
///
/// The uncertainty of the new zero from noise is the standard deviation over √n. That is far below the drift of a clamp,
/// so the calibration keeps its own, larger uncertainty.
#[must_use]
pub fn tared(
    calibration: &Calibration,
    config: &ArcConfig,
    window: &Window,
) -> Option<Calibration> {
    let sums = &window.sums;
    let counts = config.counts();
    let long_enough = u32::from(sums.n) >= counts.idle_window / 2 && sums.n > 0;
    let quiet = i64::from(sums.i_max) - i64::from(sums.i_min) < i64::from(counts.striking);
    if window.arc_on || window.dropped > 0 || window.clipped_current > 0 || !long_enough || !quiet {
        return None;
    }
    let n = i64::from(sums.n);
    // To the nearest 1/256 count. The sum of 2^16 counts below 2^23, times 256, stays below 2^48.
    let zero = (2 * 256 * sums.i + n).div_euclid(2 * n);
    Some(Calibration {
        current: Channel {
            zero_in_256ths: i32::try_from(zero).ok()?,
            ..calibration.current
        },
        ..*calibration
    })
}
