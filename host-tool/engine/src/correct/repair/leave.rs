//! Leaving it as it is.

use super::case::{Case, not_possible};
use crate::correct::model::{Degree, RepairKind, RepairOption};
use crate::correct::tolerance::is_too_large;

pub(super) fn leave(case: &Case<'_>) -> RepairOption {
    let no = |why: String| not_possible(RepairKind::Leave, why);
    if is_too_large(case.job, case.change) {
        return no(
            "It leaves less clearance in the opening than the job wants, uncertainty included."
                .into(),
        );
    }
    let value = case.change.change_mm.value.abs();
    let tolerance = case.drawn(case.tolerance_mm);
    if value > case.tolerance_mm {
        let beyond = case.drawn(value - case.tolerance_mm);
        return no(format!(
            "It is {beyond} beyond the tolerance of {tolerance}."
        ));
    }
    let what_to_do = if case.measured {
        "Measure again before you straighten it."
    } else {
        "Measure it when it is welded."
    };
    RepairOption {
        possible: true,
        risk: Degree::Low,
        ..no(format!(
            "Within the tolerance of {tolerance}, but by less than its uncertainty. {what_to_do}"
        ))
    }
}
