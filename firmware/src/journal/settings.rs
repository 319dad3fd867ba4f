//! The last header, kept across power failures in two cells that are written alternately. The journal number in these
//! cells is the one in force: clearing the journal means writing the settings again with the next number.

use super::frame::decode_frame;
use super::medium::{Medium, MediumError};
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

    /// The last header of the log.
    pub const fn header(&self) -> Option<&Header> {
        self.header.as_ref()
    }

    /// Writes them into the other cell, with the journal number in force: the current cell stays until that is done.
    pub fn write(&mut self, medium: &mut impl Medium, layout: &Layout) -> Result<(), MediumError> {
        self.put(medium, layout, self.cleared)
    }

    /// Makes all cells written so far count as those of another journal. If that fails, the settings count as not
    /// written, and nothing counts as stored, until they are written again with the old number.
    pub fn clear(&mut self, medium: &mut impl Medium, layout: &Layout) -> Result<(), MediumError> {
        let cleared = self.put(medium, layout, self.cleared.saturating_add(1));
        if cleared.is_err() {
            self.is_pending = true;
        }
        cleared
    }

    fn put<M: Medium>(
        &mut self,
        medium: &mut M,
        layout: &Layout,
        cleared: u32,
    ) -> Result<(), MediumError> {
        let mut bytes = [0; CELL];
        let header = self.header.clone().map(Record::Header);
        // A header that cannot be encoded is not in the log either; the recorder counted it as lost.
        let used = header
            .and_then(|record| encode(0, &record, payload_mut(&mut bytes)).ok())
            .unwrap_or(0);
        let cell_header = CellHeader {
            content: Content::Settings,
            journal: layout.journal.wrapping_add(cleared),
            number: self.number,
            offset: 0,
            used: used as u16,
            beads: 0,
            starts: 0,
        };
        seal(&cell_header, &mut bytes);
        let [even, odd] = layout.settings();
        let cell = if self.number.is_multiple_of(2) {
            even
        } else {
            odd
        };
        if M::MUST_ERASE {
            medium.erase(cell)?;
        }
        medium.write(cell, &bytes)?;
        self.number = self.number.saturating_add(1);
        self.is_pending = false;
        self.cleared = cleared;
        Ok(())
    }
}
