//! Judging a measured value against limits when the value has an uncertainty of its own.
//!
//! A value is *within limits* if it stays within for every value that its expanded uncertainty (k = 2) allows, and *out
//! of limits* if it stays out for all of them; in between it is *marginal*, and not for us to call. This is the rule of
//! JCGM 106:2012, 8.3.2 (guarded acceptance with a guard band of U), used for both answers, so that neither a pass nor a
//! fail rests on the measuring error. About 95 % of a near-normal error lies within k = 2 (JCGM 100:2008, 6.3.3).
//!
//! ```
//! use coldsquare_engine::limits::Limits;
//! use coldsquare_engine::verdict::{Estimate, Judged, Verdict};
//!
//! let limits = Limits { low: Some(17.0), high: Some(20.0) };
//! let verdict = |value| Judged::new(Some(Estimate { value, expanded: 0.4 }), limits).verdict;
//! assert_eq!(verdict(18.0), Verdict::WithinLimits);
//! assert_eq!(verdict(19.8), Verdict::Marginal);
//! assert_eq!(verdict(21.0), Verdict::OutOfLimits);
//! ```

use crate::limits::Limits;
use std::ops::{Add, Sub};

/// A measured value and its expanded uncertainty (k = 2), both in the unit of the type.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate<T> {
    /// The value.
    pub value: T,
    /// Expanded uncertainty, k = 2; 0 or more.
    pub expanded: T,
}

impl<T: Copy> Estimate<T> {
    /// "120.0 ± 2.5": both as numbers with these decimals.
    pub(crate) fn format(&self, decimals: usize, number: impl Fn(T) -> f64) -> String {
        let (value, expanded) = (number(self.value), number(self.expanded));
        format!("{value:.decimals$} ± {expanded:.decimals$}")
    }
}

/// The verdict on a quantity, a run or a weld. Ordered: the worst of several is the greatest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Verdict {
    /// Measured, and the procedure sets no limit to it.
    NoLimit,
    /// Within every limit by more than the expanded uncertainty.
    WithinLimits,
    /// There is no value to judge.
    NotMeasured,
    /// Nearer to a limit than the expanded uncertainty: it could be on either side.
    Marginal,
    /// Out of a limit by more than the expanded uncertainty.
    OutOfLimits,
}

/// Which end of the limits decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// The lower limit.
    Low,
    /// The upper limit.
    High,
}

/// A quantity that a procedure can limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// Heat input.
    HeatInput,
    /// Arc voltage.
    Voltage,
    /// Welding current.
    Current,
    /// Travel speed.
    TravelSpeed,
}

/// A quantity with its limits and the verdict on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged<T> {
    /// What was measured, if it was.
    pub estimate: Option<Estimate<T>>,
    /// What the procedure allows.
    pub limits: Limits<T>,
    /// The verdict.
    pub verdict: Verdict,
    /// The limit that decided, if one did (marginal or out of limits).
    pub side: Option<Side>,
}

impl<T> Judged<T>
where
    T: Copy + PartialOrd + Add<Output = T> + Sub<Output = T>,
{
    /// Judges what was measured against what is allowed.
    ///
    /// A value or an uncertainty that is not a number counts as not measured.
    #[must_use]
    pub fn new(estimate: Option<Estimate<T>>, limits: Limits<T>) -> Self {
        // Only a number equals itself.
        let number = |one: &T| one.partial_cmp(one).is_some();
        let estimate = estimate.filter(|one| number(&one.value) && number(&one.expanded));
        let (verdict, side) = match &estimate {
            None => (Verdict::NotMeasured, None),
            Some(estimate) => judge(estimate, &limits),
        };
        Self {
            estimate,
            limits,
            verdict,
            side,
        }
    }
}

fn judge<T>(estimate: &Estimate<T>, limits: &Limits<T>) -> (Verdict, Option<Side>)
where
    T: Copy + PartialOrd + Add<Output = T> + Sub<Output = T>,
{
    let least = estimate.value - estimate.expanded;
    let most = estimate.value + estimate.expanded;
    let (low, high) = (limits.low, limits.high);
    if low.is_some_and(|low| most < low) {
        (Verdict::OutOfLimits, Some(Side::Low))
    } else if high.is_some_and(|high| least > high) {
        (Verdict::OutOfLimits, Some(Side::High))
    } else if low.is_some_and(|low| least <= low) {
        // A large uncertainty can reach both limits; the nearer one decides.
        let nearer_high = match (low, high) {
            (Some(low), Some(high)) => high - estimate.value < estimate.value - low,
            _ => false,
        };
        (
            Verdict::Marginal,
            Some(if nearer_high { Side::High } else { Side::Low }),
        )
    } else if high.is_some_and(|high| most >= high) {
        (Verdict::Marginal, Some(Side::High))
    } else if low.is_none() && high.is_none() {
        (Verdict::NoLimit, None)
    } else {
        (Verdict::WithinLimits, None)
    }
}

impl Verdict {
    /// Its name, as printed.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::WithinLimits => "within limits",
            Self::NoLimit => "no limit",
            Self::NotMeasured => "not measured",
            Self::Marginal => "marginal",
            Self::OutOfLimits => "out of limits",
        }
    }
}

impl Quantity {
    /// Every quantity, in the order in which they are named when several decide alike.
    pub const ALL: [Self; 4] = [
        Self::HeatInput,
        Self::Voltage,
        Self::Current,
        Self::TravelSpeed,
    ];

    /// Its name, as printed.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::HeatInput => "heat input",
            Self::Voltage => "voltage",
            Self::Current => "current",
            Self::TravelSpeed => "travel speed",
        }
    }
}
