//! The end of a section: the notes that make its seal, and where a section was changed whose signature does not hold.

use super::Records;
use coldsquare_core::record::{MAX_FRAME, Record, encode};
use coldsquare_core::seal::{SealNote, Section, ShortSums};

/// More short sums than this do not agree after records were put in or taken out: then no single one is to blame.
const MOST_CHANGED: usize = 2;

/// The notes of a seal so far.
pub struct End {
    /// The section before its first note.
    before: Section,
    /// Number and position of the first note.
    number: u32,
    position: u64,
    short: [u8; 32],
    windows: Option<([u8; 32], bool)>,
    first: Option<[u8; 32]>,
}

impl End {
    /// Begins with the short sums, record `number`.
    pub fn begin(before: Section, number: u32, position: u64, short: [u8; 32]) -> Self {
        Self {
            before,
            number,
            position,
            short,
            windows: None,
            first: None,
        }
    }

    /// The sum of the windows, and whether the logger said that this seal is the last.
    pub fn windows(&mut self, number: u32, position: u64, told: ([u8; 32], bool)) {
        if self.follows(1, number, position) {
            self.windows = Some(told);
        }
    }

    /// The first half of the signature.
    pub fn first_half(&mut self, number: u32, position: u64, half: [u8; 32]) {
        if self.follows(2, number, position) {
            self.first = Some(half);
        }
    }

    /// The signature with this second half; without a first, zeros stand for it.
    pub fn signature(end: Option<&Self>, second: &[u8; 32]) -> [u8; 64] {
        let first = end.and_then(|end| end.first).unwrap_or_default();
        let mut signature = [0; 64];
        signature[..32].copy_from_slice(&first);
        signature[32..].copy_from_slice(second);
        signature
    }

    /// Whether all four notes are there, one after the other, and this is where the last one is.
    pub fn is_whole(&self, number: u32, position: u64) -> bool {
        self.windows.is_some() && self.first.is_some() && self.follows(3, number, position)
    }

    /// Whether the windows are those that were sealed.
    pub fn windows_agree(&self) -> bool {
        self.windows
            .is_some_and(|(sum, _)| sum == self.before.windows())
    }

    /// Whether the logger said that the log ends here.
    pub fn is_last(&self) -> bool {
        self.windows.is_some_and(|(_, is_last)| is_last)
    }

    /// What was changed, in a section whose signature does not hold or whose windows do not agree; `None` if records
    /// were put in or taken out. `signed` says whether the signature, which ends with record `last`, is one of a sum.
    pub fn changed(
        &self,
        kept: &[u32],
        windows: Option<Records>,
        last: u32,
        signed: impl Fn(&[u8; 32]) -> bool,
    ) -> Option<Records> {
        let short = self.before.short().bytes();
        let note = |sum| match self.is_last() {
            true => SealNote::LastSeal(sum),
            false => SealNote::Seal(sum),
        };
        // With one of the two notes as it must be: if the signature holds then, it was that note.
        if let Some((told, _)) = self.windows {
            if short != self.short && signed(&self.sum(SealNote::Short(short), note(told))) {
                return Some(Records::one(self.number));
            }
            let sum = self.before.windows();
            if told != sum && signed(&self.sum(SealNote::Short(self.short), note(sum))) {
                return Some(Records::one(self.number.wrapping_add(1)));
            }
        }
        let differ: Vec<usize> = (0..ShortSums::COUNT)
            .filter(|at| short[2 * at..2 * at + 2] != self.short[2 * at..2 * at + 2])
            .collect();
        match differ.len() {
            0 if self.windows.is_some() && !self.windows_agree() => windows,
            // All that the seal is over is as it was, so it is the seal itself.
            0 => Some(Records {
                first: self.number,
                last,
            }),
            1..=MOST_CHANGED => {
                // The notes of the seal come after the records that the short sums are over.
                let records = kept.iter().take_while(|number| **number != self.number);
                let mut changed = records
                    .enumerate()
                    .filter(|(at, _)| differ.contains(&(at % ShortSums::COUNT)))
                    .map(|(_, number)| *number);
                let first = changed.next()?;
                let last = changed.last().unwrap_or(first);
                Some(Records { first, last })
            }
            _ => None,
        }
    }

    /// The sum that was signed if these were the first two notes.
    fn sum(&self, short: SealNote, windows: SealNote) -> [u8; 32] {
        let mut section = self.before.clone();
        for (number, note) in (self.number..).zip([short, windows]) {
            let record = Record::Marker(note.at(self.position));
            section.take(&record, &frame(number, &record));
        }
        section.sum()
    }

    fn follows(&self, by: u32, number: u32, position: u64) -> bool {
        number == self.number.wrapping_add(by) && position == self.position
    }
}

/// The frame of a record: there is only one way to write it.
pub fn frame(number: u32, record: &Record) -> Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(number, record, &mut frame).unwrap_or(0);
    frame[..length].to_vec()
}
