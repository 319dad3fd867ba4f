//! Which columns of a recording are time, volts and amps: named by the user, by the headings, or by their order.

use super::layout::{Layout, LayoutError, rows_layout};
use super::options::{ColumnRef, CsvOptions, TimeUnit};

/// Finds the layout from the first lines of a file.
pub(super) fn detect(lines: &[(u64, String)], options: &CsvOptions) -> Result<Layout, LayoutError> {
    let (layout, width) = rows_layout(lines, options)?;
    choose_columns(layout, width, options)
}

/// Fills in the columns of a layout whose rows have `width` of them.
fn choose_columns(
    mut layout: Layout,
    width: usize,
    options: &CsvOptions,
) -> Result<Layout, LayoutError> {
    let find = |wanted: &Option<ColumnRef>, names: &[&str]| match wanted {
        Some(wanted) => wanted_column(&layout.headings, width, wanted).map(Some),
        None => Ok(position(&layout.headings, names)),
    };
    let counted = options.rate_hz.is_some();
    let time = match options.time {
        None if counted => None,
        _ => find(&options.time, &TIME_NAMES)?,
    };
    let volts = find(&options.volts, &VOLT_NAMES)?;
    let amps = find(&options.amps, &AMP_NAMES)?;
    let none_found = time.is_none() && volts.is_none() && amps.is_none();
    match (volts, amps) {
        (Some(volts), Some(amps)) if time.is_some() || counted => {
            (layout.time, layout.volts, layout.amps) = (time, volts, amps);
        }
        _ if none_found && (width == 3 || layout.headings.is_empty()) => {
            let first = usize::from(!counted);
            (layout.time, layout.volts, layout.amps) = ((!counted).then_some(0), first, first + 1);
            layout.by_order = true;
        }
        _ => {
            let missing = [
                (time.is_none() && !counted, "time (--time COLUMN)"),
                (volts.is_none(), "volts (--volts COLUMN)"),
                (amps.is_none(), "amps (--amps COLUMN)"),
            ];
            let missing = missing.iter().filter(|(is_missing, _)| *is_missing);
            let missing: Vec<&str> = missing.map(|(_, what)| *what).collect();
            return Err(format!(
                "say which column is {}; {}",
                missing.join(" and "),
                listed(&layout.headings)
            ));
        }
    }
    let chosen = [layout.time, Some(layout.volts), Some(layout.amps)];
    let twice =
        |at: Option<usize>| at.is_some() && chosen.iter().filter(|&&other| other == at).count() > 1;
    if chosen.iter().any(|&at| twice(at)) {
        return Err("time, volts and amps must be three different columns".into());
    }
    Ok(layout)
}

fn wanted_column(
    headings: &[String],
    width: usize,
    wanted: &ColumnRef,
) -> Result<usize, LayoutError> {
    match wanted {
        ColumnRef::Number(number) if *number <= width => Ok(number - 1),
        ColumnRef::Number(number) => Err(format!("there is no column {number}: rows have {width}")),
        ColumnRef::Name(name) => position(headings, &[name])
            .ok_or_else(|| format!("there is no column '{name}'; {}", listed(headings))),
    }
}

fn listed(headings: &[String]) -> String {
    if headings.is_empty() {
        return "there are no headings; give columns by number, from 1".into();
    }
    let columns: Vec<_> = headings
        .iter()
        .enumerate()
        .map(|(at, heading)| format!("{} '{heading}'", at + 1))
        .collect();
    format!("columns are {}", columns.join(", "))
}

const TIME_NAMES: [&str; 7] = [
    "time",
    "t",
    "timestamp",
    "date time",
    "datetime",
    "elapsed",
    "elapsed time",
];
const VOLT_NAMES: [&str; 9] = [
    "voltage",
    "volts",
    "volt",
    "arc voltage",
    "u",
    "v",
    "uarc",
    "varc",
    "welding voltage",
];
const AMP_NAMES: [&str; 9] = [
    "current",
    "amps",
    "amp",
    "amperes",
    "i",
    "a",
    "welding current",
    "iarc",
    "arc current",
];

/// The first heading that is one of the names, with or without its unit.
fn position(headings: &[String], names: &[&str]) -> Option<usize> {
    let is = |heading: &str| names.iter().any(|name| folded(name) == folded(heading));
    headings.iter().position(|heading| is(heading)).or_else(|| {
        headings
            .iter()
            .position(|heading| is(split_unit(heading).0))
    })
}

fn folded(name: &str) -> String {
    name.trim().to_lowercase().replace(['_', '-'], " ")
}

/// A heading and the unit at its end: `Voltage [mV]`, `time_ms`, `I / kA`.
pub(super) fn split_unit(heading: &str) -> (&str, &str) {
    let heading = heading.trim();
    if let Some(inner) = heading.strip_suffix([')', ']'])
        && let Some((name, unit)) = inner.rsplit_once(['(', '['])
    {
        return (name.trim_end(), unit.trim());
    }
    match heading.rsplit_once([' ', '_', '/']) {
        Some((name, unit)) if scale_of(unit).is_some() || time_unit_of(unit).is_some() => {
            (name.trim_end_matches([' ', '_', '/']), unit)
        }
        _ => (heading, ""),
    }
}

/// Volts or amperes in a unit.
pub(super) fn scale_of(unit: &str) -> Option<f64> {
    Some(match unit {
        "V" | "A" | "volt" | "volts" | "amp" | "amps" => 1.0,
        "mV" | "mA" => 1e-3,
        "cV" | "cA" => 1e-2,
        "dV" | "dA" => 1e-1,
        "kV" | "kA" => 1e3,
        _ => return None,
    })
}

/// A unit of time.
pub(super) fn time_unit_of(unit: &str) -> Option<TimeUnit> {
    Some(match unit {
        "s" | "sec" | "seconds" => TimeUnit::S,
        "ms" | "msec" | "milliseconds" => TimeUnit::Ms,
        "us" | "µs" | "μs" | "usec" | "microseconds" => TimeUnit::Us,
        "ns" | "nanoseconds" => TimeUnit::Ns,
        _ => return None,
    })
}
