//! A prediction as text, for a terminal or a printed sheet.
//!
//! ```
//! # use coldsquare_engine::movement::model::MovementModel;
//! # use coldsquare_engine::movement::predict::{planned_net_heat, predict_for};
//! use coldsquare_engine::movement::text::{Basis, text};
//! # let job = coldsquare_engine::job::from_text("gate.toml", coldsquare_engine::example::GARDEN_GATE).unwrap();
//! # let model = MovementModel::new(&job).unwrap();
//! # let order: Vec<usize> = (0..job.welds.len()).collect();
//! # let prediction = predict_for(&job, &model, &order, &planned_net_heat(&job)).unwrap();
//! let basis = Basis { order: "file order".into(), heat: "planned heat".into() };
//! assert!(text(&job, &prediction, &basis).contains("width at the top"));
//! ```

use super::clamps::{EarlyRelease, early_releases};
use super::joint_measures::BLADE_MM;
use super::measures::MeasureKind;
use super::not_covered::not_covered;
use super::predict::{Fit, Predicted, Prediction, SAW_AND_FIT_UP_STANDARD_MM};
use crate::format::{Precision, count};
use crate::job::model::Job;
use crate::order::too_early;
use crate::sanitise::plain;
use crate::units::Units;
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use std::fmt::Write;

/// Bows and gaps below this share a line, mm: a straightedge and feeler gauges do not show them.
const MIN_LISTED_MM: f64 = 0.05;
/// Joints that are out by less are not listed, mm.
const MIN_JOINT_MM: f64 = 0.1;
/// At most this many joints are listed.
const MOST_JOINTS: usize = 6;

/// What a prediction was made from.
#[derive(Clone, Debug)]
pub struct Basis {
    /// The order ("file order").
    pub order: String,
    /// The heat ("planned heat").
    pub heat: String,
}

/// The whole prediction; ends with a line break.
#[must_use]
pub fn text(job: &Job, prediction: &Prediction, basis: &Basis) -> String {
    let units = job.units;
    let clamped = !job.clamps.is_empty();
    let head = format!(
        "{}: how the frame moves, {} in {}\n\
         {}, {}. All in {}; ± is the expanded uncertainty, k = 2, about 95 %.\n",
        plain(&job.name),
        count(job.welds.len(), "weld"),
        plain(&basis.order),
        plain(&job.material.name),
        plain(&basis.heat),
        units.length_name()
    );
    let of_kinds = |title: &str, kinds: &[MeasureKind]| {
        let rows = prediction.measures.iter();
        let rows: Vec<&Predicted> = rows.filter(|m| kinds.contains(&m.kind)).collect();
        measures(units, clamped, title, &rows)
    };
    let parts = [
        head,
        of_kinds("Size", &[MeasureKind::Size]),
        of_kinds("Square", &[MeasureKind::Diagonal, MeasureKind::Racking]),
        of_kinds("Flat", &[MeasureKind::Twist]),
        of_kinds("Standing", &[MeasureKind::Standing]),
        of_kinds("Plumb, top of the leg over its foot", &[MeasureKind::Plumb]),
        of_kinds("Top against bottom", &[MeasureKind::TopTwist]),
        bows(units, clamped, prediction),
        joints(units, clamped, prediction),
        fits(units, &prediction.fits),
        clamps(job, units, prediction),
        gaps(job, units, prediction),
        cuts(job, units, prediction),
        notes(job, prediction),
    ];
    without_double_blank_lines(&parts.concat())
}

pub(crate) fn without_double_blank_lines(page: &str) -> String {
    let mut blank = false;
    let kept = page.lines().map(str::trim_end).filter(|line| {
        let drop = blank && line.is_empty();
        blank = line.is_empty();
        !drop
    });
    let mut tidy: String = kept.flat_map(|line| [line, "\n"]).collect();
    tidy.truncate(tidy.trim_end().len());
    tidy.push('\n');
    tidy
}

