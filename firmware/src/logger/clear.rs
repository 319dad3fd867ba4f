//! Clearing the logger's memory.

use super::{Hardware, Logger};
use crate::store::{Store, StoreError};
use coldsquare_core::link::{Consent, Refusal};

impl<H: Hardware> Logger<H> {
    /// Clears the store if the computer has all of it and has compared it, or the user confirmed it with the logger's name.
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
            Consent::Pulled { sum } => end == extent.end && self.checks.sum_to(end)? == Some(*sum),
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
