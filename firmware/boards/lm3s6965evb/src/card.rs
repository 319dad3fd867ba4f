//! The emulated card.

use crate::plug::Plug;
use crate::ssi::Ssi;
use embedded_hal::delay::DelayNs;

/// The card.
pub type Sd<'a> = coldsquare_sd::Sd<Ssi<'a>, Spin>;

/// The card; the plug may be pulled at any byte on its bus.
#[must_use]
pub fn card(plug: &Plug) -> Sd<'_> {
    Sd::new(Ssi::new(plug), Spin)
}

/// Waits by counting; the board comes out of reset at 12.5 MHz.
pub struct Spin;

impl DelayNs for Spin {
    fn delay_ns(&mut self, ns: u32) {
        cortex_m::asm::delay(ns / 80 + 1);
    }
}
