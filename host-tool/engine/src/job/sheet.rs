//! Reads what a procedure holds beside the ranges of its first run, and checks that it fits together.

use super::quantity::Kind;
use super::reader::{Reader, Span, Table};
use crate::procedure::limits::Limits;
use crate::procedure::model::Procedure;
use crate::procedure::model::{Polarity, RunSettings, Sheet};
use crate::procedure::qualification::{Qualification, THICKEST_TEST_MM, TestJoint};
use coldsquare_core::process::Process;
use coldsquare_core::units::{
    Amperes, Celsius, JoulesPerMillimetre, Millimetres, MillimetresPerSecond, Volts,
};
use serde_spanned::Spanned;

/// ISO 6947.
const POSITIONS: [(&str, &str); 11] = [
    ("PA", "PA"),
    ("PB", "PB"),
    ("PC", "PC"),
    ("PD", "PD"),
    ("PE", "PE"),
    ("PF", "PF"),
    ("PG", "PG"),
    ("PH", "PH"),
    ("PJ", "PJ"),
    ("H-L045", "H-L045"),
    ("J-L045", "J-L045"),
];

const POLARITIES: [(&str, Polarity); 3] = [
    ("DC+", Polarity::Positive),
    ("DC-", Polarity::Negative),
    ("AC", Polarity::Alternating),
];

/// Where the values stand that are checked against each other.
#[derive(Default)]
pub(super) struct Places {
    thickness: Option<Span>,
    gas: Option<Span>,
    polarity: Option<Span>,
    preheat: Option<Span>,
    pub heat_input: Option<Span>,
}

/// Metres a minute as the speed they are.
fn wire_speed(limits: Limits<f64>) -> Limits<MillimetresPerSecond> {
    limits.map(|m_min| MillimetresPerSecond::from_millimetres_per_minute(1000.0 * m_min))
}

/// Reads the settings of a sheet out of a procedure's table.
pub(super) fn read(table: &mut Table<'_>, places: &mut Places) -> Sheet {
    let span_of = |table: &mut Table<'_>, key| table.value(key).map(Spanned::span);
    places.thickness = span_of(table, "thickness");
    places.gas = span_of(table, "gas");
    places.polarity = span_of(table, "polarity");
    places.preheat = span_of(table, "preheat");
    places.heat_input = span_of(table, "heat_input");
    let text = |table: &mut Table<'_>, key| table.text(key).map(Spanned::into_inner);
    Sheet {
        file: None,
        material_group: material_group(table),
        thickness: table.limits("thickness", Kind::Length).map(Millimetres),
        joint: text(table, "joint"),
        preparation: text(table, "preparation"),
        position: table
            .choice("position", &POSITIONS)
            .map(Spanned::into_inner),
        consumable: text(table, "consumable"),
        wire: table
            .positive("wire", Kind::Length)
            .map(|wire| Millimetres(wire.into_inner())),
        gas: text(table, "gas"),
        gas_flow_l_min: table.limits("gas_flow", Kind::Flow),
        polarity: table
            .choice("polarity", &POLARITIES)
            .map(Spanned::into_inner),
        wire_speed: wire_speed(table.limits("wire_speed", Kind::WireSpeed)),
        preheat: preheat(table),
        later_runs: Vec::new(),
        qualification: qualification(table),
    }
}

/// A group or subgroup of ISO/TR 15608: 1 to 11 steels, 21 to 26 aluminium, 31 to 38 copper, 41 to 48 nickel, 51 to 54
/// titanium, 61 and 62 zirconium, 71 and 72 cast iron (from memory).
fn material_group(table: &mut Table<'_>) -> Option<String> {
    let written = table.text("material_group")?;
    let group = written
        .get_ref()
        .split('.')
        .next()
        .and_then(|group| group.trim().parse::<u8>().ok());
    let known = matches!(
        group,
        Some(1..=11 | 21..=26 | 31..=38 | 41..=48 | 51..=54 | 61 | 62 | 71 | 72)
    );
    if !known {
        table.reader().wrong(
            &written.span(),
            format!("'{}' is no group of parent metals", written.get_ref()),
            "groups of ISO/TR 15608: \"1.1\" mild steel, \"8.1\" austenitic stainless, \"22\" and \"23\" aluminium alloys",
        );
    }
    known.then(|| written.into_inner())
}

