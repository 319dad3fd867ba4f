//! Finding the end of a journal when the power comes on.

use super::frame::decode_frame;
use super::medium::{Unread, read_cell};
use super::read::end_of;
use super::search::{Area, CellCache, End};
use super::settings::Settings;
use super::write_buffer::WriteBuffer;
use super::{Journal, Medium, MediumError};
use crate::console::log;
use crate::store::Resume;
use coldsquare_core::journal::{
    CELL, CellHeader, Content, Layout, LayoutError, PAYLOAD, frames, payload, retained,
};
use coldsquare_core::record::{EventKind, Record};

/// Why there is no journal to write to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MountError {
    /// The medium cannot be read, or refuses to be erased.
    Fault,
    /// Its first cell is not a layout that this firmware can use.
    Layout(LayoutError),
    /// It was prepared for a medium with another erase size.
    Segment,
}

impl From<MediumError> for MountError {
    fn from(_: MediumError) -> Self {
        Self::Fault
    }
}

impl core::fmt::Display for MountError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Fault => f.write_str("the journal's medium cannot be read or erased"),
            Self::Layout(error) => write!(f, "no journal to write to: {error}"),
            Self::Segment => f.write_str(
                "the journal was prepared for another kind of medium; prepare this one again",
            ),
        }
    }
}

impl core::error::Error for MountError {}

/// What a cell that cannot be read may hold, of what is written: a retained cell, and windows of a ring's cell besides.
const BYTES_IN_REFUSED: u64 = 2 * PAYLOAD as u64;
/// The same in records; the shortest has 13 bytes.
const RECORDS_IN_REFUSED: u32 = 2 * (PAYLOAD / 13) as u32;
/// The same in time, s: that many windows with the arc off.
const SECONDS_IN_REFUSED: f64 = RECORDS_IN_REFUSED as f64;

/// What the last records of a log say.
#[derive(Default)]
struct Last {
    /// Place and sequence number of the last one.
    newest: Option<(u64, u32)>,
    position: u64,
    beads: u32,
    starts: u32,
}

impl Last {
    fn cell_header(&mut self, cell_header: &CellHeader) {
        self.beads = self.beads.max(cell_header.beads);
        self.starts = self.starts.max(cell_header.starts);
    }

    fn frame(&mut self, offset: u64, frame: &[u8]) {
        let Some((sequence, record)) = decode_frame(frame) else {
            return;
        };
        self.newest = self.newest.max(Some((offset, sequence)));
        let position = match record {
            Record::Header(header) => header.start,
            Record::Window(window) => window.start.saturating_add(window.span()),
            Record::Marker(marker) => marker.position,
            Record::Bead(bead) => {
                self.beads = self.beads.max(bead.number);
                bead.start.saturating_add(bead.span())
            }
            Record::Event(event) => {
                if event.kind == EventKind::PowerOn {
                    let starts = u32::try_from(event.value).unwrap_or(u32::MAX);
                    self.starts = self.starts.max(starts);
                }
                event.position
            }
        };
        self.position = self.position.max(position);
    }
}

impl<M: Medium> Journal<M> {
    /// Prepares a medium: erases all of it and writes the layout. `journal` is a number that no earlier journal on this
    /// medium had; `retained_256ths` is the share of the retained log. Everything on the medium is lost; it takes as long
    /// as erasing it all.
    ///
    /// # Errors
    /// [`MountError`].
    pub fn prepare(
        medium: &mut M,
        journal: u32,
        retained_256ths: u8,
    ) -> Result<Layout, MountError> {
        let layout = Layout::divide(journal, medium.cells(), medium.segment(), retained_256ths)
            .map_err(MountError::Layout)?;
        // The first segment comes first: without it an earlier journal is no longer valid.
        for cell in (0..layout.cells()).step_by(layout.segment.max(1) as usize) {
            medium.erase(cell)?;
        }
        medium.write(0, &layout.to_cell())?;
        Ok(layout)
    }

    /// Opens the journal on a medium and finds its end. `docs/journal.md` says how many cells it reads at most. On a medium
    /// that must be erased before it is written, erases at most two segments.
    ///
    /// # Errors
    /// [`MountError`].
    pub fn mount(medium: M) -> Result<Self, MountError> {
        Self::mount_or_return(medium).map_err(|(why, _)| why)
    }

    /// The same, and gives the medium back if there is no journal on it now.
    ///
    /// # Errors
    /// [`MountError`], and the medium.
    pub fn mount_or_return(mut medium: M) -> Result<Self, (MountError, M)> {
        let found = match Found::on(&mut medium) {
            Ok(found) => found,
            Err(why) => return Err((why, medium)),
        };
        let mut journal = Self {
            log: WriteBuffer::new(found.areas[1], found.log_end.next),
            retained: WriteBuffer::new(found.areas[0], found.retained_end.next),
            medium,
            layout: found.layout,
            offset: 0,
            stored: 0,
            beads: 0,
            starts: 0,
            resume: Resume::default(),
            cache: CellCache::new(),
            settings: found.settings,
            last_log_read: None,
            last_retained_read: None,
            refused_read: (0, 0),
            left_from: u64::MAX,
            taken: None,
        };
        match journal.go_on_after(&found.retained_end, &found.log_end) {
            Ok(()) => Ok(journal),
            Err(why) => Err((why, journal.medium)),
        }
    }

