//! The correction as plain text.

use super::model::{Correction, Fault, Way};
use crate::map::words::plain;
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
    put!(out, "All in mm; ± is k = 2, about 95 %.");
    for fault in &correction.faults {
        fault_text(&mut out, fault);
    }
    if correction.faults.is_empty() {
        put!(out, "\nNothing to mend.");
    }
    if !correction.together.is_empty() {
        put!(
            out,
            "\nSizes                    asked          as drawn    cut longer and pre-set"
        );
        for size in &correction.together {
            put!(
                out,
                "  {:<20}  {:>7.1}  {:>8.2} ± {:<5.2}  {:>8.2} ± {:.2}",
                size.name,
                size.wanted_mm,
                size.as_drawn_mm[0],
                size.as_drawn_mm[1],
                size.mended_mm[0],
                size.mended_mm[1]
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

fn fault_text(out: &mut String, fault: &Fault) {
    put!(
        out,
        "\n{}: {:+.1} ± {:.1} {}, tolerated {:.1}",
        plain(&fault.name),
        fault.change_mm,
        fault.plus_minus_mm,
        fault.known_by(),
        fault.tolerance_mm
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
    for step in &way.steps {
        put!(out, "     - {step}");
    }
    for caution in &way.cautions {
        put!(out, "     ! {caution}");
    }
}