fn preheat(table: &mut Table<'_>) -> Option<Celsius> {
    let value = table.value("preheat")?;
    table
        .reader()
        .quantity(value, Kind::Temperature)
        .map(Celsius)
}

fn qualification(table: &mut Table<'_>) -> Option<Qualification> {
    let mut test = table.table("qualified")?;
    let reader = test.reader();
    let record = test.text("record").map(Spanned::into_inner);
    if record.is_none() && !test.has("record") {
        test.missing("record", "record = \"number of the test record\"");
    }
    let joint = test.choice(
        "joint",
        &[("butt", TestJoint::Butt), ("fillet", TestJoint::Fillet)],
    );
    let runs = test.choice("runs", &[("single", true), ("several", false)]);
    let thickness = test.required("thickness", Kind::Length, "thickness = 3");
    let heat_input = test.positive("heat_input", Kind::HeatInput);
    let yes = [("yes", true), ("no", false)];
    let impact = test.choice("impact", &yes).is_some_and(Spanned::into_inner);
    let hardness = test
        .choice("hardness", &yes)
        .is_some_and(Spanned::into_inner);
    if (impact || hardness) && heat_input.is_none() {
        test.missing(
            "heat_input",
            "heat_input = 0.25, as in the test; its range follows from it",
        );
    }
    test.finish();
    let thickness = thickness?;
    if *thickness.get_ref() > THICKEST_TEST_MM {
        reader.wrong(
            &thickness.span(),
            "the range of a test piece over 40 mm is not held here",
            "leave [qualified] out and keep the record of the test beside the procedure",
        );
        return None;
    }
    Some(Qualification {
        record: record?,
        joint: joint.map_or(TestJoint::Butt, Spanned::into_inner),
        thickness: Millimetres(thickness.into_inner()),
        single_run: runs.is_none_or(Spanned::into_inner),
        heat_input: heat_input.map(|heat| JoulesPerMillimetre(heat.into_inner())),
        impact,
        hardness,
    })
}

/// Reads the `[[run]]` tables; what one does not say is as in the run before.
pub(super) fn later_runs(table: &mut Table<'_>, first: RunSettings) -> Vec<RunSettings> {
    let mut all: Vec<RunSettings> = Vec::new();
    for mut run in table.tables("run") {
        let reader = run.reader();
        let before = all.last().copied().unwrap_or(first);
        if !run.has("from") {
            run.missing(
                "from",
                "from = 2, the number of the first run that these ranges are for",
            );
        }
        let from = run.whole("from", 2, 255);
        let given = |limits: Limits<f64>| (limits != Limits::OPEN).then_some(limits);
        let volts = given(run.limits("volts", Kind::Voltage));
        let amps = given(run.limits("amps", Kind::Current));
        let wire = given(run.limits("wire_speed", Kind::WireSpeed));
        let speed = given(run.limits("travel_speed", Kind::Speed));
        let heat = given(run.limits("heat_input", Kind::HeatInput));
        run.finish();
        let Some(from) = from else { continue };
        let number = u8::try_from(*from.get_ref()).unwrap_or(u8::MAX);
        if number <= before.from_run {
            reader.wrong(
                &from.span(),
                format!("run {number} does not come after run {}", before.from_run),
                "write [[run]] tables in the order of their runs, each number once",
            );
        }
        all.push(RunSettings {
            from_run: number,
            voltage: volts.map_or(before.voltage, |limits| limits.map(Volts)),
            current: amps.map_or(before.current, |limits| limits.map(Amperes)),
            wire_speed: wire.map_or(before.wire_speed, wire_speed),
            travel_speed: speed.map_or(before.travel_speed, |limits| {
                limits.map(MillimetresPerSecond)
            }),
            heat_input: heat.map_or(before.heat_input, |limits| limits.map(JoulesPerMillimetre)),
        });
    }
    all
}