    /// Continues where both areas end.
    fn go_on_after(&mut self, retained_end: &End, log_end: &End) -> Result<(), MountError> {
        self.resume_after(retained_end.last, log_end.last)?;
        self.leave_room_for(retained_end.refused.saturating_add(log_end.refused));
        log!(
            "journal {=u32}: {=u32} beads, continues at byte {=u64}",
            self.layout.journal,
            self.beads,
            self.offset
        );
        if M::MUST_ERASE {
            self.erase_after_end()?;
        }
        Ok(())
    }

    /// Erases one segment after the end of the ring, and one after the end of the retained log.
    fn erase_after_end(&mut self) -> Result<(), MountError> {
        // Blank cells after the last one in its segment were erased before it was written. Whether the erasing of any
        // other segment was finished is unknown.
        let segment = self.layout.segment;
        self.log.erased_to = self.log.next.next_multiple_of(segment);
        while self.log.erased_to < self.log.next.saturating_add(segment) {
            self.erase_ahead()?;
        }
        let WriteBuffer { next, .. } = self.retained;
        let cells = self.layout.retained().cells;
        self.retained.erased_to = next.next_multiple_of(segment);
        while self.retained.erased_to < next.saturating_add(segment).min(cells) {
            self.erase_ahead_retained()?;
        }
        Ok(())
    }

    /// Leaves room in the log for what cells hold that cannot be read now: if they can be read later, nothing else stands in
    /// their place, and until then the records count as missing.
    fn leave_room_for(&mut self, refused: u32) {
        let bytes = u64::from(refused).saturating_mul(BYTES_IN_REFUSED);
        self.left_from = self.offset;
        self.offset = self.offset.saturating_add(bytes);
        self.stored = self.offset;
        let records = refused.saturating_mul(RECORDS_IN_REFUSED);
        self.resume.sequence = self.resume.sequence.wrapping_add(records);
        let rate_hz =
            (self.settings.header()).map_or(0.0, |header| header.calibration.sample_rate_hz);
        let samples = f64::from(refused) * SECONDS_IN_REFUSED * rate_hz;
        self.resume.position = self.resume.position.saturating_add(samples as u64);
    }

    /// Continues where the last cells end.
    ///
    /// # Errors
    /// [`MediumError::Fault`] when a cell can no longer be read that could be read a moment ago.
    fn resume_after(
        &mut self,
        retained_last: Option<CellHeader>,
        log_last: Option<CellHeader>,
    ) -> Result<(), MediumError> {
        let mut last = Last::default();
        let mut retained_end = 0;
        let Self { medium, cache, .. } = self;
        if let Some(cell_header) = retained_last {
            let area = self.retained.area;
            let again = area.numbered(medium, cache, cell_header.number);
            let cell_header = again.ok_or(MediumError::Fault)?;
            last.cell_header(&cell_header);
            for (offset, frame) in retained(cell_header.offset, payload(&cell_header, &cache.bytes))
            {
                last.frame(offset, frame);
                retained_end = retained_end.max(offset.saturating_add(frame.len() as u64));
            }
        }
        let mut log_end = 0;
        if let Some(cell_header) = log_last {
            let again = (self.log.area).numbered(medium, cache, cell_header.number);
            let cell_header = again.ok_or(MediumError::Fault)?;
            last.cell_header(&cell_header);
            log_end = end_of(&cell_header);
            let mut offset = cell_header.offset;
            for frame in frames(payload(&cell_header, &cache.bytes)) {
                last.frame(offset, frame);
                offset = offset.saturating_add(frame.len() as u64);
            }
        }
        self.offset = retained_end.max(log_end);
        self.stored = self.offset;
        self.beads = last.beads;
        self.starts = last.starts;
        self.resume = Resume {
            position: last.position,
            sequence: last
                .newest
                .map_or(0, |(_, sequence)| sequence.wrapping_add(1)),
            beads: last.beads,
            starts: last.starts,
        };
        Ok(())
    }
}

/// What is found on a medium.
struct Found {
    layout: Layout,
    settings: Settings,
    /// The retained log, and the ring.
    areas: [Area; 2],
    retained_end: End,
    log_end: End,
}

impl Found {
    fn on<M: Medium>(medium: &mut M) -> Result<Self, MountError> {
        let layout = read_layout(medium)?;
        let mut settings = Settings::find(medium, &layout)?;
        settings.repair(medium, &layout);
        let journal = layout.journal.wrapping_add(settings.cleared());
        let area = |range, content| Area {
            range,
            content,
            journal,
        };
        let areas = [
            area(layout.retained(), Content::Retained),
            area(layout.ring(), Content::Log),
        ];
        let mut cache = CellCache::new();
        let [retained_end, log_end] = areas.map(|area| {
            if M::MUST_ERASE {
                area.end_by_segments(medium, &mut cache, layout.segment)
            } else {
                area.end(medium, &mut cache)
            }
        });
        let (retained_end, log_end) = (retained_end?, log_end?);
        // Of the last bead one of the two must tell.
        if retained_end.refused > 0 && log_end.refused > 0 {
            return Err(MountError::Fault);
        }
        Ok(Self {
            layout,
            settings,
            areas,
            retained_end,
            log_end,
        })
    }
}

/// The layout in the first cell of a medium.
fn read_layout<M: Medium>(medium: &mut M) -> Result<Layout, MountError> {
    let mut first = [0; CELL];
    if read_cell(medium, 0, &mut first) == Err(Unread::Refused) {
        return Err(MountError::Fault);
    }
    let layout = Layout::of_cell(&first, medium.cells()).map_err(MountError::Layout)?;
    if M::MUST_ERASE && layout.segment != medium.segment() {
        return Err(MountError::Segment);
    }
    Ok(layout)
}
