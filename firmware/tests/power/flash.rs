//! Flash: words programmed in part, blocks erased in part, and nothing done to it that may not be.

use crate::life::{Life, Plugged, Tally};
use coldsquare_core::journal::CELL;
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::flash::Flash;
use coldsquare_firmware::sim::{MemoryFlash, Power};

/// Blocks of the journal in these lives, and before and behind it.
const BLOCKS: u32 = 24;
const AROUND: u32 = 1;
const BLOCK: u32 = 4096;

impl Plugged for Flash<MemoryFlash> {
    fn power(&mut self) -> &mut Power {
        &mut self.flash().power
    }

    fn reads(&mut self) -> u64 {
        self.flash().read / CELL as u64
    }

    fn arc(&mut self, burns: bool) {
        self.flash().arc = burns;
    }
}

#[test]
fn flash_keeps_what_it_said_it_had_stored_through_any_cut() {
    let mut tally = Tally::default();
    let only = crate::only_seed();
    let mut seed = only.unwrap_or(0);
    let cuts = crate::cuts(1000);
    let mut most_erased = 0;
    while tally.cuts < cuts {
        let flash = MemoryFlash::new((BLOCKS + 2 * AROUND) as usize, seed);
        let from = AROUND * BLOCK;
        let mut flash = Flash::new(flash, from, from + BLOCKS * BLOCK).expect("suits");
        Journal::prepare(&mut flash, seed as u32, 150).expect("power is on");
        let life = Life {
            seed,
            starts: 40,
            bytes: 40_000,
            sound: true,
            patchy: false,
        };
        life.live(&mut flash, &mut tally)
            .unwrap_or_else(|what| panic!("flash: {what}"));
        let flash = flash.flash();
        assert_eq!(flash.misused, None, "seed {seed}");
        assert_eq!(
            (flash.erased[0], flash.erased[BLOCKS as usize + 1]),
            (0, 0),
            "seed {seed}"
        );
        most_erased = most_erased.max(flash.erased.iter().copied().max().unwrap_or(0));
        seed += 1;
        if only.is_some() {
            break;
        }
    }
    println!("flash: {tally:?} in {seed} lives, a block erased {most_erased} times at most");
    if only.is_none() {
        assert!(tally.windows_dropped > 0 && tally.full > 0, "{tally:?}");
    }
}
