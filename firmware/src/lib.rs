//! The logger, from sample pairs to records, over small hardware traits.
//!
//! ```text
//! FrontEnd --pair--> ArcState --windows, beads--> Recorder --frames--> Store
//!                                  |                  |   '----------> Link
//! Panel --next, tare--> Logger     '--> Watch --what it noticed--> Recorder
//! ```
//!
//! The same code runs on a board, on the emulated processor, and on a computer with the feature `sim`.
#![cfg_attr(not(feature = "sim"), no_std)]
#![forbid(unsafe_code)]

pub mod clock;

pub mod feed;

pub mod front_end;

pub mod link;

pub mod logger;

pub mod panel;

pub mod recorder;

#[cfg(feature = "sim")]
pub mod sim;

pub mod store;

pub mod tare;

pub mod watch;
