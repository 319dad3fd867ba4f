//! Checks the seals of a log as its records are read.

use super::end::{End, frame};
use super::{Records, Seal, Verdict};
use coldsquare_core::record::{Entry, Marker, Record};
use coldsquare_core::seal::{SealNote, Section, is_signed_by};

/// Takes all records of a log in their order.
#[derive(Default)]
pub struct Checker {
    /// What is sealed since the last start; none before a key and after the numbers went back.
    run: Option<Run>,
    /// A key whose log number must be the next record.
    key: Option<([u8; 32], u32, Vec<u8>)>,
    /// Number of the record before.
    last: Option<u32>,
    /// Records since the last seal that holds.
    open: Option<Open>,
    /// Logs met so far: key and number.
    logs: Vec<([u8; 32], [u8; 32])>,
    /// Something between the last record and this one could not be read.
    damaged: bool,
    /// A window was met, so none that comes later made room.
    has_windows: bool,
    sealed: Option<(u32, bool)>,
    /// The first place that is broken, and whether records are missing there.
    first_broken: Option<(Records, bool)>,
    seal: Seal,
}

/// Records since a seal.
#[derive(Clone, Copy)]
struct Open {
    records: Records,
    count: u64,
    /// Nothing but windows with the arc off.
    idle: bool,
    /// From the first window to the last.
    windows: Option<Records>,
    /// What is missing among them, and how many of them nothing explains.
    missing: Option<Missing>,
    unexplained: u64,
}

/// Records that are missing by their numbers.
#[derive(Clone, Copy)]
struct Missing {
    records: Records,
    /// Nothing before them could not be read, and no window came before: they may be windows that made room.
    made_room: bool,
}

/// A start of a logger that seals.
struct Run {
    key: [u8; 32],
    log: [u8; 32],
    section: Section,
    /// Numbers of the records of the section but its windows.
    kept: Vec<u32>,
    /// A seal that has begun.
    end: Option<End>,
}

impl Run {
    fn take(&mut self, number: u32, record: &Record, frame: &[u8]) {
        self.section.take(record, frame);
        if !matches!(record, Record::Window(_)) {
            self.kept.push(number);
        }
    }
}

impl Checker {
    /// Takes what a reader found.
    pub fn take(&mut self, entry: &Entry) {
        match entry {
            Entry::Damage { .. } => self.damaged = true,
            Entry::Record { sequence, record } => self.record(*sequence, record),
        }
    }

    /// What the seals say.
    pub fn finish(mut self) -> Seal {
        if self.seal.keys.is_empty() {
            // Seals whose beginning was taken out are told; without any there is none.
            self.seal.verdict = self
                .first_broken
                .map_or(Verdict::NotSealed, |(at, missing)| Verdict::Broken {
                    at,
                    missing,
                });
            return self.seal;
        }
        let open = self.open.take();
        let idle = open.is_none_or(|open| open.idle && open.missing.is_none());
        self.seal.verdict = match (self.first_broken, self.sealed) {
            (Some((at, missing)), _) => Verdict::Broken { at, missing },
            (None, None) => Verdict::NotSealed,
            (None, Some((_, true))) if idle && !self.damaged => Verdict::Sealed,
            (None, Some((record, _))) => Verdict::UpTo {
                record,
                rest: open.map_or(0, |open| open.count),
            },
        };
        self.seal
    }

    fn record(&mut self, number: u32, record: &Record) {
        let note = match record {
            Record::Marker(marker) => SealNote::of(marker).map(|note| (note, marker)),
            _ => None,
        };
        let is_key = matches!(note, Some((SealNote::Key(_), _)));
        let missing = self.missing_before(number, is_key);
        if is_key {
            self.end_run(missing);
        }
        self.count(number, record, missing.filter(|_| !is_key));
        let frame = frame(number, record);
        match note {
            Some((SealNote::Key(key), _)) => self.key = Some((key, number, frame)),
            Some((SealNote::Log(log), _)) if self.key.is_some() => {
                self.begin_run(number, log, record, &frame);
            }
            Some((note, marker)) => self.note(number, note, marker, record, &frame),
            None => {
                self.key = None;
                if let Some(run) = &mut self.run {
                    run.take(number, record, &frame);
                }
            }
        }
        self.has_windows |= matches!(record, Record::Window(_));
        self.last = Some(number);
        self.damaged = false;
    }

    /// Records that are missing before this one. A number that goes back belongs to another log, or stands where it does
    /// not belong.
    fn missing_before(&mut self, number: u32, is_key: bool) -> Option<Missing> {
        let expected = self.last.map_or(0, |last| last.wrapping_add(1));
        let ahead = number.wrapping_sub(expected);
        if ahead >= 0x8000_0000 && !self.seal.keys.is_empty() && !(is_key && number == 0) {
            self.broken(Records::one(number), false);
        }
        (1..0x8000_0000).contains(&ahead).then(|| Missing {
            records: Records {
                first: expected,
                last: number.wrapping_sub(1),
            },
            made_room: !self.damaged && !self.has_windows,
        })
    }

    /// A key begins another run: the records since the last seal of the one before have none.
    fn end_run(&mut self, missing: Option<Missing>) {
        (self.run, self.key) = (None, None);
        let open = self.open.take();
        let unsealed = open.map(|open| open.records);
        let missing = missing.map(|missing| missing.records);
        self.seal
            .between
            .extend(unsealed.into_iter().chain(missing));
    }

