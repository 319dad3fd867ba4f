//! The limits that a procedure sets to a quantity.
//!
//! ```
//! use coldsquare_engine::limits::Limits;
//!
//! let amps = Limits { low: Some(95.0), high: Some(135.0) };
//! assert!(amps.contains(100.0));
//! assert_eq!(amps.middle(), Some(115.0));
//! assert_eq!(amps.format(0, |amps| amps), "95 to 135");
//! ```

/// Limits of a quantity; either end may be open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits<T> {
    /// Lowest value allowed.
    pub low: Option<T>,
    /// Highest value allowed.
    pub high: Option<T>,
}

impl<T: Copy> Limits<T> {
    /// No limits at all.
    pub const OPEN: Self = Self {
        low: None,
        high: None,
    };

    /// The same limits in another unit.
    #[must_use]
    pub fn map<U>(self, to: impl Fn(T) -> U) -> Limits<U> {
        Limits {
            low: self.low.map(&to),
            high: self.high.map(&to),
        }
    }

    /// "0.30 to 0.60", "up to 0.60", "from 0.30", or "-" when both ends are open; without unit.
    #[must_use]
    pub fn format(self, decimals: usize, number: impl Fn(T) -> f64) -> String {
        match (self.low.map(&number), self.high.map(&number)) {
            (Some(low), Some(high)) => format!("{low:.decimals$} to {high:.decimals$}"),
            (None, Some(high)) => format!("up to {high:.decimals$}"),
            (Some(low), None) => format!("from {low:.decimals$}"),
            (None, None) => "-".into(),
        }
    }
}

impl<T: Copy + PartialOrd> Limits<T> {
    /// Whether a value is within the limits, ends included.
    #[must_use]
    pub fn contains(self, value: T) -> bool {
        self.low.is_none_or(|low| low <= value) && self.high.is_none_or(|high| value <= high)
    }
}

impl Limits<f64> {
    /// Halfway between the ends, where both are set.
    #[must_use]
    pub fn middle(self) -> Option<f64> {
        Some((self.low? + self.high?) / 2.0)
    }
}

impl<T: Copy> Default for Limits<T> {
    fn default() -> Self {
        Self::OPEN
    }
}
