//! How the rows of a recording are written: separator, decimal sign, first row, headings.

use super::headings::{Meaning, is_unit, meaning, split_unit};
use super::instrument::Sample;
use super::number::{DateOrder, moment, number};
use super::rows::{fields, is_blank};
use crate::recording::{Decimal, RecordingOptions, Separator};

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
    /// How dates are written.
    pub dates: DateOrder,
    /// Factors that suit an arc where neither the heading nor the user gives a unit.
    pub factors: Factors,
    /// How the columns were found, for the user.
    pub notes: Vec<String>,
    /// Volts and amps of the first rows, as written.
    pub sample: Sample,
    /// An arc was seen to go on and off in them.
    pub arc_seen: bool,
}

/// Volts and amperes for each 1 in a column that names no unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Factors {
    pub volts: f64,
    pub amps: f64,
}

impl Factors {
    pub(super) const ONE: Self = Self {
        volts: 1.0,
        amps: 1.0,
    };
}

/// Why no layout was found, and what to do.
pub(super) type LayoutError = String;

/// True for bytes that can be text: no zero bytes, and hardly any control characters.
pub(in crate::log) fn looks_like_text(head: &[u8]) -> bool {
    // A file that was not closed can end in zeros.
    let end = head
        .iter()
        .rposition(|&byte| byte != 0)
        .map_or(0, |last| last + 1);
    let head = &head[..end];
    let control = |byte: &&u8| **byte < b' ' && !matches!(**byte, b'\t' | b'\n' | b'\r');
    !head.is_empty()
        && !head.contains(&0)
        && head.iter().filter(control).count() * 100 <= head.len()
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
    options: &RecordingOptions,
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
    let rows = || lines[first..].iter().map(|(_, line)| line.as_str());
    let width = rows()
        .take(100)
        .map(|line| fields(line, separator).count())
        .max()
        .unwrap_or(0);
    let headings = headings(&lines[..first], separator, width);
    if separator == Separator::Comma
        && options.separator.is_none()
        && commas_are_decimals(rows(), &lines[..first], headings.is_empty())
    {
        return Err("numbers are written with decimal commas, and commas also separate the columns, so the columns \
                    cannot be told apart; export the recording with semicolons or tabs, or with decimal points"
            .into());
    }
    let layout = Layout {
        separator,
        decimal,
        first_row: lines[first].0,
        time: None,
        volts: 0,
        amps: 0,
        headings,
        by_order: false,
        dates: DateOrder::default(),
        factors: Factors::ONE,
        notes: Vec::new(),
        sample: Sample::default(),
        arc_seen: false,
    };
    Ok((layout, width))
}

/// Unquoted decimal commas between columns that commas separate: no point anywhere, and the rows have other numbers of
/// fields than the headings or than each other, or tails of decimals such as "001".
fn commas_are_decimals<'a>(
    rows: impl Iterator<Item = &'a str>,
    before: &[(u64, String)],
    no_headings: bool,
) -> bool {
    let (mut least, mut most, mut tails, mut quoted) = (usize::MAX, 0, false, false);
    for line in rows.take(2000) {
        if line.contains('.') || line.contains(':') {
            return false;
        }
        quoted |= line.contains('"');
        let mut count = 0;
        for (_, field) in fields(line, Separator::Comma) {
            count += 1;
            let field = field.trim();
            tails |= field.len() > 1
                && field.starts_with('0')
                && field.bytes().all(|byte| byte.is_ascii_digit());
        }
        least = least.min(count);
        most = most.max(count);
    }
    let named = before
        .last()
        .map_or(0, |(_, line)| fields(line, Separator::Comma).count());
    let more_than_named = no_headings && named >= 2 && most > named;
    !quoted && most >= 4 && (more_than_named || tails || least < most)
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
    let (mut numbers, mut written, mut all) = (0, 0, 0);
    for (_, field) in fields(line, separator) {
        all += 1;
        let is_value = is_value(field, decimal);
        numbers += usize::from(is_value);
        written += usize::from(is_value && !field.trim().is_empty());
    }
    // A line of groups above the headings is mostly empty, and no row.
    (if written < 2 { 0 } else { numbers }, all)
}

