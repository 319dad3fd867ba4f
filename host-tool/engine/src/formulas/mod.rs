//! Published formulas and tables of the trade that only the host uses, one topic a module.
//!
//! A function belongs here when it needs nothing but numbers and a source: no job, no log, no frame. What the logger
//! needs too is in `coldsquare-core`. To add a formula, write the source and the valid range beside it, refuse values
//! outside the range with [`coldsquare_core::formula::Formula`], and hold it against a published example in
//! `tests/evidence/`.

pub mod bending;
pub mod carbon;
pub mod consumables;
pub mod cooling;
pub mod duty;
pub mod gain_check;
pub mod heat_input;
pub mod metal;
pub mod preheat;
pub mod shrinkage;
pub mod starting_points;
pub mod uncertainty;
