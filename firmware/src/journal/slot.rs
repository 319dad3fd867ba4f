//! The slot of a card: a store that waits for a card it can use, and takes it while the logger runs.
//!
//! While there is none, every record is refused, and so counted as lost. A card is looked at every [`LOOK_AGAIN_US`] while
//! no bead is open. Nothing is written to it before the end of its log is found; where its log goes on, the logger is told
//! by [`Store::arrived`].

use super::card::{self, Card, Sectors};
use super::fat::NotFound;
use super::guarded::Guarded;
use super::{Journal, MountError};
use crate::clock::Ticks;
use crate::store::{Arrival, Extent, Resume, Store, StoreError};
use coldsquare_core::journal::{CELL, CellBytes, LayoutError};
use coldsquare_core::record::Header;
use coldsquare_core::trouble::Trouble;

/// A card that cannot be used, or none, is looked at again after this time, µs.
pub const LOOK_AGAIN_US: u32 = 5_000_000;
/// How often the first and the last sector are asked for before a card counts as missing, or as too small: a card that
/// was just put in needs a moment.
const ASKED: u32 = 4;
/// Sectors at the end of the journal's file of which one must answer.
const LAST: u32 = 8;

type OnCard<D, T> = Journal<Card<Guarded<D, T>>>;

/// A slot with a card, or without.
#[derive(Debug)]
pub struct Slot<D, T> {
    within: Within<D, T>,
    /// The log of the card was not asked for yet.
    is_new: bool,
}

// One of them for the whole run of a logger, and there is no heap to box the larger one.
#[allow(clippy::large_enum_variant)]
#[derive(Debug)]
enum Within<D, T> {
    Journal(OnCard<D, T>),
    /// No journal that can be used: why, and when it was looked for.
    Waiting(Guarded<D, T>, Trouble, u32),
    /// Only while one takes the place of the other.
    Changing,
}

impl<D: Sectors, T: Ticks> Slot<D, T> {
    /// The slot with these sectors. Looks for a journal once: [`Slot::resume`] and [`Slot::last_header`] tell what it found.
    pub fn new(sectors: D, ticks: T) -> Self {
        let mut slot = Self {
            within: Within::Waiting(Guarded::new(sectors, ticks), Trouble::NoCard, 0),
            is_new: false,
        };
        slot.look();
        slot.is_new = false;
        slot
    }

    /// Where the log continues.
    pub fn resume(&self) -> Resume {
        self.journal().map_or_else(Resume::default, Journal::resume)
    }

    /// The last header of the log.
    pub fn last_header(&self) -> Option<&Header> {
        self.journal()?.last_header()
    }

    fn journal(&self) -> Option<&OnCard<D, T>> {
        match &self.within {
            Within::Journal(journal) => Some(journal),
            _ => None,
        }
    }

    fn journal_mut(&mut self) -> Result<&mut OnCard<D, T>, StoreError> {
        match &mut self.within {
            Within::Journal(journal) => Ok(journal),
            _ => Err(StoreError::Fault),
        }
    }

    /// Looks for a journal that can be used.
    fn look(&mut self) {
        let within = core::mem::replace(&mut self.within, Within::Changing);
        let mut slot = match within {
            Within::Journal(journal) => journal.into_medium().into_sectors(),
            Within::Waiting(slot, ..) => slot,
            Within::Changing => return,
        };
        slot.forget();
        self.within = match open(slot) {
            Ok(journal) => {
                self.is_new = true;
                Within::Journal(journal)
            }
            Err((why, mut slot)) => {
                let now_us = slot.micros();
                Within::Waiting(slot, why, now_us)
            }
        };
    }
}

/// The journal on the card in a slot; or why there is none, and the slot.
// There is no heap to box it.
#[allow(clippy::result_large_err)]
fn open<D: Sectors, T: Ticks>(
    mut slot: Guarded<D, T>,
) -> Result<OnCard<D, T>, (Trouble, Guarded<D, T>)> {
    let range = match range(&mut slot) {
        Ok(range) => range,
        Err(why) => return Err((why, slot)),
    };
    let card = Card::at(slot, range.0, range.1);
    Journal::mount_or_return(card).map_err(|(why, card)| {
        let why = match why {
            MountError::Fault => Trouble::Unreadable,
            MountError::Layout(LayoutError::NotPrepared | LayoutError::DoesNotFit)
            | MountError::Layout(LayoutError::Newer { .. } | LayoutError::TooSmall { .. })
            | MountError::Segment => Trouble::NotPrepared,
        };
        (why, card.into_sectors())
    })
}

/// The first sector of the journal's file and how many it has, all of them on the card.
fn range<D: Sectors, T: Ticks>(slot: &mut Guarded<D, T>) -> Result<(u32, u32), Trouble> {
    let answers = |slot: &mut Guarded<D, T>, sector| {
        let mut bytes: CellBytes = [0; CELL];
        (0..ASKED).any(|_| slot.sectors().read(sector, &mut bytes).is_ok())
    };
    if !answers(slot, 0) {
        return Err(Trouble::NoCard);
    }
    let range = card::find(slot).map_err(|why| match why {
        NotFound::Fault => Trouble::Unreadable,
        _ => Trouble::NotPrepared,
    })?;
    slot.know(range.first).map_err(|_| Trouble::Unreadable)?;
    // One of the last sectors may be dead; of those past the end of a card none answers.
    let end = u64::from(range.first) + u64::from(range.count);
    let mut last =
        (1..=LAST.min(range.count)).filter_map(|back| u32::try_from(end - u64::from(back)).ok());
    if last.any(|sector| answers(slot, sector)) {
        Ok((range.first, range.count))
    } else {
        Err(Trouble::TooSmall)
    }
}

impl<D: Sectors, T: Ticks> Store for Slot<D, T> {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        self.journal_mut()?.append(record)
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        self.journal_mut()?.sync()
    }

    fn idle(&mut self) {
        let is_due = match &mut self.within {
            Within::Journal(journal) => {
                journal.idle();
                // What is in its buffers belongs to a card that is not there.
                journal.trouble() == Some(Trouble::OtherCard)
            }
            Within::Waiting(slot, _, since_us) => {
                slot.micros().wrapping_sub(*since_us) >= LOOK_AGAIN_US
            }
            Within::Changing => false,
        };
        if is_due {
            self.look();
        }
    }

    fn trouble(&self) -> Option<Trouble> {
        match &self.within {
            Within::Journal(journal) => journal.trouble(),
            Within::Waiting(_, why, _) => Some(*why),
            Within::Changing => Some(Trouble::NoCard),
        }
    }

    fn arrived(&mut self) -> Option<Arrival> {
        if !core::mem::take(&mut self.is_new) {
            return None;
        }
        self.journal().map(|journal| Arrival {
            resume: journal.resume(),
            header: journal.last_header().cloned(),
        })
    }

    fn can_clear(&self) -> bool {
        self.journal().is_some_and(Store::can_clear)
    }

    fn clear(&mut self) -> Result<(), StoreError> {
        self.journal_mut()?.clear()
    }

    fn extent(&self) -> Option<Extent> {
        self.journal().and_then(Store::extent)
    }

    fn read(&mut self, from: u64, into: &mut [u8]) -> Result<(u64, usize), StoreError> {
        self.journal_mut()?.read(from, into)
    }
}
