//! Reads `[procedure]`, or a procedure file: process, limits, and what the user expects to measure.

use super::model::{Procedure, RunSettings};
use super::names::{PROCESS_NAMES, process_called};
use super::{consistency, sheet};
use crate::file_error::{FileErrors, Source};
use crate::files::NoFiles;
use crate::limits::Limits;
use crate::reading::{QuantityKind, Reader, Span, Table, parse, suggest};
use crate::units::Units;
use coldsquare_core::process::Process;
use coldsquare_core::units::{Amperes, Celsius, JoulesPerMillimetre, MillimetresPerSecond, Volts};
use serde_spanned::Spanned;
use toml::de::DeValue;

/// Highest interpass temperature, °C: cast iron and tool steel are welded this hot, no light frame is. Common practice,
/// no source.
const MAX_INTERPASS_C: f64 = 600.0;

/// Fastest travel, mm/s, and greatest heat input, J/mm, of an arc on light frames: six metres a minute, and the end of
/// the shrinkage rules. Beyond them the unit is another one. Common practice, no source.
const MAX_TRAVEL_MM_S: f64 = 100.0;
const MAX_HEAT_J_MM: f64 = 10_000.0;

/// The limits of the first run, as they are written.
struct Written {
    volts: Limits<f64>,
    amps: Limits<f64>,
    travel_speed: Limits<f64>,
    heat_input: Limits<f64>,
}

impl Written {
    fn read(table: &mut Table<'_>) -> Self {
        Self {
            volts: table.limits("volts", QuantityKind::Voltage),
            amps: table.limits("amps", QuantityKind::Current),
            travel_speed: at_most(
                table,
                "travel_speed",
                QuantityKind::Speed,
                MAX_TRAVEL_MM_S,
                "no arc travels as fast as this",
                "is it in mm/min? Write the unit with it: [\"360 mm/min\", \"540 mm/min\"]",
            ),
            heat_input: at_most(
                table,
                "heat_input",
                QuantityKind::HeatInput,
                MAX_HEAT_J_MM,
                "no light frame takes as much heat as this",
                "is it in J/mm? Write the unit with it: [\"150 J/mm\", \"350 J/mm\"]",
            ),
        }
    }

    fn settings(&self, wire_speed: Limits<MillimetresPerSecond>) -> RunSettings {
        RunSettings {
            from_run: 1,
            voltage: self.volts.map(Volts),
            current: self.amps.map(Amperes),
            wire_speed,
            travel_speed: self.travel_speed.map(MillimetresPerSecond),
            heat_input: self.heat_input.map(JoulesPerMillimetre),
        }
    }

    /// Power at the weld in the middle of the limits, W, times the thermal efficiency.
    fn power(&self, process: Process) -> Option<f64> {
        Some(process.thermal_efficiency() * self.volts.middle()? * self.amps.middle()?)
    }

    /// Travel speed and heat input to plan with: as given, or one from the other by way of volts and amps.
    fn planned(
        &self,
        process: Process,
        given_speed: Option<f64>,
        given_heat: Option<f64>,
    ) -> Option<(f64, f64)> {
        let speed = given_speed.or(self.travel_speed.middle());
        let heat = given_heat.or(self.heat_input.middle());
        match (speed, heat) {
            (Some(speed), Some(heat)) => Some((speed, heat)),
            (Some(speed), None) => Some((speed, self.power(process)? / speed)),
            (None, Some(heat)) => Some((self.power(process)? / heat, heat)),
            (None, None) => None,
        }
    }
}

/// Limits that are no greater than an arc can reach; greater ones are an error, and left open.
fn at_most(
    table: &mut Table<'_>,
    key: &'static str,
    kind: QuantityKind,
    max: f64,
    what: &str,
    hint: &str,
) -> Limits<f64> {
    let limits = table.limits(key, kind);
    let too_great = [limits.low, limits.high].iter().flatten().any(|&v| v > max);
    if !too_great {
        return limits;
    }
    let reader = table.reader();
    let span = table
        .value(key)
        .map_or_else(|| table.span().clone(), Spanned::span);
    reader.error(&span, what, hint);
    Limits::OPEN
}

