//! Load of the power source.

use super::model::Duty;
use crate::formulas::duty::DutyWindow;
use crate::job::model::Machine;
use coldsquare_core::formula::FormulaError;
use coldsquare_core::units::{Amperes, Seconds};

/// The moving ten minutes and their worst moment.
pub(super) struct DutyMeter<'a> {
    window: DutyWindow,
    machine: Option<&'a Machine>,
    arc_fraction: f64,
    share: Option<f64>,
}

impl<'a> DutyMeter<'a> {
    pub(super) fn new(machine: Option<&'a Machine>) -> Self {
        Self {
            window: DutyWindow::default(),
            machine,
            arc_fraction: 0.0,
            share: machine.map(|_| 0.0),
        }
    }

    pub(super) fn rest(&mut self, time: Seconds) {
        self.window.rest(milliseconds(time));
    }

    /// The load only rises while the arc burns, so the worst moment of a weld is its end.
    pub(super) fn weld(&mut self, time: Seconds, rms: Option<Amperes>) -> Result<(), FormulaError> {
        let amps = rms.map_or(Amperes(0.0), |amps| Amperes(amps.0.abs()));
        self.window.weld(milliseconds(time), amps)?;
        self.arc_fraction = self.arc_fraction.max(self.window.arc_fraction());
        self.share = match (self.share, self.machine, rms) {
            (Some(share), Some(machine), Some(_)) => {
                Some(share.max(self.window.share_of(machine.rating)))
            }
            _ => None,
        };
        Ok(())
    }

    pub(super) fn worst(&self) -> Duty {
        Duty {
            arc_fraction: self.arc_fraction,
            share_of_rating: self.share,
        }
    }
}

fn milliseconds(time: Seconds) -> u64 {
    // Negative numbers and NaN become zero.
    (time.0 * 1000.0).round() as u64
}
