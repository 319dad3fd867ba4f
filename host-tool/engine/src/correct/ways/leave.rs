//! Leaving it as it is.

use super::{Case, shut};
use crate::correct::is_too_large;
use crate::correct::model::{Degree, Kind, Way};

pub(super) fn leave(case: &Case<'_>) -> Way {
    let (show, tolerated) = (case.show(), case.tolerance_mm);
    let value = case.change.change_mm.value.abs();
    if is_too_large(case.job, case.change) {
        return shut(
            Kind::Leave,
            "It leaves less clearance in the opening than the job wants, doubt included.",
        );
    }
    let tolerance = format!("{} {} tolerated", show.gap(tolerated), show.unit());
    if value > tolerated {
        let beyond = format!("{} {}", show.gap(value - tolerated), show.unit());
        return shut(
            Kind::Leave,
            format!("It is {beyond} beyond the {tolerance}."),
        );
    }
    let how = if case.measured {
        "Measure again before you mend it."
    } else {
        "Measure it when it is welded."
    };
    Way {
        open: true,
        risk: Degree::Low,
        ..shut(
            Kind::Leave,
            format!("Inside the {tolerance}, but by less than its doubt. {how}"),
        )
    }
}
