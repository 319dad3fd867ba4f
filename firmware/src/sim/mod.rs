//! A simulated welding machine with sensors and storage, on which the real logger runs.
//!
//! ```text
//! Build (what is welded, with mishaps) -> Script (what happens when) -> Machine (volts, amps)
//!     -> Converter (counts) -> Logger -> MemoryStore
//!                 '-> Truth: what really happened
//! ```
//!
//! The same build and seed always give the same bytes.

mod build;
mod card;
mod converter;
mod flash;
mod front_end;
mod link;
mod machine;
mod parts;
mod power;
mod random;
mod random_build;
mod store;
mod truth;

pub use build::{Build, Mishap, SimulatedBead};
pub use card::MemoryCard;
pub use converter::Converter;
pub use flash::MemoryFlash;
pub use front_end::{DeskClock, ScriptedPanel, SimulatedFrontEnd};
pub use link::{ComputerEnd, Connected, LoggerEnd, cable, stranger};
pub use machine::{Machine, Moment, Transfer};
pub use power::Power;
pub use random::Random;
pub use random_build::Kind;
pub use store::MemoryStore;
pub use truth::{TrueBead, Truth};

use crate::link::Unconnected;
use crate::logger::{Logger, Progress, Resume, Setup};
use crate::store::Store;
use coldsquare_core::arc::ArcConfigError;
use parts::{Simulated, set_up, start_sealed};

/// Simulates a build with a logger. Returns the bytes of its log, and what really happened.
///
/// # Errors
/// [`ArcConfigError`] when the build's calibration does not suit its arc settings.
pub fn log_build(build: &Build, seed: u64) -> Result<(Vec<u8>, Truth), ArcConfigError> {
    let (store, truth) = log_build_to(build, seed, MemoryStore::new())?;
    Ok((store.into_bytes(), truth))
}

/// The same with another store: one that loses power, or a journal.
///
/// # Errors
/// [`ArcConfigError`] when the build's calibration does not suit its arc settings.
pub fn log_build_to<S: Store>(
    build: &Build,
    seed: u64,
    store: S,
) -> Result<(S, Truth), ArcConfigError> {
    let (parts, setup) = set_up(build, seed, store, Unconnected)?;
    Ok(run(Logger::start(parts, setup)?))
}

/// The same as [`log_build`], sealed with the open secret of all simulated loggers.
///
/// # Errors
/// [`ArcConfigError`] when the build's calibration does not suit its arc settings.
pub fn log_build_sealed(build: &Build, seed: u64) -> Result<(Vec<u8>, Truth), ArcConfigError> {
    let (store, truth) = log_build_sealed_to(build, seed, MemoryStore::new(), Resume::default())?;
    Ok((store.into_bytes(), truth))
}

/// The same with another store; `resume` says where the log in it ended.
///
/// # Errors
/// [`ArcConfigError`] when the build's calibration does not suit its arc settings.
pub fn log_build_sealed_to<S: Store>(
    build: &Build,
    seed: u64,
    store: S,
    resume: Resume,
) -> Result<(S, Truth), ArcConfigError> {
    let (parts, setup) = set_up(build, seed, store, Unconnected)?;
    let setup = Setup { resume, ..setup };
    Ok(run(start_sealed(parts, setup, seed)?))
}

fn run<S: Store>(mut logger: Logger<Simulated<S, Unconnected>>) -> (S, Truth) {
    while logger.poll() == Progress::Took {}
    let (front_end, store, _) = logger.finish();
    (store, front_end.into_truth())
}
