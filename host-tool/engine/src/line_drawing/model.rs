//! The centre lines of a frame, as they were drawn.

use crate::geometry::Point;

/// Most lines in one drawing: as many as a job has members.
pub(super) const MAX_LINES: usize = 10_000;

/// The largest coordinate taken as one of a frame, in units of the drawing.
pub(super) const MAX_COORDINATE: f64 = 1e6;

/// The centre lines of a frame.
#[derive(Clone, Debug, Default)]
pub struct LineDrawing {
    /// The file's name.
    pub name: String,
    /// Millimetres in one unit of the drawing, if it says.
    pub mm_per_unit: Option<f64>,
    /// The lines, in units of the drawing.
    pub lines: Vec<DrawnLine>,
    /// What the file has besides.
    pub left_out: Vec<LeftOut>,
    /// Whether lines that go on in one line are one member: in a drawing, not in a table that names each member.
    pub joins_lines: bool,
}

/// A centre line.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnLine {
    /// One end.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// Layer of the drawing, or section of the table.
    pub layer: String,
    /// Name of the member, if the file gives it.
    pub name: Option<String>,
    /// Its line in the file, from 1.
    pub line: usize,
}

/// What was left out of a drawing, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftOut {
    /// "ARC on layer RAILS".
    pub what: String,
    /// Why, and what to do.
    pub why: String,
    /// Its line in the file, from 1.
    pub line: usize,
}
