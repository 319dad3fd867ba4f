//! Plain text tables: columns as wide as their widest cell, two spaces between them.

use std::io::Write;

/// A table being filled; the first row is its heading.
pub(super) struct Table {
    /// One `<` or `>` a column: left or right aligned.
    alignment: &'static str,
    rows: Vec<Vec<String>>,
}

impl Table {
    pub(super) fn new(alignment: &'static str) -> Self {
        Self {
            alignment,
            rows: Vec::new(),
        }
    }

    pub(super) fn row<const N: usize>(&mut self, cells: [impl Into<String>; N]) {
        self.rows.push(cells.map(Into::into).into());
    }

    pub(super) fn print(&self, out: &mut dyn Write) -> std::io::Result<()> {
        let width = |column: usize| {
            let cells = self.rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<_> = (0..self.alignment.len()).map(width).collect();
        for row in &self.rows {
            let mut line = String::new();
            for ((cell, width), side) in row.iter().zip(&widths).zip(self.alignment.chars()) {
                line += "  ";
                line += &match side {
                    '>' => format!("{cell:>width$}"),
                    _ => format!("{cell:<width$}"),
                };
            }
            writeln!(out, "{}", line.trim_end())?;
        }
        Ok(())
    }
}
