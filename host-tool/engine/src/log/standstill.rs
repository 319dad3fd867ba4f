//! What is known of an instrument's faults beside one bead, from the rows of a recording or the events of the logger.

use super::instrument::Drift;
use super::model::{Log, LoggedBead, SourceKind};
use super::side::Side;
use coldsquare_core::bead::Bead;
use coldsquare_core::record::EventKind;

/// Time for which the logger sees no change before it says so, s.
const LOGGER_WAITS_S: f64 = 1.0;

impl Log {
    /// Share of a bead, 0 to 1, in which a channel gave the very same value again and again, as no arc does; 0 if it did
    /// not.
    #[must_use]
    pub fn stuck_share(&self, bead: &Bead, side: Side) -> f64 {
        let (from, until) = (bead.start, bead.start + bead.span());
        let samples = match &self.source.kind {
            SourceKind::Recording(recording) => {
                let mine = recording.stuck.iter().filter(|stuck| stuck.side == side);
                mine.map(|stuck| stuck.until.min(until).saturating_sub(stuck.from.max(from)))
                    .sum::<u64>() as f64
            }
            SourceKind::Logger { .. } => {
                let kind = match side {
                    Side::Voltage => EventKind::VoltageStuck,
                    Side::Current => EventKind::CurrentStuck,
                };
                let told = self
                    .events
                    .iter()
                    .filter(|event| event.kind == kind && (from..until).contains(&event.position));
                let rate = self.header_at(from).calibration.sample_rate_hz;
                told.count() as f64 * LOGGER_WAITS_S * rate
            }
        };
        (samples / bead.span().max(1) as f64).min(1.0)
    }
}

impl LoggedBead {
    /// The zero of the clamp beside this bead, if it had drifted and was taken off.
    #[must_use]
    pub fn drift(&self, log: &Log) -> Option<Drift> {
        let SourceKind::Recording(recording) = &log.source.kind else {
            return None;
        };
        let mut drifts = recording.drifts.iter();
        drifts.find(|drift| drift.bead == self.bead.start).copied()
    }
}

#[cfg(test)]
mod tests;
