//! What the script of the weld map reads: welds, runs and beads as shown when selected.

use super::judged::{self, Shown};
use super::{scene, trace};
use crate::drawing::figure::Mark;
use crate::drawing::scene::Scene;
use crate::drawing::{WORST_FIRST, palette};
use crate::format;
use crate::job::model::{Job, Weld, WeldKind};
use crate::map::model::{Flag, MappedBead, MappedWeld, WeldMap};
use crate::procedure::names::aws_letters;
use crate::sanitise;
use crate::units::Units;
use coldsquare_core::units::MILLIMETRES_PER_INCH;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct Data {
    scene: scene::SceneData,
    marks: Vec<scene::MarkData>,
    shapes: std::collections::BTreeMap<&'static str, &'static str>,
    /// What the quantities of all welds have in common.
    quantities: [judged::Heading; 4],
    /// The verdict of a quantity in words, by its class.
    words: std::collections::BTreeMap<&'static str, &'static str>,
    welds: Vec<WeldData>,
    beads: Vec<BeadData>,
    /// Factor from J/mm to the reader's unit of heat input.
    heat_unit: f64,
}

#[derive(Serialize)]
struct WeldData {
    number: u16,
    name: String,
    class: &'static str,
    verdict: String,
    quantities: [Shown; 4],
    runs: Vec<RunData>,
    /// Name and value, as printed.
    facts: Vec<(&'static str, String)>,
    flags: Vec<String>,
    symbol: SymbolData,
    length_mm: f64,
    efficiency: f64,
}

#[derive(Serialize)]
struct RunData {
    beads: Vec<u32>,
    /// Absent for a single run: the quantities are the weld's.
    quantities: Option<[Shown; 4]>,
}

#[derive(Serialize)]
struct BeadData {
    number: u32,
    role: String,
    at: String,
    flags: Vec<String>,
    trace: trace::TraceData,
}

pub(super) fn data(job: &Job, map: &WeldMap, scene: &Scene, marks: &[Mark]) -> Data {
    let most = trace::points_per_bead(map);
    Data {
        scene: scene::data(scene),
        marks: scene::marks(marks),
        shapes: scene::shapes(),
        quantities: judged::headings(job.units),
        words: WORST_FIRST
            .map(|verdict| (palette::class(verdict), verdict.name()))
            .into(),
        welds: map
            .welds
            .iter()
            .zip(&job.welds)
            .map(|(mapped, weld)| weld_data(job, map, mapped, weld))
            .collect(),
        beads: map.beads.iter().map(|bead| bead_data(bead, most)).collect(),
        heat_unit: match job.units {
            Units::Metric => 1e-3,
            Units::UsCustomary => MILLIMETRES_PER_INCH / 1000.0,
        },
    }
}

fn weld_data(job: &Job, map: &WeldMap, mapped: &MappedWeld, weld: &Weld) -> WeldData {
    let runs = mapped.runs.iter().map(|run| RunData {
        beads: run.beads.clone(),
        quantities: (mapped.runs.len() > 1).then(|| judged::of_run(run, job.units)),
    });
    WeldData {
        number: mapped.number,
        name: sanitise::plain(&mapped.name),
        class: palette::class(mapped.verdict),
        verdict: mapped.describe_verdict(),
        quantities: judged::of_weld(mapped, job.units),
        runs: runs.collect(),
        facts: facts(job, map, mapped),
        flags: flags(&mapped.flags),
        symbol: symbol(job, mapped, weld),
        length_mm: mapped.length.value.0,
        efficiency: mapped.process.thermal_efficiency(),
    }
}

fn facts(job: &Job, map: &WeldMap, weld: &MappedWeld) -> Vec<(&'static str, String)> {
    let (length, to_length) = format::length(job.units);
    let (heat, to_heat) = format::heat(job.units);
    let mut facts = vec![(
        "length",
        format!(
            "{:.*} ± {:.*} {}",
            length.decimals,
            to_length(weld.length.value),
            length.decimals,
            to_length(weld.length.expanded),
            length.symbol
        ),
    )];
    let measured = weld.start.is_some();
    let planned = format!("{:.1} s planned", weld.planned_arc_time.0);
    facts.push((
        "arc time",
        if measured {
            format!("{:.1} s, {planned}", weld.arc_time.0)
        } else {
            planned
        },
    ));
    if let Some(energy) = weld.energy {
        let kilojoules = |joules: f64| joules / 1000.0;
        facts.push((
            "energy",
            format!(
                "{:.2} ± {:.2} kJ",
                kilojoules(energy.value.0),
                kilojoules(energy.expanded.0)
            ),
        ));
    }
    if let Some(power) = weld.power {
        facts.push((
            "true power",
            format!(
                "{:.2} ± {:.2} kW",
                power.value.0 / 1000.0,
                power.expanded.0 / 1000.0
            ),
        ));
    }
    facts.push((
        "planned heat",
        format!(
            "{:.*} {}",
            heat.decimals,
            to_heat(weld.planned_heat_input),
            heat.symbol
        ),
    ));
    facts.push(("order", order(weld)));
    facts.extend(began(map, weld).map(|began| ("began", began)));
    facts.push((
        "procedure",
        format!(
            "{}, {} ({})",
            sanitise::short(&weld.procedure, 40),
            weld.process.name(),
            weld.process.number()
        ),
    ));
    if let Some(inspection) = &weld.inspection {
        facts.push(("inspected", sanitise::short(&inspection.to_string(), 160)));
    }
    if let Some(confidence) = weld.confidence.filter(|c| *c < 0.995) {
        facts.push(("confidence", format!("{:.0} %", 100.0 * confidence)));
    }
    facts
}

/// "11:30, after 9 s without arc".
fn began(map: &WeldMap, weld: &MappedWeld) -> Option<String> {
    let start = weld.start?;
    let earlier = map.beads.iter().filter(|bead| bead.start.0 < start.0);
    let wait = earlier
        .map(|bead| start.0 - bead.end.0)
        .min_by(f64::total_cmp);
    let at = clock(start.0);
    Some(wait.map_or(at.clone(), |wait| {
        format!("{at}, after {:.0} s without arc", wait.max(0.0))
    }))
}

fn order(weld: &MappedWeld) -> String {
    match weld.done_place {
        Some(done) if done == weld.planned_place => format!("place {done}, as planned"),
        Some(done) => format!("place {done}, planned {}", weld.planned_place),
        None => format!("planned {}, not done", weld.planned_place),
    }
}

/// A weld symbol, as `frame.js` draws it.
#[derive(Serialize)]
struct SymbolData {
    system: &'static str,
    size: String,
    kind: &'static str,
    length: String,
    tail: String,
}

/// Metric jobs after ISO 2553:2019, system A: leg as z, penetration as s, process by its number (ISO 4063) at the tail.
/// US customary jobs after AWS A2.4:2020: leg plain, groove weld size in parentheses, process by its letters (AWS A3.0).
fn symbol(job: &Job, mapped: &MappedWeld, weld: &Weld) -> SymbolData {
    let (length, to_length) = format::length(job.units);
    let printed = |value| trimmed(to_length(value), length.decimals);
    let metric = job.units == Units::Metric;
    let (size, kind) = match weld.kind {
        WeldKind::Fillet { leg } if metric => (format!("z{}", printed(leg)), "fillet"),
        WeldKind::Fillet { leg } => (printed(leg), "fillet"),
        WeldKind::Butt { throat } if metric => (format!("s{}", printed(throat)), "butt"),
        WeldKind::Butt { throat } => (format!("({})", printed(throat)), "butt"),
    };
    SymbolData {
        system: if metric { "ISO 2553" } else { "AWS A2.4" },
        size,
        kind,
        length: printed(weld.length()),
        tail: match metric {
            true => mapped.process.number().to_string(),
            false => aws_letters(mapped.process).into(),
        },
    }
}

fn trimmed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').into()
    } else {
        text
    }
}

pub(super) fn flags(flags: &[Flag]) -> Vec<String> {
    flags.iter().map(ToString::to_string).collect()
}

fn bead_data(bead: &MappedBead, most: usize) -> BeadData {
    BeadData {
        number: bead.number,
        role: bead.role.describe(),
        at: clock(bead.start.0),
        flags: flags(&bead.flags),
        trace: trace::data(bead, most),
    }
}

/// "12:05" from the start of the log.
fn clock(seconds: f64) -> String {
    let whole = seconds.max(0.0).floor() as u64;
    match whole {
        0..3600 => format!("{}:{:02}", whole / 60, whole % 60),
        _ => format!("{}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60),
    }
}
