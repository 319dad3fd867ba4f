//! The units of the maker; inside the tool everything is metric.

/// Which units the maker wrote in and wants to read. Inside the tool everything is metric.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// Millimetres, kJ/mm, mm/s, °C.
    #[default]
    Metric,
    /// Inches, kJ/in, in/min, °F.
    UsCustomary,
}