/// A table under a title, with the first column to the left and the others to the right.
#[must_use]
pub(crate) fn columns(title: &str, head: &[&str], rows: &[Vec<String>]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let head: Vec<String> = [title]
        .iter()
        .chain(head)
        .map(|word| (*word).to_owned())
        .collect();
    let width = |column: usize| {
        let indent = if column == 0 { 2 } else { 0 };
        let cell = |row: &Vec<String>| row.get(column).map_or(0, |cell| cell.chars().count());
        let rows = rows.iter().map(cell).max().unwrap_or(0) + indent;
        rows.max(cell(&head))
    };
    let widths: Vec<usize> = (0..head.len()).map(width).collect();
    let mut table = String::from("\n");
    for (k, row) in [&head].into_iter().chain(rows).enumerate() {
        let indent = if k == 0 { "" } else { "  " };
        let first = format!("{indent}{}", row[0]);
        let _ = write!(table, "{first:<0$}", widths[0]);
        for (cell, width) in row.iter().zip(&widths).skip(1) {
            let _ = write!(table, "  {cell:>width$}");
        }
        table.truncate(table.trim_end().len());
        table.push('\n');
    }
    table
}

/// A table of measures: with clamps the change before and after they are released, without clamps the change alone.
fn measures(units: Units, clamped: bool, title: &str, rows: &[&Predicted]) -> String {
    let has_before = rows.iter().any(|m| m.nominal_mm != 0.0);
    let before = |m: &Predicted| {
        if m.nominal_mm == 0.0 {
            String::new()
        } else {
            units.length(m.nominal_mm, Precision::Drawn)
        }
    };
    let columns_of = [
        has_before.then_some("before"),
        clamped.then_some("clamps on"),
        Some(if clamped { "clamps off" } else { "change" }),
    ];
    let rows: Vec<Vec<String>> = rows
        .iter()
        .map(|m| {
            let cells = [
                has_before.then(|| before(m)),
                clamped.then(|| units.signed_length(m.clamped_mm.value, Precision::Calculated)),
                Some(units.change(m.released_mm)),
            ];
            let name = plain(&m.name);
            [name]
                .into_iter()
                .chain(cells.into_iter().flatten())
                .collect()
        })
        .collect();
    let head: Vec<&str> = columns_of.into_iter().flatten().collect();
    columns(title, &head, &rows)
}

fn bows(units: Units, clamped: bool, prediction: &Prediction) -> String {
    let (listed, small): (Vec<&Predicted>, Vec<&Predicted>) = prediction
        .measures
        .iter()
        .filter(|m| m.kind == MeasureKind::Bow)
        .partition(|m| {
            let greatest = m.released_mm.value.abs() + m.released_mm.expanded();
            greatest.max(m.clamped_mm.value.abs()) >= MIN_LISTED_MM
        });
    let mut text = measures(units, clamped, "Bow in the middle of each member", &listed);
    let limit = format!(
        "{} {}",
        units.length(MIN_LISTED_MM, Precision::Calculated),
        units.length_symbol()
    );
    match (listed.len(), small.len()) {
        (_, 0) => {}
        (0, _) => text += &format!("\nAll bows are below {limit}, uncertainty included.\n"),
        (_, 1) => text += &format!("  One more is below {limit}, uncertainty included.\n"),
        (_, more) => text += &format!("  {more} more are below {limit}, uncertainty included.\n"),
    }
    text
}

