//! The correction as plain text.

use super::model::{Correction, Fault, Way};
use super::show::Show;
use crate::sanitise::plain;
use std::fmt::Write;

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

/// All of it, for a terminal.
#[must_use]
pub fn text(correction: &Correction) -> String {
    let mut out = String::new();
    put!(
        out,
        "{}: what now, {}",
        plain(&correction.title),
        plain(&correction.basis)
    );
    let show = Show(correction.units);
    put!(
        out,
        "All in {}; ± is k = 2, about 95 %.",
        show.unit_in_words()
    );
    for fault in &correction.faults {
        fault_text(&mut out, fault, show);
    }
    if correction.faults.is_empty() {
        put!(out, "\nNothing to mend.");
    }
    if !correction.together.is_empty() {
        put!(
            out,
            "\nSizes                    asked          as drawn    cut longer   pre-set    both"
        );
        for size in &correction.together {
            put!(
                out,
                "  {:<20}  {:>7}  {:>8} ± {:<5}  {:>11}  {:>8}  {:>8} ± {}",
                size.name,
                show.size(size.wanted_mm),
                show.fine(size.as_drawn_mm[0]),
                show.fine(size.as_drawn_mm[1]),
                show.added(size.longer_mm),
                show.added(size.pre_set_mm),
                show.fine(size.mended_mm[0]),
                show.fine(size.mended_mm[1])
            );
        }
    }
    if !correction.fine.is_empty() {
        put!(
            out,
            "\nInside tolerance: {}.",
            plain(&correction.fine.join(", "))
        );
    }
    for note in &correction.notes {
        put!(out, "\n{}", plain(note));
    }
    out
}

fn fault_text(out: &mut String, fault: &Fault, show: Show) {
    put!(
        out,
        "\n{}: {} ± {} {}, tolerated {}",
        plain(&fault.name),
        show.change(fault.change_mm),
        show.gap(fault.plus_minus_mm),
        fault.known_by(),
        show.gap(fault.tolerance_mm)
    );
    for (number, way) in fault.ways.iter().filter(|way| way.open).enumerate() {
        put!(
            out,
            "  {}. {} (effort {}, risk {})",
            number + 1,
            way.kind.words(),
            way.effort.words(),
            way.risk.words()
        );
        way_text(out, way);
    }
    for way in fault.ways.iter().filter(|way| !way.open) {
        put!(out, "  -  {}: no. {}", way.kind.words(), way.says.join(" "));
    }
}

fn way_text(out: &mut String, way: &Way) {
    for says in &way.says {
        put!(out, "     {says}");
    }
    for caution in &way.cautions {
        put!(out, "     ! {caution}");
    }
    for step in &way.steps {
        put!(out, "     - {step}");
    }
}
