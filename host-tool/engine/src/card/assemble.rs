//! From cells in any order to a log in the order of its offsets.

use coldsquare_core::journal::{
    CellBytes, CellError, CellHeader, Content, Layout, frames, open, open_mending, payload,
    retained,
};
use std::collections::BTreeMap;

/// A log that was assembled from a journal.
#[derive(Clone, Debug, Default)]
pub struct CardLog {
    /// The log, in the format of `docs/log-format.md`.
    pub bytes: Vec<u8>,
    /// Notes on the journal, a sentence each.
    pub notes: Vec<String>,
}

/// The contents of the cells of a journal.
pub(super) struct Cells {
    layout: Layout,
    /// Number of the latest settings, and how often the journal had been erased before them.
    settings: Option<(u32, u32)>,
    /// The logs, by how often the journal had been erased before each. The last one is current.
    logs: BTreeMap<u32, Pieces>,
    damaged: u64,
    /// Cells in which a flipped bit was set right.
    mended: u64,
}

/// The pieces of one log.
#[derive(Default)]
struct Pieces {
    /// Pieces of the log by their offsets, each with the number of its cell.
    log: BTreeMap<u64, (u32, Vec<u8>)>,
    /// Records that are never overwritten, by their offsets.
    kept: BTreeMap<u64, Vec<u8>>,
    oldest: Option<u32>,
}

impl Cells {
    pub fn new(layout: Layout) -> Self {
        Self {
            layout,
            settings: None,
            logs: BTreeMap::new(),
            damaged: 0,
            mended: 0,
        }
    }

    /// Adds the next cell.
    pub fn add(&mut self, cell: &CellBytes) {
        match open(cell) {
            Ok(head) => self.add_whole(&head, cell),
            Err(CellError::Blank) => {}
            Err(CellError::Damaged | CellError::Newer { .. }) => {
                let mut cell = *cell;
                if let Ok(head) = open_mending(&mut cell) {
                    self.mended += 1;
                    self.add_whole(&head, &cell);
                } else {
                    self.damaged += 1;
                }
            }
        }
    }

    fn add_whole(&mut self, head: &CellHeader, cell: &CellBytes) {
        // Anything else is left over from an earlier journal.
        if let Some(cleared) = self.layout.cleared(head.journal) {
            self.sort_in(head, cleared, payload(head, cell));
        }
    }

    fn sort_in(&mut self, head: &CellHeader, cleared: u32, bytes: &[u8]) {
        match head.content {
            Content::Log | Content::Retained => {
                self.logs.entry(cleared).or_default().sort_in(head, bytes);
            }
            Content::Settings => {
                self.settings = self.settings.max(Some((head.number, cleared)));
            }
            Content::Layout => {}
        }
    }

    /// All records of the current log, each once, in the order in which they were written.
    pub fn into_log(mut self) -> CardLog {
        // Nothing is logged under a number that is not in force, so the settings may be lost.
        let logged = self
            .logs
            .last_key_value()
            .map_or(0, |(cleared, _)| *cleared);
        let cleared = self.settings.map_or(0, |(_, cleared)| cleared).max(logged);
        let pieces = self.logs.remove(&cleared).unwrap_or_default();
        let mut log = pieces.into_log();
        if self.mended > 0 {
            log.notes.push(format!(
                "{} on the card had a flipped bit, which was set right; make a new card before this one gets worse",
                crate::format::count(self.mended as usize, "cell")
            ));
        }
        if self.damaged > 0 {
            log.notes.push(format!(
                "{} cells of the card are damaged; if power was lost, the last one written before that can be",
                self.damaged
            ));
        }
        log
    }
}

impl Pieces {
    fn sort_in(&mut self, head: &CellHeader, bytes: &[u8]) {
        match head.content {
            Content::Log => {
                let oldest = self.oldest.get_or_insert(head.number);
                *oldest = head.number.min(*oldest);
                // Of two at one offset, the later contains the earlier, whose write was reported as failed.
                let here = self.log.entry(head.offset).or_default();
                if here.1.is_empty() || here.0 <= head.number {
                    *here = (head.number, bytes.to_vec());
                }
            }
            Content::Retained => {
                for (place, frame) in retained(head.offset, bytes) {
                    self.kept.insert(place, frame.to_vec());
                }
            }
            Content::Layout | Content::Settings => {}
        }
    }

    fn into_log(self) -> CardLog {
        let mut bytes = Vec::new();
        let mut end = 0;
        let mut kept = self.kept.into_iter().peekable();
        let mut put = |place: u64, frame: &[u8]| {
            if place >= end {
                bytes.extend_from_slice(frame);
                end = place + frame.len() as u64;
            }
        };
        for (place, (_, piece)) in &self.log {
            while let Some((before, frame)) = kept.next_if(|(before, _)| before < place) {
                put(before, &frame);
            }
            let mut at = *place;
            for frame in frames(piece) {
                put(at, frame);
                at += frame.len() as u64;
            }
            // Copies of the same records.
            while kept.next_if(|(copy, _)| *copy < at).is_some() {}
        }
        for (place, frame) in kept {
            put(place, &frame);
        }
        let mut notes = Vec::new();
        if self.oldest.is_some_and(|oldest| oldest > 0) {
            notes.push(
                "the card was full, so new windows replaced the oldest; headers, beads, markers and events are complete"
                    .into(),
            );
        }
        CardLog { bytes, notes }
    }
}
