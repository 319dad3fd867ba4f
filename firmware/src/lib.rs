//! The logger, from sample pairs to records, over small hardware traits.
//!
//! ```text
//! FrontEnd --pair--> ArcState --windows, beads--> Recorder --frames--> Store
//!                                  '--> Watch ---alarms--------^
//! Panel --next, tare--> Logger <--plan, requests-- Link    Logger --replies, pieces of the log--> Link
//!                          '--> NextWeld --next, wait or go--> Panel
//! ```
//!
//! The same code runs on a board, on an emulated processor and, with the feature `sim`, on a computer. To support another
//! board, implement [`front_end::FrontEnd`], [`store::Store`] (or [`journal::Medium`]), [`link::Link`], [`clock::Clock`] and
//! [`panel::Panel`], and call [`logger::Logger::poll`] in a loop.
#![cfg_attr(not(feature = "sim"), no_std)]
#![forbid(unsafe_code)]

// Traits of the hardware.
pub mod clock;
mod console;
pub mod front_end;
pub mod panel;
pub mod store;

// Parts of the logger.
#[cfg(feature = "converters")]
pub mod converters;
pub mod feed;
pub mod link;
pub mod next_weld;
pub mod queue;
pub mod recorder;
pub mod restart;
#[cfg(feature = "seal")]
pub mod seal;
pub mod tare;
pub mod watch;

// The logger and its store.
pub mod journal;
pub mod logger;

#[cfg(feature = "sim")]
pub mod sim;
