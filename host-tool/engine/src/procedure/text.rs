//! A procedure as a sheet to read, in its own units.

use super::model::{RunSettings, Sheet};
use crate::format::{self, Precision};
use crate::limits::Limits;
use crate::procedure::model::Procedure;
use crate::sanitise;
use crate::units::{LITRES_PER_CUBIC_FOOT, Units};
use coldsquare_core::units::{Millimetres, MillimetresPerSecond};

/// The rows of the sheet: a name and a value with its unit, in the order of ISO 15609-1.
#[must_use]
pub fn rows(procedure: &Procedure, units: Units) -> Vec<(String, String)> {
    let sheet = &procedure.sheet;
    let mut rows: Vec<(String, String)> = Vec::new();
    let mut row = |name: &str, value: Option<String>| {
        rows.extend(value.map(|value| (name.to_string(), sanitise::plain(&value))));
    };
    let described = joint_rows(procedure, units)
        .into_iter()
        .chain(filler_rows(procedure, units));
    for (name, value) in described {
        row(name, value);
    }
    for settings in std::iter::once(procedure.for_run(1)).chain(sheet.later_runs.iter().copied()) {
        let from = match settings.from_run {
            1 => String::new(),
            from => format!("from run {from}: "),
        };
        for (name, value) in run_rows(&settings, units) {
            row(&format!("{from}{name}"), value);
        }
    }
    qualified(procedure, units, &mut row);
    rows
}

/// What is welded.
fn joint_rows(procedure: &Procedure, units: Units) -> [(&'static str, Option<String>); 7] {
    let (sheet, process) = (&procedure.sheet, procedure.process);
    [
        ("name", Some(procedure.name.clone())),
        (
            "process",
            Some(format!("{} ({})", process.name(), process.number())),
        ),
        ("material group", sheet.material_group.clone()),
        ("thickness", thickness(sheet.thickness, units)),
        ("joint", sheet.joint.clone()),
        ("preparation", sheet.preparation.clone()),
        ("position", sheet.position.map(str::to_string)),
    ]
}

/// What it is welded with, and at which temperatures.
fn filler_rows(procedure: &Procedure, units: Units) -> [(&'static str, Option<String>); 7] {
    let sheet = &procedure.sheet;
    let wire = |wire: Millimetres| units.length_with_unit(wire.0, Precision::Calculated);
    [
        ("consumable", sheet.consumable.clone()),
        ("wire or rod", sheet.wire.map(wire)),
        ("gas", sheet.gas.clone()),
        ("gas flow", gas_flow(sheet, units)),
        (
            "polarity",
            sheet
                .polarity
                .map(|polarity| polarity.describe().to_string()),
        ),
        (
            "preheat, minimum",
            sheet.preheat.map(|t| units.temperature(t)),
        ),
        (
            "interpass, maximum",
            procedure.interpass.map(|t| units.temperature(t)),
        ),
    ]
}

fn qualified(procedure: &Procedure, units: Units, row: &mut impl FnMut(&str, Option<String>)) {
    let Some(test) = &procedure.sheet.qualification else {
        row(
            "qualified by",
            Some("no test named: starting settings, or the shop's own practice".into()),
        );
        return;
    };
    row(
        "qualified by",
        Some(format!(
            "record {} (Coldsquare cannot tell whether it is valid)",
            test.record
        )),
    );
    row(
        "test covers thickness",
        thickness(test.thickness_range(), units),
    );
    let (heat, to_heat) = format::heat(units);
    row(
        "test covers heat input",
        range(
            test.heat_input_range(),
            heat.decimals,
            (heat.symbol, to_heat),
        ),
    );
}

fn run_rows(run: &RunSettings, units: Units) -> [(&'static str, Option<String>); 5] {
    let (heat, to_heat) = format::heat(units);
    let (speed, to_speed) = format::speed(units);
    [
        (
            "volts",
            range(
                run.voltage,
                1,
                ("V", |v: coldsquare_core::units::Volts| v.0),
            ),
        ),
        (
            "amps",
            range(
                run.current,
                0,
                ("A", |a: coldsquare_core::units::Amperes| a.0),
            ),
        ),
        (
            "wire speed",
            range(
                run.wire_speed,
                if units == Units::Metric { 1 } else { 0 },
                wire_speed(units),
            ),
        ),
        (
            "travel speed",
            range(run.travel_speed, speed.decimals, (speed.symbol, to_speed)),
        ),
        (
            "heat input",
            range(run.heat_input, heat.decimals, (heat.symbol, to_heat)),
        ),
    ]
}

/// A thickness, finer than a tape reads: a wall by gauge has hundredths.
fn thickness(limits: Limits<Millimetres>, units: Units) -> Option<String> {
    let (decimals, to_length) = (
        Precision::Calculated.decimals(units),
        format::length(units).1,
    );
    range(limits, decimals, (units.length_symbol(), to_length))
}

fn range<T: Copy>(
    limits: Limits<T>,
    decimals: usize,
    (symbol, number): (&str, impl Fn(T) -> f64),
) -> Option<String> {
    let open = limits.low.is_none() && limits.high.is_none();
    (!open).then(|| format!("{} {symbol}", limits.format(decimals, number)))
}

fn wire_speed(units: Units) -> (&'static str, fn(MillimetresPerSecond) -> f64) {
    match units {
        Units::Metric => ("m/min", |speed| speed.millimetres_per_minute() / 1000.0),
        Units::UsCustomary => ("in/min", MillimetresPerSecond::inches_per_minute),
    }
}

fn gas_flow(sheet: &Sheet, units: Units) -> Option<String> {
    /// Litres a minute in a cubic foot an hour.
    const L_MIN_PER_CFH: f64 = LITRES_PER_CUBIC_FOOT / 60.0;
    let flow = sheet.gas_flow_l_min;
    match units {
        Units::Metric => range(flow, 1, ("l/min", |flow: f64| flow)),
        Units::UsCustomary => range(flow, 0, ("cfh", |flow: f64| flow / L_MIN_PER_CFH)),
    }
}
