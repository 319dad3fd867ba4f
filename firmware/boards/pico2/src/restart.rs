//! What starts the board anew, and why it started: in order, or after a panic, the watchdog, or a supply that dropped.
//!
//! The scratch registers of the watchdog keep their content while it restarts the chip (RP2350 data sheet, chapter
//! *Watchdog*; value from memory). The panic handler leaves the place there.

use coldsquare_firmware::restart::{panicked, words};
use core::panic::PanicInfo;
use core::sync::atomic::{AtomicBool, Ordering};
use heapless::String;
use rp235x_hal::pac;

/// The watchdog's time, µs: longer than the slowest write to a card, retries included. Its driver counts no further than
/// 8.3 s.
pub const WATCHDOG_US: u32 = 8_000_000;

/// Until the end of the journal is found, which a worn card may make long.
static STARTING: AtomicBool = AtomicBool::new(true);

/// Feeds the watchdog while the board starts: call it at each answer of the card.
pub fn feed_at_start() {
    if STARTING.load(Ordering::Relaxed) {
        // SAFETY: a write of this register sets the counter and has no other effect.
        let watchdog = unsafe { &*pac::WATCHDOG::ptr() };
        watchdog
            .load()
            .write(|word| unsafe { word.bits(WATCHDOG_US) });
    }
}

/// The board has started: from here on only the logger's own progress counts.
pub fn started() {
    STARTING.store(false, Ordering::Relaxed);
}

/// Leaves the place of a panic for the next start.
pub fn remember(info: &PanicInfo<'_>) {
    // SAFETY: nothing else uses these registers; a write to them has no other effect.
    let registers = unsafe { &*pac::WATCHDOG::ptr() };
    let [mark, line, first, second] = words(info);
    registers
        .scratch1()
        .write(|word| unsafe { word.bits(line) });
    registers
        .scratch2()
        .write(|word| unsafe { word.bits(first) });
    registers
        .scratch3()
        .write(|word| unsafe { word.bits(second) });
    // The mark comes last: without it the rest does not count.
    registers
        .scratch0()
        .write(|word| unsafe { word.bits(mark) });
}

/// Why the board started, if not in an orderly way. Call it once, before the watchdog is set up.
pub fn reason() -> Option<String<48>> {
    // SAFETY: as above; reading has no effect.
    let watchdog = unsafe { &*pac::WATCHDOG::ptr() };
    let powman = unsafe { &*pac::POWMAN::ptr() };
    let kept = [
        watchdog.scratch0().read().bits(),
        watchdog.scratch1().read().bits(),
        watchdog.scratch2().read().bits(),
        watchdog.scratch3().read().bits(),
    ];
    watchdog.scratch0().write(|word| unsafe { word.bits(0) });
    let why = if let Some(why) = panicked(kept) {
        return Some(why);
    } else if watchdog.reason().read().timer().bit_is_set() {
        "restarted: watchdog, nothing moved for seconds"
    } else if powman.chip_reset().read().had_bor().bit_is_set() {
        "restarted: supply voltage dropped"
    } else {
        return None;
    };
    String::try_from(why).ok()
}
