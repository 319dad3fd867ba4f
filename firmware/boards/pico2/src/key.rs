//! The secret that this board seals its log with: it follows from a random number that the chip got when it was tested.
//!
//! Source: RP2350 data sheet, 2024, section 13.10, rows `RANDID0` to `RANDID7`. Nothing has to be stored, so an update or
//! an erased flash keeps the key. Whoever holds the boot button while the board is plugged in can read these rows.

use coldsquare_core::seal::{Secret, sum_of};
use rp235x_hal as hal;

/// First row of the chip's random number, and its rows of 16 bits.
const RANDOM_ROW: usize = 4;
const RANDOM_ROWS: usize = 8;
/// What the secret is for, so that the same number could serve something else too.
const PURPOSE: &[u8; 16] = b"coldsquare key 1";

/// The secret of this board; `None` if its chip has no random number, and the log stays without a seal.
pub fn secret() -> Option<Secret> {
    let mut bytes = [0; PURPOSE.len() + 2 * RANDOM_ROWS];
    let (purpose, random) = bytes.split_first_chunk_mut()?;
    *purpose = *PURPOSE;
    for (row, to) in (RANDOM_ROW..).zip(random.chunks_exact_mut(2)) {
        to.copy_from_slice(&hal::otp::read_ecc_word(row).ok()?.to_le_bytes());
    }
    let is_blank = |blank: u8| random.iter().all(|byte| *byte == blank);
    if is_blank(0) || is_blank(0xFF) {
        return None;
    }
    Secret::new(sum_of(&bytes))
}

/// Chance that is different at each start: the number that the boot ROM draws.
pub fn chance() -> [u8; 32] {
    let drawn = hal::rom_data::sys_info_api::boot_random().ok().flatten();
    sum_of(&drawn.map_or(0, |drawn| drawn.0).to_le_bytes())
}
