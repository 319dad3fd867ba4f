//! A card that may be pulled out, pushed in again, or be another one afterwards.
//!
//! A card that is not there takes long to say so. So after [`IN_A_ROW`] faults in a row it is left alone for [`REST_US`] at
//! a time, and asked once in between: the readings that come meanwhile must find the loop again before their queue is
//! full. And after any fault nothing is written before the card has shown that the journal is still where it was: sectors
//! are written by their number, and on another card they would belong to somebody else's files. A card that shows itself and
//! takes no writes is left alone with those only: its log can still be read.

use super::MediumError;
use super::card::Sectors;
use crate::clock::Ticks;
use coldsquare_core::journal::{CELL, CellBytes, open_mending};
use coldsquare_core::trouble::Trouble;

/// Faults in a row before the card is left alone: as many as a journal tries cells for one write.
pub const IN_A_ROW: u32 = super::medium::TRIES;

/// For how long it is left alone, µs.
pub const REST_US: u32 = 5_000_000;

/// Reads in a row that a card refuses which shows itself, before it is not read for a while, and for how long, µs: some
/// sectors of it are bad, and whoever downloads the log asks again for some seconds.
const BAD_IN_A_ROW: u32 = 4 * IN_A_ROW;
const SHORT_REST_US: u32 = 500_000;

/// A write that takes longer is slow, µs: so long a card may be busy (SD Association, Physical Layer Simplified
/// Specification, clause 4.6.2.2; value from memory).
const SLOW_US: u32 = 250_000;

/// Sectors of a card, guarded.
#[derive(Debug)]
pub struct Guarded<D, T> {
    sectors: D,
    ticks: T,
    /// A sector and what is in it for good: the first of the journal, which says what lies where.
    known: Option<(u32, CellBytes)>,
    /// Faults since a read went well, and writes refused since one did; when the last one was.
    unread: u32,
    unwritten: u32,
    failed_us: u32,
    /// What the known sector showed the last time that it was looked at after a fault.
    seen: Seen,
    /// A write was slow.
    is_slow: bool,
}

/// What is in the slot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Seen {
    Same,
    Other,
    Nothing,
}

impl<D: Sectors, T: Ticks> Guarded<D, T> {
    /// Guards a card.
    pub const fn new(sectors: D, ticks: T) -> Self {
        Self {
            sectors,
            ticks,
            known: None,
            unread: 0,
            unwritten: 0,
            failed_us: 0,
            seen: Seen::Same,
            is_slow: false,
        }
    }

    /// The card.
    pub const fn sectors(&mut self) -> &mut D {
        &mut self.sectors
    }

    /// The time, µs.
    pub fn micros(&mut self) -> u32 {
        self.ticks.micros()
    }

    /// Knows no card any more, and speaks to whatever is there.
    pub fn forget(&mut self) {
        self.known = None;
        (self.unread, self.unwritten) = (0, 0);
        self.seen = Seen::Same;
    }

    /// Takes note of the sector by which the card is known from now on.
    ///
    /// # Errors
    /// [`MediumError::Fault`] when it cannot be read.
    pub fn know(&mut self, sector: u32) -> Result<(), MediumError> {
        let cell = self.cell_at(sector)?;
        self.known = Some((sector, cell));
        Ok(())
    }

    /// What a sector holds. A flipped bit makes no other card of it.
    fn cell_at(&mut self, sector: u32) -> Result<CellBytes, MediumError> {
        let mut cell = [0; CELL];
        self.sectors.read(sector, &mut cell)?;
        // What is no cell stays as it is.
        let _ = open_mending(&mut cell);
        Ok(cell)
    }

    /// Whether it may be spoken to.
    fn ready(&mut self, to_write: bool) -> Result<(), MediumError> {
        if self.unread + self.unwritten == 0 {
            return Ok(());
        }
        let faults = self.unread.saturating_add(self.unwritten);
        let (are_many, rest_us) = match self.seen {
            Seen::Same if to_write => (self.unwritten >= IN_A_ROW, REST_US),
            Seen::Same => (self.unread >= BAD_IN_A_ROW, SHORT_REST_US),
            _ => (faults >= IN_A_ROW, REST_US),
        };
        let rested_us = self.ticks.micros().wrapping_sub(self.failed_us);
        if are_many && rested_us < rest_us {
            return Err(MediumError::Fault);
        }
        let Some((sector, cell)) = self.known else {
            return Ok(());
        };
        self.seen = match self.cell_at(sector) {
            Ok(found) if found == cell => return Ok(()),
            Ok(_) => Seen::Other,
            Err(_) => Seen::Nothing,
        };
        self.unread = self.unread.saturating_add(1);
        self.failed_us = self.ticks.micros();
        Err(MediumError::Fault)
    }
}

