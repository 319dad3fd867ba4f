//! Lives whose every decision is a byte, so that a fuzzer can look for those that go wrong. Those it found are told here.

use crate::life::{Chance, Life, Tally};
use coldsquare_core::journal::Layout;
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::card::{Card, Sectors};
use coldsquare_firmware::journal::flash::Flash;
use coldsquare_firmware::sim::{MemoryCard, MemoryFlash};

/// One byte decides; where the input ends, the least of all.
struct Told<'a>(std::slice::Iter<'a, u8>);

impl Chance for Told<'_> {
    fn below(&mut self, count: u32) -> u32 {
        let byte = u64::from(*self.0.next().unwrap_or(&0));
        ((byte * u64::from(count)) >> 8) as u32
    }
}

/// A life on a card or in flash; the first bytes say how poor it is.
pub fn live(input: &[u8]) -> Result<(), String> {
    let Some((&[kind, refuses, seed, starts, bytes], rest)) = input.split_first_chunk() else {
        return Ok(());
    };
    let on_card = kind % 2 == 0;
    let (writes, reads) = match on_card && kind & 2 > 0 {
        true => (3 + u32::from(refuses & 15), u32::from(refuses >> 4)),
        false => (0, 0),
    };
    let life = Life {
        seed: u64::from(seed),
        starts: u32::from(starts % 24),
        bytes: 100 + 200 * u32::from(bytes),
        sound: writes == 0 && reads == 0,
        patchy: reads > 0,
    };
    let mut told = Told(rest.iter());
    let mut tally = Tally::default();
    if on_card {
        // Small, so that rings go round and the retained log fills.
        let mut sectors = MemoryCard::new(40, seed.into());
        let layout = Layout::divide(7, 40, 2, 192).expect("large enough");
        sectors.write(0, &layout.to_cell()).expect("power is on");
        (sectors.refuses_one_in, sectors.refuses_reads_one_in) = (writes, reads);
        return life.live_by(&mut told, &mut Card::at(sectors, 0, 40), &mut tally);
    }
    let mut flash = Flash::new(MemoryFlash::new(10, seed.into()), 0, 10 * 4096).expect("suits");
    Journal::prepare(&mut flash, 7, 100).expect("power is on");
    life.live_by(&mut told, &mut flash, &mut tally)?;
    flash
        .flash()
        .misused
        .map_or(Ok(()), |what| Err(what.into()))
}

#[test]
fn lives_that_once_went_wrong_go_well() {
    let found: [&[u8]; 1] = [
        // Refuses a write in three and a read in fourteen: a calibration that was acknowledged was gone.
        &[
            0x2e, 0xe0, 0xf5, 0xff, 0x47, 0xf5, 0xcd, 0xff, 0xf5, 0xcd, 0xff,
        ],
    ];
    for input in found {
        assert_eq!(live(input), Ok(()), "{input:02x?}");
    }
}
