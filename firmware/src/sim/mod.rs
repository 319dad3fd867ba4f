//! A welding machine, its sensors and a logger's storage, all in memory: the real logger runs on them.
//!
//! ```text
//! Build (what is welded, with mishaps) -> Script (what happens when) -> Machine (volts, amps)
//!     -> Converter (counts) -> Logger -> MemoryStore
//!                 '-> Truth: what was really there
//! ```
//!
//! The same build and seed give the same bytes, always.

mod build;
mod card;
mod chance;
mod converter;
mod flash;
mod front_end;
mod link;
mod machine;
mod power;
mod random;
mod store;
mod truth;

pub use build::{Build, Mishap, SimulatedBead};
pub use card::MemoryCard;
pub use chance::Kind;
pub use converter::Converter;
pub use flash::MemoryFlash;
pub use front_end::{DeskClock, ScriptedPanel, SimulatedFrontEnd};
pub use link::{ComputerEnd, Connected, LoggerEnd, cable};
pub use machine::{Machine, Moment, Transfer};
pub use power::Power;
pub use random::Random;
pub use store::MemoryStore;
pub use truth::{TrueBead, Truth};

use crate::link::Unconnected;
use crate::logger::{Logger, Parts, Progress, Setup};
use crate::next_weld::NextWeld;
use crate::store::Store;
use coldsquare_core::arc::ArcConfigError;

/// Welds a build in front of a logger. Gives the bytes of its log, and what was really there.
///
/// # Errors
/// [`ArcConfigError`] when the build's calibration does not suit its arc settings.
pub fn log_build(build: &Build, seed: u64) -> Result<(Vec<u8>, Truth), ArcConfigError> {
    let (store, truth) = log_build_to(build, seed, MemoryStore::new())?;
    Ok((store.into_bytes(), truth))
}

/// The same into a store of one's own: one that loses power, or a journal.
///
/// # Errors
/// [`ArcConfigError`] when the build's calibration does not suit its arc settings.
pub fn log_build_to<S: Store>(
    build: &Build,
    seed: u64,
    store: S,
) -> Result<(S, Truth), ArcConfigError> {
    let setup: Setup = build.setup()?;
    let (front_end, panel, clock) = front_end::set_up(build, seed);
    let parts = Parts {
        front_end,
        store,
        link: Unconnected,
        clock,
        panel,
        plan: Box::new(NextWeld::new()),
    };
    let mut logger = Logger::start(parts, setup)?;
    while logger.poll() == Progress::Took {}
    let (front_end, store, _) = logger.finish();
    Ok((store, front_end.into_truth()))
}