/// True for a number, a time or nothing.
fn is_value(field: &str, decimal: Decimal) -> bool {
    moment(field, decimal, DateOrder::DayFirst).is_some()
        || moment(field, decimal, DateOrder::MonthFirst).is_some()
}

/// The headings of the columns: the line of names before the rows, with the units of a line of units below it, and with
/// a line above it where names are there twice ("actual", "set").
fn headings(before: &[(u64, String)], separator: Separator, width: usize) -> Vec<String> {
    let cells = |line: &str| -> Vec<String> {
        fields(line, separator)
            .map(|(_, field)| field.trim().to_owned())
            .collect()
    };
    let filled = |cells: &[String]| {
        cells
            .iter()
            .rposition(|cell| !cell.is_empty())
            .map_or(0, |at| at + 1)
    };
    let known = |cells: &[String]| {
        let says = |cell: &&String| !matches!(meaning(cell), Meaning::Unknown | Meaning::Other);
        cells.iter().filter(says).count()
    };
    let fits = |cells: &[String]| {
        let filled = filled(cells);
        filled >= 2
            && (filled == width || filled + 1 == width || (filled <= width && known(cells) >= 2))
    };
    let mut lines: Vec<Vec<String>> = before
        .iter()
        .rev()
        .map(|(_, line)| cells(line))
        .skip_while(|cells| !fits(cells))
        .take_while(|cells| filled(cells) >= 2)
        .take(3)
        .collect();
    if lines.is_empty() {
        return Vec::new();
    }
    let mut names = lines.remove(0);
    let is_units = |cells: &[String]| {
        let units = cells
            .iter()
            .filter(|cell| is_unit(cell) && !cell.is_empty())
            .count();
        units >= 2 && cells.iter().all(|cell| is_unit(cell))
    };
    let mut units = Vec::new();
    if is_units(&names) && lines.first().is_some_and(|above| fits(above)) {
        units = names;
        names = lines.remove(0);
    }
    let doubled =
        (1..names.len()).any(|at| !names[at].is_empty() && names[..at].contains(&names[at]));
    if doubled && let Some(groups) = lines.first() {
        // A name over several columns stands above the first of them.
        let mut group = String::new();
        for (at, name) in names.iter_mut().enumerate() {
            if let Some(above) = groups.get(at).filter(|above| !above.is_empty()) {
                group.clone_from(above);
            }
            *name = format!("{group} {name}").trim().to_owned();
        }
    }
    for (name, unit) in names.iter_mut().zip(units) {
        let unit = unit.trim_matches(['(', ')', '[', ']', '<', '>', '{', '}', ' ']);
        if !unit.is_empty() && split_unit(name).unit.is_empty() {
            *name = format!("{name} [{unit}]");
        }
    }
    names
}

impl Layout {
    /// The heading of a column.
    pub(super) fn heading(&self, column: usize) -> Option<&str> {
        self.headings
            .get(column)
            .map(String::as_str)
            .filter(|heading| !heading.is_empty())
    }

    /// The column of a heading, as written or without its unit, in any case.
    pub(super) fn named(&self, name: &str) -> Option<usize> {
        let folded = |text: &str| text.trim().to_lowercase().replace(['_', '-'], " ");
        let is = |heading: &str| folded(heading) == folded(name);
        let headings = &self.headings;
        headings.iter().position(|heading| is(heading)).or_else(|| {
            headings
                .iter()
                .position(|heading| is(split_unit(heading).name))
        })
    }

    /// All headings with their numbers, for a message.
    pub(super) fn listed(&self) -> String {
        if self.headings.is_empty() {
            return "there are no headings; give columns by number, from 1".into();
        }
        let columns: Vec<_> = self
            .headings
            .iter()
            .enumerate()
            .map(|(at, heading)| format!("{} '{heading}'", at + 1))
            .collect();
        format!("columns are {}", columns.join(", "))
    }

    /// True for a line with a number in its column of volts.
    pub(super) fn is_row(&self, line: &str) -> bool {
        !is_blank(line)
            && fields(line, self.separator)
                .nth(self.volts)
                .is_some_and(|(_, field)| number(field, self.decimal).is_some())
    }
}
