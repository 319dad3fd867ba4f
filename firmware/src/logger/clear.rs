//! Clearing the logger's memory.

use super::{Hardware, Logger};
use crate::store::{Extent, Store, StoreError};
use coldsquare_core::link::{CHUNK, Consent, Refusal, checksum_of_tail};

impl<H: Hardware> Logger<H> {
    /// Clears the store if the computer has all of it, or the user confirmed it with the logger's name.
    pub(super) fn clear(&mut self, end: u64, consent: &Consent) -> Result<(), Refusal> {
        let store = self.log.recorder.store();
        if !store.can_clear() {
            return Err(Refusal::CannotDo);
        }
        // Not in a gap inside a bead either.
        if !self.arc.is_idle() {
            return Err(Refusal::ArcBurns);
        }
        // Buffered records belong to the log; a full store has taken what it could.
        if store.sync() == Err(StoreError::Fault) {
            return Err(Refusal::StoreFault);
        }
        let extent = store.extent().ok_or(Refusal::CannotDo)?;
        let unread = match consent {
            Consent::Pulled { .. } => 0,
            Consent::Named(_) => extent.end.saturating_sub(extent.first),
        };
        let agreed = match consent {
            Consent::Pulled { tail } => end == extent.end && tail_of(store, extent)? == *tail,
            Consent::Named(name) if *name != self.setup.device => return Err(Refusal::Value),
            Consent::Named(_) => end == extent.end,
        };
        if !agreed {
            // Repeated after a lost reply.
            let was_done = self
                .cleared
                .as_ref()
                .is_some_and(|(at, why)| *at == end && why == consent);
            return if was_done {
                Ok(())
            } else {
                Err(Refusal::NotPulled)
            };
        }
        self.log.recorder.clear().map_err(|_| Refusal::StoreFault)?;
        self.cleared = Some((end, consent.clone()));
        self.reset_log(unread);
        Ok(())
    }
}

/// The checksum of the end of a log, with 00 for dropped bytes.
fn tail_of(store: &mut impl Store, extent: Extent) -> Result<u32, Refusal> {
    let from = extent.end.saturating_sub(CHUNK as u64).max(extent.first);
    let (mut bytes, mut piece) = ([0; CHUNK], [0; CHUNK]);
    let length = extent.end.saturating_sub(from) as usize;
    let mut at = from;
    while at < extent.end {
        let (offset, count) = store
            .read(at, &mut piece)
            .map_err(|_| Refusal::StoreFault)?;
        if count == 0 {
            break;
        }
        let to = offset.saturating_sub(from) as usize;
        for (to, from) in bytes.iter_mut().skip(to).zip(piece.iter().take(count)) {
            *to = *from;
        }
        at = offset.saturating_add(count as u64);
    }
    Ok(checksum_of_tail(bytes.get(..length).unwrap_or(&bytes)))
}
