//! Why a job has no plan.

use super::search::SequenceError;

/// Why there is no plan.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum PlanError {
    /// The rules allow no order.
    Sequence {
        /// What the search says, in indices of parts.
        cause: SequenceError,
        /// Number of the weld concerned, where there is one.
        weld: Option<u16>,
    },
    /// The heat of a weld is not a number.
    Heat {
        /// Number of the weld.
        weld: u16,
    },
}

impl std::fmt::Display for PlanError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Sequence {
                weld: Some(weld), ..
            } => write!(
                out,
                "weld {weld} would have to wait for itself; remove one of the `after` rules around it"
            ),
            Self::Sequence {
                cause: SequenceError::TooFewFlips { needed },
                ..
            } => {
                let flips = if *needed == 1 { "flip" } else { "flips" };
                write!(
                    out,
                    "the welds and their rules need {needed} {flips} of the frame; allow for it with --flips {needed}"
                )
            }
            Self::Sequence { cause, .. } => write!(out, "{cause}"),
            Self::Heat { weld } => write!(out, "the heat input of weld {weld} is not a number"),
        }
    }
}

impl std::error::Error for PlanError {}
