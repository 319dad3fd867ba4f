//! Faults of the frame as a whole: its sizes, whether it is square and flat.

use super::{Case, LOADED, shut};
use crate::correct::model::{Degree, Kind, Way};
use crate::movement::answers::MeasureKind;

pub(super) fn cut_length(case: &Case<'_>) -> Way {
    let show = case.show();
    let add = format!(
        "{} {}",
        show.change(-case.change.change_mm.value),
        show.unit()
    );
    if case.measured {
        return shut(
            Kind::CutLength,
            format!(
                "This frame stays as wide as it is, unless a joint is cut and welded again. For the next one cut {add}."
            ),
        );
    }
    let doubt = show.gap(case.change.change_mm.expanded());
    let add = show.change(-case.change.change_mm.value);
    Way {
        open: true,
        risk: Degree::Low,
        steps: vec![
            "Cut to the list of `coldsquare predict`, which has the allowance of each member."
                .into(),
        ],
        ..shut(
            Kind::CutLength,
            format!("Cut the members along it {add} ± {doubt} {}.", show.unit()),
        )
    }
}

/// Racking and wind: what the frame takes is not worked out.
pub(super) fn pull(case: &Case<'_>) -> Way {
    if case.measured && case.job.structural.any() | case.options.structural {
        return shut(
            Kind::Clamps,
            "Refused: it bends corners of structural members. The code that applies and a licensed engineer decide.",
        );
    }
    let says = match case.change.measure.kind {
        MeasureKind::Racking | MeasureKind::Diagonal => {
            "Pull the longer diagonal with a bar clamp from corner to corner."
        }
        _ => "Block the low corners, clamp the high ones down.",
    };
    let steps = if case.measured {
        vec![
            "Go a little past square or flat, let go, measure; repeat with a little more.".into(),
            "How far it must go is not worked out here: corners, not bars, give way.".into(),
        ]
    } else {
        vec!["Hold it square while you tack; measure the diagonals after every second weld.".into()]
    };
    Way {
        open: true,
        steps,
        cautions: vec![LOADED.into()],
        effort: Degree::Medium,
        risk: Degree::Medium,
        ..shut(Kind::Clamps, says)
    }
}
