//! The watchdog: unless it is fed it resets the chip, the second time that it has counted to its end.

use core::ptr;

const LOAD: usize = 0x4000_0000;
const CONTROL: usize = LOAD + 0x08;
const CLEAR: usize = LOAD + 0x0C;

/// Counts, and resets the chip when the count is not fed.
const COUNTS_AND_RESETS: u32 = 0b11;
/// Half of a tenth of a second at 12.5 MHz.
const COUNTS: u32 = 625_000;

/// It counts from now on.
pub fn start() {
    write(LOAD, COUNTS);
    write(CONTROL, COUNTS_AND_RESETS);
}

/// It begins anew, if it counts.
pub fn feed() {
    write(CLEAR, 0);
}

fn write(register: usize, value: u32) {
    // SAFETY: the callers name registers of the watchdog, aligned words.
    unsafe { ptr::write_volatile(register as *mut u32, value) }
}
