//! What a traveller is made from.

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
