//! What the columns of a recording are: told by the person, by the headings, or by their order.

use super::number::{moment, number};
use super::options::{ColumnRef, CsvOptions, Decimal, Separator, TimeUnit};
use super::rows::{fields, is_blank};

/// What the columns are.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Layout {
    pub separator: Separator,
    pub decimal: Decimal,
    /// Line of the first row, from 1.
    pub first_row: u64,
    /// Places from 0; time is absent when samples are counted.
    pub time: Option<usize>,
    pub volts: usize,
    pub amps: usize,
    /// Headings as written; empty when there are none.
    pub headings: Vec<String>,
    /// True when the columns were taken in the order time, volts, amps for want of anything better.
    pub by_order: bool,
}

/// Why no layout was found; the text says what to do.
pub(super) type LayoutError = String;

/// True for bytes that can be text: no zero bytes, and hardly any control characters.
pub(in crate::log) fn looks_like_text(head: &[u8]) -> bool {
    let control = |byte: &&u8| **byte < b' ' && !matches!(**byte, b'\t' | b'\n' | b'\r');
    !head.contains(&0) && head.iter().filter(control).count() * 100 <= head.len()
}

/// Ways to write rows, likelier ones first.
const WAYS: [(Separator, Decimal); 8] = [
    (Separator::Tab, Decimal::Point),
    (Separator::Semicolon, Decimal::Point),
    (Separator::Comma, Decimal::Point),
    (Separator::Space, Decimal::Point),
    (Separator::Tab, Decimal::Comma),
    (Separator::Semicolon, Decimal::Comma),
    (Separator::Comma, Decimal::Comma),
    (Separator::Space, Decimal::Comma),
];

/// Finds out from the first lines of a file.
pub(super) fn detect(lines: &[(u64, String)], options: &CsvOptions) -> Result<Layout, LayoutError> {
    let least = if options.rate_hz.is_some() { 2 } else { 3 };
    let allowed = |(separator, decimal): &&(Separator, Decimal)| {
        options.separator.is_none_or(|wanted| wanted == *separator)
            && options.decimal.is_none_or(|wanted| wanted == *decimal)
    };
    let mut best: Option<(u64, (Separator, Decimal))> = None;
    for &way in WAYS.iter().filter(allowed) {
        let score = score(lines, way, least);
        if score > best.map_or(0, |(best, _)| best) {
            best = Some((score, way));
        }
    }
    let (_, (separator, decimal)) = best.ok_or_else(|| {
        format!(
            "no rows with {least} columns of numbers among the first {} lines; a recording needs time, volts and amps \
             (or volts and amps and --rate), separated by comma, semicolon, tab or space",
            lines.len()
        )
    })?;
    let is_row = |line: &str| numbers(line, separator, decimal).0 >= least;
    let first = lines.iter().position(|(_, line)| is_row(line)).unwrap_or(0);
    let width = fields(&lines[first].1, separator).count();
    let headings = headings(&lines[..first], separator, width);
    let layout = Layout {
        separator,
        decimal,
        first_row: lines[first].0,
        time: None,
        volts: 0,
        amps: 0,
        headings,
        by_order: false,
    };
    choose_columns(layout, width, options)
}

/// How well a way of writing fits: whole rows count, and the share of their fields that are numbers.
fn score(lines: &[(u64, String)], (separator, decimal): (Separator, Decimal), least: usize) -> u64 {
    let mut rows = 0;
    let mut numeric = 0;
    let mut all = 0;
    for (_, line) in lines {
        let (numbers, fields) = numbers(line, separator, decimal);
        if numbers >= least {
            rows += 1;
            numeric += numbers as u64;
            all += fields as u64;
        }
    }
    // The share first: a decimal comma taken for a separator leaves halves such as "000;24".
    (numeric * 1000)
        .checked_div(all)
        .map_or(0, |share| 1_000_000 * share + rows.min(999_999))
}

/// Fields that are numbers, times or empty with at least one number, and all fields.
fn numbers(line: &str, separator: Separator, decimal: Decimal) -> (usize, usize) {
    let mut numbers = 0;
    let mut all = 0;
    for (_, field) in fields(line, separator) {
        all += 1;
        numbers += usize::from(moment(field, decimal).is_some());
    }
    (numbers, all)
}

/// The last line before the rows that has as many columns and is not a row.
fn headings(before: &[(u64, String)], separator: Separator, width: usize) -> Vec<String> {
    let wide = |line: &&String| fields(line, separator).count() == width;
    before
        .iter()
        .rev()
        .map(|(_, line)| line)
        .find(wide)
        .map(|line| {
            fields(line, separator)
                .map(|(_, field)| field.trim().to_owned())
                .collect()
        })
        .unwrap_or_default()
}

