//! The logger, from sample pairs to records, over small hardware traits.
//!
//! ```text
//! FrontEnd --pair--> ArcState --windows, beads--> Recorder --frames--> Store
//!                                  '--> Watch --what it noticed--^
//! Panel --next, tare--> Logger <--plan, questions-- Link    Logger --answers, pieces of the log--> Link
//!                          '--> NextWeld --next, wait or go--> Panel
//! ```
//!
//! The same code runs on a board, on the emulated processor, and on a computer with the feature `sim`.
#![cfg_attr(not(feature = "sim"), no_std)]
#![forbid(unsafe_code)]

pub mod clock;

#[cfg(feature = "converters")]
pub mod converters;

pub mod feed;

pub mod front_end;

pub mod journal;

pub mod link;

pub mod logger;

pub mod next_weld;

pub mod panel;

pub mod queue;

pub mod recorder;

mod console;

#[cfg(feature = "sim")]
pub mod sim;

pub mod store;

pub mod tare;

pub mod watch;
