//! What can be wrong with the input of a match.

use crate::order::OrderError;

/// Why beads could not be matched to welds.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum MatchError {
    /// An assignment that cannot be read.
    Unreadable {
        /// What was written.
        text: String,
    },
    /// An assignment names a bead that the log does not have.
    NoSuchBead {
        /// The number it names.
        bead: u32,
        /// How many beads there are.
        beads: usize,
    },
    /// An assignment names a weld that the job does not have.
    NoSuchWeld {
        /// The number it names.
        weld: u32,
        /// How many welds there are.
        welds: usize,
    },
    /// A bead is assigned twice.
    BeadTwice {
        /// Its number.
        bead: u32,
    },
    /// The planned order does not fit this job.
    Order(OrderError),
    /// There are too many beads and welds to match.
    TooMuch {
        /// Beads to match, tacks not counted.
        beads: usize,
        /// Welds to match them to.
        welds: usize,
    },
}

impl std::fmt::Display for MatchError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Unreadable { text } => write!(
                out,
                "cannot read the assignment {text:?}; write BEAD=WELD with both numbers, or BEAD=tack, BEAD=extra, \
                 BEAD=scrap"
            ),
            Self::NoSuchBead { bead, beads: 0 } => {
                write!(out, "there is no bead {bead}: the log has no beads")
            }
            Self::NoSuchBead { bead, beads } => write!(
                out,
                "there is no bead {bead}: the log has beads 1 to {beads}; `coldsquare beads` lists them"
            ),
            Self::NoSuchWeld { weld, welds } => write!(
                out,
                "there is no weld {weld}: the job has welds 1 to {welds}; `coldsquare check` lists them"
            ),
            Self::BeadTwice { bead } => {
                write!(out, "bead {bead} is assigned twice; keep one of the two")
            }
            Self::Order(error) => write!(out, "{error}"),
            Self::TooMuch { beads, welds } => write!(
                out,
                "{beads} beads and {welds} welds are too many for one map; split the log by day or by frame, or raise \
                 the arc time below which a bead is a tack"
            ),
        }
    }
}

impl std::error::Error for MatchError {}

impl From<OrderError> for MatchError {
    fn from(error: OrderError) -> Self {
        Self::Order(error)
    }
}