fn choose_columns(
    mut layout: Layout,
    width: usize,
    options: &CsvOptions,
) -> Result<Layout, LayoutError> {
    let find = |wanted: &Option<ColumnRef>, words: &[&str]| -> Result<Option<usize>, LayoutError> {
        match wanted {
            Some(ColumnRef::Number(number)) if *number <= width => Ok(Some(number - 1)),
            Some(ColumnRef::Number(number)) => {
                Err(format!("there is no column {number}: rows have {width}"))
            }
            Some(ColumnRef::Name(name)) => position(&layout.headings, &[name])
                .map(Some)
                .ok_or_else(|| {
                    format!("there is no column '{name}'; {}", listed(&layout.headings))
                }),
            None => Ok(position(&layout.headings, words)),
        }
    };
    let time = match options.rate_hz {
        Some(_) if options.time.is_none() => None,
        _ => find(&options.time, &TIME_WORDS)?,
    };
    let (volts, amps) = (
        find(&options.volts, &VOLT_WORDS)?,
        find(&options.amps, &AMP_WORDS)?,
    );
    let counted = options.rate_hz.is_some();
    if let (Some(volts), Some(amps)) = (volts, amps)
        && (time.is_some() || counted)
    {
        (layout.time, layout.volts, layout.amps) = (time, volts, amps);
    } else if time.is_none()
        && volts.is_none()
        && amps.is_none()
        && (width == 3 || layout.headings.is_empty())
    {
        let first = usize::from(!counted);
        (layout.time, layout.volts, layout.amps) = ((!counted).then_some(0), first, first + 1);
        layout.by_order = true;
    } else {
        let missing = [
            (time.is_none() && !counted, "time", "--time"),
            (volts.is_none(), "volts", "--volts"),
            (amps.is_none(), "amps", "--amps"),
        ];
        let missing: Vec<_> = missing
            .iter()
            .filter(|(is_missing, ..)| *is_missing)
            .map(|(_, what, option)| format!("{what} ({option} COLUMN)"))
            .collect();
        return Err(format!(
            "say which column is {}; {}",
            missing.join(" and "),
            listed(&layout.headings)
        ));
    }
    let chosen = [layout.time, Some(layout.volts), Some(layout.amps)];
    let twice =
        |at: Option<usize>| at.is_some() && chosen.iter().filter(|&&other| other == at).count() > 1;
    if chosen.iter().any(|&at| twice(at)) {
        return Err("time, volts and amps must be three different columns".into());
    }
    Ok(layout)
}

fn listed(headings: &[String]) -> String {
    if headings.is_empty() {
        return "there are no headings: name columns by number, from 1".into();
    }
    let columns: Vec<_> = headings
        .iter()
        .enumerate()
        .map(|(at, heading)| format!("{} '{heading}'", at + 1))
        .collect();
    format!("columns are {}", columns.join(", "))
}

const TIME_WORDS: [&str; 7] = [
    "time",
    "t",
    "timestamp",
    "date time",
    "datetime",
    "elapsed",
    "elapsed time",
];
const VOLT_WORDS: [&str; 9] = [
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
const AMP_WORDS: [&str; 9] = [
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

/// The first heading that is one of the words, as it stands or without its unit.
fn position(headings: &[String], words: &[&str]) -> Option<usize> {
    let is = |heading: &str| words.iter().any(|word| folded(word) == folded(heading));
    headings.iter().position(|heading| is(heading)).or_else(|| {
        headings
            .iter()
            .position(|heading| is(split_unit(heading).0))
    })
}

fn folded(name: &str) -> String {
    name.trim().to_lowercase().replace(['_', '-'], " ")
}

/// A heading and the unit that stands at its end: `Voltage [mV]`, `time_ms`, `I / kA`.
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

impl Layout {
    /// The heading of a column.
    pub(super) fn heading(&self, column: usize) -> Option<&str> {
        self.headings
            .get(column)
            .map(String::as_str)
            .filter(|heading| !heading.is_empty())
    }

    /// True for a line whose column holds a number, as far as a glance tells.
    pub(super) fn is_row(&self, line: &str) -> bool {
        !is_blank(line)
            && fields(line, self.separator)
                .nth(self.volts)
                .is_some_and(|(_, field)| number(field, self.decimal).is_some())
    }
}
