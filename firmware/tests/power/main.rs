//! Pulled plugs: a journal lives through many losses of power, and what it said it had stored is there.
//!
//! A share runs each time; `COLDSQUARE_POWER_CUTS=100000` runs so many on each medium. A failure tells seed and start,
//! and `COLDSQUARE_POWER_SEED=SEED` runs that life alone.

mod blocks;
mod calibration;
mod card;
mod cells;
mod clear;
mod each_sector;
mod flash;
mod life;
mod made_up;
mod media;
mod on_fat32;
mod process;
mod reading;
mod refused;
mod search;
mod settings;
mod slot;
mod slot_asked;
mod stubborn;
mod taken;
mod told;
mod words;

/// Cuts to live through: so many, or as many as were asked for.
fn cuts(share: u64) -> u64 {
    asked("COLDSQUARE_POWER_CUTS").unwrap_or(share)
}

/// The one life that was asked for.
fn only_seed() -> Option<u64> {
    asked("COLDSQUARE_POWER_SEED")
}

fn asked(name: &str) -> Option<u64> {
    let text = std::env::var(name).ok()?;
    Some(
        text.parse()
            .unwrap_or_else(|_| panic!("{name} is no number: {text}")),
    )
}
