//! The list as text.

use super::cuts::{Kind, SawEnd, Sides};
use super::{Bar, SawList};
use crate::format::{Precision, count, in_short, number};
use crate::job::model::Job;
use crate::units::Units;
use std::fmt::Write as _;

/// "45° and 30.5°", "square", with the tilt where there is one.
#[must_use]
pub fn angles(ends: [SawEnd; 2]) -> String {
    let [first, second] = ends.map(angle);
    if first == second {
        return if first == "square" {
            first
        } else {
            format!("both {first}")
        };
    }
    format!("{first} and {second}")
}

fn angle(end: SawEnd) -> String {
    let degrees = |value: f64| {
        let text = number(value, 1);
        format!("{}°", text.strip_suffix(".0").unwrap_or(&text))
    };
    match (end.mitre_degrees > 0.01, end.bevel_degrees > 0.01) {
        (false, false) => "square".to_owned(),
        (_, false) => degrees(end.mitre_degrees),
        _ => format!(
            "{}, tilt {}",
            degrees(end.mitre_degrees),
            degrees(end.bevel_degrees)
        ),
    }
}

/// Where the long points of its ends are; empty where it does not matter.
#[must_use]
pub const fn long_points(sides: Sides) -> &'static str {
    match sides {
        Sides::NoMatter => "",
        Sides::OneSide => "long points on one side",
        Sides::OppositeSides => "long points on opposite sides",
        Sides::QuarterTurn => "turn it a quarter between the cuts",
    }
}

/// Which face lies on the saw's table: "on the 50 mm face", or empty where any does.
#[must_use]
pub fn lies_on(kind: &Kind, units: Units) -> String {
    kind.lies_on_mm.map_or_else(String::new, |face| {
        let face = units.length_with_unit(face, Precision::Drawn);
        format!("lay it on its {face} face")
    })
}

/// The whole list.
#[must_use]
pub fn saw_text(job: &Job, list: &SawList) -> String {
    let mut out = String::new();
    let units = job.units;
    let length = |mm: f64| match list.fraction {
        Some(fraction) => fraction.text(mm),
        None => units.length_with_unit(mm, Precision::Drawn),
    };
    let _ = writeln!(
        out,
        "Pieces (no allowance for shrinkage: `predict` lists it)"
    );
    for kind in &list.kinds {
        let mut line = format!(
            "  {:>2}  {} of {}: {}, {}",
            kind.mark,
            kind.members.len(),
            kind.section,
            length(kind.long_mm),
            angles(kind.ends)
        );
        if kind.short_mm < kind.long_mm - 0.05 {
            let _ = write!(line, ", short points {}", length(kind.short_mm));
        }
        for note in [long_points(kind.sides).to_owned(), lies_on(kind, units)] {
            if !note.is_empty() {
                let _ = write!(line, "; {note}");
            }
        }
        let _ = writeln!(out, "{line}");
        let names: Vec<String> = kind
            .members
            .iter()
            .map(|&member| crate::sanitise::plain(&job.members[member].name))
            .collect();
        let _ = writeln!(out, "        {}", in_short(&names));
        let added = list.rounded(kind.long_mm).added_mm;
        if added.abs() > 0.01 {
            let _ = writeln!(
                out,
                "        rounded by {} {}",
                units.signed_length(added, Precision::Calculated),
                units.length_symbol()
            );
        }
    }
    let kerf = units.length_with_unit(list.kerf_mm, Precision::Drawn);
    let _ = writeln!(out, "\nBars (each cut takes {kerf})");
    for (k, bar) in list.bars.iter().enumerate() {
        let _ = writeln!(out, "{}", bar_line(k, bar, list, units));
    }
    for &kind in &list.too_long {
        let kind = &list.kinds[kind];
        let _ = writeln!(
            out,
            "note: {} is longer than a bar: splice it, or order a longer one",
            kind.mark
        );
    }
    if let Some(note) = rounding(list, units) {
        let _ = writeln!(out, "\n{note}");
    }
    out
}

/// What rounding costs, where lengths are rounded.
#[must_use]
pub fn rounding(list: &SawList, units: Units) -> Option<String> {
    list.fraction?;
    let worst_mm = list.worst_rounding_mm();
    Some(if worst_mm < 0.005 {
        "Every length is a whole number of these parts: rounding changes nothing.".to_owned()
    } else {
        let worst = units.length_with_unit(worst_mm, Precision::Calculated);
        format!("Rounding puts a piece off by up to {worst}; pieces of one kind stay equal.")
    })
}

fn bar_line(k: usize, bar: &Bar, list: &SawList, units: Units) -> String {
    let mut pieces: Vec<String> = Vec::new();
    for run in bar.cuts.chunk_by(|a, b| a.kind == b.kind) {
        let mark = &list.kinds[run[0].kind].mark;
        pieces.push(match run.len() {
            1 => mark.clone(),
            many => format!("{many} x {mark}"),
        });
    }
    let what = if bar.is_offcut { "offcut" } else { "bar" };
    let shared = match bar.shared_mitres(&list.kinds) {
        0 => String::new(),
        some => format!("; {} shared", count(some, "mitre cut")),
    };
    let turned = if bar.is_turned(&list.kinds) {
        ", turn the bar over after each"
    } else {
        ""
    };
    format!(
        "  {:>2}  {what} of {}, {}: {}; left {}{shared}{turned}",
        k + 1,
        bar.section,
        units.total_length(coldsquare_core::units::Millimetres(bar.length_mm)),
        pieces.join(", "),
        units.length_with_unit(bar.left_mm, Precision::Mark),
    )
}
