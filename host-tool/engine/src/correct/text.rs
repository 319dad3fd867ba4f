//! The correction as plain text.

use super::model::{Correction, Fault, RepairOption, SizeForecast};
use crate::format::Precision;
use crate::plain_text::{aligned, line};
use crate::sanitise::plain;
use crate::units::Units;

/// The whole correction, for a terminal; ends with a line break.
#[must_use]
pub fn text(correction: &Correction) -> String {
    let mut out = String::new();
    let (title, basis) = (plain(&correction.title), plain(&correction.basis));
    line!(out, "{title}: straightening, {basis}");
    let units = correction.units;
    line!(
        out,
        "All in {}; ± is k = 2, about 95 %.",
        units.length_name()
    );
    for fault in &correction.faults {
        fault_text(&mut out, fault, units);
    }
    if correction.faults.is_empty() {
        line!(out, "\nNothing to straighten.");
    }
    if !correction.sizes.is_empty() {
        line!(out);
        for line in aligned(&size_rows(&correction.sizes, units), &[0]) {
            line!(out, "{line}");
        }
    }
    if !correction.within_tolerance.is_empty() {
        let names = plain(&correction.within_tolerance.join(", "));
        line!(out, "\nWithin tolerance: {names}.");
    }
    for note in &correction.notes {
        line!(out, "\n{}", plain(note));
    }
    out
}

fn size_rows(sizes: &[SizeForecast], units: Units) -> Vec<[String; 6]> {
    let uncertain = |[value, plus_minus]: [f64; 2]| {
        let text = |mm| units.length(mm, Precision::Calculated);
        format!("{} ± {}", text(value), text(plus_minus))
    };
    let added = |mm| units.signed_length(mm, Precision::Calculated);
    let head = [
        "Size",
        "target",
        "as drawn",
        "cut longer",
        "pre-camber",
        "both",
    ];
    let mut rows = vec![head.map(str::to_owned)];
    rows.extend(sizes.iter().map(|size| {
        [
            format!("  {}", size.name),
            units.length(size.target_mm, Precision::Tape),
            uncertain(size.as_drawn_mm),
            added(size.longer_mm),
            added(size.pre_camber_mm),
            uncertain(size.corrected_mm),
        ]
    }));
    rows
}

fn fault_text(out: &mut String, fault: &Fault, units: Units) {
    line!(
        out,
        "\n{}: {} ± {} {}, tolerance {}",
        plain(&fault.name),
        units.signed_length(fault.change_mm, Precision::Drawn),
        units.length(fault.plus_minus_mm, Precision::Drawn),
        fault.known_by(),
        units.length(fault.tolerance_mm, Precision::Drawn)
    );
    let (possible, others): (Vec<_>, Vec<_>) = fault.options.iter().partition(|one| one.possible);
    for (number, option) in possible.iter().enumerate() {
        line!(
            out,
            "  {}. {} (effort {}, risk {})",
            number + 1,
            option.kind.title(),
            option.effort.name(),
            option.risk.name()
        );
        option_text(out, option);
    }
    for option in others {
        let why = option.summary.join(" ");
        line!(out, "  -  {}: no. {why}", option.kind.title());
    }
}

fn option_text(out: &mut String, option: &RepairOption) {
    for sentence in &option.summary {
        line!(out, "     {sentence}");
    }
    for caution in &option.cautions {
        line!(out, "     ! {caution}");
    }
    for step in &option.steps {
        line!(out, "     - {step}");
    }
}
