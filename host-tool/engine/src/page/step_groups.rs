//! Steps that are shown as one: all tacks that follow each other.

use super::step_text::StepText;
use crate::format::{count, noun};
use crate::plan::model::{Face, Plan, Step, StepKind};
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
pub(super) fn group_text(steps: &[Step], up: Face) -> StepText {
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
