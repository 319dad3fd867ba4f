//! Faults of the whole frame: its sizes, whether it is square and flat.

use super::case::{Case, STORED_ENERGY, not_possible};
use crate::correct::model::{Degree, RepairKind, RepairOption};
use crate::format::Precision;
use crate::movement::measures::MeasureKind;

pub(super) fn cut_length(case: &Case<'_>) -> RepairOption {
    let (units, change) = (case.units(), case.change.change_mm);
    let unit = units.length_symbol();
    let add = units.signed_length(-change.value, Precision::Drawn);
    let no = |why: String| not_possible(RepairKind::CutLength, why);
    if case.measured {
        return no(format!(
            "This frame keeps its size unless a joint is cut and welded again. Cut the next one {add} {unit}."
        ));
    }
    let plus_minus = units.length(change.expanded(), Precision::Drawn);
    RepairOption {
        possible: true,
        risk: Degree::Low,
        steps: vec![
            "Cut to the cut list of `coldsquare predict`, which has the allowance of each member."
                .into(),
        ],
        ..no(format!(
            "Cut the members along it {add} ± {plus_minus} {unit}."
        ))
    }
}

/// Racking and twist: pull the frame square or flat. How far it must go past that is not calculated.
pub(super) fn pull(case: &Case<'_>) -> RepairOption {
    if case.measured && case.job.structural.any() | case.settings.structural {
        return not_possible(
            RepairKind::Clamps,
            "Refused: it bends corners of structural members. The code that applies and a licensed engineer decide.",
        );
    }
    let summary = match case.change.measure.kind {
        MeasureKind::Racking | MeasureKind::Diagonal => {
            "Pull the longer diagonal with a bar clamp from corner to corner."
        }
        _ => "Block up the low corners and clamp the high ones down.",
    };
    let steps = if case.measured {
        vec![
            "Go a little past square or flat, let go, measure; repeat with a little more.".into(),
            "How far to go is not calculated here: the corners yield, not the bars.".into(),
        ]
    } else {
        vec!["Hold it square while you tack; measure the diagonals after every second weld.".into()]
    };
    RepairOption {
        possible: true,
        steps,
        cautions: vec![STORED_ENERGY.into()],
        effort: Degree::Medium,
        risk: Degree::Medium,
        ..not_possible(RepairKind::Clamps, summary)
    }
}
