//! Judging a measured value against limits when the value has a doubt of its own.
//!
//! A value is *inside* only when it stays inside for every value that its expanded uncertainty (k = 2) allows, and
//! *outside* only when it stays outside for all of them; in between it is *on the edge* and not for us to call. This
//! is the rule of JCGM 106:2012, 8.3.2 (guarded acceptance with a guard band of U) taken for both answers, so that
//! neither a pass nor a fail rests on the measuring error. About 95 % of a near-normal error lies within k = 2
//! (JCGM 100:2008, 6.3.3).

use crate::job::model::Limits;

/// A measured value and its expanded uncertainty (k = 2), both in the unit of the type.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate<T> {
    /// The value.
    pub value: T,
    /// Expanded uncertainty, k = 2; 0 or more.
    pub expanded: T,
}

/// What became of a quantity, a run or a weld.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Verdict {
    /// Inside every limit by more than the expanded uncertainty.
    Inside,
    /// Measured, and the procedure sets no limit to it.
    NoLimit,
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
