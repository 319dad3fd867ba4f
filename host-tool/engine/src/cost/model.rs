//! Consumption, load of the power source and cost, as planned and as logged.

use coldsquare_core::units::{Joules, Kilograms, Litres, Seconds};

/// What is used up. `None` is unknown, never zero.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Consumption {
    /// Arc time.
    pub arc_time: Seconds,
    /// Wire or rod fed, spatter and stubs included.
    pub wire: Option<Kilograms>,
    /// Shielding gas during the arc time, without pre-flow and post-flow.
    pub gas: Option<Litres>,
    /// Energy at the arc.
    pub arc_energy: Option<Joules>,
    /// Energy from the mains, kWh.
    pub mains_kwh: Option<f64>,
}

/// What a weld uses up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeldConsumption {
    /// Number of the weld.
    pub number: u16,
    /// As planned.
    pub planned: Consumption,
    /// As logged; `None` when not measured.
    pub logged: Option<Consumption>,
}

/// The load of the power source in its worst ten minutes (EN IEC 60974-1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duty {
    /// Largest share of ten minutes for which the arc burns, 0 to 1.
    pub arc_fraction: f64,
    /// Largest Σ I²·t of ten minutes over what the rated duty cycle allows; above 1 the source overheats. `None` without a
    /// rating.
    pub share_of_rating: Option<f64>,
}

/// The whole build, planned or logged.
#[derive(Clone, Debug, PartialEq)]
pub struct BuildCost {
    /// What all welds use up; a quantity that is unknown for one weld is unknown here.
    pub used: Consumption,
    /// From the first arc to the last.
    pub elapsed: Seconds,
    /// Arc time over that time, 0 to 1.
    pub operating_factor: Option<f64>,
    /// The load of the power source.
    pub duty: Duty,
    /// What it costs, if the job gives prices.
    pub money: Option<Money>,
}

/// What it costs, in the currency of the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Money {
    /// Name or sign of the currency.
    pub currency: String,
    /// Wire or rod.
    pub wire: Option<f64>,
    /// Gas.
    pub gas: Option<f64>,
    /// Energy.
    pub energy: Option<f64>,
    /// Working time from the first arc to the last.
    pub labour: Option<f64>,
}

impl Money {
    /// Sum of the known costs.
    #[must_use]
    pub fn known_total(&self) -> f64 {
        [self.wire, self.gas, self.energy, self.labour]
            .iter()
            .flatten()
            .sum()
    }
}

/// Consumption, load and cost of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Cost {
    /// One entry a weld, in order of number.
    pub welds: Vec<WeldConsumption>,
    /// The build as planned.
    pub planned: BuildCost,
    /// The build as logged.
    pub logged: Option<BuildCost>,
}
