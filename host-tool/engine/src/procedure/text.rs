//! A procedure as a sheet to read, in the units it is written in.

use super::model::{RunSettings, Sheet};
use crate::limits::Limits;
use crate::procedure::model::Procedure;
use crate::units::Units;
use crate::format;
use crate::sanitise;
use coldsquare_core::units::{Celsius, Millimetres, MillimetresPerSecond};

/// Litres in a cubic foot, over minutes in an hour.
const L_MIN_PER_CFH: f64 = 28.316_846_592 / 60.0;

/// What stands on the sheet: name and value with its unit, in the order of ISO 15609-1.
#[must_use]
pub fn rows(procedure: &Procedure, units: Units) -> Vec<(String, String)> {
    let sheet = &procedure.sheet;
    let mut rows: Vec<(String, String)> = Vec::new();
    let mut row = |name: &str, value: Option<String>| {
        rows.extend(value.map(|value| (name.to_string(), sanitise::plain(&value))));
    };
    row("name", Some(procedure.name.clone()));
    row(
        "process",
        Some(format!(
            "{} ({})",
            procedure.process.name(),
            procedure.process.number()
        )),
    );
    row("material group", sheet.material_group.clone());
    row(
        "thickness",
        range(sheet.thickness, decimals(units), length(units)),
    );
    row("joint", sheet.joint.clone());
    row("preparation", sheet.preparation.clone());
    row("position", sheet.position.map(str::to_string));
    row("consumable", sheet.consumable.clone());
    row("wire or rod", sheet.wire.map(|wire| diameter(wire, units)));
    row("gas", sheet.gas.clone());
    row("gas flow", gas_flow(sheet, units));
    row(
        "polarity",
        sheet.polarity.map(|polarity| polarity.words().to_string()),
    );
    row(
        "preheat, at least",
        sheet.preheat.map(|t| temperature(t, units)),
    );
    row(
        "interpass, at most",
        procedure.interpass.map(|t| temperature(t, units)),
    );
    for settings in std::iter::once(procedure.for_run(1)).chain(sheet.later_runs.iter().copied()) {
        let from = match settings.from_run {
            1 => String::new(),
            from => format!("run {from} on: "),
        };
        for (name, value) in run_rows(&settings, units) {
            row(&format!("{from}{name}"), value);
        }
    }
    qualified(procedure, units, &mut row);
    rows
}

fn qualified(procedure: &Procedure, units: Units, row: &mut impl FnMut(&str, Option<String>)) {
    let Some(test) = &procedure.sheet.qualification else {
        row(
            "qualified by",
            Some("no test named: starting points or the shop's own practice".into()),
        );
        return;
    };
    row(
        "qualified by",
        Some(format!(
            "record {} (whether it is valid is not for this program to say)",
            test.record
        )),
    );
    row(
        "test covers thickness",
        range(test.thickness_range(), decimals(units), length(units)),
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

fn range<T: Copy>(
    limits: Limits<T>,
    decimals: usize,
    (symbol, number): (&str, impl Fn(T) -> f64),
) -> Option<String> {
    let open = limits.low.is_none() && limits.high.is_none();
    (!open).then(|| format!("{} {symbol}", limits.words(decimals, number)))
}

fn length(units: Units) -> (&'static str, fn(Millimetres) -> f64) {
    match units {
        Units::Metric => ("mm", Millimetres::value),
        Units::UsCustomary => ("in", Millimetres::inches),
    }
}

const fn decimals(units: Units) -> usize {
    match units {
        Units::Metric => 2,
        Units::UsCustomary => 3,
    }
}

fn wire_speed(units: Units) -> (&'static str, fn(MillimetresPerSecond) -> f64) {
    match units {
        Units::Metric => ("m/min", |speed| speed.millimetres_per_minute() / 1000.0),
        Units::UsCustomary => ("in/min", MillimetresPerSecond::inches_per_minute),
    }
}

fn gas_flow(sheet: &Sheet, units: Units) -> Option<String> {
    match units {
        Units::Metric => range(sheet.gas_flow_l_min, 1, ("l/min", |flow: f64| flow)),
        Units::UsCustomary => range(
            sheet.gas_flow_l_min,
            0,
            ("cfh", |flow: f64| flow / L_MIN_PER_CFH),
        ),
    }
}

fn diameter(wire: Millimetres, units: Units) -> String {
    match units {
        Units::Metric => format!("{:.2} mm", wire.0),
        Units::UsCustomary => format!("{:.3} in", wire.inches()),
    }
}

/// "150 °C" or "302 °F".
#[must_use]
pub fn temperature(temperature: Celsius, units: Units) -> String {
    match units {
        Units::Metric => format!("{:.0} °C", temperature.0),
        Units::UsCustomary => format!("{:.0} °F", temperature.fahrenheit()),
    }
}
