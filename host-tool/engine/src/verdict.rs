//! Judging a measured value against limits when the value has a doubt of its own.
//!
//! A value is *inside* only when it stays inside for every value that its expanded uncertainty (k = 2) allows, and
//! *outside* only when it stays outside for all of them; in between it is *on the edge* and not for us to call. This
//! is the rule of JCGM 106:2012, 8.3.2 (guarded acceptance with a guard band of U) taken for both answers, so that
//! neither a pass nor a fail rests on the measuring error. About 95 % of a near-normal error lies within k = 2
//! (JCGM 100:2008, 6.3.3).

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

/// What became of a quantity, a run or a weld. Ordered: the worst of several is the greatest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Verdict {
    /// Measured, and the procedure sets no limit to it.
    NoLimit,
    /// Inside every limit by more than the expanded uncertainty.
    Inside,
    /// No value that could be judged.
    NotMeasured,
    /// Nearer to a limit than the expanded uncertainty: could be inside or outside.
    OnTheEdge,
    /// Outside a limit by more than the expanded uncertainty.
    Outside,
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

/// A quantity with its limits and what that makes of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged<T> {
    /// What was measured, if it was.
    pub estimate: Option<Estimate<T>>,
    /// What the procedure allows.
    pub limits: Limits<T>,
    /// What that makes of it.
    pub verdict: Verdict,
    /// The limit that decided, where one did (on the edge or outside).
    pub side: Option<Side>,
}

impl<T> Judged<T>
where
    T: Copy + PartialOrd + Add<Output = T> + Sub<Output = T>,
{
    /// Judges what was measured against what is allowed.
    ///
    /// A value or a doubt that is not a number is not measured.
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
        (Verdict::Outside, Some(Side::Low))
    } else if high.is_some_and(|high| least > high) {
        (Verdict::Outside, Some(Side::High))
    } else if low.is_some_and(|low| least <= low) {
        // Wide doubt can reach both limits; then the one that the value is nearer to decides.
        let nearer_high = match (low, high) {
            (Some(low), Some(high)) => high - estimate.value < estimate.value - low,
            _ => false,
        };
        (
            Verdict::OnTheEdge,
            Some(if nearer_high { Side::High } else { Side::Low }),
        )
    } else if high.is_some_and(|high| most >= high) {
        (Verdict::OnTheEdge, Some(Side::High))
    } else if low.is_none() && high.is_none() {
        (Verdict::NoLimit, None)
    } else {
        (Verdict::Inside, None)
    }
}

impl Verdict {
    /// The words for it, as printed.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::NoLimit => "no limit",
            Self::NotMeasured => "not measured",
            Self::OnTheEdge => "on the edge",
            Self::Outside => "outside",
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

    /// The words for it, as printed.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::HeatInput => "heat input",
            Self::Voltage => "voltage",
            Self::Current => "current",
            Self::TravelSpeed => "travel speed",
        }
    }
}
