//! Why a movement could not be predicted, said in the names that stand on the drawing.

use super::answers::towards;
use crate::job::model::{Job, Point};
use crate::order::OrderError;
use crate::structure::{Motion, StructureError};
use coldsquare_core::formula::FormulaError;
use std::fmt;

/// Why a movement could not be predicted.
#[derive(Clone, Debug, PartialEq)]
pub enum MovementError {
    /// More than is taken, so that time and memory stay bounded.
    TooLarge {
        /// Of what.
        what: &'static str,
        /// How many.
        found: usize,
        /// How many are taken.
        most: usize,
    },
    /// A member without length, or with a position that is not a number.
    NoLength {
        /// Its name.
        member: String,
    },
    /// Two members in one place.
    Twice {
        /// Their names.
        members: [String; 2],
    },
    /// A weld without length, or with a position that is not a number.
    NoWeldLength {
        /// Its number.
        weld: u16,
    },
    /// A weld between a member and itself.
    JoinsItself {
        /// Its number.
        weld: u16,
        /// The member.
        member: String,
    },
    /// A weld that lies beside a member it is to join.
    Beside {
        /// Its number.
        weld: u16,
        /// The member.
        member: String,
        /// Distance from the surface of the member, mm.
        distance_mm: f64,
    },
    /// A member that nothing holds before the first weld; all that were found.
    Loose(Vec<LooseMember>),
    /// Another fault of the structure.
    Structure(StructureError),
    /// A heat or a wall is outside what the rules hold for.
    Rule {
        /// Number of the weld.
        weld: u16,
        /// What the rule said.
        rule: FormulaError,
    },
    /// The order is not one of this job's welds.
    Order(OrderError),
}

/// A member that can move freely.
#[derive(Clone, Debug, PartialEq)]
pub struct LooseMember {
    /// Its name.
    pub member: String,
    /// How it can move, in words.
    pub how: String,
}

impl LooseMember {
    fn new(job: &Job, motion: &Motion) -> Option<Self> {
        let member = job.members.get(motion.member?)?.name.clone();
        let axis = |[x, y, z]: [f64; 3]| Point::new(x, y, z);
        let how = match (motion.along, motion.about) {
            (Some(along), _) => format!("move {}", towards(axis(along))),
            (None, Some(about)) => {
                format!("turn about an axis that points {}", towards(axis(about)))
            }
            (None, None) => "move".into(),
        };
        Some(Self { member, how })
    }
}

impl MovementError {
    /// A fault of the structure in the names of the job.
    #[must_use]
    pub fn of_structure(job: &Job, error: StructureError) -> Self {
        match error {
            StructureError::TooLarge { what, found, max } => Self::TooLarge { what, found, most: max },
            StructureError::Mechanism(motions) => {
                let mut loose: Vec<LooseMember> = motions
                    .iter()
                    .filter_map(|motion| LooseMember::new(job, motion))
                    .collect();
                loose.dedup_by(|a, b| a.member == b.member);
                if loose.is_empty() {
                    Self::Structure(StructureError::Mechanism(motions))
                } else {
                    Self::Loose(loose)
                }
            }
            other => Self::Structure(other),
        }
    }
}

impl fmt::Display for MovementError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLarge { what, found, most } => {
                write!(
                    f,
                    "the job has {found} {what}, and at most {most} can be worked out; make several jobs of it"
                )
            }
            Self::NoLength { member } => {
                write!(f, "{member} has no length; give it two ends that lie apart")
            }
            Self::Twice { members: [a, b] } => {
                write!(
                    f,
                    "{a} and {b} lie in the same place; leave one of them out"
                )
            }
            Self::NoWeldLength { weld } => {
                write!(
                    f,
                    "weld {weld} has no length; give it two ends that lie apart"
                )
            }
            Self::JoinsItself { weld, member } => {
                write!(f, "weld {weld} joins {member} to itself; name two members")
            }
            Self::Beside {
                weld,
                member,
                distance_mm,
            } => write!(
                f,
                "weld {weld} lies {distance_mm:.0} mm beside {member}, which it is to join; move it, or name the \
                 member it lies on"
            ),
            Self::Loose(loose) => {
                for (k, one) in loose.iter().enumerate() {
                    let gap = if k == 0 { "" } else { "; " };
                    write!(f, "{gap}{} can {}", one.member, one.how)?;
                }
                write!(
                    f,
                    ": nothing holds it before the first weld; tack it or clamp it"
                )
            }
            Self::Structure(error) => error.fmt(f),
            Self::Rule { weld, rule } => write!(f, "weld {weld}: {rule}"),
            Self::Order(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for MovementError {}
