//! How many cells a start reads at most, as `docs/journal.md` promises.

use coldsquare_core::journal::Layout;
use coldsquare_firmware::journal::Medium;

/// Damaged cells that are skipped in a row.
const DAMAGED: u32 = 64;
/// Places from which an area is searched, besides each halving: the first eight cells, and behind the end.
const PLACES: u32 = 9;
/// The layout, four cells of settings, and eight cells of each area that are asked for the number in force; then the last
/// cell of each area again.
const ONCE: u32 = 1 + 4 + 2 * 8 + 2;
/// How often a cell is read that is refused or not whole.
const TRIES: u32 = 3;

/// The most reads of [`Journal::mount`](coldsquare_firmware::journal::Journal::mount).
pub fn most_reads<M: Medium>(layout: &Layout) -> u64 {
    let (kept, ring) = (layout.retained().cells, layout.ring().cells);
    let searched = if M::MUST_ERASE {
        // Behind each end, once more: the last segment, the cells that are skipped, and the segment that is erased.
        kept + ring + 2 * (2 * layout.segment + DAMAGED)
    } else {
        let halvings = |cells: u32| cells.next_power_of_two().ilog2();
        (2 * PLACES + halvings(kept) + halvings(ring)) * DAMAGED
    };
    u64::from(TRIES * (ONCE + searched))
}
