//! Live readings, kept as sums that cost nothing until someone asks.

use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::Calibration;
use coldsquare_core::meter::{Measured, Stretch, measure};

/// Sums of the last window, the current bead and the current weld.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct LiveReadings {
    window: Stretch,
    bead: Stretch,
    /// Samples of the bead during which the arc burned.
    arc_samples: u64,
    /// The finished beads of the weld.
    weld: Stretch,
    /// A bead is being welded, and is not in `weld` yet.
    open: bool,
}

impl LiveReadings {
    pub(super) fn window(&mut self, window: &Window) {
        self.window = window.into();
        if self.open && window.arc_on {
            add(&mut self.bead, &self.window);
            self.arc_samples = self.arc_samples.saturating_add(window.span());
        }
    }

    pub(super) fn bead_started(&mut self) {
        self.bead = Stretch::default();
        self.arc_samples = 0;
        self.open = true;
    }

    pub(super) fn bead_ended(&mut self, bead: &Bead) {
        self.bead = bead.into();
        self.arc_samples = bead.arc_samples;
        self.open = false;
        add(&mut self.weld, &self.bead);
    }

    pub(super) fn weld_started(&mut self) {
        self.weld = Stretch::default();
    }

    /// The last window; `None` before the first.
    pub(super) fn last_window(&self, calibration: &Calibration) -> Option<Measured> {
        measure(&self.window, calibration).ok()
    }

    /// Arc energy of the current bead, J.
    pub(super) fn bead_j(&self, calibration: &Calibration) -> f64 {
        energy_j(&self.bead, calibration)
    }

    /// Its arc time, s.
    pub(super) fn bead_s(&self, calibration: &Calibration) -> f64 {
        self.arc_samples as f64 / calibration.sample_rate_hz
    }

    /// Whether the current weld has had any heat.
    pub(super) const fn weld_has_heat(&self) -> bool {
        self.open || self.weld.sums.n > 0
    }

    /// Arc energy of the current weld so far, J.
    pub(super) fn weld_j(&self, calibration: &Calibration) -> f64 {
        let mut all = self.weld;
        if self.open {
            add(&mut all, &self.bead);
        }
        energy_j(&all, calibration)
    }
}

fn energy_j(stretch: &Stretch, calibration: &Calibration) -> f64 {
    measure(stretch, calibration).map_or(0.0, |measured| measured.energy.0)
}

fn add(to: &mut Stretch, more: &Stretch) {
    to.sums.merge(&more.sums);
    to.dropped = to.dropped.saturating_add(more.dropped);
    to.clipped_voltage = to.clipped_voltage.saturating_add(more.clipped_voltage);
    to.clipped_current = to.clipped_current.saturating_add(more.clipped_current);
}
