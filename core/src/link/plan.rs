//! A plan as it is sent to a logger.
//!
//! Welds come in planned order, so a weld's index is its place in the order. Long welds come in parts, each with its own
//! index. Moments are in counts of one size, as the host rounds them: a logger that
//! measured 10 % more heat than planned adds 1.1 times the moment.

use crate::sequence::Side;
use crate::units::{Celsius, Joules, Millimetres};
use heapless::String;

/// The most welds, or parts of long ones, in a plan on a logger.
pub const MAX_PLANNED: usize = 64;

/// Components of a moment of shrinkage balance.
pub const COMPONENTS: usize = 7;

/// What applies to the whole plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanHeader {
    /// What is being built.
    pub title: String<48>,
    /// How many welds follow, 1 to [`MAX_PLANNED`].
    pub welds: u8,
    /// The most flips of the frame.
    pub max_flips: u8,
    /// The moment of the welds made before this plan, counts; zeros for a frame that is only tacked.
    pub before: [i32; COMPONENTS],
    /// Temperature of the work before welding, −20 °C to 300 °C.
    pub start: Celsius,
}

/// A weld of a plan, or a part of one.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedWeld {
    /// Its place in the planned order, from 0.
    pub index: u8,
    /// Number of the weld, from 1.
    pub number: u16,
    /// Index of its joint, chosen by the sender.
    pub joint: u8,
    /// The face that must be up. The front is the face that is up when the plan begins, so a portion after a flip begins
    /// with the back of the drawing as its front.
    pub side: Side,
    /// Bit set of the indices of the welds that must be finished before it, all lower than its own.
    pub before: u64,
    /// Position of its middle, mm.
    pub at_mm: [i32; 3],
    /// Its moment at the planned heat, counts.
    pub moment: [i32; COMPONENTS],
    /// Planned arc energy, before thermal efficiency, greater than 0.
    pub energy: Joules,
    /// Thermal efficiency, greater than 0, at most 1.
    pub efficiency: f32,
    /// Its length, greater than 0.
    pub length: Millimetres,
    /// Interpass temperature: the joint must be cooler than this before the weld; `None` for no limit.
    pub interpass: Option<Celsius>,
    /// Wall of the tube, 0.5 to 20 mm.
    pub wall: Millimetres,
    /// Girth of the tube, 10 to 2000 mm.
    pub girth: Millimetres,
    /// Walls that conduct the heat away, 1 to 4.
    pub walls: u8,
}
