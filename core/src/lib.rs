//! The trade's arithmetic and the log's language: no operating system, no allocation, no unsafe, no panics.
//!
//! ```text
//! RawPair -> WindowSums -> Sums --calibration--> Measured -> heat input
//!      \-> arc (beads) -> Record -> frame -> bytes
//! ```
//!
//! Words: a *bead* is one continuous arc-on deposit; a *weld* a planned deposit of one or more beads; a *tack* a
//! short bead that only holds. *Arc energy* is energy per length before thermal efficiency, *heat input* after it.
#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

pub mod units;

pub mod process;

pub mod heat;

pub mod samples;

pub mod calibration;

pub mod bead;

pub mod meter;

pub mod arc;

pub mod formula;

pub mod uncertainty;

pub mod sensors;

pub mod gain_check;

pub mod cooling;

pub mod interpass;

pub mod carbon;

pub mod preheat;

pub mod metal;

pub mod duty;

pub mod consumables;

pub mod bending;

pub mod shrinkage;

pub mod heat_shrinkage;

pub mod record;

pub mod journal;

mod framing;

pub mod link;

pub mod starting_points;

pub mod sequence;
