//! A table as the text that an instrument would have written, made as it is read.

use super::columns::Table;
use std::io::{Read, Write};

/// Rows written at a time.
const ROWS: usize = 4096;

/// See the module.
pub(in crate::log) struct TableText {
    table: Table,
    row: usize,
    text: Vec<u8>,
    /// Bytes of the text that were given out.
    given: usize,
}

impl TableText {
    /// Begins with a line of headings if there are any.
    pub(in crate::log) fn new(table: Table) -> Self {
        let mut text = Vec::new();
        if table.names.iter().any(|name| !name.is_empty()) {
            let plain = |name: &String| name.replace([';', '"', '\n', '\r'], " ");
            let names: Vec<String> = table.names.iter().map(plain).collect();
            text.extend(names.join(";").bytes());
            text.push(b'\n');
        }
        Self {
            table,
            row: 0,
            text,
            given: 0,
        }
    }

    fn write_rows(&mut self) {
        self.text.clear();
        self.given = 0;
        let rows = self.table.columns.first().map_or(0, Vec::len);
        let until = rows.min(self.row + ROWS);
        for row in self.row..until {
            for (column, values) in self.table.columns.iter().enumerate() {
                if column > 0 {
                    self.text.push(b';');
                }
                let value = values[row];
                if value.is_finite() {
                    // Cannot fail: it is written to memory.
                    let _ = write!(self.text, "{value}");
                }
            }
            self.text.push(b'\n');
        }
        self.row = until;
    }
}

impl Read for TableText {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        if self.given == self.text.len() {
            self.write_rows();
        }
        let left = &self.text[self.given..];
        let length = left.len().min(into.len());
        into[..length].copy_from_slice(&left[..length]);
        self.given += length;
        Ok(length)
    }
}
