//! The restraints that hold the frame to the table: clamps, or the table it lies on.

use super::coordinates::{
    CLAMP_STIFFNESS_N_PER_MM, ConstraintSpring, Layout, TABLE_STIFFNESS_N_PER_MM,
};
use crate::job::model::Job;
use crate::movement::clamps::{ClampsOn, Releases};

/// What holds the frame to the table.
#[derive(Clone, Debug)]
pub(crate) struct Restraints {
    /// Three springs a clamp.
    pub(crate) clamps: Vec<ConstraintSpring>,
    /// The force at which each clamp slips, N; infinity where the job gives none.
    pub(crate) limits_n: Vec<f64>,
    /// Six springs that stand for lying on the table.
    pub(crate) rests: Vec<ConstraintSpring>,
    /// Whether the frame lies on the table from the start because the clamps alone do not hold it.
    pub(crate) lies_on_table: bool,
    /// When each clamp is released.
    pub(crate) releases: Releases,
}

impl Restraints {
    pub(crate) fn new(job: &Job, layout: Layout) -> Self {
        let along = |coordinate: usize, stiffness: f64| ConstraintSpring {
            direction: vec![(coordinate, 1.0)],
            stiffness,
        };
        let clamps = (0..job.clamps.len()).flat_map(|c| (0..3).map(move |k| (c, k)));
        let limits_n = job
            .clamps
            .iter()
            .map(|clamp| clamp.force.map_or(f64::INFINITY, |limit| limit.0));
        let releases = Releases::of(job);
        Self {
            clamps: clamps
                .map(|(c, k)| along(layout.clamp(c, k), CLAMP_STIFFNESS_N_PER_MM))
                .collect(),
            limits_n: limits_n.collect(),
            rests: (0..6)
                .map(|r| along(layout.rest(r), TABLE_STIFFNESS_N_PER_MM))
                .collect(),
            lies_on_table: !ClampsOn::all(&releases).restrain(&releases),
            releases,
        }
    }
}