impl<D: Sectors, T: Ticks> Sectors for Guarded<D, T> {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        self.ready(false)?;
        let read = self.sectors.read(sector, into);
        self.seen = Seen::Same;
        if read.is_ok() {
            self.unread = 0;
        } else {
            self.unread = self.unread.saturating_add(1);
            self.failed_us = self.ticks.micros();
        }
        read
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        self.ready(true)?;
        let began_us = self.ticks.micros();
        let written = self.sectors.write(sector, bytes);
        let now_us = self.ticks.micros();
        self.seen = Seen::Same;
        if written.is_ok() {
            (self.unread, self.unwritten) = (0, 0);
            self.is_slow |= now_us.wrapping_sub(began_us) > SLOW_US;
        } else {
            self.unwritten = self.unwritten.saturating_add(1);
            self.failed_us = now_us;
        }
        written
    }

    fn trouble(&self) -> Option<Trouble> {
        let faults = self.unread.saturating_add(self.unwritten);
        match self.seen {
            _ if faults < IN_A_ROW => self.is_slow.then_some(Trouble::Slow),
            Seen::Nothing => Some(Trouble::NoCard),
            Seen::Other => Some(Trouble::OtherCard),
            Seen::Same if self.unwritten >= IN_A_ROW => Some(Trouble::Locked),
            Seen::Same if self.unread >= BAD_IN_A_ROW => Some(Trouble::Unreadable),
            Seen::Same => self.is_slow.then_some(Trouble::Slow),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::{Cell, RefCell};

    const JOURNAL: u32 = 7;

    /// What is in the slot, and how often it was spoken to.
    #[derive(Default)]
    struct Slot {
        card: RefCell<Option<Vec<CellBytes>>>,
        bad: Cell<Option<u32>>,
        asked: Cell<u32>,
        now_us: Cell<u32>,
        write_us: Cell<u32>,
    }

    impl Slot {
        fn with(card: Vec<CellBytes>) -> Self {
            Self {
                card: RefCell::new(Some(card)),
                ..Self::default()
            }
        }

        fn guarded(&self) -> Guarded<&Self, impl Ticks + '_> {
            let mut guarded = Guarded::new(self, || self.now_us.get());
            guarded.know(JOURNAL).unwrap();
            self.asked.set(0);
            guarded
        }

        fn at<R>(
            &self,
            sector: u32,
            use_it: impl FnOnce(&mut CellBytes) -> R,
        ) -> Result<R, MediumError> {
            self.asked.set(self.asked.get() + 1);
            if self.bad.get() == Some(sector) {
                return Err(MediumError::Fault);
            }
            let mut card = self.card.borrow_mut();
            let cell = card.as_mut().and_then(|card| card.get_mut(sector as usize));
            cell.map(use_it).ok_or(MediumError::Fault)
        }
    }

    impl Sectors for &Slot {
        fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
            self.at(sector, |cell| *into = *cell)
        }

        fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
            self.now_us.set(self.now_us.get() + self.write_us.get());
            self.at(sector, |cell| *cell = *bytes)
        }
    }

    /// A card whose every sector holds its owner's number, and the journal's first sector what is given.
    fn card(owner: u8, journal: u8) -> Vec<CellBytes> {
        let mut card = vec![[owner; CELL]; 64];
        card[JOURNAL as usize] = [journal; CELL];
        card
    }

    #[test]
    fn a_card_that_was_pulled_out_is_asked_once_in_a_while_and_used_again_when_it_is_back() {
        let slot = Slot::with(card(1, 99));
        let mut guarded = slot.guarded();
        let pulled = slot.card.take();
        for ms in 0..60_000_u32 {
            slot.now_us
                .set(ms.wrapping_mul(1000).wrapping_sub(30_000_000));
            assert_eq!(guarded.write(20, &[2; CELL]), Err(MediumError::Fault));
        }
        let most = IN_A_ROW + 60_000_000 / REST_US;
        assert!(
            (IN_A_ROW..=most).contains(&slot.asked.get()),
            "{:?}",
            slot.asked
        );
        *slot.card.borrow_mut() = pulled;
        slot.now_us.set(slot.now_us.get() + REST_US);
        assert_eq!(guarded.write(20, &[2; CELL]), Ok(()));
        assert_eq!(guarded.write(21, &[3; CELL]), Ok(()));
        let card = slot.card.borrow();
        assert_eq!(
            card.as_ref().map(|card| (card[20][0], card[21][0])),
            Some((2, 3))
        );
    }

    #[test]
    fn another_card_is_never_written() {
        let slot = Slot::with(card(1, 99));
        let mut guarded = slot.guarded();
        slot.card.take();
        assert_eq!(guarded.write(20, &[2; CELL]), Err(MediumError::Fault));
        let others = card(50, 50);
        *slot.card.borrow_mut() = Some(others.clone());
        for second in 0..100 {
            slot.now_us.set(second * 1_000_000);
            assert_eq!(guarded.write(20, &[2; CELL]), Err(MediumError::Fault));
        }
        assert_eq!(slot.card.borrow().as_ref(), Some(&others));
    }

    /// Its slider is at *lock*, or it is worn out: whoever writes must not wait for it each time.
    #[test]
    fn a_card_that_takes_no_writes_is_asked_once_in_a_while_and_told() {
        let slot = Slot::with(card(1, 99));
        let mut guarded = slot.guarded();
        slot.bad.set(Some(20));
        for ms in 0..60_000_u32 {
            slot.now_us.set(ms * 1000);
            assert_eq!(guarded.write(20, &[2; CELL]), Err(MediumError::Fault));
            let told = (ms + 1 >= IN_A_ROW).then_some(Trouble::Locked);
            assert_eq!(guarded.trouble(), told, "{ms} ms");
        }
        // Each time the journal's first sector is looked at, too.
        let most = 2 * (IN_A_ROW + 60_000_000 / REST_US);
        assert!(slot.asked.get() <= most, "{:?}", slot.asked);
    }

    #[test]
    fn a_card_that_was_pulled_out_is_told_with_the_fourth_fault() {
        for is_written in [false, true] {
            let slot = Slot::with(card(1, 99));
            let mut guarded = slot.guarded();
            slot.card.take();
            for fault in 1..=2 * IN_A_ROW {
                let refused = match is_written {
                    true => guarded.write(20, &[2; CELL]),
                    false => guarded.read(20, &mut [0; CELL]),
                };
                assert_eq!(refused, Err(MediumError::Fault));
                let told = (fault >= IN_A_ROW).then_some(Trouble::NoCard);
                assert_eq!(guarded.trouble(), told, "after {fault} faults");
            }
        }
    }

    #[test]
    fn a_card_that_cannot_be_read_in_places_is_told_with_the_sixteenth_fault() {
        let slot = Slot::with(card(1, 99));
        let mut guarded = slot.guarded();
        slot.bad.set(Some(20));
        for fault in 1..=2 * BAD_IN_A_ROW {
            assert_eq!(guarded.read(20, &mut [0; CELL]), Err(MediumError::Fault));
            let told = (fault >= BAD_IN_A_ROW).then_some(Trouble::Unreadable);
            assert_eq!(guarded.trouble(), told, "after {fault} faults");
        }
        // A read that goes well ends it.
        slot.now_us.set(SHORT_REST_US);
        assert_eq!(guarded.read(21, &mut [0; CELL]), Ok(()));
        assert_eq!(guarded.trouble(), None);
    }

    #[test]
    fn a_write_is_slow_that_takes_longer_than_a_card_may_be_busy() {
        let slot = Slot::with(card(1, 99));
        let mut guarded = slot.guarded();
        for (us, told) in [
            (SLOW_US, None),
            (SLOW_US + 1, Some(Trouble::Slow)),
            (0, Some(Trouble::Slow)),
        ] {
            slot.write_us.set(us);
            assert_eq!(guarded.write(20, &[2; CELL]), Ok(()));
            assert_eq!(guarded.trouble(), told, "{us} µs");
        }
    }

    #[test]
    fn a_bad_sector_costs_itself_alone() {
        let slot = Slot::with(card(1, 99));
        let mut guarded = slot.guarded();
        slot.bad.set(Some(20));
        for _ in 0..IN_A_ROW {
            assert_eq!(guarded.write(20, &[2; CELL]), Err(MediumError::Fault));
            assert_eq!(guarded.write(21, &[2; CELL]), Ok(()));
        }
    }
}
