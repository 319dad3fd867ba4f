//! The last header, kept across power failures in two segments that are written in turn, twice in each. The journal
//! number in these cells is the one in force: clearing the journal means writing the settings again with the next number.
//!
//! So the number stands four times, and the first cells of the log have it too. No one sector decides: what one refuses
//! to say, the others say, and what they say is written to it again.

use super::frame::decode_frame;
use super::medium::{Medium, MediumError, TRIES, Unread, read_cell};
use coldsquare_core::journal::{
    CELL, CellBytes, CellHeader, Content, Layout, payload, payload_mut, seal,
};
use coldsquare_core::record::{Header, Record, encode};

/// Of the four cells, so many must have taken the settings before these count as written: then each sector may fail.
const ENOUGH: u32 = 2;
/// How often settings that do not stand in all their cells are written again.
const REPAIRS: u8 = 3;
/// First cells of the log and of the retained log that are asked for the number in force: as many as may be unwritten.
const ASKED: u32 = super::search::MAX_SKIPPED + 1;

/// How much depends on their being written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Need {
    /// They changed: nothing counts as stored until they are written.
    Must,
    /// They stand, and would stand more firmly.
    May,
}

/// The settings in the last header of the log.
#[derive(Debug, Default)]
pub(super) struct Settings {
    header: Option<Header>,
    /// How often they were written; the next write goes into the segment of the other parity.
    number: u32,
    /// They are not written yet.
    is_pending: bool,
    /// They are written, but not in all their cells: how often to try again.
    repairs: u8,
    /// How often the journal was cleared.
    cleared: u32,
}

