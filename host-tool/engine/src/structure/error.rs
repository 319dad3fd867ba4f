//! Why a frame cannot be solved, in terms of its members.

use std::fmt;

/// How a mechanism can move.
#[derive(Clone, Debug, PartialEq)]
pub struct Motion {
    /// The node that moves most.
    pub node: usize,
    /// A member at that node, if any ([`super::Beam::member`]).
    pub member: Option<usize>,
    /// Members that move or turn with it, in order.
    pub members: Vec<usize>,
    /// Unit vector along which the node moves; `None` where it only turns.
    pub along: Option<[f64; 3]>,
    /// Unit vector about which the node turns; `None` where it only moves.
    pub about: Option<[f64; 3]>,
    /// A node at the same place that does not move with it: often a forgotten joint.
    pub not_joined_to: Option<usize>,
}

/// Why a frame was refused.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum StructureError {
    /// No nodes.
    Empty,
    /// Too many of something; the limits bound time and memory.
    TooLarge {
        /// Of what.
        what: &'static str,
        /// How many.
        found: usize,
        /// The limit.
        max: usize,
    },
    /// A position that is not a number, or more than a kilometre away.
    Position {
        /// The node.
        node: usize,
    },
    /// A node that does not exist.
    NoSuchNode {
        /// What refers to it.
        what: &'static str,
        /// Index of that; for a beam its member.
        index: usize,
        /// The missing node.
        node: usize,
    },
    /// A node, beam or spring that does not exist.
    NoSuchItem {
        /// What is missing.
        what: &'static str,
        /// Its index.
        index: usize,
    },
    /// A beam without length.
    ZeroLength {
        /// Its member.
        member: usize,
        /// Its nodes.
        nodes: [usize; 2],
    },
    /// A depth axis that runs along the beam, or has no length.
    DepthAxis {
        /// Its member.
        member: usize,
    },
    /// A stiffness, offset or end spring that is negative, zero where it may not be, or not a number.
    BeamValue {
        /// Its member.
        member: usize,
        /// Which value.
        what: &'static str,
    },
    /// A stiffness that is negative, not a number or beyond 1e14.
    SpringStiffness {
        /// Spring or support.
        what: &'static str,
        /// Its index.
        index: usize,
    },
    /// A beam whose ends are released so that it can move on its own.
    BeamMechanism {
        /// Its member.
        member: usize,
        /// How it moves.
        how: &'static str,
    },
    /// A load that is not a number.
    Load {
        /// Which part of the load case.
        what: &'static str,
    },
    /// The frame is so much more flexible in one motion than its elements are that rounding hides its stiffness.
    NearZeroPivot {
        /// A member that moves.
        member: Option<usize>,
        /// The node that moves most.
        node: usize,
    },
    /// The frame, or a part of it, can move without resistance: at least one motion, at most twelve.
    Mechanism(Vec<Motion>),
}

impl fmt::Display for StructureError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(out, "the frame has no nodes"),
            Self::TooLarge { what, found, max } => {
                write!(out, "{found} {what}: the limit is {max}")
            }
            Self::Position { node } => write!(
                out,
                "the position of node {node} is not a number within 1e6 mm"
            ),
            Self::NoSuchNode { what, index, node } => {
                write!(
                    out,
                    "{what} {index} refers to node {node}, which does not exist"
                )
            }
            Self::NoSuchItem { what, index } => write!(out, "there is no {what} {index}"),
            Self::SpringStiffness { what, index } => {
                write!(
                    out,
                    "the stiffness of {what} {index} must be between 0 and 1e14"
                )
            }
            Self::Load { what } => write!(out, "{what} in the load case is not a number"),
            Self::NearZeroPivot { member, node } => {
                if let Some(member) = member {
                    write!(out, "member {member}, ")?;
                }
                write!(
                    out,
                    "node {node}: the frame is so flexible there, compared with its elements, that rounding would hide the \
                     result; use fewer and longer elements, softer springs or another support"
                )
            }
            Self::Mechanism(motions) => match motions.first() {
                Some(motion) => motion.fmt(out),
                None => write!(out, "a part of the frame can move freely"),
            },
            of_a_beam => of_a_beam.fmt_beam(out),
        }
    }
}

impl StructureError {
    /// The errors of one beam.
    fn fmt_beam(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ZeroLength {
                member,
                nodes: [a, b],
            } => {
                write!(
                    out,
                    "member {member} has no length between nodes {a} and {b}; join the nodes or move one"
                )
            }
            Self::DepthAxis { member } => {
                write!(
                    out,
                    "the depth axis of member {member} must be at an angle to the member"
                )
            }
            Self::BeamValue { member, what } => {
                write!(out, "{what} of member {member} is out of range")
            }
            Self::BeamMechanism { member, how } => {
                write!(
                    out,
                    "the ends of member {member} are released so that it {how}; hold one of them"
                )
            }
            _ => Ok(()),
        }
    }
}

impl fmt::Display for Motion {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.member {
            Some(member) => write!(
                out,
                "member {member} can move freely at node {}:",
                self.node
            )?,
            None => write!(out, "node {} can move freely:", self.node)?,
        }
        if let Some(axis) = self.along {
            write!(out, " along {}", Direction(axis))?;
        }
        if let Some(axis) = self.about {
            write!(
                out,
                "{} turning about {}",
                if self.along.is_some() { "," } else { "" },
                Direction(axis)
            )?;
        }
        match self.not_joined_to {
            Some(other) => write!(
                out,
                "; node {other} is at the same place, but nothing joins them"
            ),
            None => write!(out, "; tack, clamp or support it"),
        }
    }
}

impl std::error::Error for StructureError {}

/// A unit vector as text: "x" where it is an axis, else its components.
struct Direction([f64; 3]);

impl fmt::Display for Direction {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [x, y, z] = self.0;
        match [x, y, z].iter().position(|c| c.abs() > 0.999) {
            Some(axis) => out.write_str(["x", "y", "z"][axis]),
            None => write!(out, "({x:.2}, {y:.2}, {z:.2})"),
        }
    }
}
