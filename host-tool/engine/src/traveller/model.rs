//! The traveller as facts.

use serde::Serialize;

/// The traveller of one job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Traveller {
    /// Name of the job.
    pub title: String,
    /// The order of welding, in words.
    pub order: String,
    /// The steps, in order.
    pub steps: Vec<TravellerStep>,
    /// The time of each step.
    pub times: Vec<StepTime>,
    /// All of it, minutes.
    pub total_min: f64,
    /// About 95 of 100 times lie between these (k = 2), minutes.
    pub range_min: [f64; 2],
    /// What it costs, as far as the job gives prices.
    pub money: Option<JobMoney>,
}

/// A step of the job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct TravellerStep {
    /// The word that notes of hours take ("fixture").
    pub id: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// What can hurt someone in it.
    pub cautions: Vec<String>,
    /// What to do, each with a box to tick.
    pub to_do: Vec<String>,
    /// What to read and note.
    pub readings: Vec<ReadingToNote>,
}

/// A reading to note.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ReadingToNote {
    /// The name that `measure --reading` takes, or what to read.
    pub name: String,
    /// What to expect or to keep to.
    pub expected: String,
}

/// The time of a step.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StepTime {
    /// The step.
    pub id: &'static str,
    /// What the table of times says, minutes.
    pub table_min: f64,
    /// What to expect, minutes.
    pub minutes: f64,
    /// About 95 of 100 times lie between these (k = 2), minutes.
    pub range_min: [f64; 2],
    /// What it rests on.
    pub basis: TimeBasis,
}

/// What a time rests on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum TimeBasis {
    /// The log of the build.
    Logged,
    /// The table of times alone.
    Table,
    /// The table, corrected by what the shop noted.
    Noted {
        /// Time spent over time in the table.
        factor: f64,
        /// Number of notes.
        count: usize,
    },
}

/// What the whole job costs.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct JobMoney {
    /// Name or sign of the currency.
    pub currency: String,
    /// Labour of all steps; `None` without a price.
    pub labour: Option<f64>,
    /// Wire, gas and energy, as far as known; `None` when none of them is.
    pub welding: Option<f64>,
    /// Sum of what is known.
    pub known_total: f64,
}

/// A step without readings and cautions.
pub(super) fn step(id: &'static str, title: &'static str, to_do: Vec<String>) -> TravellerStep {
    TravellerStep {
        id,
        title,
        cautions: Vec::new(),
        to_do,
        readings: Vec::new(),
    }
}

/// A reading to note.
pub(super) fn reading(name: impl Into<String>, expected: String) -> ReadingToNote {
    ReadingToNote {
        name: name.into(),
        expected,
    }
}
