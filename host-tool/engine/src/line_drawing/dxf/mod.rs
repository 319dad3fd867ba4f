//! DXF drawings: group codes in pairs of lines, one for the code and one for its value.
//!
//! Source of the codes: the published DXF reference (group codes of LINE, LWPOLYLINE, POLYLINE, VERTEX, LAYER and the
//! header variable $INSUNITS), value from memory; held against the drawings of an independent library in the tests.

mod entity;
mod pairs;
pub(super) mod read;
pub(super) mod write;
