//! The depth that the stack has reached.

use core::ptr;
use cortex_m::register::msp;

const PAINT: u32 = 0x5AA5_C33C;
/// Left alone below the stack pointer, for what is called while painting.
const MARGIN: usize = 256;

unsafe extern "C" {
    static mut __sheap: u32;
    static _stack_start: u32;
}

/// Paints the memory that the stack has not reached. Call it first.
pub fn paint() {
    let mut at = &raw mut __sheap;
    let end = (msp::read() as usize - MARGIN) as *mut u32;
    while at < end {
        // SAFETY: between the end of the statics and the stack pointer nothing else lives.
        unsafe {
            ptr::write_volatile(at, PAINT);
            at = at.add(1);
        }
    }
}

/// Bytes from the top of the stack to the deepest word that was ever written.
#[must_use]
pub fn deepest() -> usize {
    let top = &raw const _stack_start;
    let mut at = (&raw mut __sheap).cast_const();
    // SAFETY: from the end of the statics to the top of the stack is memory that may be read.
    while at < top && unsafe { ptr::read_volatile(at) } == PAINT {
        at = unsafe { at.add(1) };
    }
    top as usize - at as usize
}
