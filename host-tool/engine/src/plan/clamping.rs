//! Clamps that come off between welds, as steps of the plan.

use super::model::{Reason, Step, StepKind};
use super::parts::PlannedPart;
use crate::job::model::Job;
use crate::movement::clamps::{ClampsOn, Releases};

/// Follows an order and says which clamps come off.
pub(super) struct Clamping<'a> {
    job: &'a Job,
    releases: Releases,
    on: ClampsOn,
    /// Parts left to weld, by index of the weld.
    left: Vec<usize>,
}

impl<'a> Clamping<'a> {
    pub(super) fn new(job: &'a Job, parts: &[PlannedPart]) -> Self {
        let releases = Releases::of(job);
        let mut left = vec![0; job.welds.len()];
        for part in parts {
            left[part.weld] += 1;
        }
        Self {
            job,
            on: ClampsOn::all(&releases),
            releases,
            left,
        }
    }

    /// Steps before a part of this weld.
    pub(super) fn before(&mut self, weld: usize, gauge_now: f64) -> Vec<Step> {
        let reason = Reason::ClampInTheWay {
            weld: self.job.welds[weld].number,
        };
        let off = self.on.release_before(&self.releases, weld);
        self.steps(off, reason, gauge_now)
    }

    /// Steps after a part of this weld: it may be the last one that needed a clamp.
    pub(super) fn after(&mut self, weld: usize, gauge_now: f64) -> Vec<Step> {
        self.left[weld] -= 1;
        if self.left[weld] > 0 {
            return Vec::new();
        }
        let off = self.on.release_after(&self.releases, weld);
        self.steps(off, Reason::ClampDone, gauge_now)
    }

    fn steps(&self, off: Vec<usize>, reason: Reason, gauge_now: f64) -> Vec<Step> {
        let off = off.into_iter().map(|clamp| {
            let held = &self.job.clamps[clamp];
            let what = StepKind::ReleaseClamp {
                clamp: clamp + 1,
                member: self.job.members[held.member].name.clone(),
                at: held.at.into(),
            };
            Step::new(what, reason, gauge_now)
        });
        off.collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::job::from_text;
    use crate::plan::frame_model::plan_on_frame_model;
    use crate::plan::model::{Plan, Reason, StepKind};
    use crate::plan::order::Effort;
    use crate::plan::parallel::Serial;
    use crate::plan::{Options, plan};

    const GATE: &str = crate::example::GARDEN_GATE;

    fn options() -> Options {
        Options {
            effort: Effort {
                trials: 2000,
                seed: 1,
            },
            ..Options::default()
        }
    }

    /// Where in the list a clamp comes off, and where each weld is.
    fn places(plan: &Plan) -> (Vec<usize>, Vec<(u16, usize)>) {
        let (mut off, mut welds) = (Vec::new(), Vec::new());
        for step in &plan.steps {
            match step.what {
                StepKind::ReleaseClamp { .. } => off.push(step.number),
                StepKind::Weld { weld, .. } => welds.push((weld, step.number)),
                StepKind::Tack { .. } | StepKind::Flip { .. } => {}
            }
        }
        (off, welds)
    }

    #[test]
    fn a_clamp_comes_off_right_after_its_last_weld_and_before_those_it_is_in_the_way_of() {
        let text = format!(
            "{GATE}\n[[clamp]]\nat = \"top rail at 600\"\nrelease_after = [3, 20]\nrelease_before = [1, 2]\n\
             [[clamp]]\nat = \"bottom rail at 600\"\n"
        );
        let job = from_text("gate.toml", &text).unwrap_or_else(|wrong| panic!("{wrong}"));
        for plan in [
            plan(&job, &options(), &mut |_| true).expect("a plan"),
            plan_on_frame_model(&job, &options(), &Serial, &mut |_| true).expect("a plan"),
        ] {
            let (off, welds) = places(&plan);
            // On the clock it is a step like the others, and takes its time.
            for (step, next) in plan.steps.iter().zip(&plan.steps[1..]) {
                assert_eq!(next.number, step.number + 1);
                let takes = next.begins.0 - step.begins.0;
                let least = match step.what {
                    StepKind::ReleaseClamp { .. } => 10.0,
                    _ => 0.0,
                };
                assert!(takes >= least, "step {}: {takes} s", step.number);
            }
            let [off] = off[..] else {
                panic!("one clamp stays to the end: {off:?}");
            };
            let at = |number: u16| {
                let found = welds.iter().find(|(weld, _)| *weld == number);
                found.expect("in the plan").1
            };
            assert_eq!(off, at(3).max(at(20)) + 1);
            assert!(off < at(1).min(at(2)));
            let step = &plan.steps[off - 1];
            assert_eq!(step.reason, Reason::ClampDone);
            assert!(
                matches!(&step.what, StepKind::ReleaseClamp { clamp: 1, member, .. } if member == "top rail")
            );
        }
    }

    #[test]
    fn a_clamp_that_is_only_in_the_way_comes_off_at_the_last_moment() {
        let text = format!("{GATE}\n[[clamp]]\nat = \"top rail at 600\"\nrelease_before = [9]\n");
        let job = from_text("gate.toml", &text).unwrap_or_else(|wrong| panic!("{wrong}"));
        let plan = plan(&job, &options(), &mut |_| true).expect("a plan");
        let (off, welds) = places(&plan);
        let weld = welds.iter().find(|(weld, _)| *weld == 9).expect("there").1;
        assert_eq!(off, [weld - 1]);
        assert_eq!(
            plan.steps[off[0] - 1].reason,
            Reason::ClampInTheWay { weld: 9 }
        );
    }
}
