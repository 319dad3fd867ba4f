//! Limits on what is measured.

/// Limits on a quantity; either end may be open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits<T> {
    /// Least value allowed.
    pub low: Option<T>,
    /// Greatest value allowed.
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
    pub fn words(self, decimals: usize, number: impl Fn(T) -> f64) -> String {
        match (self.low.map(&number), self.high.map(&number)) {
            (Some(low), Some(high)) => format!("{low:.decimals$} to {high:.decimals$}"),
            (None, Some(high)) => format!("up to {high:.decimals$}"),
            (Some(low), None) => format!("from {low:.decimals$}"),
            (None, None) => "-".into(),
        }
    }
}

impl<T: Copy + PartialOrd> Limits<T> {
    /// Whether a value lies within, ends included.
    #[must_use]
    pub fn contains(self, value: T) -> bool {
        self.low.is_none_or(|low| low <= value) && self.high.is_none_or(|high| value <= high)
    }
}

impl<T: Copy> Default for Limits<T> {
    fn default() -> Self {
        Self::OPEN
    }
}
