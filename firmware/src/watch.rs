//! What a window shows to be wrong with leads, clamp or converter.
//!
//! Each fact is told once a bead, because a welder will not mend a lead in the middle of one.

use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::meter::is_reversed;
use coldsquare_core::record::EventKind;

/// A lit window that never leaves this band about zero has no voltage lead. An arc is above 8 V (TIG in argon) in some
/// part of any 100 ms; a stuck electrode with its leads is below. Common practice, no source.
const NO_VOLTAGE_VOLTS: f64 = 3.0;

/// Nothing is told of leads from less than this: a droplet's short alone may last some milliseconds.
const SHORTEST_JUDGED_S: f64 = 0.05;

/// So many lit windows in a row on one and the same count: no current source is as steady as that for a second.
const STUCK_WINDOWS: u8 = 10;

/// One channel on one count.
#[derive(Clone, Copy, Debug, Default)]
struct Stillness {
    count: i32,
    windows: u8,
}

impl Stillness {
    /// Takes a window's least and greatest count; true when the channel has just become stuck.
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

/// Remembers what was told about the present bead.
#[derive(Clone, Copy, Debug, Default)]
pub struct Watch {
    lead_open: bool,
    reversed: bool,
    voltage: Stillness,
    current: Stillness,
    dropped: u32,
}

impl Watch {
    /// Looks at a window that is complete and tells what it shows, with its value.
    pub fn window(
        &mut self,
        window: &Window,
        calibration: &Calibration,
        tell: &mut impl FnMut(EventKind, i64),
    ) {
        self.dropped = self.dropped.saturating_add(window.dropped);
        if !window.arc_on {
            self.tell_dropped(tell);
            return;
        }
        let sums = &window.sums;
        if sums.n == 0 {
            return;
        }
        let judged = f64::from(sums.n) >= SHORTEST_JUDGED_S * calibration.sample_rate_hz;
        if judged && no_voltage(window, &calibration.voltage) {
            once(&mut self.lead_open, || tell(EventKind::VoltageLeadOpen, 0));
        } else if judged && is_reversed(sums, calibration) {
            once(&mut self.reversed, || tell(EventKind::ClampReversed, 0));
        }
        if self.voltage.still(sums.v_min, sums.v_max) {
            tell(EventKind::VoltageStuck, sums.v_min.into());
        }
        if self.current.still(sums.i_min, sums.i_max) {
            tell(EventKind::CurrentStuck, sums.i_min.into());
        }
    }

    /// Sums up a bead that has ended and starts afresh.
    pub fn bead(&mut self, bead: &Bead, tell: &mut impl FnMut(EventKind, i64)) {
        if bead.clipped_voltage > 0 {
            tell(EventKind::VoltageClipped, bead.clipped_voltage.into());
        }
        if bead.clipped_current > 0 {
            tell(EventKind::CurrentClipped, bead.clipped_current.into());
        }
        self.tell_dropped(tell);
        *self = Self::default();
    }

    fn tell_dropped(&mut self, tell: &mut impl FnMut(EventKind, i64)) {
        if self.dropped > 0 {
            tell(EventKind::SamplesDropped, self.dropped.into());
            self.dropped = 0;
        }
    }
}

fn once(told: &mut bool, tell: impl FnOnce()) {
    if !*told {
        *told = true;
        tell();
    }
}

fn no_voltage(window: &Window, voltage: &Channel) -> bool {
    let volts = |count: i32| {
        voltage.gain_per_count * (f64::from(count) - f64::from(voltage.zero_in_256ths) / 256.0)
    };
    volts(window.sums.v_min).abs() < NO_VOLTAGE_VOLTS
        && volts(window.sums.v_max).abs() < NO_VOLTAGE_VOLTS
}