/// Reads one procedure, the one at this index of the file; with an error there is none.
pub(crate) fn read(mut table: Table<'_>, index: usize) -> Option<Procedure> {
    let errors_before = table.reader().count();
    let name = table.text("name").map(Spanned::into_inner);
    let process = process(&mut table);
    let mut places = sheet::Places::default();
    let mut sheet = sheet::read(&mut table, &mut places);
    let written = Written::read(&mut table);
    let interpass = interpass(&mut table);
    let speed = table.positive("planned_travel_speed", QuantityKind::Speed);
    let heat = table.positive("planned_heat_input", QuantityKind::HeatInput);
    let first = written.settings(sheet.wire_speed);
    sheet.later_runs = sheet::later_runs(&mut table, first);
    let (span, reader) = (table.span().clone(), table.reader());
    let all_read = reader.count() == errors_before;
    table.finish();
    let process = process?;
    let (speed, heat) = (
        speed.map(Spanned::into_inner),
        heat.map(Spanned::into_inner),
    );
    let planned = written.planned(process, speed, heat);
    // What could not be read is not missing as well.
    if planned.is_none() && all_read {
        reader.error(
            &span,
            "the procedure does not say how much heat to plan with",
            "give two of travel_speed, heat_input, and volts together with amps; or planned_travel_speed and planned_heat_input",
        );
    }
    let (speed, heat) = planned?;
    let procedure = Procedure {
        name: name.unwrap_or_else(|| match index {
            0 => "procedure".to_string(),
            more => format!("procedure {}", more + 1),
        }),
        process,
        voltage: first.voltage,
        current: first.current,
        travel_speed: first.travel_speed,
        heat_input: first.heat_input,
        interpass,
        planned_heat_input: JoulesPerMillimetre(heat),
        planned_travel_speed: MillimetresPerSecond(speed),
        sheet,
    };
    consistency::check(&procedure, &places, &span, reader);
    Some(procedure)
}

/// Reads a procedure file (the keys of `[procedure]` without the heading), and the units it is written in.
///
/// # Errors
/// Every error in the text, in its order.
pub(super) fn from_source(source: &Source) -> Result<(Procedure, Units), FileErrors> {
    let table = parse(source)?;
    let reader = Reader::new(source, &NoFiles);
    let start = table.span().start;
    let table = table.into_inner();
    let mut top = Table::new(&reader, &table, start..start, "the procedure");
    let units = top.units();
    let is_named = top.has("name");
    let procedure = read(top, 0);
    let stem = reader.file_stem();
    FileErrors::none_of(reader.into_errors())?;
    let mut procedure =
        procedure.ok_or_else(|| source.error(0..0, "the procedure could not be read"))?;
    if !is_named {
        procedure.name = stem;
    }
    Ok((procedure, units))
}

/// Reads the procedure file that a job names, relative to the job.
pub(crate) fn from_file(path: &str, span: &Span, reader: &Reader<'_>) -> Option<Procedure> {
    let full = reader.beside(path);
    if !reader.files().exists(&full) {
        cannot_read(reader, span, path, "there is no such file");
        return None;
    }
    let source = match crate::files::text(reader.files(), &full) {
        Ok(source) => source,
        Err(failure) => {
            cannot_read(reader, span, path, &failure.to_string());
            return None;
        }
    };
    match from_source(&source) {
        Ok((mut procedure, _)) => {
            procedure.sheet.file = Some(path.to_string());
            Some(procedure)
        }
        Err(errors) => {
            has_errors(reader, span, path, &errors);
            None
        }
    }
}

fn cannot_read(reader: &Reader<'_>, span: &Span, path: &str, cause: &str) {
    reader.error(
        span,
        format!("cannot read the procedure file {path}: {cause}"),
        "name a file beside the job, or write a table [procedure]",
    );
}

fn has_errors(reader: &Reader<'_>, span: &Span, path: &str, errors: &FileErrors) {
    let lines: Vec<String> = errors
        .iter()
        .take(3)
        .map(|one| format!("line {}: {}", one.line_and_column().0, one.what()))
        .collect();
    let count = crate::format::count(errors.count(), "error");
    reader.error(
        span,
        format!("{count} in the procedure file {path}: {}", lines.join("; ")),
        format!("`coldsquare procedure check {path}` shows each in its place"),
    );
}

fn process(table: &mut Table<'_>) -> Option<Process> {
    const EXAMPLE: &str = "process = 135, or process = \"mag\"";
    /// Names among the suggestions, before the numbers.
    const NAMES_LISTED: usize = 6;
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
        let names = PROCESS_NAMES.iter().map(|(name, _)| *name);
        let mut known: Vec<&str> = names.take(NAMES_LISTED).collect();
        known.extend(numbers.iter().map(String::as_str));
        table.reader().error(
            &value.span(),
            "this is not an arc welding process that Coldsquare knows",
            suggest(&written, &known),
        );
    }
    found
}

fn interpass(table: &mut Table<'_>) -> Option<Celsius> {
    let value = table.value("interpass")?;
    let reader = table.reader();
    let highest = reader.quantity(value, QuantityKind::Temperature)?;
    if highest > MAX_INTERPASS_C {
        reader.error(
            &value.span(),
            "no weld is started on a joint as hot as this",
            format!(
                "write the highest temperature of the joint before the next run, {MAX_INTERPASS_C:.0} °C at most; 150 °C is \
                 usual for thin steel"
            ),
        );
    }
    if highest < 0.0 {
        reader.error(
            &value.span(),
            "the interpass temperature is below freezing",
            "write the highest temperature of the joint before the next run",
        );
    }
    Some(Celsius(highest))
}
