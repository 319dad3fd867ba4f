//! The traveller: one sheet for the whole job, from the opening to hanging, with the numbers of this job.
//!
//! ```text
//! Job, prediction, fixture, finishing, cost, notes of hours -> steps (what to do, what to read, cautions, time) -> Traveller
//! ```
//!
//! A new step is a function in `steps`, with its time in `time`.

pub mod model;
mod ripped;
mod steps;
pub mod text;
mod time;

#[cfg(test)]
mod tests;

pub use model::Traveller;
pub use time::STEPS;

use crate::cost::Cost;
use crate::finish::Finishing;
use crate::fixture::Fixture;
use crate::job::model::Job;
use crate::movement::predict::Prediction;
use crate::shop::hours::Hours;

/// What a traveller is made from.
#[derive(Clone, Copy, Debug)]
pub struct Basis<'a> {
    /// The job.
    pub job: &'a Job,
    /// Its file name, for the commands on the sheet.
    pub file: &'a str,
    /// What messages call the order of welding ("file order").
    pub order: &'a str,
    /// The prediction in that order.
    pub prediction: &'a Prediction,
    /// The fixture.
    pub fixture: &'a Fixture,
    /// What is done after welding.
    pub finishing: &'a Finishing,
    /// What the welding uses up, as planned and as logged.
    pub cost: &'a Cost,
    /// What the shop has noted of its hours.
    pub hours: &'a [Hours],
}

/// The traveller of a job.
#[must_use]
pub fn traveller(basis: &Basis<'_>) -> Traveller {
    let times = time::times(basis);
    let steps = steps::steps(basis, &times);
    let minutes = |of: fn(&model::StepTime) -> f64| times.iter().map(of).sum::<f64>();
    let total_min = minutes(|time| time.minutes);
    // One shop does all steps, so that all may be slow together: their ranges are added, not their squares.
    let range_min = [
        minutes(|time| time.range_min[0]),
        minutes(|time| time.range_min[1]),
    ];
    Traveller {
        title: basis.job.name.clone(),
        order: basis.order.to_owned(),
        steps,
        money: time::money(basis, total_min),
        total_min,
        range_min,
        times,
    }
}
