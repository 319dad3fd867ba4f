//! What does not fit together in a procedure: gas against process, heat against volts and amps, limits against the test.

use super::model::{Polarity, Procedure, RunSettings};
use super::qualification::Qualification;
use super::sheet::Places;
use crate::limits::Limits;
use crate::reading::{Reader, Span};
use crate::units::Units;
use coldsquare_core::process::Process;
use coldsquare_core::units::{
    Amperes, JoulesPerMillimetre, MILLIMETRES_PER_INCH, MillimetresPerSecond, Volts,
};

/// Notes all of it with the reader; `whole` is the place of the procedure.
pub(super) fn check(procedure: &Procedure, places: &Places, whole: &Span, reader: &Reader<'_>) {
    let at = |place: &Option<Span>| place.clone().unwrap_or_else(|| whole.clone());
    check_shielding(procedure, places, reader);
    for run in procedure.all_runs() {
        check_heat(procedure.process, &run, places, whole, reader);
    }
    if let (Some(preheat), Some(interpass)) = (procedure.sheet.preheat, procedure.interpass)
        && interpass.0 < preheat.0
    {
        reader.error(
            &at(&places.preheat),
            "the preheat temperature is above the interpass temperature",
            "preheat is the lowest temperature of the work before a run, interpass the highest",
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
                "needs an inert gas; this one is active and burns the electrode or the metal",
                "use I1 (argon) or I3 (argon and helium) of ISO 14175",
            )
        } else {
            (
                "needs an active gas; this one is inert",
                "use M21 (argon with 15 to 25 % CO2) or C1 (CO2) of ISO 14175; MIG with inert gas is process 131",
            )
        };
        reader.error(
            span,
            format!("{} ({}) {what}", process.name(), process.number()),
            hint,
        );
    }
    if let (Process::Tig, Some(Polarity::Positive), Some(span)) =
        (process, sheet.polarity, &places.polarity)
    {
        reader.error(
            span,
            "TIG on DC+ melts the tungsten",
            "use DC- for steel and stainless, AC for aluminium",
        );
    }
}

/// By its group in ISO 14175 (I inert; M, C and O active) or by its contents; `None` where neither is clear.
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

/// Limits of heat input that volts, amps and travel speed can never give.
fn check_heat(
    process: Process,
    run: &RunSettings,
    places: &Places,
    whole: &Span,
    reader: &Reader<'_>,
) {
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
    // Whether it would fit if both ends of the heat that the settings give were multiplied by a factor.
    let fits = |factor: f64| {
        allowed.low.is_none_or(|low| low.0 <= factor * most)
            && allowed.high.is_none_or(|high| high.0 >= factor * least)
    };
    // Limits the wrong way round are an error of their own.
    if fits(1.0) || least > most {
        return;
    }
    let too_fast = run
        .travel_speed
        .high
        .is_some_and(|speed| speed.0 > FAST_MM_S);
    let slip = units_slip(reader.units(), too_fast, fits);
    let place = match slip {
        Some((Slip::Speed, _)) => &places.travel_speed,
        _ => &places.heat_input,
    };
    let hint = format!(
        "{}they give {:.3} to {:.3} kJ/mm ({:.2} to {:.2} kJ/in), thermal efficiency {k} included",
        slip.map_or("", |(_, hint)| hint),
        least / 1000.0,
        most / 1000.0,
        JoulesPerMillimetre(least).kilojoules_per_inch(),
        JoulesPerMillimetre(most).kilojoules_per_inch(),
    );
    reader.error(
        place.as_ref().unwrap_or(whole),
        format!(
            "volts, amps and travel speed of run {} can never give this heat input",
            run.from_run
        ),
        hint,
    );
}

/// Faster than light frames are welded by hand or machine, mm/s. Common practice, no source.
const FAST_MM_S: f64 = 20.0;

/// Which of two settings was written in another unit than the file's.
#[derive(Clone, Copy)]
enum Slip {
    Speed,
    Heat,
}

