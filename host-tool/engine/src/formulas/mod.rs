//! Published formulas and tables of the trade that only the host uses, one topic a module.
//!
//! A function belongs here when it needs nothing but numbers and a source: no job, no log, no frame. What the logger
//! needs too is in `coldsquare-core`. To add a formula, write the source and the valid range beside it, refuse values
//! outside the range with [`coldsquare_core::formula::Formula`], and hold it against a published example in
//! `tests/evidence/`.
//!
//! ```
//! use coldsquare_core::units::Amperes;
//! use coldsquare_engine::formulas::duty::Rating;
//!
//! // A machine rated 200 A at 35 % may weld with 118 A all the time.
//! let rating = Rating::new(Amperes(200.0), 0.35)?;
//! assert_eq!(rating.duty_at(Amperes(118.0))?, 1.0);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

pub mod bending;
pub mod carbon;
pub mod consumables;
pub mod cooling;
pub mod duty;
pub mod gain_check;
pub mod heat_input;
pub mod joint_shrinkage;
pub mod metal;
pub mod preheat;
pub mod shrinkage;
pub mod starting_points;
pub mod uncertainty;