impl Settings {
    /// The newest that stand in any of their cells, under the highest number that they or the log have.
    ///
    /// # Errors
    /// [`MediumError::Fault`] when so much is refused that the number in force is not certain.
    pub fn find(medium: &mut impl Medium, layout: &Layout) -> Result<Self, MediumError> {
        let mut found = Self::default();
        let mut bytes = [0; CELL];
        let (mut agree, mut whole, mut refused) = (0, 0, 0);
        for cell in layout.settings().into_iter().flatten() {
            match read_cell(medium, cell, &mut bytes) {
                Ok(cell_header) => {
                    let Some(cleared) = layout.cleared(cell_header.journal) else {
                        continue;
                    };
                    if cell_header.content != Content::Settings {
                        continue;
                    }
                    whole += 1;
                    let header = header_in(&cell_header, &bytes);
                    let same = cleared == found.cleared && header == found.header;
                    if cell_header.number >= found.number {
                        agree = if same { agree } else { 0 };
                        found.number = cell_header.number.saturating_add(1);
                        (found.cleared, found.header) = (cleared, header);
                        agree += 1;
                    } else {
                        agree += u32::from(same);
                    }
                }
                Err(Unread::Refused) => refused += 1,
                Err(Unread::Blank | Unread::Damaged) => {}
            }
        }
        let logged = number_in_log(medium, layout, &mut bytes);
        // Whatever refuses may hold the number in force. The log says which, if it can be asked and does not lag behind.
        let certain = logged.is_ok_and(|logged| logged.unwrap_or(0) >= found.cleared);
        if refused > 0 && (whole == 0 || !certain) {
            return Err(MediumError::Fault);
        }
        if let Ok(Some(cleared)) = logged
            && cleared > found.cleared
        {
            found.cleared = cleared;
            agree = 0;
        }
        if whole > 0 && agree < 4 {
            // What was refused may have a greater number than any that was read.
            found.number = found.number.saturating_add(2);
            found.repairs = REPAIRS;
        }
        Ok(found)
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

    /// Writes them, with the journal number in force: what stands in the other segment stays until one is done.
    pub fn write(&mut self, medium: &mut impl Medium, layout: &Layout) -> Result<(), MediumError> {
        self.put(medium, layout, self.cleared, Need::Must)
    }

    /// They are written, but not in all their cells.
    pub const fn needs_repair(&self) -> bool {
        self.repairs > 0
    }

    /// Writes them again, a few times, into cells that have not taken them. Nothing depends on it but how much may fail
    /// afterwards, so what stands is left alone until they stand somewhere else too.
    pub fn repair(&mut self, medium: &mut impl Medium, layout: &Layout) {
        if self.repairs > 0 && !self.is_pending {
            let left = self.repairs - 1;
            let _ = self.put(medium, layout, self.cleared, Need::May);
            self.repairs = self.repairs.min(left);
        }
    }

    /// Makes all cells written so far count as those of another journal. If that fails, the settings count as not
    /// written, and nothing counts as stored, until they are written again with the old number.
    pub fn clear(&mut self, medium: &mut impl Medium, layout: &Layout) -> Result<(), MediumError> {
        self.put(medium, layout, self.cleared.saturating_add(1), Need::Must)
    }

    /// Writes one segment after the other. The number goes up with each, done or not, because what was refused may have
    /// been done all the same: of two, the later counts. The segment that is written second may have all that stands, so
    /// the first is tried again while it takes nothing.
    fn put<M: Medium>(
        &mut self,
        medium: &mut M,
        layout: &Layout,
        cleared: u32,
        need: Need,
    ) -> Result<(), MediumError> {
        let mut stored = 0;
        for _ in layout.settings() {
            let taken = self.put_patiently(medium, layout, cleared);
            if taken == 0 && need == Need::May {
                // The next time begins with this segment again.
                self.number = self.number.saturating_add(1);
                return Err(MediumError::Fault);
            }
            stored += taken;
        }
        if stored < ENOUGH {
            self.is_pending = true;
            return Err(MediumError::Fault);
        }
        self.repairs = if stored < 4 { REPAIRS } else { 0 };
        self.is_pending = false;
        self.cleared = cleared;
        Ok(())
    }

    /// Writes the cells of the next segment, again while none of them takes it; gives how many took it.
    fn put_patiently<M: Medium>(&mut self, medium: &mut M, layout: &Layout, cleared: u32) -> u32 {
        for _ in 1..TRIES {
            let taken = self.put_segment(medium, layout, cleared);
            if taken > 0 {
                return taken;
            }
            self.number = self.number.saturating_add(1);
        }
        self.put_segment(medium, layout, cleared)
    }

    /// Writes the cells of the next segment; gives how many took it.
    fn put_segment<M: Medium>(&mut self, medium: &mut M, layout: &Layout, cleared: u32) -> u32 {
        let bytes = self.to_cell(layout.journal.wrapping_add(cleared));
        let [even, odd] = layout.settings();
        let cells = if self.number.is_multiple_of(2) {
            even
        } else {
            odd
        };
        self.number = self.number.saturating_add(1);
        let [first, _] = cells;
        if M::MUST_ERASE && medium.erase(first).is_err() {
            return 0;
        }
        let done = cells.map(|cell| u32::from(medium.write(cell, &bytes).is_ok()));
        done.iter().sum()
    }

    fn to_cell(&self, journal: u32) -> CellBytes {
        let mut bytes = [0; CELL];
        let header = self.header.clone().map(Record::Header);
        // A header that cannot be encoded is not in the log either; the recorder counted it as lost.
        let used = header
            .and_then(|record| encode(0, &record, payload_mut(&mut bytes)).ok())
            .unwrap_or(0);
        let cell_header = CellHeader {
            content: Content::Settings,
            journal,
            number: self.number,
            offset: 0,
            used: used as u16,
            beads: 0,
            starts: 0,
        };
        seal(&cell_header, &mut bytes);
        bytes
    }
}

fn header_in(cell_header: &CellHeader, bytes: &CellBytes) -> Option<Header> {
    match decode_frame(payload(cell_header, bytes)) {
        Some((_, Record::Header(header))) => Some(header),
        // It was cleared before anything was measured.
        _ => None,
    }
}

/// How often the journal was cleared, by the first cells of its log; `None` if they are blank.
///
/// # Errors
/// [`MediumError::Fault`] when both areas refuse some of them.
fn number_in_log(
    medium: &mut impl Medium,
    layout: &Layout,
    bytes: &mut CellBytes,
) -> Result<Option<u32>, MediumError> {
    let mut highest = None;
    let mut answers = 0;
    for (range, content) in [
        (layout.retained(), Content::Retained),
        (layout.ring(), Content::Log),
    ] {
        let mut refused = false;
        for cell in range.first..range.first.saturating_add(ASKED.min(range.cells)) {
            match read_cell(medium, cell, bytes) {
                Ok(header) if header.content == content => {
                    highest = highest.max(layout.cleared(header.journal));
                }
                Err(Unread::Refused) => refused = true,
                _ => {}
            }
        }
        answers += u32::from(!refused);
    }
    if answers == 0 {
        return Err(MediumError::Fault);
    }
    Ok(highest)
}
