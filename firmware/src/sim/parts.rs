//! What a simulated logger is made of, and its start.

use super::build::Build;
use super::front_end::{self, DeskClock, ScriptedPanel, SimulatedFrontEnd};
use crate::link::Link;
use crate::logger::{Logger, Parts, Setup};
use crate::next_weld::NextWeld;
use crate::store::Store;
use coldsquare_core::arc::ArcConfigError;
use coldsquare_core::seal::{SIMULATION, Secret};

/// The parts of a simulated logger.
pub type Simulated<S, L> = Parts<SimulatedFrontEnd, S, L, DeskClock, ScriptedPanel, Box<NextWeld>>;

/// The parts for a build, and the setup.
///
/// # Errors
/// [`ArcConfigError`] when the build's calibration does not suit its arc settings.
pub fn set_up<S, L>(
    build: &Build,
    seed: u64,
    store: S,
    link: L,
) -> Result<(Simulated<S, L>, Setup), ArcConfigError> {
    let setup = build.setup()?;
    let (front_end, panel, clock) = front_end::set_up(build, seed);
    let parts = Parts {
        front_end,
        store,
        link,
        clock,
        panel,
        plan: Box::new(NextWeld::new()),
    };
    Ok((parts, setup))
}

/// Starts a logger that seals with the open secret of all simulated loggers; `seed` gives the number of its log.
///
/// # Errors
/// As for [`Logger::start`].
pub fn start_sealed<S: Store, L: Link>(
    parts: Simulated<S, L>,
    setup: Setup,
    seed: u64,
) -> Result<Logger<Simulated<S, L>>, ArcConfigError> {
    let mut chance = SIMULATION;
    for (to, from) in chance.iter_mut().zip(seed.to_le_bytes()) {
        *to ^= from;
    }
    match Secret::new(SIMULATION) {
        Some(secret) => Logger::start_sealed(parts, setup, secret, &chance),
        None => Logger::start(parts, setup),
    }
}