/// What does not fit together in a procedure.
pub(super) fn check(procedure: &Procedure, places: &Places, whole: &Span, reader: &Reader<'_>) {
    let at = |place: &Option<Span>| place.clone().unwrap_or_else(|| whole.clone());
    check_shielding(procedure, places, reader);
    for run in
        std::iter::once(procedure.for_run(1)).chain(procedure.sheet.later_runs.iter().copied())
    {
        check_heat(procedure.process, &run, &at(&places.heat_input), reader);
    }
    if let (Some(preheat), Some(interpass)) = (procedure.sheet.preheat, procedure.interpass)
        && interpass.0 < preheat.0
    {
        reader.wrong(
            &at(&places.preheat),
            "the work is to be warmer before a run than it may be between runs",
            "preheat is the least temperature of the work, interpass the greatest",
        );
    }
    if let Some(test) = &procedure.sheet.qualification {
        check_range(procedure, test, places, whole, reader);
    }
}

/// Gas and polarity against the process. Common practice, no source; gas groups as in ISO 14175.
fn check_shielding(procedure: &Procedure, places: &Places, reader: &Reader<'_>) {
    let (process, sheet) = (procedure.process, &procedure.sheet);
    let inert = sheet.gas.as_deref().and_then(is_inert);
    let wants_inert = match process {
        Process::Tig
        | Process::Plasma
        | Process::MigSolid
        | Process::MigFluxCored
        | Process::MigMetalCored => Some(true),
        Process::MagSolid | Process::MagFluxCored | Process::MagMetalCored => Some(false),
        _ => None,
    };
    if let (Some(wanted), Some(inert), Some(span)) = (wants_inert, inert, &places.gas)
        && wanted != inert
    {
        let (what, hint) = if wanted {
            (
                "wants an inert gas; this one is active and burns the electrode or the metal",
                "I1 (argon) or I3 (argon and helium) of ISO 14175",
            )
        } else {
            (
                "wants an active gas; this one is inert",
                "M21 (argon with 15 to 25 % CO2) or C1 (CO2) of ISO 14175; MIG with inert gas is process 131",
            )
        };
        reader.wrong(
            span,
            format!("{} ({}) {what}", process.name(), process.number()),
            hint,
        );
    }
    if let (Process::Tig, Some(Polarity::Positive), Some(span)) =
        (process, sheet.polarity, &places.polarity)
    {
        reader.wrong(
            span,
            "TIG on DC+ melts the tungsten",
            "DC- for steel and stainless, AC for aluminium",
        );
    }
}

/// By its group in ISO 14175 (I inert; M, C and O active) or by what is in it; nothing where neither is plain.
fn is_inert(gas: &str) -> Option<bool> {
    let gas = gas.to_uppercase();
    let numbered = |group: &str| {
        gas.split(|c: char| !c.is_ascii_alphanumeric()).any(|word| {
            word.strip_prefix(group)
                .is_some_and(|rest| !rest.is_empty() && rest.chars().all(|c| c.is_ascii_digit()))
        })
    };
    if gas.contains("CO2") || gas.contains("O2") || ["M", "C"].into_iter().any(numbered) {
        Some(false)
    } else if numbered("I") || gas.contains("ARGON") || gas.trim() == "AR" {
        Some(true)
    } else {
        None
    }
}

/// A range of heat input that volts, amps and travel speed can never give.
fn check_heat(process: Process, run: &RunSettings, span: &Span, reader: &Reader<'_>) {
    let k = process.thermal_efficiency();
    let heat =
        |volts: Option<Volts>, amps: Option<Amperes>, speed: Option<MillimetresPerSecond>| {
            Some(k * volts?.0 * amps?.0 / speed?.0)
        };
    let least = heat(run.voltage.low, run.current.low, run.travel_speed.high);
    let most = heat(run.voltage.high, run.current.high, run.travel_speed.low);
    let (Some(least), Some(most)) = (least, most) else {
        return;
    };
    let allowed = run.heat_input;
    let out = allowed.low.is_some_and(|low| low.0 > most)
        || allowed.high.is_some_and(|high| high.0 < least);
    // Limits the wrong way round are a mistake of their own.
    if out && least <= most {
        reader.wrong(
            span,
            format!("volts, amps and travel speed of run {} can never give this heat input", run.from_run),
            format!(
                "they give {:.3} to {:.3} kJ/mm ({:.2} to {:.2} kJ/in), thermal efficiency {k} included",
                least / 1000.0,
                most / 1000.0,
                JoulesPerMillimetre(least).kilojoules_per_inch(),
                JoulesPerMillimetre(most).kilojoules_per_inch(),
            ),
        );
    }
}

