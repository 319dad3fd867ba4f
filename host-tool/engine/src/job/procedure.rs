//! Reads `[procedure]`: process, ranges, and what the maker expects to be measured.

use super::quantity::Kind;
use super::reader::{Reader, Span, Table, advice};
use super::sheet;
use crate::procedure::limits::Limits;
use crate::procedure::model::Procedure;
use crate::procedure::model::RunSettings;
use crate::procedure::names::{PROCESS_NAMES, process_called};
use coldsquare_core::process::Process;
use coldsquare_core::units::{Amperes, Celsius, JoulesPerMillimetre, MillimetresPerSecond, Volts};
use toml::de::DeValue;

/// Reads one procedure; mistakes are noted and the procedure is missing.
pub(super) fn read(mut table: Table<'_>, number: usize) -> Option<Procedure> {
    let before = table.reader().count();
    let name = table.text("name").map(|name| name.into_inner());
    let process = process(&mut table);
    let mut places = sheet::Places::default();
    let mut sheet = sheet::read(&mut table, &mut places);
    let volts = table.limits("volts", Kind::Voltage);
    let amps = table.limits("amps", Kind::Current);
    let speed = table.limits("travel_speed", Kind::Speed);
    let heat = table.limits("heat_input", Kind::HeatInput);
    let interpass = table.value("interpass").and_then(|value| {
        let warmest = table.reader().quantity(value, Kind::Temperature)?;
        if warmest < 0.0 {
            table.reader().wrong(
                &value.span(),
                "interpass temperature is below freezing",
                "write the highest temperature before the next run",
            );
        }
        Some(Celsius(warmest))
    });
    let planned_speed = table.positive("planned_travel_speed", Kind::Speed);
    let planned_heat = table.positive("planned_heat_input", Kind::HeatInput);
    let planned_speed = planned_speed
        .map(|speed| speed.into_inner())
        .or(middle(speed));
    let planned_heat = planned_heat.map(|heat| heat.into_inner()).or(middle(heat));
    let from_arc = |process: Process, speed: f64| {
        Some(process.thermal_efficiency() * middle(volts)? * middle(amps)? / speed)
    };
    let to_speed = |process: Process, heat: f64| {
        Some(process.thermal_efficiency() * middle(volts)? * middle(amps)? / heat)
    };
    sheet.later_runs = sheet::later_runs(
        &mut table,
        RunSettings {
            from_run: 1,
            voltage: each(volts, Volts),
            current: each(amps, Amperes),
            wire_speed: sheet.wire_speed,
            travel_speed: each(speed, MillimetresPerSecond),
            heat_input: each(heat, JoulesPerMillimetre),
        },
    );
    let (span, reader) = (table.span().clone(), table.reader());
    let Some(process) = process else {
        table.finish();
        return None;
    };
    let planned = match (planned_speed, planned_heat) {
        (Some(speed), Some(heat)) => Some((speed, heat)),
        (Some(speed), None) => from_arc(process, speed).map(|heat| (speed, heat)),
        (None, Some(heat)) => to_speed(process, heat).map(|speed| (speed, heat)),
        (None, None) => None,
    };
    // What is wrong is not missing too.
    if planned.is_none() && reader.count() == before {
        table.reader().wrong(
            table.span(),
            "the procedure does not say how much heat to plan with",
            "give two of: travel_speed, heat_input, volts together with amps; or planned_travel_speed and planned_heat_input",
        );
    }
    table.finish();
    let (speed_planned, heat_planned) = planned?;
    let procedure = Procedure {
        name: name.unwrap_or_else(|| match number {
            0 => "procedure".to_string(),
            more => format!("procedure {}", more + 1),
        }),
        process,
        voltage: each(volts, Volts),
        current: each(amps, Amperes),
        travel_speed: each(speed, MillimetresPerSecond),
        heat_input: each(heat, JoulesPerMillimetre),
        interpass,
        planned_heat_input: JoulesPerMillimetre(heat_planned),
        planned_travel_speed: MillimetresPerSecond(speed_planned),
        sheet,
    };
    sheet::check(&procedure, &places, &span, reader);
    Some(procedure)
}

/// Reads a procedure file that a job names, from the folder of the job.
pub(super) fn from_file(path: &str, span: &Span, reader: &Reader<'_>) -> Option<Procedure> {
    let full = reader.beside(path);
    if !reader.files().exists(&full) {
        sheet::no_file(reader, span, path, "there is no such file");
        return None;
    }
    let source = match crate::files::text(reader.files(), &full) {
        Ok(source) => source,
        Err(failure) => {
            sheet::no_file(reader, span, path, &failure.to_string());
            return None;
        }
    };
    match super::procedure_from_source(&source) {
        Ok((mut procedure, _)) => {
            procedure.sheet.file = Some(path.to_string());
            Some(procedure)
        }
        Err(mistakes) => {
            sheet::in_file(reader, span, path, &mistakes);
            None
        }
    }
}

fn process(table: &mut Table<'_>) -> Option<Process> {
    const EXAMPLE: &str = "process = 135, or process = \"mag\"";
    let Some(value) = table.value("process") else {
        table.missing("process", EXAMPLE);
        return None;
    };
    let written = match value.get_ref() {
        DeValue::Integer(number) => number.as_str().to_string(),
        DeValue::String(text) => text.trim().to_lowercase(),
        _ => String::new(),
    };
    let found = process_called(&written);
    if found.is_none() {
        let numbers = Process::ALL.map(|process| process.number().to_string());
        let mut known: Vec<&str> = PROCESS_NAMES
            .iter()
            .map(|(name, _)| *name)
            .take(6)
            .collect();
        known.extend(numbers.iter().map(String::as_str));
        table.reader().wrong(
            &value.span(),
            "this is no arc welding process that is known here",
            advice(&written, &known),
        );
    }
    found
}

fn middle(limits: Limits<f64>) -> Option<f64> {
    Some((limits.low? + limits.high?) / 2.0)
}

fn each<T>(limits: Limits<f64>, unit: impl Fn(f64) -> T) -> Limits<T> {
    Limits {
        low: limits.low.map(&unit),
        high: limits.high.map(&unit),
    }
}
