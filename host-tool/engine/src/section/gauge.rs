//! Wall thickness by gauge number, in two tables that differ: one for sheet and strip, one for tube.

/// Which gauge table a number belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GaugeTable {
    /// Manufacturers' Standard Gauge for uncoated steel sheet, written `14ga sheet`, or `14ga` where it is no tube.
    Sheet,
    /// Birmingham Wire Gauge for tube, written `14ga tube` or `14bwg`.
    Tube,
}

/// Manufacturers' Standard Gauge for uncoated steel sheet, in (0.0747 in at 14): the sheet's weight at
/// 41.82 lb/ft² per inch. Rows 7, 10, 11, 12, 14, 16, 18, 20 checked against three public tables, others from memory.
const SHEET: [(u32, f64); 18] = [
    (3, 0.2391),
    (4, 0.2242),
    (5, 0.2092),
    (6, 0.1943),
    (7, 0.1793),
    (8, 0.1644),
    (9, 0.1495),
    (10, 0.1345),
    (11, 0.1196),
    (12, 0.1046),
    (13, 0.0897),
    (14, 0.0747),
    (15, 0.0673),
    (16, 0.0598),
    (17, 0.0538),
    (18, 0.0478),
    (19, 0.0418),
    (20, 0.0359),
];

/// Birmingham (Stubs iron wire) gauge, in. From memory.
const TUBE: [(u32, f64); 18] = [
    (3, 0.259),
    (4, 0.238),
    (5, 0.220),
    (6, 0.203),
    (7, 0.180),
    (8, 0.165),
    (9, 0.148),
    (10, 0.134),
    (11, 0.120),
    (12, 0.109),
    (13, 0.095),
    (14, 0.083),
    (15, 0.072),
    (16, 0.065),
    (17, 0.058),
    (18, 0.049),
    (19, 0.042),
    (20, 0.035),
];

impl GaugeTable {
    /// Thickness in inches of a gauge number, if the table has it.
    #[must_use]
    pub fn inches(self, number: u32) -> Option<f64> {
        let table = match self {
            GaugeTable::Sheet => &SHEET,
            GaugeTable::Tube => &TUBE,
        };
        table
            .iter()
            .find(|(known, _)| *known == number)
            .map(|(_, inches)| *inches)
    }

    /// What is written after the number.
    #[must_use]
    pub fn suffix(self) -> &'static str {
        match self {
            GaugeTable::Sheet => "ga sheet",
            GaugeTable::Tube => "ga tube",
        }
    }
}
