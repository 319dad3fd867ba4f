//! What runs on the logger: from converter counts to beads, records and messages, and the order of what is left to
//! weld. No operating system, no allocation, no unsafe code, no panic on any input.
//!
//! ```text
//! RawPair -> WindowSums -> Sums --calibration--> Measured -> heat input
//!      \-> arc (beads) -> Record -> frame -> bytes
//! ```
//!
//! The host tool reads the same records with the same code. Formulas that only the host needs are in its engine.
//!
//! Words: a *bead* is what one continuous arc leaves; a *weld* is planned and takes one or more beads; a *tack* is a
//! short bead that only holds. *Arc energy* is energy per length before thermal efficiency, *heat input* after it.
//!
//! What you may change: anything but the bytes. The payloads in [`record`], [`link`] and [`journal`] are frozen within a
//! version; `docs/log-format.md`, `docs/link.md` and `docs/journal.md` write them down, and tests hold them.
#![no_std]
#![forbid(unsafe_code)]

#[cfg(test)]
extern crate std;

// Quantities.
pub mod calibration;
pub mod formula;
pub mod process;
pub mod samples;
pub mod uncertainty;
pub mod units;

// From samples to beads and heat.
pub mod arc;
pub mod bead;
pub mod interpass;
pub mod meter;
pub mod sensors;

// The order of welding.
pub mod sequence;

// Bytes.
mod framing;
pub mod journal;
pub mod link;
pub mod record;
#[cfg(feature = "seal")]
pub mod seal;
pub mod trouble;