/// The joints that lean or turn most, as a square shows it.
fn joints(units: Units, clamped: bool, prediction: &Prediction) -> String {
    let size = |m: &Predicted| m.released_mm.value.abs();
    let mut all: Vec<&Predicted> = prediction
        .measures
        .iter()
        .filter(|m| matches!(m.kind, MeasureKind::Lean | MeasureKind::Corner))
        .collect();
    if all.is_empty() {
        return String::new();
    }
    all.sort_by(|a, b| size(b).total_cmp(&size(a)));
    let listed = all.iter().take(MOST_JOINTS);
    let listed: Vec<&Predicted> = listed
        .copied()
        .filter(|m| size(m) >= MIN_JOINT_MM)
        .collect();
    let unit = units.length_symbol();
    let blade = units.length(BLADE_MM, Precision::Drawn);
    let title = format!("Joints, out at {blade} {unit} along a square");
    let mut text = measures(units, clamped, &title, &listed);
    if let Some(next) = all.get(listed.len()) {
        let most = units.length(size(next).max(MIN_JOINT_MM), Precision::Calculated);
        text += &match listed.len() {
            0 => format!(
                "\nJoints: none leans or turns by more than {most} {unit} at {blade} {unit} along a square.\n"
            ),
            found => format!("  {} more: {most} {unit} at most.\n", all.len() - found),
        };
    }
    text
}

fn fits(units: Units, fits: &[Fit]) -> String {
    let mut text = String::new();
    for fit in fits {
        let verdict = if fit.is_sure() {
            "fits"
        } else if fit.clearance_mm + fit.size_mm.expanded() / fit.sides < fit.wanted_mm {
            "too little clearance"
        } else {
            "too close to call"
        };
        let _ = writeln!(
            text,
            "\nOpening: {} {} {unit} clear, frame {} ± {} {unit} with saw and fit-up, leaves {} {unit} {sides}, {} wanted: {verdict}",
            fit.direction,
            units.length(fit.opening_mm, Precision::Drawn),
            units.length(fit.size_mm.value, Precision::Drawn),
            units.length(fit.size_mm.expanded(), Precision::Calculated),
            units.length(fit.clearance_mm, Precision::Drawn),
            units.length(fit.wanted_mm, Precision::Drawn),
            sides = if fit.sides > 1.0 {
                "on each side"
            } else {
                "above it"
            },
            unit = units.length_symbol(),
        );
    }
    text
}

/// The force in each clamp, and below the table when it is released and whether it slips.
fn clamps(job: &Job, units: Units, prediction: &Prediction) -> String {
    let mut text = String::new();
    for (k, release) in early_releases(job, &prediction.order)
        .into_iter()
        .enumerate()
    {
        let when = match release {
            Some(EarlyRelease::After(weld)) => format!("after weld {}", weld + 1),
            Some(EarlyRelease::Before(weld)) => format!("before weld {}", weld + 1),
            None => continue,
        };
        let _ = writeln!(text, "  Release clamp {} on the way, {when}.", k + 1);
    }
    let mut rows = Vec::new();
    let forces = prediction
        .clamp_forces_n
        .iter()
        .zip(&prediction.clamp_slips_mm);
    for ((number, clamp), (force, &slip)) in (1..).zip(&job.clamps).zip(forces) {
        if let Some(limit) = clamp.force {
            text += &slip_note(units, number, limit.0, *force, slip);
        }
        rows.push(vec![
            format!(
                "clamp {number} on {}",
                plain(&job.members[clamp.member].name)
            ),
            units.uncertain_force(*force),
        ]);
    }
    columns("Clamps, before release", &["force"], &rows) + &text
}

/// Whether a clamp slips that holds `limit` newtons at most; empty where it holds.
fn slip_note(units: Units, number: usize, limit: f64, force: Uncertain, slip_mm: f64) -> String {
    let limit_n = units.force(limit);
    if slip_mm > 0.0 {
        let far = units.length_with_unit(slip_mm, Precision::Calculated);
        format!("  Clamp {number} holds {limit_n} at most; it slips {far}.\n")
    } else if force.value + force.expanded() > limit {
        format!(
            "  Clamp {number} holds {limit_n} at most and may slip; the frame would then move a little more.\n"
        )
    } else {
        String::new()
    }
}

