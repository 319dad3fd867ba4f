//! Columns of numbers, and the arrays of which they are made.

/// Columns of numbers.
#[derive(Clone, Debug, Default, PartialEq)]
pub(in crate::log) struct Table {
    /// Name of each column; empty without one.
    pub names: Vec<String>,
    /// The numbers of each column, all of the same length; not a number where there is none.
    pub columns: Vec<Vec<f64>>,
    /// Rows per second, if the file says.
    pub rate_hz: Option<f64>,
}

/// An array of a file that holds several.
#[cfg(feature = "formats")]
pub(in crate::log) struct Array {
    /// Its name in the file.
    pub name: String,
    /// Rows and columns; a list is one column.
    pub shape: (usize, usize),
    /// Its numbers, row by row.
    pub values: Vec<f64>,
}
