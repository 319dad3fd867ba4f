//! Steps that are shown as one: all tacks that follow each other.

use super::step_text::StepText;
use crate::format::{count, noun};
use crate::plan::model::{Plan, Step, StepKind};
use crate::plan::travel::Up;
use std::ops::Range;

/// The steps of a plan in groups, by index: tacks that follow each other are one, every other step stands alone.
pub(super) fn groups(plan: &Plan) -> Vec<Range<usize>> {
    let is_tack = |step: usize| matches!(plan.steps[step].what, StepKind::Tack { .. });
    let mut groups: Vec<Range<usize>> = Vec::new();
    for step in 0..plan.steps.len() {
        match groups.last_mut() {
            Some(group) if is_tack(step) && is_tack(group.start) => group.end = step + 1,
            _ => groups.push(step..step + 1),
        }
    }
    groups
}

/// A group as text; several tacks are named in their order.
pub(super) fn group_text(steps: &[Step], up: Up) -> StepText {
    let names: Vec<&str> = steps
        .iter()
        .filter_map(|step| match &step.what {
            StepKind::Tack { name, .. } => Some(name.as_str()),
            _ => None,
        })
        .collect();
    if names.len() < 2 {
        return StepText::of(&steps[0], up);
    }
    let tacks = steps.iter().map(|step| match &step.what {
        StepKind::Tack { at, .. } => at.len(),
        _ => 0,
    });
    StepText {
        sign: "···".into(),
        title: format!("Tack {} {}", names.len(), noun(names.len(), "joint")),
        name: names.join(", "),
        how: format!("{}, in this order", count(tacks.sum(), "tack")),
        brief: String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::model::{Face, StepKind};
    use crate::plan::order::Effort;
    use crate::plan::{Options, plan};

    #[test]
    fn all_tacks_are_one_step_and_no_step_is_lost() {
        let job = crate::job::from_text("gate.toml", crate::example::GARDEN_GATE).expect("a job");
        let options = Options {
            effort: Effort {
                trials: 1000,
                seed: 1,
            },
            ..Options::default()
        };
        let plan = plan(&job, &options, &mut |_| true).expect("a plan");
        let groups = groups(&plan);
        let covered: Vec<usize> = groups.iter().cloned().flatten().collect();
        assert_eq!(covered, (0..plan.steps.len()).collect::<Vec<_>>());
        // One for each face that is tacked.
        let tacks = |group: &&std::ops::Range<usize>| {
            matches!(plan.steps[group.start].what, StepKind::Tack { .. })
        };
        let tacked: Vec<usize> = groups
            .iter()
            .filter(tacks)
            .map(|group| group.len())
            .collect();
        assert!(tacked.len() <= 2, "{tacked:?}");
        // A joint that is tacked on both faces is a step on each.
        assert!(tacked.iter().sum::<usize>() >= job.joints.len());
        let up = Up {
            face: Face::Front,
            seen_from: plan.seen_from,
        };
        let text = group_text(&plan.steps[groups[0].clone()], up);
        assert_eq!(text.title, format!("Tack {} joints", tacked[0]));
    }
}