fn gaps(job: &Job, units: Units, prediction: &Prediction) -> String {
    let name = |weld: usize| format!("weld {} ({})", weld + 1, plain(&job.welds[weld].name));
    let worst = |sign: f64| {
        prediction
            .gaps_mm
            .iter()
            .map(|gap| sign * gap)
            .enumerate()
            .filter(|&(_, gap)| gap >= MIN_LISTED_MM)
            .max_by(|a, b| a.1.total_cmp(&b.1))
    };
    let mut text = String::new();
    for (sign, title) in [
        (1.0, "Largest gap before welding"),
        (-1.0, "Joint pressed together most before welding"),
    ] {
        if let Some((weld, gap)) = worst(sign) {
            let _ = writeln!(
                text,
                "\n{title}: {} {} at {}.",
                units.length(gap, Precision::Calculated),
                units.length_symbol(),
                name(weld)
            );
        }
    }
    text
}

/// The cut list; members of the same section and cut length share a row.
fn cuts(job: &Job, units: Units, prediction: &Prediction) -> String {
    let mut rows: Vec<(Vec<String>, Vec<String>)> = Vec::new();
    let bars = job.members.iter().enumerate();
    for (index, member) in bars.filter(|(_, member)| member.plate.is_none()) {
        let allowance = prediction.allowances.iter().find(|a| a.member == index);
        let add = allowance.map_or(Uncertain::exact(0.0), |allowance| allowance.add_mm);
        // One section that was written in two ways has the name it was given first.
        let same = |other: &&crate::job::model::Member| other.section == member.section;
        let section = job.members.iter().find(same).unwrap_or(member);
        let row = vec![
            plain(section.section.designation()),
            units.length(member.cut_length.0, Precision::Drawn),
            allowance.map_or_else(|| "not known".into(), |_| units.change(add)),
            units.length(member.cut_length.0 + add.value, Precision::Drawn),
        ];
        match rows.iter_mut().find(|(_, known)| *known == row) {
            Some((names, _)) => names.push(plain(&member.name)),
            None => rows.push((vec![plain(&member.name)], row)),
        }
    }
    let rows: Vec<Vec<String>> = rows
        .into_iter()
        .map(|(names, row)| [vec![short_list(&names)], row].concat())
        .collect();
    columns(
        "Cut list",
        &["section", "as drawn", "add for shrinkage", "cut to"],
        &rows,
    )
}

/// Names in a list; of many the first and the last.
fn short_list(names: &[String]) -> String {
    match names {
        [first, .., last] if names.len() > 3 => {
            format!("{first} … {last} ({} members)", names.len())
        }
        _ => names.join(", "),
    }
}

fn notes(job: &Job, prediction: &Prediction) -> String {
    let mut text = String::from("\n");
    for line in not_covered(job) {
        text += &format!("{line}\n");
    }
    for (weld, first) in too_early(job, &prediction.order) {
        let _ = writeln!(
            text,
            "Note: weld {weld} comes before weld {first}, but the job asks for weld {first} first."
        );
    }
    if let Some(shop) = &job.shop {
        text += &format!("{}\n", plain(&shop.describe()));
    }
    let factors = match &job.shop {
        Some(shop) if shop.revision > 0 => "shop factors",
        _ => "published factors",
    };
    text += &format!(
        "Calculated, not measured: a beam model with {factors}; docs/theory.md says what it leaves out. \
         ± covers heat and shrinkage, not your saw and fit-up.\n"
    );
    if job.opening.is_some() {
        let saw_mm = COVERAGE_FACTOR * SAW_AND_FIT_UP_STANDARD_MM;
        let _ = writeln!(
            text,
            "Only the size in the opening has ± {} in it for them.",
            job.units.length_with_unit(saw_mm, Precision::Drawn)
        );
    }
    text += "Weld a trial corner and measure it before you cut everything.\n";
    text += "Next: `coldsquare plan` looks for an order that moves the frame less; `--order` predicts an order of your own.\n";
    text
}
