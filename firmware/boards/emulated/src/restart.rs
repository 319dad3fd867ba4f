//! Why the program started: in order, or after a panic or the watchdog. Memory that no start clears keeps it, as the
//! emulator leaves memory alone when it resets the chip.

use coldsquare_firmware::restart::{panicked, words};
use core::mem::MaybeUninit;
use core::panic::PanicInfo;
use core::ptr;
use cortex_m::peripheral::SCB;
use heapless::String;

/// Says that the program runs, so that a start that finds it was not the first.
const RUNS: u32 = 0x5EED_F00D;

/// The place of a panic, and whether a program runs that can be restarted.
// SAFETY: the linker script keeps this section, which no start clears.
#[unsafe(link_section = ".uninit.restart")]
static mut KEPT: MaybeUninit<([u32; 4], u32)> = MaybeUninit::uninit();

fn kept() -> ([u32; 4], u32) {
    // SAFETY: any bits are such words, and one core runs without interrupts that come here.
    unsafe { ptr::read_volatile((&raw const KEPT).cast()) }
}

fn keep(words: [u32; 4], runs: u32) {
    // SAFETY: as above.
    unsafe { ptr::write_volatile((&raw mut KEPT).cast(), (words, runs)) }
}

/// Why the program started, if not in an orderly way. Call it once.
pub fn reason() -> Option<String<48>> {
    let (words, runs) = kept();
    keep([0; 4], RUNS);
    panicked(words).or_else(|| {
        (runs == RUNS)
            .then(|| String::try_from("restarted: watchdog, nothing moved for seconds").ok())
            .flatten()
    })
}

/// Leaves the place of a panic for the next start, and starts the program anew.
pub fn after(info: &PanicInfo<'_>) -> ! {
    keep(words(info), RUNS);
    SCB::sys_reset()
}