/// The unit that a setting was probably written in: the one that makes the settings fit each other.
fn units_slip(
    units: Units,
    too_fast: bool,
    fits: impl Fn(f64) -> bool,
) -> Option<(Slip, &'static str)> {
    let known: [(f64, Slip, &'static str); 3] = match units {
        Units::Metric => [
            (
                60.0,
                Slip::Speed,
                "is the speed in mm/min? A bare number is in mm/s: write [\"360 mm/min\", \"540 mm/min\"]; ",
            ),
            (
                1000.0,
                Slip::Heat,
                "is the heat in J/mm? A bare number is in kJ/mm: write [\"150 J/mm\", \"350 J/mm\"]; ",
            ),
            (
                MILLIMETRES_PER_INCH,
                Slip::Heat,
                "is the heat in kJ/in? A bare number is in kJ/mm: write [\"4 kJ/in\", \"9 kJ/in\"]; ",
            ),
        ],
        Units::UsCustomary => [
            (
                1.0 / MILLIMETRES_PER_INCH,
                Slip::Heat,
                "is the heat in kJ/mm? A bare number is in kJ/in: write [\"0.15 kJ/mm\", \"0.35 kJ/mm\"]; ",
            ),
            (
                MILLIMETRES_PER_INCH,
                Slip::Speed,
                "is the speed in mm/min? A bare number is in in/min: write [\"360 mm/min\", \"540 mm/min\"]; ",
            ),
            (
                1000.0,
                Slip::Heat,
                "is the heat in J/in? A bare number is in kJ/in: write [4, 9]; ",
            ),
        ],
    };
    known
        .into_iter()
        .filter(|(_, slip, _)| too_fast || matches!(slip, Slip::Heat))
        .find(|(factor, ..)| fits(*factor))
        .map(|(_, slip, hint)| (slip, hint))
}

/// Thickness and heat input against the test that the procedure rests on.
fn check_range(
    procedure: &Procedure,
    test: &Qualification,
    places: &Places,
    whole: &Span,
    reader: &Reader<'_>,
) {
    let group = procedure
        .sheet
        .material_group
        .as_deref()
        .unwrap_or_default();
    if group.starts_with('2') {
        reader.error(
            whole,
            "ISO 15614-1 is for steel and nickel, and this is aluminium",
            "aluminium is tested to ISO 15614-2, whose ranges Coldsquare does not know: leave [qualified] out",
        );
        return;
    }
    let at = |place: &Option<Span>| place.clone().unwrap_or_else(|| whole.clone());
    check_thickness(procedure, test, &at(&places.thickness), reader);
    check_heat_covered(procedure, test, &at(&places.heat_input), reader);
}

fn check_thickness(procedure: &Procedure, test: &Qualification, span: &Span, reader: &Reader<'_>) {
    let range = test.thickness_range();
    if is_within(procedure.sheet.thickness.map(|t| t.0), range.map(|t| t.0)) {
        return;
    }
    let low = range.low.map_or(0.0, |low| low.0);
    let high = range
        .high
        .map_or("more".to_string(), |high| format!("{:.1} mm", high.0));
    reader.error(
        span,
        format!("test {} does not cover this thickness", test.record),
        format!(
            "a test piece of {:.1} mm covers {low:.1} mm to {high} (ISO 15614-1:2017, from memory)",
            test.thickness.0
        ),
    );
}

fn check_heat_covered(
    procedure: &Procedure,
    test: &Qualification,
    span: &Span,
    reader: &Reader<'_>,
) {
    let covered = test.heat_input_range();
    let end = |word: &str, end: Option<JoulesPerMillimetre>| {
        end.map(|q| format!("{word} {:.3} kJ/mm", q.kilojoules_per_millimetre()))
    };
    let ends = [end("from", covered.low), end("up to", covered.high)];
    let ends: Vec<String> = ends.into_iter().flatten().collect();
    for run in procedure.all_runs() {
        if !is_within(run.heat_input.map(|q| q.0), covered.map(|q| q.0)) {
            reader.error(
                span,
                format!(
                    "test {} does not cover the heat input of run {}",
                    test.record, run.from_run
                ),
                format!(
                    "it covers heat input {} (ISO 15614-1:2017, 8.4.8, from memory)",
                    ends.join(" ")
                ),
            );
        }
    }
}

/// Whether `outer` allows all that `inner` allows; an open end is only within an open one.
fn is_within(inner: Limits<f64>, outer: Limits<f64>) -> bool {
    /// Rounding, of inches to millimetres.
    const SLACK: f64 = 1e-9;
    let low = outer
        .low
        .is_none_or(|outer| inner.low.is_some_and(|inner| inner >= outer - SLACK));
    let high = outer
        .high
        .is_none_or(|outer| inner.high.is_some_and(|inner| inner <= outer + SLACK));
    low && high
}
