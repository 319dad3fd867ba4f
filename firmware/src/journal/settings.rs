//! The calibration kept over a loss of power: the last header, in two cells that are written in turn. The number of the
//! journal that these cells bear is the one in force: emptying it is one more write of the settings, with the next number.

use super::{Journal, Medium, read};
use crate::store::StoreError;
use coldsquare_core::journal::{CELL, Content, Head, Layout, open, payload, payload_mut, seal};
use coldsquare_core::record::{Header, Record, encode};

/// What the log was measured by last.
#[derive(Debug, Default)]
pub(super) struct Settings {
    header: Option<Header>,
    /// Times that it was written; the next one goes into the cell of the other parity.
    number: u32,
    /// It is not written yet.
    is_new: bool,
    /// How often the journal was emptied.
    cleared: u32,
}

impl Settings {
    /// The newer of the two cells. Reads two cells.
    pub fn find(medium: &mut impl Medium, layout: &Layout) -> Self {
        let mut found = Self::default();
        let mut bytes = [0; CELL];
        for cell in layout.settings() {
            let Ok(()) = medium.read(cell, &mut bytes) else {
                continue;
            };
            let Ok(head) = open(&bytes) else { continue };
            if head.content == Content::Settings
                && head.number >= found.number
                && let Some(cleared) = layout.cleared(head.journal)
            {
                found.cleared = cleared;
                found.number = head.number.saturating_add(1);
                found.header = match read(payload(&head, &bytes)) {
                    Some((_, Record::Header(header))) => Some(header),
                    // It was emptied before anything was measured.
                    _ => None,
                };
            }
        }
        found
    }

    /// How often the journal was emptied.
    pub const fn cleared(&self) -> u32 {
        self.cleared
    }

    /// It is not written yet.
    pub const fn is_new(&self) -> bool {
        self.is_new
    }

    /// Takes note of a header that was appended.
    pub fn note(&mut self, header: Header) {
        let same = self.header.as_ref().is_some_and(|known| {
            known.calibration == header.calibration
                && known.calibrated_unix_s == header.calibrated_unix_s
                && known.arc == header.arc
                && known.process == header.process
        });
        if !same {
            self.header = Some(header);
            self.is_new = true;
        }
    }
}

impl<M: Medium> Journal<M> {
    /// What the log on this medium was measured by last: calibration with its date and doubts, and how the arc is found.
    /// For [`Setup::restore`](crate::logger::Setup::recall).
    #[must_use]
    pub const fn measured_by(&self) -> Option<&Header> {
        self.settings.header.as_ref()
    }

    /// Writes it, if it is new.
    pub(super) fn write_settings(&mut self) -> Result<(), StoreError> {
        if self.settings.is_new {
            self.put_settings(self.settings.cleared)
        } else {
            Ok(())
        }
    }

    /// From now on everything that is there counts as another journal's. When that cannot be told for sure, the settings
    /// count as not written, and nothing as stored, until they are written anew with the old number.
    pub(super) fn clear_settings(&mut self) -> Result<(), StoreError> {
        let cleared = self.put_settings(self.settings.cleared.saturating_add(1));
        if cleared.is_err() {
            self.settings.is_new = true;
        }
        cleared
    }

    /// Writes it into the cell that the present one is not in, which stays until this is done.
    fn put_settings(&mut self, cleared: u32) -> Result<(), StoreError> {
        let settings = &mut self.settings;
        let mut bytes = [0; CELL];
        let header = settings.header.clone().map(Record::Header);
        // What cannot be encoded a log cannot hold either, and the recorder said so.
        let used = header
            .and_then(|record| encode(0, &record, payload_mut(&mut bytes)).ok())
            .unwrap_or(0);
        let head = Head {
            content: Content::Settings,
            journal: self.layout.journal.wrapping_add(cleared),
            number: settings.number,
            place: 0,
            used: used as u16,
            beads: 0,
            starts: 0,
        };
        seal(&head, &mut bytes);
        let [even, odd] = self.layout.settings();
        let cell = if settings.number.is_multiple_of(2) {
            even
        } else {
            odd
        };
        self.desk.clear();
        let written = if M::MUST_ERASE {
            self.medium
                .erase(cell)
                .and_then(|()| self.medium.write(cell, &bytes))
        } else {
            self.medium.write(cell, &bytes)
        };
        written.map_err(|_| StoreError::Fault)?;
        settings.number = settings.number.saturating_add(1);
        settings.is_new = false;
        settings.cleared = cleared;
        Ok(())
    }
}
