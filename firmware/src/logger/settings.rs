//! Changes of calibration, arc detection and log: each writes a new header.

use super::check_progress::Checks;
use super::{Hardware, Logger};
use crate::clock::Clock;
use crate::tare::tared;
use crate::watch::Watch;
use coldsquare_core::arc::{ArcConfig, ArcCounts, ArcState};
use coldsquare_core::bead::Window;
use coldsquare_core::calibration::Calibration;
use coldsquare_core::record::{EventKind, Header, MarkerKind, Record};
use heapless::String;

/// Time from one header to the next, s: an hour of a shop has some 5000 records. The second comes sooner, for short logs.
const HEADER_EVERY_S: f64 = 3600.0;
const SECOND_HEADER_S: f64 = 600.0;

impl<H: Hardware> Logger<H> {
    /// Writes a header with the settings in use.
    pub(super) fn write_header(&mut self) {
        let header = Header {
            start: self.arc.position(),
            device: self.setup.device.clone(),
            firmware: String::try_from(env!("CARGO_PKG_VERSION")).unwrap_or_default(),
            title: self.setup.title.clone(),
            process: self.setup.process,
            clock: self.clock.now(),
            calibration: self.setup.calibration,
            calibrated_unix_s: self.setup.calibrated_unix_s,
            arc: self.config.counts(),
        };
        let wait_s = if header.start == self.first_header {
            SECOND_HEADER_S
        } else {
            HEADER_EVERY_S
        };
        let wait = wait_s * self.setup.calibration.sample_rate_hz;
        self.next_header = header.start.saturating_add(wait as u64);
        self.log
            .recorder
            .write(header.start, &Record::Header(header));
    }

    /// Writes the header again after a while: a log whose first header is damaged, or that was cut in two, is read from
    /// the next one. Call it with the arc off, so that a bead has one header.
    pub(super) fn repeat_header(&mut self) {
        if self.arc.position() > self.next_header {
            self.write_header();
        }
    }

    /// Begins a new log at sample, bead and record 0, because the store was cleared; `unread` bytes of the old log were
    /// not pulled.
    pub(super) fn reset_log(&mut self, unread: u64) {
        self.clock_offset = self.clock_offset.wrapping_add(self.arc.position());
        self.arc = ArcState::new();
        self.checks = Checks::default();
        self.log.watch = Watch::default();
        self.log.beads = 0;
        self.log.last_alarm = None;
        self.log.arc_off = None;
        self.first_header = 0;
        self.write_header();
        let value = i64::try_from(unread).unwrap_or(i64::MAX);
        self.log.event(0, EventKind::StoreCleared, value);
        // The marker of the current weld is in the old log.
        if let Some(weld) = self.weld() {
            self.mark(MarkerKind::NextWeld, Some(weld));
        }
        self.log.recorder.sync();
    }

    /// Tares with this arc-off window, if a tare is pending and the window is suitable.
    pub(super) fn try_tare(&mut self, window: &Window) {
        if !self.tare_pending || self.arc.is_arc_on() {
            return;
        }
        let Some(calibration) = tared(&self.setup.calibration, &self.config, window) else {
            return;
        };
        let arc = ArcCounts {
            zero: calibration.current.nearest_zero(),
            ..self.setup.arc
        };
        // The calibration keeps its date: that is the date of the gain, which a tare does not change.
        if self.set_calibration(calibration, arc) {
            self.tare_pending = false;
        }
    }

    /// Uses another calibration from now on; false, and nothing changes, if these arc counts do not suit it.
    pub(super) fn set_calibration(&mut self, calibration: Calibration, arc: ArcCounts) -> bool {
        let Ok(config) = ArcConfig::from_counts(arc, &calibration) else {
            return false;
        };
        self.was_set = true;
        self.setup.calibration = calibration;
        self.log.calibration = calibration;
        self.set_config(config);
        self.log
            .event(self.arc.position(), EventKind::CalibrationChanged, 0);
        self.write_header();
        self.log.recorder.sync();
        true
    }

    /// Uses another configuration of the arc detector from now on.
    pub(super) fn set_config(&mut self, config: ArcConfig) {
        self.setup.arc = config.counts();
        self.config = config;
        self.arc.reconfigured();
    }
}
