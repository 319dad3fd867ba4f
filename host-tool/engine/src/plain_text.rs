//! Lines and tables in plain text.

/// Adds a line to a string; without arguments an empty one. Writing to a string cannot fail.
macro_rules! line {
    ($out:expr) => { $out.push('\n') };
    ($out:expr, $($text:tt)*) => {{
        use std::fmt::Write as _;
        let _ = writeln!($out, $($text)*);
    }};
}

pub(crate) use line;

/// The rows as lines, each column as wide as its widest cell: text columns to the left, all others to the right.
#[must_use]
pub(crate) fn aligned<const N: usize>(rows: &[[String; N]], text_columns: &[usize]) -> Vec<String> {
    let width = |column: usize| {
        let cells = rows.iter().map(|row| row[column].chars().count());
        cells.max().unwrap_or(0)
    };
    let widths: [usize; N] = std::array::from_fn(width);
    let line = |row: &[String; N]| {
        let cells = row.iter().zip(widths).enumerate();
        let cells = cells.map(|(column, (cell, width))| {
            if text_columns.contains(&column) {
                format!("{cell:<width$}")
            } else {
                format!("{cell:>width$}")
            }
        });
        let line = cells.collect::<Vec<_>>().join("  ");
        line.trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}
