//! A card: sectors torn in the middle, writes that are refused and done all the same, reads that are refused, bits that
//! flip, and somebody who pulls it out and pushes it in again.

use crate::life::{Chance, Life, Plugged, Tally};
use coldsquare_core::journal::{CellBytes, Layout};
use coldsquare_firmware::journal::card::{Card, Sectors};
use coldsquare_firmware::journal::guarded::{Guarded, REST_US};
use coldsquare_firmware::journal::{Medium, MediumError};
use coldsquare_firmware::sim::{MemoryCard, Power};

/// Sectors of the journal in these lives: small, so that rings go round and kept areas fill.
const SECTORS: u32 = 150;
/// Where it begins on the card.
const FIRST: u32 = 7;

/// A card in a slot, or one behind the guard of a slot.
trait InSlot: Sectors {
    fn card(&mut self) -> &mut MemoryCard;
}

impl InSlot for MemoryCard {
    fn card(&mut self) -> &mut MemoryCard {
        self
    }
}

impl<T: FnMut() -> u32> InSlot for Guarded<MemoryCard, T> {
    fn card(&mut self) -> &mut MemoryCard {
        self.sectors()
    }
}

/// A card with the journal's file, some of whose bits flip between the starts.
struct Aging<S> {
    card: Card<S>,
    flips: bool,
}

impl<S: InSlot> Medium for Aging<S> {
    const MUST_ERASE: bool = Card::<S>::MUST_ERASE;

    fn cells(&self) -> u32 {
        self.card.cells()
    }

    fn segment(&self) -> u32 {
        self.card.segment()
    }

    fn read(&mut self, cell: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        self.card.read(cell, into)
    }

    fn write(&mut self, cell: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        self.card.write(cell, bytes)
    }

    fn erase(&mut self, cell: u32) -> Result<(), MediumError> {
        self.card.erase(cell)
    }
}

impl<S: InSlot> Plugged for Aging<S> {
    fn power(&mut self) -> &mut Power {
        &mut self.card.sectors().card().power
    }

    fn reads(&mut self) -> u64 {
        self.card.sectors().card().reads
    }

    fn arc(&mut self, _: bool) {}

    fn answers(&mut self, all: bool) {
        let card = self.card.sectors().card();
        card.answers_all = all;
        // Whoever guards it has waited.
        let now_us = card.micros.get();
        card.micros.set(now_us.wrapping_add(REST_US));
    }

    fn ages(&mut self, random: &mut dyn Chance) {
        if self.flips {
            let sector = FIRST + random.below(SECTORS);
            self.card.sectors().card().flip(sector, random.below(4096));
        }
    }
}

/// What a card does, once in so many times; 0 for never.
#[derive(Clone, Copy, Default)]
struct Faults {
    refuses_writes: u32,
    refuses_reads: u32,
    leaves: u32,
    /// A bit flips between two starts.
    flips: bool,
}

impl Faults {
    /// A card with the journal number `seed`.
    fn card(self, seed: u64) -> MemoryCard {
        let mut card = MemoryCard::new(SECTORS + 2 * FIRST, seed);
        // A share of 192 / 256 is kept, so that a life is long enough for both areas.
        let layout = Layout::divide(seed as u32, SECTORS, 2, 192).expect("large enough");
        card.write(FIRST, &layout.to_cell()).expect("power is on");
        card.refuses_one_in = self.refuses_writes;
        card.refuses_reads_one_in = self.refuses_reads;
        card.leaves_one_in = self.leaves;
        // A write takes a fifth of the time that a card is left alone, so that a life outlasts it.
        card.write_us = REST_US / 5;
        card
    }

    fn live<S: InSlot>(self, cuts: u64, put_in: impl Fn(MemoryCard) -> S) -> Tally {
        let mut tally = Tally::default();
        let only = crate::only_seed();
        let mut seed = only.unwrap_or(0);
        while tally.cuts < cuts {
            let card = Card::at(put_in(self.card(seed)), FIRST, SECTORS);
            let mut card = Aging {
                card,
                flips: self.flips,
            };
            let life = Life {
                seed,
                starts: 40,
                bytes: 20_000,
                sound: self.refuses_writes + self.refuses_reads + self.leaves == 0,
                patchy: self.refuses_reads + self.leaves > 0,
            };
            life.live(&mut card, &mut tally)
                .unwrap_or_else(|what| panic!("card: {what}"));
            let written = &card.card.sectors().card().written;
            let inside = |sector: &u32| (FIRST..FIRST + SECTORS).contains(sector);
            assert!(
                written.iter().all(inside),
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
}

/// Behind the guard of a slot, which leaves a card alone that does not answer.
fn guarded(card: MemoryCard) -> Guarded<MemoryCard, impl FnMut() -> u32> {
    let micros = card.micros.clone();
    let mut slot = Guarded::new(card, move || micros.get());
    slot.sectors().answers_all = true;
    slot.know(FIRST).expect("it is in");
    slot.sectors().answers_all = false;
    slot
}

#[test]
fn a_card_keeps_what_it_said_it_had_stored_through_any_cut() {
    let tally = Faults::default().live(crate::cuts(500), |card| card);
    if crate::only_seed().is_none() {
        assert!(tally.windows_dropped > 0 && tally.full > 0, "{tally:?}");
    }
}

#[test]
fn a_card_that_refuses_writes_loses_nothing_acknowledged() {
    let faults = Faults {
        refuses_writes: 12,
        ..Faults::default()
    };
    faults.live(crate::cuts(500), |card| card);
}

#[test]
fn a_card_that_refuses_reads_too_loses_nothing_acknowledged() {
    let faults = Faults {
        refuses_writes: 12,
        refuses_reads: 6,
        ..Faults::default()
    };
    faults.live(crate::cuts(500), |card| card);
}

#[test]
fn a_card_whose_bits_flip_loses_nothing_acknowledged() {
    let faults = Faults {
        refuses_writes: 30,
        refuses_reads: 30,
        flips: true,
        ..Faults::default()
    };
    faults.live(crate::cuts(500), |card| card);
}

#[test]
fn a_card_that_comes_and_goes_loses_nothing_acknowledged() {
    let faults = Faults {
        refuses_writes: 30,
        refuses_reads: 30,
        leaves: 500,
        flips: true,
    };
    faults.live(crate::cuts(500), |card| card);
}

#[test]
fn a_card_that_comes_and_goes_in_a_guarded_slot_loses_nothing_acknowledged() {
    let faults = Faults {
        refuses_writes: 30,
        refuses_reads: 30,
        leaves: 500,
        flips: true,
    };
    faults.live(crate::cuts(500), guarded);
}
