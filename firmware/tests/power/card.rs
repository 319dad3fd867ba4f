//! A card: sectors torn in the middle, writes that are refused and done all the same.

use crate::life::{Life, Plugged, Tally};
use coldsquare_core::journal::Layout;
use coldsquare_firmware::journal::card::{Card, Sectors};
use coldsquare_firmware::sim::{MemoryCard, Power};

/// Sectors of the journal in these lives: small, so that rings go round and kept areas fill.
const SECTORS: u32 = 150;
/// Where it begins on the card.
const FIRST: u32 = 7;

impl Plugged for Card<MemoryCard> {
    fn power(&mut self) -> &mut Power {
        &mut self.sectors().power
    }

    fn reads(&mut self) -> u64 {
        self.sectors().reads
    }

    fn arc(&mut self, _: bool) {}

    fn answers(&mut self, all: bool) {
        let card = self.sectors();
        card.answers_all = all;
    }
}

fn lives(cuts: u64, refuses_one_in: u32, refuses_reads_one_in: u32) -> Tally {
    let mut tally = Tally::default();
    let only = crate::only_seed();
    let mut seed = only.unwrap_or(0);
    while tally.cuts < cuts {
        let mut sectors = MemoryCard::new(SECTORS + 2 * FIRST, seed);
        // A share of 192 / 256 is kept, so that a life is long enough for both areas.
        let layout = Layout::divide(seed as u32, SECTORS, 2, 192).expect("large enough");
        sectors
            .write(FIRST, &layout.to_cell())
            .expect("power is on");
        sectors.refuses_one_in = refuses_one_in;
        sectors.refuses_reads_one_in = refuses_reads_one_in;
        let mut card = Card::at(sectors, FIRST, SECTORS);
        let life = Life {
            seed,
            starts: 40,
            bytes: 20_000,
            sound: refuses_one_in == 0 && refuses_reads_one_in == 0,
            patchy: refuses_reads_one_in > 0,
        };
        life.live(&mut card, &mut tally)
            .unwrap_or_else(|what| panic!("card: {what}"));
        let written = &card.sectors().written;
        assert!(
            written
                .iter()
                .all(|sector| (FIRST..FIRST + SECTORS).contains(sector)),
            "seed {seed}: wrote outside its file"
        );
        seed += 1;
        if only.is_some() {
            break;
        }
    }
    println!("card: {tally:?} in {seed} lives");
    tally
}

#[test]
fn a_card_keeps_what_it_said_it_had_stored_through_any_cut() {
    let tally = lives(crate::cuts(500), 0, 0);
    if crate::only_seed().is_none() {
        assert!(tally.windows_dropped > 0 && tally.full > 0, "{tally:?}");
    }
}

#[test]
fn a_card_that_refuses_writes_loses_nothing_acknowledged() {
    lives(crate::cuts(500), 12, 0);
}

#[test]
fn a_card_that_refuses_reads_too_loses_nothing_acknowledged() {
    lives(crate::cuts(500), 12, 6);
}
