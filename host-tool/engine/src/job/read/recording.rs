//! Reads `[recording]`: how recordings of other instruments are to be read.

use crate::procedure::names::process_called;
use crate::reading::{QuantityKind, Table};
use crate::recording::{ColumnRef, Decimal, RecordingOptions, Separator, TimeUnit};
use coldsquare_core::process::Process;
use coldsquare_core::seal::{Fingerprint, NotAFingerprint};
use serde_spanned::Spanned;
use toml::de::DeValue;

/// Reads `[recording]`; without one, everything is left to be found.
pub(super) fn read(top: &mut Table<'_>) -> RecordingOptions {
    let Some(mut table) = top.table("recording") else {
        return RecordingOptions::default();
    };
    let options = RecordingOptions {
        time: column(&mut table, "time"),
        volts: column(&mut table, "volts"),
        amps: column(&mut table, "amps"),
        separator: table
            .choice("separator", &Separator::ALL.map(|one| (one.name(), one)))
            .map(Spanned::into_inner),
        decimal: table
            .choice("decimal", &Decimal::ALL.map(|one| (one.name(), one)))
            .map(Spanned::into_inner),
        time_unit: table
            .choice("time_unit", &TimeUnit::ALL.map(|one| (one.name(), one)))
            .map(Spanned::into_inner),
        rate_hz: number(&mut table, "rate", &RATE),
        volts_scale: number(&mut table, "volts_scale", &SCALE),
        volts_offset: number(&mut table, "volts_offset", &ANY),
        amps_scale: number(&mut table, "amps_scale", &SCALE),
        amps_offset: number(&mut table, "amps_offset", &ANY),
        volts_accuracy_percent: number(&mut table, "volts_accuracy", &PERCENT),
        amps_accuracy_percent: number(&mut table, "amps_accuracy", &PERCENT),
        dataset: table.text("dataset").map(Spanned::into_inner),
        calibration_of: None,
        skip_bad_rows: yes_or_no(&mut table, "skip_bad_rows"),
        steady_arc: yes_or_no(&mut table, "steady_arc"),
        process: process(&mut table),
        sealed_by: fingerprint(&mut table),
    };
    table.finish();
    options
}

/// Numbers that a key may have, and how a message says it.
struct Allowed {
    is: fn(f64) -> bool,
    what: &'static str,
}

const ANY: Allowed = Allowed {
    is: f64::is_finite,
    what: "write a number",
};
const SCALE: Allowed = Allowed {
    is: f64::is_normal,
    what: "write how many volts or amps each 1 in the column stands for, such as 0.1 or 1000",
};
const PERCENT: Allowed = Allowed {
    is: |value| (0.0..=100.0).contains(&value),
    what: "write per cent of the value, from 0 to 100",
};
const RATE: Allowed = Allowed {
    is: |value| (1e-3..=1e6).contains(&value),
    what: "write samples per second, from 0.001 to 1000000",
};

fn number(table: &mut Table<'_>, key: &'static str, allowed: &Allowed) -> Option<f64> {
    let value = table.value(key)?;
    let reader = table.reader();
    let number = reader.quantity(value, QuantityKind::Number)?;
    if (allowed.is)(number) {
        return Some(number);
    }
    reader.error(
        &value.span(),
        format!("'{key}' cannot be {number}"),
        allowed.what,
    );
    None
}

/// A column by its number from the left, or by its heading in quotes.
fn column(table: &mut Table<'_>, key: &'static str) -> Option<ColumnRef> {
    let value = table.value(key)?;
    let column = match value.get_ref() {
        DeValue::Integer(number) => i64::from_str_radix(number.as_str(), number.radix())
            .ok()
            .and_then(|number| usize::try_from(number).ok())
            .filter(|number| *number > 0)
            .map(ColumnRef::Number),
        DeValue::String(name) if !name.trim().is_empty() => {
            Some(ColumnRef::Name(name.trim().into()))
        }
        _ => None,
    };
    if column.is_none() {
        table.reader().error(
            &value.span(),
            format!("'{key}' must name a column"),
            "write its number from the left, counted from 1, or its heading in quotes",
        );
    }
    column
}

fn yes_or_no(table: &mut Table<'_>, key: &'static str) -> Option<bool> {
    let value = table.value(key)?;
    let word = value.get_ref().as_bool();
    if word.is_none() {
        table.reader().error(
            &value.span(),
            format!("'{key}' must be true or false"),
            "write it without quotes",
        );
    }
    word
}

/// The logger whose seal logs must have.
fn fingerprint(table: &mut Table<'_>) -> Option<Fingerprint> {
    let text = table.text("sealed_by")?;
    match text.get_ref().parse() {
        Ok(found) => Some(found),
        Err(NotAFingerprint) => {
            let hint = "copy it from what `pull` says of a log of this logger";
            table
                .reader()
                .error(&text.span(), NotAFingerprint.to_string(), hint);
            None
        }
    }
}

/// A process by its ISO 4063 number, or as the trade calls it.
fn process(table: &mut Table<'_>) -> Option<Process> {
    let value = table.value("process")?;
    let name = match value.get_ref() {
        DeValue::String(name) => name.to_string(),
        DeValue::Integer(number) => number.as_str().to_owned(),
        _ => String::new(),
    };
    let process = process_called(&name);
    if process.is_none() {
        table.reader().error(
            &value.span(),
            "this is no welding process",
            "write its ISO 4063 number, or its name: 135 or \"mag\", 141 or \"tig\", 111 or \"stick\"",
        );
    }
    process
}
