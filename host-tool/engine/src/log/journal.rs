//! A logger's own log: from record frames to records, and what was skipped.

use super::assemble::Parts;
use super::error::LogError;
use super::holes::SequenceGap;
use super::seal::Checker;
use coldsquare_core::record::{DecodeError, Entry, ReadCounts, Reader, Record};
use coldsquare_core::seal::SealNote;
use std::io::Read;
use std::path::Path;

/// Bytes read at a time.
const PIECE: usize = 1 << 16;

/// Places of damage that get a note each; more are only counted.
const MAX_DAMAGE_NOTES: usize = 5;

/// True when the first bytes of a file hold at least one whole frame, of this format or a newer one.
pub(super) fn looks_like_a_log(head: &[u8]) -> bool {
    let mut reader = Reader::new();
    let mut rest = head;
    while let Some(entry) = reader.next(&mut rest) {
        match entry {
            Entry::Record { .. } => return true,
            Entry::Damage { cause, .. } if is_whole(cause) => return true,
            Entry::Damage { .. } => {}
        }
    }
    matches!(reader.finish(), Some(Entry::Record { .. }))
}

/// True for a frame whose checksum held, whatever else is wrong with it.
const fn is_whole(cause: DecodeError) -> bool {
    !matches!(
        cause,
        DecodeError::TooShort | DecodeError::TooLong | DecodeError::Framing | DecodeError::Checksum
    )
}

/// Reads all records of a log, piece by piece: memory grows with the records, not with the damage.
pub(super) fn read(path: &Path, mut bytes: impl Read) -> Result<Parts, LogError> {
    let mut reader = Reader::new();
    let mut parts = Parts::default();
    let mut damage = Vec::new();
    let mut progress = Progress::default();
    let mut checker = Checker::default();
    let mut piece = vec![0; PIECE];
    loop {
        let length = bytes.read(&mut piece).map_err(LogError::file(path))?;
        if length == 0 {
            break;
        }
        let mut rest = &piece[..length];
        while let Some(entry) = reader.next(&mut rest) {
            progress.note(&entry, reader.counts(), &mut parts.gaps);
            checker.take(&entry);
            take(path, entry, &mut parts, &mut damage)?;
        }
    }
    if let Some(entry) = reader.finish() {
        progress.note(&entry, reader.counts(), &mut parts.gaps);
        checker.take(&entry);
        take(path, entry, &mut parts, &mut damage)?;
    }
    if progress.in_damage {
        // What came last is damaged: how much more there was nobody knows.
        parts.gaps.push(SequenceGap {
            from: progress.position,
            until: progress.position,
            records: 1,
        });
    }
    parts.report.tally = *reader.counts();
    parts.report.notes = notes(&parts, damage);
    parts.seal = checker.finish();
    Ok(parts)
}

/// How far a log has been read.
#[derive(Default)]
struct Progress {
    /// The last position that any record has reached.
    position: u64,
    /// Records missing so far.
    missing: u64,
    /// The last entry was damage.
    in_damage: bool,
}

impl Progress {
    /// Notes a gap in the record numbers before this entry.
    fn note(&mut self, entry: &Entry, counts: &ReadCounts, gaps: &mut Vec<SequenceGap>) {
        self.in_damage = matches!(entry, Entry::Damage { .. });
        let Entry::Record { record, .. } = entry else {
            return;
        };
        let (from, until) = span(record);
        let missing = counts.missing + counts.missing_before;
        if missing > self.missing {
            gaps.push(SequenceGap {
                from: self.position,
                until: from.max(self.position),
                records: missing - self.missing,
            });
        }
        self.missing = missing;
        self.position = self.position.max(until);
    }
}

/// The positions that a record is about.
fn span(record: &Record) -> (u64, u64) {
    match record {
        Record::Header(header) => (header.start, header.start),
        // It is written once it is over, so it says that the log had come this far.
        Record::Bead(bead) => (bead.start + bead.span(), bead.start + bead.span()),
        Record::Window(window) => (window.start, window.start + window.span()),
        Record::Marker(marker) => (marker.position, marker.position),
        Record::Event(event) => (event.position, event.position),
    }
}

fn take(
    path: &Path,
    entry: Entry,
    parts: &mut Parts,
    damage: &mut Vec<String>,
) -> Result<(), LogError> {
    match entry {
        Entry::Record { record, .. } => match record {
            Record::Header(header) => parts.headers.push(header),
            Record::Bead(bead) => parts.beads.push(bead),
            Record::Window(window) => parts.keep_window(window),
            // The seal's own notes say nothing about welds.
            Record::Marker(marker) if SealNote::of(&marker).is_some() => {}
            Record::Marker(marker) => parts.markers.push(marker),
            Record::Event(event) => parts.events.push(event),
        },
        Entry::Damage {
            cause: DecodeError::NewerVersion { found },
            ..
        } => {
            return Err(LogError::NewerVersion {
                path: path.to_owned(),
                found,
            });
        }
        Entry::Damage {
            offset,
            bytes,
            cause,
        } if damage.len() < MAX_DAMAGE_NOTES => {
            damage.push(format!("byte {offset}: {bytes} bytes skipped, {cause}"));
        }
        Entry::Damage { .. } => {}
    }
    Ok(())
}

fn notes(parts: &Parts, damage: Vec<String>) -> Vec<String> {
    let tally = &parts.report.tally;
    let mut notes = Vec::new();
    let mut note = |count: u64, one: &str, many: &str| {
        if count > 0 {
            notes.push(if count == 1 {
                format!("1 {one}")
            } else {
                format!("{count} {many}")
            });
        }
    };
    note(
        tally.missing,
        "record is missing inside the log",
        "records are missing inside the log",
    );
    note(
        tally.missing_before,
        "record is missing before the first",
        "records are missing before the first",
    );
    note(
        tally.restarted,
        "restart of the record numbers: two logs in one file?",
        "restarts of the record numbers: several logs in one file?",
    );
    note(
        tally.repeated,
        "record was there twice and counts once",
        "records were there twice and count once",
    );
    if tally.torn_tail > 0 {
        notes.push(format!(
            "the last {} bytes are not a whole record: power failed while they were written",
            tally.torn_tail
        ));
    }
    notes.extend(damage);
    notes
}

#[cfg(test)]
mod tests;
