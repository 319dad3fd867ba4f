//! What sampling leaves open: when the arc began and ended between two samples, and what it did between them.

use super::model::{Log, SourceKind};
use super::rates;
use coldsquare_core::meter::Measured;
use coldsquare_core::record::Header;

/// How a log was sampled.
pub(super) struct Sampling {
    /// Time from one sample to the next, s.
    interval: f64,
    /// Samples are too far apart for their mean to be that of the arc.
    is_slow: bool,
}

impl Sampling {
    pub(super) fn of(log: &Log, header: &Header) -> Self {
        let rate = match &log.source.kind {
            SourceKind::Logger { .. } => header.calibration.sample_rate_hz,
            // Rows that come unevenly hold for several samples of the grid.
            SourceKind::Recording(recording) => recording.rows_per_second,
        };
        Self {
            interval: 1.0 / rate,
            is_slow: rate < rates::SLOW_HZ,
        }
    }

    /// Standard uncertainty of arc time, s: each arc began and ended anywhere between two samples, so its length has a
    /// triangular distribution of half-width one interval (JCGM 100:2008, 4.3.9: a / √6).
    pub(super) fn edges(&self, restarts: u16) -> f64 {
        self.interval * ((1.0 + f64::from(restarts)) / 6.0).sqrt()
    }

    /// Standard uncertainty of energy, J, from the scatter of power from sample to sample where samples are few: the
    /// standard deviation of the mean (4.2.3) over the arc time, widened for few samples as Student's distribution is
    /// (its variance is (n − 1) / (n − 3)). The scatter of v · i is taken from those of v and i and how they go together.
    pub(super) fn scatter(&self, burning: &Measured, arc_time: f64) -> f64 {
        if !self.is_slow {
            return 0.0;
        }
        let rows = (arc_time / self.interval).max(1.0);
        let (v, i) = (burning.mean_voltage.0, burning.mean_current.0);
        let variance_v = (burning.rms_voltage.0.powi(2) - v * v).max(0.0);
        let variance_i = (burning.rms_current.0.powi(2) - i * i).max(0.0);
        let together = burning.true_power.0 - v * i;
        // The part of v · i beyond the first order: both at once, with their signs unknown.
        let second = (variance_v * variance_i).max(0.0);
        let variance =
            (i * i * variance_v + v * v * variance_i + 2.0 * v * i * together).max(0.0) + second;
        let few = if rows > 4.0 {
            ((rows - 1.0) / (rows - 3.0)).sqrt()
        } else {
            3f64.sqrt()
        };
        (variance / rows).sqrt() * few * arc_time
    }
}

#[cfg(test)]
mod tests;