/// Thickness and heat input against the test that the procedure rests on.
fn check_range(
    procedure: &Procedure,
    test: &Qualification,
    places: &Places,
    whole: &Span,
    reader: &Reader<'_>,
) {
    let sheet = &procedure.sheet;
    let group = sheet.material_group.as_deref().unwrap_or_default();
    if group.starts_with('2') {
        reader.wrong(
            whole,
            "ISO 15614-1 is for steel and nickel, and this is aluminium",
            "aluminium is tested after ISO 15614-2, whose ranges are not held here: leave [qualified] out",
        );
        return;
    }
    let range = test.thickness_range();
    if !within(sheet.thickness.map(|t| t.0), range.map(|t| t.0)) {
        let span = places.thickness.clone().unwrap_or_else(|| whole.clone());
        let most = range
            .high
            .map_or("more".to_string(), |high| format!("{:.1} mm", high.0));
        reader.wrong(
            &span,
            format!("the thickness is not covered by test {}", test.record),
            format!("a test piece of {:.1} mm covers {:.1} mm to {most} (ISO 15614-1:2017, from memory)", test.thickness.0, range.low.map_or(0.0, |low| low.0)),
        );
    }
    let covered = test.heat_input_range();
    for run in std::iter::once(procedure.for_run(1)).chain(sheet.later_runs.iter().copied()) {
        let kilojoules = |end: Option<JoulesPerMillimetre>| {
            end.map(|q| format!("{:.3} kJ/mm", q.kilojoules_per_millimetre()))
        };
        if !within(run.heat_input.map(|q| q.0), covered.map(|q| q.0)) {
            let ends = [
                kilojoules(covered.low).map(|low| format!("from {low}")),
                kilojoules(covered.high).map(|high| format!("up to {high}")),
            ];
            let ends: Vec<String> = ends.into_iter().flatten().collect();
            reader.wrong(
                &places.heat_input.clone().unwrap_or_else(|| whole.clone()),
                format!(
                    "the heat input of run {} is not covered by test {}",
                    run.from_run, test.record
                ),
                format!(
                    "covered is {} (ISO 15614-1:2017, 8.4.8, from memory)",
                    ends.join(" ")
                ),
            );
        }
    }
}

/// Whether all that `inner` allows lies within `outer`; an open end lies within an open one only.
fn within(inner: Limits<f64>, outer: Limits<f64>) -> bool {
    /// Inches become millimetres with a rounding error.
    const SLACK: f64 = 1e-9;
    let low = outer
        .low
        .is_none_or(|outer| inner.low.is_some_and(|inner| inner >= outer - SLACK));
    let high = outer
        .high
        .is_none_or(|outer| inner.high.is_some_and(|inner| inner <= outer + SLACK));
    low && high
}

/// Notes that a procedure stands in a file that has mistakes of its own.
pub(super) fn in_file(
    reader: &Reader<'_>,
    span: &Span,
    path: &str,
    mistakes: &crate::located::Mistakes,
) {
    let lines: Vec<String> = mistakes
        .iter()
        .take(3)
        .map(|one| format!("line {}: {}", one.line_and_column().0, one.what()))
        .collect();
    reader.wrong(
        span,
        format!(
            "the procedure file {path} has mistakes ({}): {}",
            mistakes.count(),
            lines.join("; ")
        ),
        format!("`coldsquare procedure check {path}` shows each in its place"),
    );
}

/// Notes that a procedure file cannot be read.
pub(super) fn no_file(reader: &Reader<'_>, span: &Span, path: &str, cause: &str) {
    reader.wrong(
        span,
        format!("the procedure file {path} cannot be read: {cause}"),
        "name a file beside the job, or write a table [procedure]",
    );
}
