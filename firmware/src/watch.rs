//! Alarms about leads, clamp and converter, from the sums of windows.
//!
//! Each alarm is raised at most once a bead, because a welder will not fix a lead in the middle of one.

use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::meter::is_reversed;
use coldsquare_core::record::EventKind;

/// If the voltage of an arc-on window stays within this of zero, a voltage lead is off. An arc exceeds 8 V (TIG in argon)
/// at some point in any 100 ms; a stuck electrode with its leads stays below. Common practice, no source.
const NO_VOLTAGE_VOLTS: f64 = 3.0;

/// Shorter windows say nothing about leads: the short circuit of one droplet may last some milliseconds.
const SHORTEST_JUDGED_S: f64 = 0.05;

/// This many arc-on windows in a row on one count mean a stuck channel: no power source is that steady for a second.
const STUCK_WINDOWS: u8 = 10;

/// One channel on one count.
#[derive(Clone, Copy, Debug, Default)]
struct Stillness {
    count: i32,
    windows: u8,
}

impl Stillness {
    /// Takes a window's least and greatest count; true if the channel has just become stuck.
    fn still(&mut self, least: i32, greatest: i32) -> bool {
        if least != greatest {
            self.windows = 0;
            return false;
        }
        if self.windows == 0 || self.count != least {
            *self = Self {
                count: least,
                windows: 0,
            };
        }
        self.windows = self.windows.saturating_add(1);
        self.windows == STUCK_WINDOWS
    }
}

/// Remembers the alarms of the current bead.
#[derive(Clone, Copy, Debug, Default)]
pub struct Watch {
    lead_open: bool,
    reversed: bool,
    voltage: Stillness,
    current: Stillness,
    dropped: u32,
}

impl Watch {
    /// Checks a complete window and raises its alarms, each with its value.
    pub fn window(
        &mut self,
        window: &Window,
        calibration: &Calibration,
        alarm: &mut impl FnMut(EventKind, i64),
    ) {
        self.dropped = self.dropped.saturating_add(window.dropped);
        if !window.arc_on {
            self.report_dropped(alarm);
            return;
        }
        let sums = &window.sums;
        if sums.n == 0 {
            return;
        }
        let judged = f64::from(sums.n) >= SHORTEST_JUDGED_S * calibration.sample_rate_hz;
        if judged && no_voltage(window, &calibration.voltage) {
            once(&mut self.lead_open, || alarm(EventKind::VoltageLeadOpen, 0));
        } else if judged && is_reversed(sums, calibration) {
            once(&mut self.reversed, || alarm(EventKind::ClampReversed, 0));
        }
        if self.voltage.still(sums.v_min, sums.v_max) {
            alarm(EventKind::VoltageStuck, sums.v_min.into());
        }
        if self.current.still(sums.i_min, sums.i_max) {
            alarm(EventKind::CurrentStuck, sums.i_min.into());
        }
    }

    /// Raises the alarms of a finished bead and starts again for the next.
    pub fn bead(&mut self, bead: &Bead, alarm: &mut impl FnMut(EventKind, i64)) {
        if bead.clipped_voltage > 0 {
            alarm(EventKind::VoltageClipped, bead.clipped_voltage.into());
        }
        if bead.clipped_current > 0 {
            alarm(EventKind::CurrentClipped, bead.clipped_current.into());
        }
        self.report_dropped(alarm);
        *self = Self::default();
    }

    fn report_dropped(&mut self, alarm: &mut impl FnMut(EventKind, i64)) {
        if self.dropped > 0 {
            alarm(EventKind::SamplesDropped, self.dropped.into());
            self.dropped = 0;
        }
    }
}

fn once(raised: &mut bool, alarm: impl FnOnce()) {
    if !*raised {
        *raised = true;
        alarm();
    }
}

fn no_voltage(window: &Window, voltage: &Channel) -> bool {
    let volts = |count: i32| {
        voltage.gain_per_count * (f64::from(count) - f64::from(voltage.zero_in_256ths) / 256.0)
    };
    volts(window.sums.v_min).abs() < NO_VOLTAGE_VOLTS
        && volts(window.sums.v_max).abs() < NO_VOLTAGE_VOLTS
}
