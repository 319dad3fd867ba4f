//! A plan as it is sent to a logger.
//!
//! Welds come in planned order, so that a weld's index is its place. Long welds come in pieces, each with an index of
//! its own. Moments are in counts, all of the same size, as [`crate::sequence::balance::whole_numbers`] gives them: a
//! logger that measured 10 % more heat than planned adds the moment times 1.1.

use super::wire;
use crate::framing;
use crate::sequence::Side;
use crate::units::{Celsius, Joules, Millimetres};
use heapless::String;

/// Most welds, or pieces of long ones, of a plan on a logger.
pub const MOST_PLANNED: usize = 64;

/// Components of a heat moment.
pub const COMPONENTS: usize = 7;

/// What holds for the whole plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanHead {
    /// What is being built.
    pub title: String<48>,
    /// How many welds follow, 1 to [`MOST_PLANNED`].
    pub welds: u8,
    /// Turns of the frame that are allowed.
    pub most_turns: u8,
    /// The moment of what was welded before this plan, counts; zeros at the beginning of a frame.
    pub before: [i32; COMPONENTS],
    /// Temperature of the work before welding, −20 °C to 300 °C.
    pub start: Celsius,
}

/// A weld of a plan, or a piece of one.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedWeld {
    /// Its place in the planned order, from 0.
    pub index: u8,
    /// Number of the weld, from 1.
    pub number: u16,
    /// Its joint, by an index of the sender's.
    pub joint: u8,
    /// The face that must be up, as seen when the plan begins.
    pub side: Side,
    /// Indices of the welds that must be finished before it, as bits; only lower ones than its own.
    pub before: u64,
    /// Where its middle is, mm.
    pub at_mm: [i32; 3],
    /// What it pulls with when it gets the heat that is planned, counts.
    pub moment: [i32; COMPONENTS],
    /// Arc energy that its procedure expects, before thermal efficiency, greater than 0.
    pub energy: Joules,
    /// Share of it that goes into the work, greater than 0, at most 1.
    pub efficiency: f32,
    /// Its length, greater than 0.
    pub length: Millimetres,
    /// The joint must be cooler than this before it; `None` where nobody minds.
    pub interpass: Option<Celsius>,
    /// Wall of the tube, 0.5 to 20 mm.
    pub wall: Millimetres,
    /// Girth of the tube, 10 to 2000 mm.
    pub girth: Millimetres,
    /// Walls that lead the heat away, 1 to 4.
    pub walls: u8,
}

/// The checksum of a plan: that of the bytes of all its welds, in order, so that sender and logger agree on it.
///
/// Begin with `so_far` 0 and go on with what each call gives.
#[must_use]
pub fn checksum_of_plan(so_far: u32, weld: &PlannedWeld) -> u32 {
    let mut bytes = [0; wire::LONGEST_WELD + 4];
    let sum = so_far.to_le_bytes();
    let length = wire::write_weld(weld, bytes.get_mut(4..).unwrap_or(&mut [])).unwrap_or(0);
    if let Some(first) = bytes.first_chunk_mut() {
        *first = sum;
    }
    framing::checksum(bytes.get(..4 + length).unwrap_or(&[]))
}
