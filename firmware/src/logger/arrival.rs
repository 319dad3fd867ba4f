//! A log that comes while the logger runs, and what is told of the time before.

use super::absence::Absence;
use super::check_progress::Checks;
use super::{Hardware, Logger};
use crate::store::{Arrival, Store};
use crate::watch::Watch;
use coldsquare_core::arc::{ArcConfig, ArcState};
use coldsquare_core::record::{EventKind, MarkerKind};
use coldsquare_core::trouble::Trouble;
use heapless::String;

impl<H: Hardware> Logger<H> {
    /// Sees what is wrong with the store, at any time.
    pub(super) fn see_trouble(&mut self) {
        let Some(trouble) = self.log.recorder.trouble() else {
            return;
        };
        let is_known_better = |absence: &Absence| {
            matches!(absence.trouble, Trouble::Refuses | Trouble::Slow)
                && absence.trouble != trouble
        };
        if self.absence.as_ref().is_none_or(is_known_better) {
            self.absence = Some(Absence {
                trouble,
                beads: self.log.beads,
                // These two are events of the log.
                is_told: matches!(trouble, Trouble::Refuses | Trouble::Full),
            });
        }
    }

    /// Goes on in a log that came just now; notes in the log what was wrong. Call it with the arc off.
    #[inline(never)] // Seldom, and with the stack of a header.
    pub(super) fn watch_store(&mut self) {
        if let Some(arrival) = self.log.recorder.store().arrived() {
            self.adopt(arrival);
            return;
        }
        let Some(absence) = self.absence else { return };
        let now = self.log.recorder.trouble();
        // A store that takes nothing is told of when it does again; one that takes some of it, at once.
        let can_tell = matches!(now, None | Some(Trouble::Slow | Trouble::Wraps));
        if can_tell && !absence.is_told {
            self.note_trouble(absence.trouble, 0);
        }
        if can_tell {
            self.absence = now.map(|trouble| Absence {
                trouble,
                is_told: true,
                ..absence
            });
        }
    }

    /// Goes on in this log: nothing was stored so far.
    fn adopt(&mut self, arrival: Arrival) {
        let Arrival { resume, header } = arrival;
        // What somebody has set meanwhile counts more than what that log knows.
        if !self.was_set
            && let Some(header) = header
        {
            let before = self.setup.clone();
            let fits = self.setup.restore(&header);
            match ArcConfig::from_counts(self.setup.arc, &self.setup.calibration) {
                Ok(config) if fits => {
                    self.config = config;
                    self.log.calibration = self.setup.calibration;
                }
                _ => self.setup = before,
            }
        }
        let position = self.arc.position();
        self.clock_offset = self
            .clock_offset
            .wrapping_add(position)
            .wrapping_sub(resume.position);
        self.arc = ArcState::resume(resume.position, resume.beads);
        self.setup.resume = resume;
        let absence = self.absence.take();
        let missed = absence.map_or(0, |absence| self.log.beads.saturating_sub(absence.beads));
        self.log.beads = resume.beads;
        self.log.watch = Watch::default();
        self.log.arc_off = None;
        self.checks = Checks::default();
        self.cleared = None;
        self.first_header = resume.position;
        let lost = self.log.recorder.go_on_with(resume.sequence);
        self.open_log();
        if lost > 0 {
            self.log
                .event(resume.position, EventKind::StoreFault, lost.into());
        }
        if let Some(absence) = absence {
            self.note_trouble(absence.trouble, missed);
        }
        // The marker of the current weld is not in this log.
        if let Some(weld) = self.weld() {
            self.mark(MarkerKind::NextWeld, Some(weld));
        }
        self.log.recorder.sync();
    }

    fn note_trouble(&mut self, trouble: Trouble, beads: u32) {
        let mut note = String::new();
        // A note has room for it.
        let _ = trouble.write_note(beads, &mut note);
        self.note(note);
    }
}
