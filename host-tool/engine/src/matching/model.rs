//! What is matched, and what it is matched to.

use coldsquare_core::units::Seconds;

/// Below this confidence a match is uncertain.
pub const CERTAIN_FROM: f64 = 0.9;

/// No match in a log with holes is more certain than this: a marker may be lost too. A round number, no source.
pub const MOST_ACROSS_A_HOLE: f64 = 0.99;

/// A bead as matching sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeadTime {
    /// Number in the log, from 1.
    pub number: u32,
    /// When its arc was first lit, from the start of the log.
    pub start: Seconds,
    /// When its arc was last lit.
    pub end: Seconds,
    /// How long the arc burned, greater than zero.
    pub arc_time: Seconds,
    /// How much longer it may have burned in a hole of the log; 0 for a bead that is whole.
    pub may_be_missing: Seconds,
}

/// A hole of the log as matching sees it: beads may have been lost in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    /// When it begins, from the start of the log.
    pub from: Seconds,
    /// When it ends.
    pub until: Seconds,
    /// The most beads that can have been lost in it, if their numbers tell.
    pub beads: Option<u32>,
}

/// A weld as matching sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpectedWeld {
    /// Number in the job.
    pub number: u16,
    /// Arc time to expect for all its runs together, greater than zero.
    pub arc_time: Seconds,
    /// Number of runs, 1 or more.
    pub runs: u8,
}

/// A marker as matching sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marker {
    /// When it was set, from the start of the log.
    pub at: Seconds,
    /// What it says.
    pub kind: MarkerKind,
    /// The weld that it names, if it names one.
    pub weld: Option<u16>,
}

/// What a marker can say about beads and welds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum MarkerKind {
    /// The beads that follow belong to this weld.
    Next,
    /// This weld is finished.
    Done,
    /// This weld is passed over for now.
    Skip,
    /// This weld is done again: the beads that follow replace its earlier ones.
    Redo,
    /// The bead just made belongs to no weld.
    Scrap,
    /// The marker before this one was set in error.
    Undo,
}

/// The user's assignment of one bead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Assignment {
    /// Number of the bead in the log.
    pub bead: u32,
    /// What the bead is.
    pub target: Target,
}

/// What the user can say a bead is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Target {
    /// Part of the weld of this number.
    Weld(u16),
    /// A tack.
    Tack,
    /// On scrap.
    Scrap,
    /// On the frame, and no planned weld.
    Extra,
}

/// What to match.
#[derive(Clone, Copy, Debug)]
pub struct MatchInput<'a> {
    /// The welds, in the planned order.
    pub welds: &'a [ExpectedWeld],
    /// The beads, in order of time.
    pub beads: &'a [BeadTime],
    /// The welder's markers, in order of time.
    pub markers: &'a [Marker],
    /// The holes of the log, in order of time.
    pub holes: &'a [Hole],
    /// What the user assigns afterwards; it overrides everything. A weld named here has these beads and no others.
    pub by_hand: &'a [Assignment],
    /// Arc times below this are tacks; `None` for the smaller of [`LONGEST_TACK`] and half of the shortest run
    /// expected.
    pub tack_below: Option<Seconds>,
}

/// A bead with this arc time or more is no tack unless the user says so. Common practice, no source.
pub const LONGEST_TACK: Seconds = Seconds(1.5);

/// What a bead is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Part of a weld.
    Weld {
        /// Number of the weld.
        weld: u16,
        /// Number of the run, from 1.
        run: u8,
    },
    /// Was part of a weld until the weld was done again.
    Replaced {
        /// Number of the weld.
        weld: u16,
    },
    /// A tack: too short to be a weld.
    Tack,
    /// The welder marked it as belonging to no weld.
    Scrap,
    /// Long enough for a weld, and no planned weld fits it.
    Extra,
}

impl Role {
    /// The weld it is or was part of.
    #[must_use]
    pub const fn weld(self) -> Option<u16> {
        match self {
            Self::Weld { weld, .. } | Self::Replaced { weld } => Some(weld),
            _ => None,
        }
    }
}

/// What a match rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Basis {
    /// The bead's place in the order and its arc time.
    Alignment,
    /// The same, and a marker.
    Marker,
    /// The user's assignment.
    Hand,
}

/// Where a bead went.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeadMatch {
    /// What the bead is.
    pub role: Role,
    /// What that rests on.
    pub basis: Basis,
    /// Chance that the role is right, 0 to 1.
    pub confidence: f64,
    /// The next likeliest role where the confidence is below [`CERTAIN_FROM`].
    pub or_else: Option<Role>,
}

/// All beads matched.
#[derive(Clone, Debug, PartialEq)]
pub struct Matching {
    /// One entry a bead, in the order of the input.
    pub beads: Vec<BeadMatch>,
    /// Numbers of the welds that the welder passed over and that have no bead.
    pub skipped: Vec<u16>,
    /// Weld numbers in markers that are not among the welds.
    pub unknown_in_markers: Vec<u16>,
    /// Measured over expected arc time: the median of all welds found; 1 with too few.
    pub arc_time_ratio: f64,
}

/// Indices of the beads and welds that are still to be aligned, in order.
pub(super) struct Unassigned {
    pub beads: Vec<usize>,
    pub welds: Vec<usize>,
}

impl Unassigned {
    pub fn new(input: &MatchInput<'_>, matches: &[Option<BeadMatch>]) -> Self {
        let assigned = |weld: u16| {
            let to_weld = |one: &Assignment| one.target == Target::Weld(weld);
            input.by_hand.iter().any(to_weld)
        };
        Self {
            beads: (0..matches.len())
                .filter(|&k| matches[k].is_none())
                .collect(),
            welds: (0..input.welds.len())
                .filter(|&k| !assigned(input.welds[k].number))
                .collect(),
        }
    }
}
