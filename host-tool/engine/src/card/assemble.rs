//! Cells in any order to a log in the order of its places.

use super::CardLog;
use coldsquare_core::journal::{
    CellBytes, Content, Head, Layout, Unsound, frames, kept, open, payload,
};
use std::collections::BTreeMap;

/// What was found in the cells of a journal.
pub(super) struct Cells {
    layout: Layout,
    /// Number of the settings that were written last, and how often the journal had been emptied by then.
    settings: Option<(u32, u32)>,
    /// The logs, by how often the journal had been emptied before each. The last one is in force.
    logs: BTreeMap<u32, Pieces>,
    damaged: u64,
}

/// What was found of one log.
#[derive(Default)]
struct Pieces {
    /// Pieces of the log by their places, each with the number of its cell.
    log: BTreeMap<u64, (u32, Vec<u8>)>,
    /// Records that stay, by their places.
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
        }
    }

    /// Takes the next cell.
    pub fn take(&mut self, cell: &CellBytes) {
        match open(cell) {
            Ok(head) => {
                // All else is what an earlier journal left.
                if let Some(cleared) = self.layout.cleared(head.journal) {
                    self.sort_in(&head, cleared, payload(&head, cell));
                }
            }
            Err(Unsound::Blank) => {}
            Err(Unsound::Damaged | Unsound::Newer { .. }) => self.damaged += 1,
        }
    }

    fn sort_in(&mut self, head: &Head, cleared: u32, bytes: &[u8]) {
        match head.content {
            Content::Log | Content::Kept => {
                self.logs.entry(cleared).or_default().sort_in(head, bytes);
            }
            Content::Settings => {
                self.settings = self.settings.max(Some((head.number, cleared)));
            }
            Content::Layout => {}
        }
    }

    /// All records of the log in force, each once, in the order in which they were written.
    pub fn into_log(mut self) -> CardLog {
        let cleared = self.settings.map_or(0, |(_, cleared)| cleared);
        let pieces = self.logs.remove(&cleared).unwrap_or_default();
        let mut log = pieces.into_log();
        if self.damaged > 0 {
            log.notes.push(format!(
                "{} cells of the card are torn or soiled; the last one written before a loss of power may be",
                self.damaged
            ));
        }
        log
    }
}

impl Pieces {
    fn sort_in(&mut self, head: &Head, bytes: &[u8]) {
        match head.content {
            Content::Log => {
                let oldest = self.oldest.get_or_insert(head.number);
                *oldest = head.number.min(*oldest);
                // Of two with one place, the later has all that the earlier has: its write was reported as failed.
                let here = self.log.entry(head.place).or_default();
                if here.1.is_empty() || here.0 <= head.number {
                    *here = (head.number, bytes.to_vec());
                }
            }
            Content::Kept => {
                for (place, frame) in kept(head.place, bytes) {
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
            // The same records once more.
            while kept.next_if(|(copy, _)| *copy < at).is_some() {}
        }
        for (place, frame) in kept {
            put(place, &frame);
        }
        let mut notes = Vec::new();
        if self.oldest.is_some_and(|oldest| oldest > 0) {
            notes.push(
                "the card had no room left for windows, so its oldest made room for new ones; headers, beads, markers \
                 and events are all there"
                    .into(),
            );
        }
        CardLog { bytes, notes }
    }
}
