//! Clamps: more of them, and those of the job used otherwise.

use super::candidates::Spot;
use super::gains::{WORTH_MM, enough};
use super::trial::Trial;
use crate::format::list;
use crate::movement::clamps::{ClampUse, Releases};
use crate::movement::simulate::SimulationOptions;
use crate::plan::model::{Gain, GainKind};
use coldsquare_core::uncertainty::COVERAGE_FACTOR;

impl Trial<'_> {
    /// What is saved by using the clamps otherwise. Its uncertainty is what that of the factors does to it.
    fn clamped(&self, uses: &[ClampUse<'_>], advice: String) -> Gain {
        let as_planned = self.as_planned.get_or_init(|| self.costs(&self.uses()));
        let otherwise = self.costs(uses);
        let both = as_planned.iter().zip(otherwise);
        let mut saves = both.map(|(as_planned, otherwise)| as_planned - otherwise);
        let saves_mm = saves.next().unwrap_or(0.0);
        let variance: f64 = saves.map(|varied| (varied - saves_mm).powi(2)).sum();
        Gain {
            kind: GainKind::Clamps,
            advice,
            saves_mm,
            plus_minus_mm: COVERAGE_FACTOR * variance.sqrt(),
        }
    }

    /// How far the frame moves with the clamps used like this, mm, for each of the shrinkages.
    fn costs(&self, uses: &[ClampUse<'_>]) -> Vec<f64> {
        let releases = Releases::with_uses(&self.candidates.job, uses);
        let options = SimulationOptions {
            releases: Some(&releases),
            ..SimulationOptions::default()
        };
        let outcomes = self
            .shrinkages
            .iter()
            .map(|shrinkage| self.model.simulate(&self.parts, shrinkage, &options));
        outcomes
            .map(|outcome| self.cost(&outcome.released_mm))
            .collect()
    }

    /// The clamps of the job as it says, the other candidates off.
    fn uses(&self) -> Vec<ClampUse<'static>> {
        let mut uses = vec![ClampUse::AsInJob; self.candidates.job.clamps.len()];
        uses[self.job.clamps.len()..].fill(ClampUse::Never);
        uses
    }

    pub(super) fn with(&self, spots: &[&Spot]) -> Gain {
        let mut uses = self.uses();
        spots
            .iter()
            .for_each(|spot| uses[spot.clamp] = ClampUse::UntilCold);
        let names: Vec<String> = spots.iter().map(|spot| spot.name.clone()).collect();
        let advice = format!("clamp {} to the table until all is cold", list(&names));
        self.clamped(&uses, advice)
    }

    pub(super) fn more_clamps(&self) -> Vec<Gain> {
        let middles: Vec<&Spot> = self.candidates.middles.iter().collect();
        let corners: Vec<&Spot> = self.candidates.corners.iter().collect();
        let groups = (1..=middles.len()).map(|count| self.with(&middles[..count]));
        let mut gains: Vec<Gain> = enough(groups.collect()).into_iter().collect();
        if !corners.is_empty() {
            gains.push(self.with(&corners));
            let alone = gains.iter().map(|gain| gain.saves_mm).fold(0.0, f64::max);
            let both = self.with(&[corners, middles].concat());
            if both.saves_mm > alone + WORTH_MM {
                gains.push(both);
            }
        }
        gains
    }

    /// The clamps of the job: each left out, each kept on until all is cold, all taken off half-way.
    pub(super) fn clamps_otherwise(&self) -> Vec<Gain> {
        let mut gains = Vec::new();
        let one = |clamp: usize, its: ClampUse<'static>| {
            let mut uses = self.uses();
            uses[clamp] = its;
            uses
        };
        for (k, clamp) in self.job.clamps.iter().enumerate() {
            let name = format!("clamp {} on {}", k + 1, self.job.members[clamp.member].name);
            let without = one(k, ClampUse::Never);
            gains.push(self.clamped(&without, format!("leave out {name}")));
            if !clamp.release_after.is_empty() && clamp.release_before.is_empty() {
                let kept = one(k, ClampUse::UntilCold);
                gains.push(self.clamped(&kept, format!("keep {name} on until all is cold")));
            }
        }
        let half = self.order.len().div_ceil(2);
        if let (false, Some(&last)) = (self.job.clamps.is_empty(), self.order[..half].last()) {
            let mut uses: Vec<ClampUse<'_>> = self.uses();
            uses[..self.job.clamps.len()].fill(ClampUse::After(&self.order[..half]));
            let number = self.job.welds[last].number;
            gains.push(self.clamped(&uses, format!("take all clamps off after weld {number}")));
        }
        gains
    }
}