    /// Counts a record among those without a seal, and the missing ones before it.
    fn count(&mut self, number: u32, record: &Record, missing: Option<Missing>) {
        let open = self.open.get_or_insert(Open {
            records: Records::one(number),
            count: 0,
            idle: true,
            windows: None,
            missing: None,
            unexplained: 0,
        });
        open.records.last = number;
        open.count += 1;
        if let Record::Window(window) = record {
            let windows = open.windows.get_or_insert(Records::one(number));
            windows.last = number;
            open.idle &= !window.arc_on;
        } else {
            open.idle = false;
        }
        if let Some(found) = missing {
            let count = u64::from(found.records.last - found.records.first) + 1;
            if found.made_room {
                self.seal.made_room += count;
            } else {
                open.unexplained += count;
            }
            // The first is named, but one that nothing explains before all others.
            if open
                .missing
                .is_none_or(|first| first.made_room && !found.made_room)
            {
                open.missing = Some(found);
            }
        }
    }

    fn begin_run(&mut self, number: u32, log: [u8; 32], record: &Record, frame: &[u8]) {
        let Some((key, at, key_frame)) = self.key.take() else {
            return;
        };
        let is_next = number == at.wrapping_add(1);
        // A log keeps its number; one that begins at record 0 is another one.
        let misplaced = match self.logs.last() {
            Some(last) if last.0 == key && at != 0 => last.1 != log,
            Some(_) if at == 0 => self.logs.contains(&(key, log)),
            _ => false,
        };
        if !is_next || misplaced {
            let (first, last) = (at, number);
            self.broken(Records { first, last }, false);
        }
        if !self.seal.keys.contains(&key) {
            self.seal.keys.push(key);
        }
        self.logs.push((key, log));
        let mut run = Run {
            key,
            log,
            section: Section::begin(&key, &log, &[0; 64]),
            kept: Vec::new(),
            end: None,
        };
        // Both notes are markers, which is all that matters for the sum.
        run.take(at, record, &key_frame);
        run.take(number, record, frame);
        self.run = Some(run);
    }

    /// A note that belongs to a seal.
    fn note(
        &mut self,
        number: u32,
        note: SealNote,
        marker: &Marker,
        record: &Record,
        frame: &[u8],
    ) {
        let Some(run) = &mut self.run else {
            // A seal without the key that begins its run: the beginning was taken out.
            let missing = self.open.and_then(|open| open.missing);
            let at = missing.map_or(Records::one(number), |missing| missing.records);
            self.broken(at, missing.is_some());
            return;
        };
        match note {
            SealNote::Short(told) => {
                run.end = Some(End::begin(
                    run.section.clone(),
                    number,
                    marker.position,
                    told,
                ));
                run.take(number, record, frame);
            }
            SealNote::Seal(windows) | SealNote::LastSeal(windows) => {
                let is_last = matches!(note, SealNote::LastSeal(_));
                run.take(number, record, frame);
                if let Some(end) = &mut run.end {
                    end.windows(number, marker.position, (windows, is_last));
                }
            }
            SealNote::FirstHalf(half) => {
                if let Some(end) = &mut run.end {
                    end.first_half(number, marker.position, half);
                }
            }
            SealNote::SecondHalf(half) => self.sealed(number, &half, marker.position),
            SealNote::Key(_) | SealNote::Log(_) => run.take(number, record, frame),
        }
    }

    /// The last note of a seal: checks it, and begins the next section.
    fn sealed(&mut self, number: u32, second: &[u8; 32], position: u64) {
        let Some(run) = &mut self.run else { return };
        let end = run.end.take();
        let signature = End::signature(end.as_ref(), second);
        let next = Section::begin(&run.key, &run.log, &signature);
        let section = std::mem::replace(&mut run.section, next);
        let kept = std::mem::take(&mut run.kept);
        let Some(open) = self.open.take() else { return };
        let signed = |sum: &[u8; 32]| is_signed_by(&run.key, sum, &signature);
        let is_whole = |end: &&End| end.is_whole(number, position);
        let holds = end
            .as_ref()
            .filter(is_whole)
            .filter(|_| signed(&section.sum()));
        match (holds, open.missing) {
            (Some(end), None) if end.windows_agree() => {
                self.sealed = Some((number, end.is_last()));
            }
            // The signature is over everything but windows, so it is windows that are missing: they made room, or a place of the
            // store was lost, or power was cut while they were stored. Those that are left of this section have no seal of their own.
            (Some(end), Some(missing)) => {
                self.seal.between.extend(open.windows);
                self.sealed = Some((number, end.is_last()));
                if !missing.made_room {
                    let lost = self.seal.lost.get_or_insert((missing.records, 0));
                    lost.1 += open.unexplained;
                }
            }
            (None, Some(missing)) => self.broken(missing.records, true),
            (_, None) => {
                let at = end.and_then(|end| end.changed(&kept, open.windows, number, signed));
                self.broken(at.unwrap_or(open.records), false);
            }
        }
    }

    fn broken(&mut self, at: Records, missing: bool) {
        self.first_broken.get_or_insert((at, missing));
    }
}

#[cfg(test)]
mod tests;
