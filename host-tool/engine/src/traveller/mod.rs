//! The traveller: one sheet for the whole job, from the opening to hanging, with the numbers of this job.
//!
//! ```text
//! Job, prediction, fixture, finishing, cost, notes of hours -> steps (what to do, what to read, cautions, time) -> Traveller
//! ```
//!
//! A new step is a function in `steps`, with its time in `time`.

mod basis;
mod before;
pub mod model;
mod ripped;
mod steps;
pub mod text;
mod time;

#[cfg(test)]
mod tests;

pub use basis::Basis;
pub use model::Traveller;
pub use time::STEPS;

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
