//! What the saw and the rack are like.

use super::rounding::Fraction;
use crate::job::cut_list::KERF;
use crate::job::model::Job;
use crate::section::Section;
use crate::units::Units;
use coldsquare_core::units::MILLIMETRES_PER_INCH;

/// What the saw and the rack are like.
#[derive(Clone, Debug)]
pub struct Settings {
    /// Width of the cut, mm.
    pub kerf_mm: f64,
    /// Length of a stock bar, mm.
    pub stock_mm: f64,
    /// Offcuts in the rack, used first: section and length, mm.
    pub offcuts: Vec<(Section, f64)>,
    /// What lengths are rounded to, if they are.
    pub fraction: Option<Fraction>,
}

impl Settings {
    /// As usual for the units of a job: bars of 6 m or 20 ft, a cut of 3 mm.
    #[must_use]
    pub const fn of(job: &Job) -> Self {
        let stock_mm = match job.units {
            Units::Metric => 6000.0,
            Units::UsCustomary => 240.0 * MILLIMETRES_PER_INCH,
        };
        Self {
            kerf_mm: KERF.0,
            stock_mm,
            offcuts: Vec::new(),
            fraction: None,
        }
    }
}
