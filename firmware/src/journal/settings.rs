//! The last header, kept across power failures in two cells that are written alternately. The journal number in these
//! cells is the one in force: clearing the journal means writing the settings again with the next number.

use super::{Journal, Medium, decode_frame};
use crate::store::StoreError;
use coldsquare_core::journal::{
    CELL, CellHeader, Content, Layout, open, payload, payload_mut, seal,
};
use coldsquare_core::record::{Header, Record, encode};

/// The settings in the last header of the log.
#[derive(Debug, Default)]
pub(super) struct Settings {
    header: Option<Header>,
    /// How often they were written; the next write goes into the cell of the other parity.
    number: u32,
    /// They are not written yet.
    is_pending: bool,
    /// How often the journal was cleared.
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
            let Ok(cell_header) = open(&bytes) else {
                continue;
            };
            if cell_header.content == Content::Settings
                && cell_header.number >= found.number
                && let Some(cleared) = layout.cleared(cell_header.journal)
            {
                found.cleared = cleared;
                found.number = cell_header.number.saturating_add(1);
                found.header = match decode_frame(payload(&cell_header, &bytes)) {
                    Some((_, Record::Header(header))) => Some(header),
                    // It was cleared before anything was measured.
                    _ => None,
                };
            }
        }
        found
    }

    /// How often the journal was cleared.
    pub const fn cleared(&self) -> u32 {
        self.cleared
    }

    /// They are not written yet.
    pub const fn is_pending(&self) -> bool {
        self.is_pending
    }

    /// Remembers a header that was appended.
    pub fn update(&mut self, header: Header) {
        let same = self.header.as_ref().is_some_and(|known| {
            known.calibration == header.calibration
                && known.calibrated_unix_s == header.calibrated_unix_s
                && known.arc == header.arc
                && known.process == header.process
        });
        if !same {
            self.header = Some(header);
            self.is_pending = true;
        }
    }
}

impl<M: Medium> Journal<M> {
    /// The last header of the log: calibration with its date and uncertainties, and the arc settings. For [`Setup::restore`](crate::logger::Setup::recall).
    #[must_use]
    pub const fn last_header(&self) -> Option<&Header> {
        self.settings.header.as_ref()
    }

    /// Writes the settings if they changed.
    pub(super) fn write_settings(&mut self) -> Result<(), StoreError> {
        if self.settings.is_pending {
            self.put_settings(self.settings.cleared)
        } else {
            Ok(())
        }
    }

    /// Makes all cells written so far count as those of another journal. If that fails, the settings count as not written,
    /// and nothing counts as stored, until they are written again with the old number.
    pub(super) fn clear_settings(&mut self) -> Result<(), StoreError> {
        let cleared = self.put_settings(self.settings.cleared.saturating_add(1));
        if cleared.is_err() {
            self.settings.is_pending = true;
        }
        cleared
    }

    /// Writes the settings into the other cell; the current one stays until that is done.
    fn put_settings(&mut self, cleared: u32) -> Result<(), StoreError> {
        let settings = &mut self.settings;
        let mut bytes = [0; CELL];
        let header = settings.header.clone().map(Record::Header);
        // A header that cannot be encoded is not in the log either; the recorder counted it as lost.
        let used = header
            .and_then(|record| encode(0, &record, payload_mut(&mut bytes)).ok())
            .unwrap_or(0);
        let cell_header = CellHeader {
            content: Content::Settings,
            journal: self.layout.journal.wrapping_add(cleared),
            number: settings.number,
            offset: 0,
            used: used as u16,
            beads: 0,
            starts: 0,
        };
        seal(&cell_header, &mut bytes);
        let [even, odd] = self.layout.settings();
        let cell = if settings.number.is_multiple_of(2) {
            even
        } else {
            odd
        };
        self.cache.clear();
        let written = if M::MUST_ERASE {
            self.medium
                .erase(cell)
                .and_then(|()| self.medium.write(cell, &bytes))
        } else {
            self.medium.write(cell, &bytes)
        };
        written.map_err(|_| StoreError::Fault)?;
        settings.number = settings.number.saturating_add(1);
        settings.is_pending = false;
        settings.cleared = cleared;
        Ok(())
    }
}
