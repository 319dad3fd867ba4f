//! The same as `journal`, with defmt output on the emulator's console.
#![no_std]
#![no_main]

use cortex_m_rt::entry;
use defmt_semihosting as _;

coldsquare_emulated::restarts_on_panic!();

#[entry]
fn main() -> ! {
    coldsquare_lm3s6965evb::journal::run()
}
