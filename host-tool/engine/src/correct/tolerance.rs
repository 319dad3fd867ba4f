//! What is tolerated where the maker does not say.

use crate::movement::answers::MeasureKind;

/// Upper end of a range of nominal sizes, and the tolerance in it, mm.
type Row = (f64, f64);

/// EN ISO 13920:1996, table 1, class A (linear sizes). Values from memory.
const SIZES: [Row; 6] = [
    (400.0, 1.0),
    (1000.0, 2.0),
    (2000.0, 3.0),
    (4000.0, 4.0),
    (8000.0, 5.0),
    (12000.0, 6.0),
];

/// EN ISO 13920:1996, table 3, class E (straightness, flatness). Values from memory.
const STRAIGHTNESS: [Row; 6] = [
    (120.0, 0.5),
    (400.0, 1.0),
    (1000.0, 1.5),
    (2000.0, 2.0),
    (4000.0, 3.0),
    (8000.0, 4.0),
];

/// Tolerance ± of a measure over a length, mm.
#[must_use]
pub fn usual_mm(kind: MeasureKind, over_mm: f64) -> f64 {
    let table = match kind {
        MeasureKind::Bow | MeasureKind::Wind => STRAIGHTNESS,
        _ => SIZES,
    };
    let row = table.iter().find(|row| over_mm <= row.0).or(table.last());
    row.map_or(2.0, |row| row.1)
}
