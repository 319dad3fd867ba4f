//! The journal file of a logger's memory card.

use crate::save::save_padded;
use coldsquare_core::journal::{CELL, Layout};
use coldsquare_engine::failure::Failure;
use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

/// Cells in a segment on a card, as in the firmware.
const SEGMENT: u32 = 64;
/// A quarter holds what is never dropped.
const KEPT_256THS: u8 = 64;
/// Largest file on FAT32: a byte short of 4 GiB.
pub const MAX_MIB: u32 = 4095;
/// Windows per cell, roughly.
const WINDOWS_A_CELL: f64 = 6.0;
/// Duration of a window with arc on, s.
const WINDOW_S: f64 = 0.1;

/// Capacity of a journal file.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Size of the file.
    pub bytes: u64,
    /// Beads, button presses and starts, which are never dropped: usually one cell each.
    pub kept: u32,
    /// Arc time whose windows fit, s.
    pub arc_s: f64,
}

/// Writes an empty journal of this size in MiB.
///
/// # Errors
/// [`Failure`] when the file exists or cannot be written.
pub fn prepare(path: &Path, mib: u32) -> Result<Room, Failure> {
    let cells = mib.saturating_mul((1 << 20) / CELL as u32);
    let layout = Layout::divide(any_number(), cells, SEGMENT, KEPT_256THS)
        .map_err(|why| Failure::Usage(why.to_string()))?;
    let bytes = u64::from(cells) * CELL as u64;
    save_padded(path, &layout.to_cell(), bytes)?;
    Ok(Room {
        bytes,
        kept: layout.retained().cells,
        arc_s: f64::from(layout.ring().cells) * WINDOWS_A_CELL * WINDOW_S,
    })
}

/// A number unlike that of an earlier journal on the same card.
fn any_number() -> u32 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    let nanoseconds = since.map_or(0, |since| since.as_nanos());
    (nanoseconds ^ (nanoseconds >> 32)) as u32
}
