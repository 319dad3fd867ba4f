//! Working out a sequence of welds from start to end.
//!
//! ```
//! # use coldsquare_engine::movement::{model::MovementModel, simulate::SimulationOptions};
//! # use coldsquare_engine::shop::factor::Factors;
//! # let job = coldsquare_engine::job::from_text("gate.toml", coldsquare_engine::example::GARDEN_GATE).unwrap();
//! let model = MovementModel::new(&job).unwrap();
//! let shrinkage = model.shrinkage(&vec![172.0; model.welds()], &Factors::starting()).unwrap();
//! let file_order: Vec<usize> = (0..model.welds()).collect();
//! let sequence = model.whole_welds(&file_order);
//! let outcome = model.simulate(&sequence, &shrinkage, &SimulationOptions::after_each_part());
//! assert_eq!(outcome.steps_mm.len(), model.welds());
//! assert_eq!(outcome.released_mm.len(), model.measures().len());
//! ```

use super::build_state::BuildState;
use super::clamps::Releases;
use super::model::MovementModel;
use super::model::weld_part::WeldPart;
use super::outcome::Outcome;
use super::shrinkage::Shrinkage;

/// How a sequence is simulated; the default is as the job says, with the final shape only.
#[derive(Clone, Copy, Debug, Default)]
pub struct SimulationOptions<'a> {
    /// Keep the measures after each part of the sequence.
    pub after_each_part: bool,
    /// When clamps are released, if not as the job says. A clamp that is off for every weld acts as if it were not
    /// there, so that one model with all clamps serves to try several ways of clamping.
    pub releases: Option<&'a Releases>,
}

impl SimulationOptions<'_> {
    /// As the job says, with the measures after each part.
    #[must_use]
    pub const fn after_each_part() -> Self {
        Self {
            after_each_part: true,
            releases: None,
        }
    }
}

impl MovementModel {
    /// Welds the parts in this order and then releases the clamps. Each segment of a weld is to be in at most one part;
    /// welds that are not in the sequence stay tacked.
    ///
    /// [`MovementModel::whole_welds`] makes the sequence from an order of whole welds.
    #[must_use]
    pub fn simulate(
        &self,
        sequence: &[WeldPart],
        shrinkage: &Shrinkage,
        options: &SimulationOptions<'_>,
    ) -> Outcome {
        let releases = options.releases.unwrap_or(&self.restraints.releases);
        let mut state = BuildState::for_sequence(self, sequence, shrinkage, releases);
        let mut steps_mm = Vec::new();
        for part in sequence {
            state.apply_part(part);
            if options.after_each_part {
                steps_mm.push(state.measures_mm());
            }
        }
        Outcome {
            steps_mm,
            ..state.release()
        }
    }

    /// The frame before the first weld, for a build in which each next weld is chosen on the way. `expected` is the
    /// likely sequence and may be empty; the nearer the build keeps to it, the faster it is.
    #[must_use]
    pub fn start<'a>(&'a self, shrinkage: &'a Shrinkage, expected: &[WeldPart]) -> BuildState<'a> {
        BuildState::open(self, shrinkage, expected)
    }

    /// The springback: what releasing the clamps adds to each measure for each restraint coordinate that has moved by
    /// 1 mm ([`BuildState::restraint_movements_mm`]). It depends on the stiffness of the whole frame only, so it is the
    /// same after every order. `None` where clamps are released on the way, because then it matters when.
    #[must_use]
    pub(crate) fn springback(&self, shrinkage: &Shrinkage) -> Option<Vec<Vec<f64>>> {
        if self.restraints.releases.any_on_the_way() {
            return None;
        }
        let all = self.whole_welds(&(0..self.welds()).collect::<Vec<_>>());
        let mut state = self.start(shrinkage, &all);
        all.iter().for_each(|part| state.apply_part(part));
        Some(state.springback())
    }
}
