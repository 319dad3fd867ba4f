//! Registers of the chip.

use core::ptr;

/// A register of one of this board's devices.
#[derive(Clone, Copy, Debug)]
pub struct Register(usize);

impl Register {
    /// The one at this address, which is that of a register: an aligned word of a device.
    pub(crate) const fn at(address: usize) -> Self {
        Self(address)
    }

    /// What it reads.
    #[must_use]
    pub fn read(self) -> u32 {
        // SAFETY: `at` is called with registers of this board.
        unsafe { ptr::read_volatile(self.0 as *const u32) }
    }

    /// Writes it.
    pub fn write(self, value: u32) {
        // SAFETY: as above.
        unsafe { ptr::write_volatile(self.0 as *mut u32, value) }
    }
}
