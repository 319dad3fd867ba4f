//! Why a movement could not be predicted, in the names of the drawing.

use crate::job::model::{Job, Point};
use crate::order::OrderError;
use crate::structure::{Motion, StructureError};
use coldsquare_core::formula::FormulaError;
use std::fmt;

/// Why a movement could not be predicted.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum MovementError {
    /// Too many of something; the limits bound time and memory.
    TooLarge {
        /// Of what.
        what: &'static str,
        /// How many.
        found: usize,
        /// The limit.
        max: usize,
    },
    /// A member without length, or with a position that is not a number.
    NoLength {
        /// Its name.
        member: String,
    },
    /// Two members in one place.
    SamePlace {
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
    /// A weld that does not touch a member it joins.
    Beside {
        /// Its number.
        weld: u16,
        /// The member.
        member: String,
        /// Distance from the surface of the member, mm.
        distance_mm: f64,
    },
    /// Members that nothing restrains before the first weld; all that were found.
    Mechanism(Vec<UnrestrainedMember>),
    /// Members that no weld joins to another and no clamp holds, by their names.
    NotJoined(Vec<String>),
    /// Another error of the structure.
    Structure(StructureError),
    /// A heat or a wall is outside the range of a rule.
    Rule {
        /// Number of the weld.
        weld: u16,
        /// The error of the rule.
        rule: FormulaError,
    },
    /// The order does not name each weld of the job once.
    Order(OrderError),
}

/// A member that can move freely.
#[derive(Clone, Debug, PartialEq)]
pub struct UnrestrainedMember {
    /// Its name.
    pub member: String,
    /// How it can move ("move upwards").
    pub how: String,
}

impl UnrestrainedMember {
    fn new(job: &Job, motion: &Motion) -> Option<Self> {
        let member = job.members.get(motion.member?)?.name.clone();
        let towards = |[x, y, z]: [f64; 3]| job.seen_from.towards(Point::new(x, y, z));
        let how = match (motion.along, motion.about) {
            (Some(along), _) => format!("move {}", towards(along)),
            (None, Some(about)) => {
                format!("turn about an axis that points {}", towards(about))
            }
            (None, None) => "move".into(),
        };
        Some(Self { member, how })
    }
}

impl MovementError {
    /// An error of the structure in the names of the job.
    #[must_use]
    pub fn of_structure(job: &Job, error: StructureError) -> Self {
        match error {
            StructureError::TooLarge { what, found, max } => Self::TooLarge { what, found, max },
            StructureError::Mechanism(motions) => {
                let loose = not_joined(job);
                if !loose.is_empty() {
                    return Self::NotJoined(loose);
                }
                let mut members: Vec<UnrestrainedMember> = Vec::new();
                let found = motions.iter();
                for one in found.filter_map(|motion| UnrestrainedMember::new(job, motion)) {
                    if !members.iter().any(|known| known.member == one.member) {
                        members.push(one);
                    }
                }
                if members.is_empty() {
                    Self::Structure(StructureError::Mechanism(motions))
                } else {
                    Self::Mechanism(members)
                }
            }
            other => Self::Structure(other),
        }
    }
}

/// The members that no weld joins to another and no clamp holds.
fn not_joined(job: &Job) -> Vec<String> {
    if job.members.len() < 2 {
        return Vec::new();
    }
    let is_loose = |index: usize| {
        let welded = job.welds.iter().any(|weld| weld.members.contains(&index));
        let clamped = job.clamps.iter().any(|clamp| clamp.member == index);
        !welded && !clamped
    };
    let loose = (0..job.members.len()).filter(|&index| is_loose(index));
    loose.map(|index| job.members[index].name.clone()).collect()
}

impl fmt::Display for MovementError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLarge { what, found, max } => {
                write!(
                    f,
                    "the job has {found} {what}; the limit is {max}. Split it into several jobs"
                )
            }
            Self::NoLength { member } => {
                write!(f, "{member} has no length; give it two different ends")
            }
            Self::SamePlace { members: [a, b] } => {
                write!(f, "{a} and {b} are in the same place; remove one of them")
            }
            Self::NoWeldLength { weld } => {
                write!(f, "weld {weld} has no length; give it two different ends")
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
                "weld {weld} is {distance_mm:.0} mm away from {member}, which it joins; move the weld, or name \
                 the member that it touches"
            ),
            Self::Mechanism(members) => {
                for (k, one) in members.iter().enumerate() {
                    let gap = if k == 0 { "" } else { "; " };
                    write!(f, "{gap}{} can {}", one.member, one.how)?;
                }
                write!(
                    f,
                    ": nothing holds it before the first weld; tack or clamp it"
                )
            }
            Self::NotJoined(members) => {
                let (has, it) = if members.len() == 1 {
                    ("has", "it")
                } else {
                    ("have", "each")
                };
                write!(
                    f,
                    "{} {has} no joint and no clamp; end {it} on the member it meets, as in from = \"bottom rail at \
                     300\", or add a [[weld]]",
                    crate::format::list(members)
                )
            }
            Self::Structure(error) => error.fmt(f),
            Self::Rule { weld, rule } => write!(f, "weld {weld}: {rule}"),
            Self::Order(error) => write!(f, "{error}"),
        }
    }
}

impl std::error::Error for MovementError {}
