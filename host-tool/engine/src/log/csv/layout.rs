//! How the rows of a recording are written: separator, decimal sign, first row, headings.

use super::number::{moment, number};
use super::options::{CsvOptions, Decimal, Separator};
use super::rows::{fields, is_blank};

/// How the rows are written, and what the columns are.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Layout {
    pub separator: Separator,
    pub decimal: Decimal,
    /// Line of the first row, from 1.
    pub first_row: u64,
    /// Columns from 0; no time if samples are counted.
    pub time: Option<usize>,
    pub volts: usize,
    pub amps: usize,
    /// Headings as written; empty without any.
    pub headings: Vec<String>,
    /// True if the columns are assumed to be time, volts, amps because nothing else names them.
    pub by_order: bool,
}

/// Why no layout was found, and what to do.
pub(super) type LayoutError = String;

/// True for bytes that can be text: no zero bytes, and hardly any control characters.
pub(in crate::log) fn looks_like_text(head: &[u8]) -> bool {
    let control = |byte: &&u8| **byte < b' ' && !matches!(**byte, b'\t' | b'\n' | b'\r');
    !head.contains(&0) && head.iter().filter(control).count() * 100 <= head.len()
}

/// Ways to write rows, likelier ones first.
const FORMATS: [(Separator, Decimal); 8] = [
    (Separator::Tab, Decimal::Point),
    (Separator::Semicolon, Decimal::Point),
    (Separator::Comma, Decimal::Point),
    (Separator::Space, Decimal::Point),
    (Separator::Tab, Decimal::Comma),
    (Separator::Semicolon, Decimal::Comma),
    (Separator::Comma, Decimal::Comma),
    (Separator::Space, Decimal::Comma),
];

/// Finds how rows are written from the first lines of a file, and how many columns they have.
pub(super) fn rows_layout(
    lines: &[(u64, String)],
    options: &CsvOptions,
) -> Result<(Layout, usize), LayoutError> {
    let min_columns = if options.rate_hz.is_some() { 2 } else { 3 };
    let allowed = |(separator, decimal): &&(Separator, Decimal)| {
        options.separator.is_none_or(|wanted| wanted == *separator)
            && options.decimal.is_none_or(|wanted| wanted == *decimal)
    };
    let mut best: Option<(u64, (Separator, Decimal))> = None;
    for &format in FORMATS.iter().filter(allowed) {
        let score = score(lines, format, min_columns);
        if score > best.map_or(0, |(best, _)| best) {
            best = Some((score, format));
        }
    }
    let (_, (separator, decimal)) = best.ok_or_else(|| {
        format!(
            "no rows with {min_columns} columns of numbers among the first {} lines; a recording needs time, volts and amps \
             (or volts and amps and --rate), separated by comma, semicolon, tab or space",
            lines.len()
        )
    })?;
    let is_row = |line: &str| numbers(line, separator, decimal).0 >= min_columns;
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
    Ok((layout, width))
}

/// How well a format fits: first by the share of fields that are numbers, then by the number of rows.
fn score(
    lines: &[(u64, String)],
    (separator, decimal): (Separator, Decimal),
    min_columns: usize,
) -> u64 {
    let mut rows = 0;
    let mut numeric = 0;
    let mut all = 0;
    for (_, line) in lines {
        let (numbers, fields) = numbers(line, separator, decimal);
        if numbers >= min_columns {
            rows += 1;
            numeric += numbers as u64;
            all += fields as u64;
        }
    }
    // The share first: a decimal comma read as a separator leaves halves such as "000;24".
    (numeric * 1000)
        .checked_div(all)
        .map_or(0, |share| 1_000_000 * share + rows.min(999_999))
}

/// Fields that are numbers, times or empty with at min_columns one number, and all fields.
fn numbers(line: &str, separator: Separator, decimal: Decimal) -> (usize, usize) {
    let mut numbers = 0;
    let mut all = 0;
    for (_, field) in fields(line, separator) {
        all += 1;
        numbers += usize::from(moment(field, decimal).is_some());
    }
    (numbers, all)
}

/// The last line before the rows with as many columns.
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

impl Layout {
    /// The heading of a column.
    pub(super) fn heading(&self, column: usize) -> Option<&str> {
        self.headings
            .get(column)
            .map(String::as_str)
            .filter(|heading| !heading.is_empty())
    }

    /// True for a line with a number in its column of volts.
    pub(super) fn is_row(&self, line: &str) -> bool {
        !is_blank(line)
            && fields(line, self.separator)
                .nth(self.volts)
                .is_some_and(|(_, field)| number(field, self.decimal).is_some())
    }
}
