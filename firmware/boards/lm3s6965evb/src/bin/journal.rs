//! The logger with its journal on a card, see `src/journal.rs`.
#![no_std]
#![no_main]

use cortex_m_rt::entry;

coldsquare_emulated::restarts_on_panic!();

#[entry]
fn main() -> ! {
    coldsquare_lm3s6965evb::journal::run()
}
