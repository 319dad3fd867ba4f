//! Finding the end of a journal after power has come on.

use super::search::{self, Desk, Region};
use super::settings::Settings;
use super::{Journal, Medium, Refusal, Tail, read};
use crate::console::log;
use crate::logger::Resume;
use coldsquare_core::journal::{CELL, Content, Head, Layout, LayoutError, frames, kept, payload};
use coldsquare_core::record::{EventKind, Record};

/// Why there is no journal to write to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MountError {
    /// The medium cannot be read, or refuses to be erased.
    Fault,
    /// Its first cell is none that this program can use.
    Layout(LayoutError),
    /// It was prepared for a medium that erases other pieces.
    Segment,
}

impl From<Refusal> for MountError {
    fn from(_: Refusal) -> Self {
        Self::Fault
    }
}

impl core::fmt::Display for MountError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Fault => f.write_str("the journal's medium cannot be read or erased"),
            Self::Layout(error) => write!(f, "no journal to write to: {error}"),
            Self::Segment => f.write_str(
                "the journal was prepared for another kind of medium; prepare this one anew",
            ),
        }
    }
}

impl core::error::Error for MountError {}

/// Most cells that [`Journal::mount`] reads.
#[must_use]
pub fn max_reads<M: Medium>(layout: &Layout) -> u32 {
    let (kept, ring) = (layout.kept().cells, layout.ring().cells);
    // The first cell, the two of the settings, and the last two once more.
    5 + if M::MUST_ERASE {
        // And what is erased of the kept area is looked at first.
        kept + ring + 4 * layout.segment
    } else {
        search::max_reads(kept) + search::max_reads(ring)
    }
}

/// What the last records say.
#[derive(Default)]
struct Last {
    /// Place and sequence number of the last one.
    newest: Option<(u64, u32)>,
    position: u64,
    beads: u32,
    starts: u32,
}

impl Last {
    fn head(&mut self, head: &Head) {
        self.beads = self.beads.max(head.beads);
        self.starts = self.starts.max(head.starts);
    }

    fn frame(&mut self, place: u64, frame: &[u8]) {
        let Some((sequence, record)) = read(frame) else {
            return;
        };
        if self.newest.is_none_or(|(newest, _)| place > newest) {
            self.newest = Some((place, sequence));
        }
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
    /// Prepares a medium: makes all of it blank and writes what lies where. `journal` is a number that no earlier
    /// journal on the same medium had; `kept_256ths` is the share of the kept area. Everything on it is lost; takes as
    /// long as erasing all of it.
    ///
    /// # Errors
    /// [`MountError`].
    pub fn prepare(medium: &mut M, journal: u32, kept_256ths: u8) -> Result<Layout, MountError> {
        let layout = Layout::divide(journal, medium.cells(), medium.segment(), kept_256ths)
            .map_err(MountError::Layout)?;
        // The first cell's segment comes first: what is left of an earlier journal has no beginning from then on.
        for cell in (0..layout.cells()).step_by(layout.segment.max(1) as usize) {
            medium.erase(cell)?;
        }
        medium.write(0, &layout.to_cell())?;
        Ok(layout)
    }

    /// Opens what is on a medium and finds its end. Reads at most [`max_reads`] cells; where cells must be erased
    /// before they are written, erases at most two segments.
    ///
    /// # Errors
    /// [`MountError`].
    pub fn mount(mut medium: M) -> Result<Self, MountError> {
        let mut first = [0; CELL];
        medium.read(0, &mut first)?;
        let layout = Layout::of_cell(&first, medium.cells()).map_err(MountError::Layout)?;
        if M::MUST_ERASE && layout.segment != medium.segment() {
            return Err(MountError::Segment);
        }
        let settings = Settings::find(&mut medium, &layout);
        let region = |area, content| Region {
            area,
            content,
            journal: layout.journal.wrapping_add(settings.cleared()),
        };
        let kept_region = region(layout.kept(), Content::Kept);
        let log_region = region(layout.ring(), Content::Log);
        let mut desk = Desk::new();
        let mut end = |region: &Region| {
            if M::MUST_ERASE {
                region.last_by_segments(&mut medium, &mut desk, layout.segment)
            } else {
                region.last(&mut medium, &mut desk)
            }
        };
        let (kept_last, log_last) = (end(&kept_region), end(&log_region));
        let next = |last: Option<Head>| last.map_or(0, |head| head.number.saturating_add(1));
        let mut journal = Self {
            log: Tail::new(log_region, next(log_last)),
            kept: Tail::new(kept_region, next(kept_last)),
            medium,
            layout,
            place: 0,
            stored: 0,
            beads: 0,
            starts: 0,
            resume: Resume::default(),
            desk,
            settings,
            near_log: None,
            near_kept: None,
        };
        journal.take_up(kept_last, log_last);
        log!(
            "journal {=u32}: {=u32} beads, goes on at byte {=u64}",
            journal.layout.journal,
            journal.beads,
            journal.place
        );
        if M::MUST_ERASE {
            // What is blank behind the last cell was erased before that was written; of any other segment nobody knows
            // whether its erasing was finished.
            let segment = journal.layout.segment;
            journal.log.ready = journal.log.next.next_multiple_of(segment);
            while journal.log.ready < journal.log.next.saturating_add(segment) {
                journal.ready_log()?;
            }
            let Tail { next, .. } = journal.kept;
            let kept = journal.layout.kept().cells;
            journal.kept.ready = next.next_multiple_of(segment);
            while journal.kept.ready < next.saturating_add(segment).min(kept) {
                journal.ready_kept()?;
            }
        }
        Ok(journal)
    }

    /// Goes on where the last cells end.
    fn take_up(&mut self, kept_last: Option<Head>, log_last: Option<Head>) {
        let mut last = Last::default();
        let mut kept_end = 0;
        let Self { medium, desk, .. } = self;
        if let Some(head) = kept_last
            && let Some(head) = self.kept.region.numbered(medium, desk, head.number)
        {
            last.head(&head);
            for (place, frame) in kept(head.place, payload(&head, &desk.bytes)) {
                last.frame(place, frame);
                kept_end = place.saturating_add(frame.len() as u64);
            }
        }
        let mut log_end = 0;
        if let Some(head) = log_last
            && let Some(head) = self.log.region.numbered(medium, desk, head.number)
        {
            last.head(&head);
            let mut place = head.place;
            for frame in frames(payload(&head, &desk.bytes)) {
                last.frame(place, frame);
                place = place.saturating_add(frame.len() as u64);
            }
            log_end = place;
        }
        self.place = kept_end.max(log_end);
        self.stored = self.place;
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
    }
}
