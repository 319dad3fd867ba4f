//! The weld map as JSON: the whole model except the traces, in SI units and millimetres whatever the job's units are.
//!
//! Names carry the unit. What is not known is `null`. `format` changes when a name changes its meaning or is dropped; new
//! names may appear.

use super::model::{Decision, MappedBead, MappedRun, MappedWeld, Role, WeldMap};
use crate::comparison::{Compared, Comparison};
use crate::log::seal::Said;
use crate::verdict::{Estimate, Judged, Side};
use coldsquare_core::uncertainty::Uncertain;
use serde_json::{Value, json};

/// Name and version of what [`json()`] writes.
pub const FORMAT: &str = "coldsquare weld map 1";

/// The map as an indented JSON text; ends with a line break.
#[must_use]
pub fn json(map: &WeldMap) -> String {
    let source = &map.source;
    let totals = &map.totals;
    let value = json!({
        "format": FORMAT,
        "title": map.title,
        "source": {
            "log": source.log,
            "device": source.device,
            "firmware": source.firmware,
            "seal": source.seal.as_ref().map(Said::from),
            "started_unix_ms": source.started_unix_ms,
            "clock": source.clock,
            "sample_rate_hz": source.sample_rate_hz,
            "calibrated_unix_s": source.calibrated_unix_s,
            "voltage_gain_expanded": source.voltage_gain_expanded,
            "current_gain_expanded": source.current_gain_expanded,
            "software": source.software,
        },
        "coverage_factor": coldsquare_core::uncertainty::COVERAGE_FACTOR,
        "welds": map.welds.iter().map(weld).collect::<Vec<_>>(),
        "beads": map.beads.iter().map(bead).collect::<Vec<_>>(),
        "order": {
            "planned": map.order.planned,
            "done": map.order.done,
            "missing": map.order.missing,
            "out_of_order": map.order.out_of_order,
        },
        "totals": {
            "within_limits": totals.within_limits,
            "marginal": totals.marginal,
            "out_of_limits": totals.out_of_limits,
            "not_measured": totals.not_measured,
            "no_limit": totals.no_limit,
            "tacks": totals.tacks,
            "extra": totals.extra,
            "replaced": totals.replaced,
            "arc_time_s": totals.arc_time.0,
            "energy_j": estimate(Some(totals.energy), |joules| joules.0),
            "elapsed_s": totals.elapsed.0,
            "operating_factor": totals.operating_factor,
        },
        "warnings": map.warnings.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "measured": map.measured.as_ref().map(measured),
    });
    // Cannot fail: keys are text, values are text and numbers.
    let text = serde_json::to_string_pretty(&value).unwrap_or_default() + "\n";
    crate::sanitise::escape(&text).into_owned()
}

fn measured(comparison: &Comparison) -> Value {
    let uncertain = |one: Uncertain| json!({ "value": one.value, "expanded": one.expanded() });
    let row = |row: &Compared| {
        json!({
            "of": row.of,
            "state": row.state.to_string(),
            "on": row.on,
            "measured_mm": uncertain(row.measured_mm),
            "predicted_mm": row.predicted_mm.map(uncertain),
            "residual_mm": row.residual_mm().map(uncertain),
            "agrees": row.agrees(),
        })
    };
    json!({
        "factors": comparison.factors,
        "rows": comparison.rows.iter().map(row).collect::<Vec<_>>(),
        "notes": comparison.notes,
    })
}

fn weld(weld: &MappedWeld) -> Value {
    json!({
        "weld": weld.number,
        "name": weld.name,
        "procedure": weld.procedure,
        "process_iso_4063": weld.process.number(),
        "thermal_efficiency": weld.process.thermal_efficiency(),
        "verdict": weld.verdict.name(),
        "decided_by": weld.decided_by.map(decision),
        "length_mm": estimate(Some(weld.length), |length| length.0),
        "heat_input_j_per_mm": judged(&weld.heat_input, |heat| heat.0),
        "voltage_v": judged(&weld.voltage, |volts| volts.0),
        "current_a": judged(&weld.current, |amperes| amperes.0),
        "travel_speed_mm_per_s": judged(&weld.travel_speed, |speed| speed.0),
        "arc_energy_j_per_mm": estimate(weld.arc_energy, |energy| energy.0),
        "power_w": estimate(weld.power, |watts| watts.0),
        "energy_j": estimate(weld.energy, |joules| joules.0),
        "planned_heat_input_j_per_mm": weld.planned_heat_input.0,
        "arc_time_s": weld.start.map(|_| weld.arc_time.0),
        "planned_arc_time_s": weld.planned_arc_time.0,
        "start_s": weld.start.map(|start| start.0),
        "end_s": weld.end.map(|end| end.0),
        "runs": weld.runs.iter().map(run).collect::<Vec<_>>(),
        "planned_runs": weld.planned_runs,
        "whole": weld.whole,
        "beads": weld.beads,
        "replaced_beads": weld.replaced_beads,
        "restarts": weld.restarts,
        "planned_place": weld.planned_place,
        "done_place": weld.done_place,
        "confidence": weld.confidence,
        "look_here": weld.flags.iter().map(ToString::to_string).collect::<Vec<_>>(),
        "inspection": weld.inspection,
    })
}

fn run(run: &MappedRun) -> Value {
    json!({
        "run": run.number,
        "verdict": run.verdict.name(),
        "beads": run.beads,
        "heat_input_j_per_mm": judged(&run.heat_input, |heat| heat.0),
        "voltage_v": judged(&run.voltage, |volts| volts.0),
        "current_a": judged(&run.current, |amperes| amperes.0),
        "travel_speed_mm_per_s": judged(&run.travel_speed, |speed| speed.0),
        "arc_energy_j_per_mm": estimate(run.arc_energy, |energy| energy.0),
        "power_w": estimate(run.power, |watts| watts.0),
        "energy_j": estimate(run.energy, |joules| joules.0),
        "arc_time_s": run.arc_time.0,
    })
}

fn bead(bead: &MappedBead) -> Value {
    json!({
        "bead": bead.number,
        "role": bead.role.describe(),
        "weld": bead.role.weld(),
        "confidence": bead.confidence,
        "or_else": bead.or_else.map(Role::describe),
        "start_s": bead.start.0,
        "end_s": bead.end.0,
        "arc_time_s": bead.arc_time.0,
        "voltage_v": estimate(bead.voltage, |volts| volts.0),
        "current_a": estimate(bead.current, |amperes| amperes.0),
        "power_w": estimate(bead.power, |watts| watts.0),
        "energy_j": estimate(bead.energy, |joules| joules.0),
        "restarts": bead.restarts,
        "look_here": bead.flags.iter().map(ToString::to_string).collect::<Vec<_>>(),
    })
}

fn decision(decision: Decision) -> Value {
    json!({
        "quantity": decision.quantity.name(),
        "limit": match decision.side {
            Side::Low => "low",
            Side::High => "high",
        },
        "run": decision.run,
    })
}

fn estimate<T: Copy>(estimate: Option<Estimate<T>>, number: impl Fn(T) -> f64) -> Value {
    estimate.map_or(
        Value::Null,
        |one| json!({ "value": number(one.value), "expanded": number(one.expanded) }),
    )
}

fn judged<T: Copy>(judged: &Judged<T>, number: impl Fn(T) -> f64) -> Value {
    json!({
        "value": judged.estimate.map(|one| number(one.value)),
        "expanded": judged.estimate.map(|one| number(one.expanded)),
        "low": judged.limits.low.map(&number),
        "high": judged.limits.high.map(&number),
        "verdict": judged.verdict.name(),
    })
}
