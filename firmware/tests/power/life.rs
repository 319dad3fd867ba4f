//! One journal's life: written, cut off, mounted and read again, beside an exact memory of what it was told.

use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::record::{
    ArcCounts, Event, EventKind, Header, MAX_FRAME, Marker, MarkerKind, Record, encode,
};
use coldsquare_core::samples::{MAX_COUNT, RawPair, WindowSums};
use coldsquare_firmware::journal::{Journal, Medium};
use coldsquare_firmware::sim::{Power, Random};
use coldsquare_firmware::store::{Store, StoreError};
use most_reads::most_reads;

#[path = "most_reads.rs"]
mod most_reads;

/// A medium whose plug can be pulled.
pub trait Plugged: Medium {
    fn power(&mut self) -> &mut Power;
    /// Cells read so far.
    fn reads(&mut self) -> u64;
    /// From now on an erase is a fault of the journal.
    fn arc(&mut self, burns: bool);
    /// From now on everything is answered, or as much is refused as this medium refuses.
    fn answers(&mut self, _all: bool) {}
    /// Time passes without power.
    fn ages(&mut self, _random: &mut dyn Chance) {}
}

/// What decides what happens next.
pub trait Chance {
    /// A whole number from 0 up to, but not including, `count`.
    fn below(&mut self, count: u32) -> u32;
}

impl Chance for Random {
    fn below(&mut self, count: u32) -> u32 {
        Self::below(self, count)
    }
}

/// What lives went through, for a test to see that it tested something.
#[derive(Clone, Copy, Debug, Default)]
pub struct Tally {
    pub cuts: u64,
    pub starts: u64,
    pub beads: u64,
    pub windows_dropped: u64,
    pub full: u64,
    pub cleared: u64,
    pub cut_while_cleared: u64,
    pub waited: u64,
    pub max_reads: u64,
}

/// A record that was taken.
struct Sent {
    place: u64,
    frame: Vec<u8>,
    is_window: bool,
    /// A sync said so.
    acknowledged: bool,
    sequence: u32,
    bead: u32,
}

/// What the journal was told, and what it said.
#[derive(Default)]
struct Memory {
    sent: Vec<Sent>,
    end: u64,
    sequence: u32,
    bead: u32,
    position: u64,
    starts: u32,
    /// Date of the calibration that was sent last, and of the last that was acknowledged.
    calibrated: u64,
    calibration_kept: u64,
    /// Times that it was emptied, and whether it was asked for once more and nobody knows what came of it.
    cleared: u32,
    clearing: bool,
}

impl Memory {
    fn append(&mut self, store: &mut impl Store, record: &Record) -> Result<(), StoreError> {
        let mut frame = [0; MAX_FRAME];
        let length = encode(self.sequence, record, &mut frame).expect("values in range");
        let frame = frame[..length].to_vec();
        let sequence = self.sequence;
        self.sequence += 1;
        store.append(&frame)?;
        self.sent.push(Sent {
            place: self.end,
            is_window: matches!(record, Record::Window(_)),
            acknowledged: false,
            sequence,
            bead: match record {
                Record::Bead(bead) => bead.number,
                _ => 0,
            },
            frame,
        });
        self.end += length as u64;
        Ok(())
    }

    /// A new log begins; the calibration stays.
    fn begin_anew(&mut self) {
        *self = Self {
            calibrated: self.calibrated,
            calibration_kept: self.calibration_kept,
            cleared: self.cleared + 1,
            ..Self::default()
        };
    }

    fn sync(&mut self, store: &mut impl Store) -> bool {
        let stored = store.sync().is_ok();
        if stored {
            // So the log that was to be emptied is still in force.
            self.clearing = false;
            for sent in self.sent.iter_mut().rev() {
                if sent.acknowledged {
                    break;
                }
                sent.acknowledged = true;
            }
            self.calibration_kept = self.calibrated;
        }
        stored
    }
}

pub struct Life {
    pub seed: u64,
    pub starts: u32,
    /// Bytes of writing until the plug is pulled, at most.
    pub bytes: u32,
    /// The medium refuses nothing: then what was dropped was dropped from the front only.
    pub sound: bool,
    /// It refuses reads, or is out of its slot: then a start may have to wait, and record numbers may be left out.
    pub patchy: bool,
}

impl Life {
    /// Lives it on a medium that was prepared, by the chance of its seed.
    pub fn live(&self, medium: &mut impl Plugged, tally: &mut Tally) -> Result<(), String> {
        self.live_by(&mut Random::new(self.seed), medium, tally)
    }

    /// The same, by a chance of the caller's.
    pub fn live_by(
        &self,
        random: &mut impl Chance,
        medium: &mut impl Plugged,
        tally: &mut Tally,
    ) -> Result<(), String> {
        let mut memory = Memory::default();
        for start in 0..self.starts {
            let told = |what: String| format!("seed {}, start {start}: {what}", self.seed);
            let full = self
                .start(medium, &mut memory, random, tally)
                .map_err(told)?;
            medium.power().comes_back();
            if full {
                tally.full += 1;
                break;
            }
        }
        medium.arc(false);
        medium.answers(true);
        let mut journal = Journal::mount(&mut *medium).map_err(|error| error.to_string())?;
        self.compare(&mut journal, &mut memory, tally)
            .map_err(|what| format!("seed {}, at the end: {what}", self.seed))
    }

    /// From power on to the plug being pulled; true when the store is full.
    fn start<M: Plugged>(
        &self,
        medium: &mut M,
        memory: &mut Memory,
        random: &mut impl Chance,
        tally: &mut Tally,
    ) -> Result<bool, String> {
        tally.starts += 1;
        medium.arc(false);
        medium.ages(random);
        // The plug may go while the end is looked for, too.
        let cut = 1 + u64::from(random.below(self.bytes));
        if random.below(6) == 0 {
            medium.power().goes_after(cut.min(3000));
        }
        let before = medium.reads();
        medium.answers(false);
        let mut journal = match Journal::mount(&mut *medium) {
            Ok(journal) => journal,
            Err(error) => {
                medium.answers(true);
                let gone = medium.power().is_gone();
                if !gone && !self.patchy {
                    return Err(format!("cannot be mounted: {error}"));
                }
                tally.cuts += u64::from(gone);
                tally.waited += u64::from(!gone);
                return Ok(false);
            }
        };
        journal.medium().answers(true);
        let reads = journal.medium().reads() - before;
        tally.max_reads = tally.max_reads.max(reads);
        if reads > most_reads::<M>(journal.layout()) {
            return Err(format!("{reads} reads until it was mounted"));
        }
        if journal.medium().power().is_gone() {
            tally.cuts += 1;
            return Ok(false);
        }
        self.compare(&mut journal, memory, tally)?;
        journal.medium().answers(false);
        journal.medium().power().goes_after(cut);
        let mut full = self.weld(&mut journal, memory, random);
        // In the others it is to become full.
        let is_emptied = self.seed.is_multiple_of(3);
        if is_emptied && random.below(4) == 0 && !journal.medium().power().is_gone() {
            full = self.clear(&mut journal, memory, tally);
            // Whether it was emptied nobody knows then, and it goes on all the same.
            if full.is_some() && !journal.medium().power().is_gone() {
                full = self.weld(&mut journal, memory, random);
            }
        }
        let gone = journal.medium().power().is_gone();
        tally.cuts += u64::from(gone);
        if full == Some(StoreError::Fault) && !gone && self.sound {
            return Err("refuses to write".into());
        }
        Ok(full == Some(StoreError::Full))
    }

    /// Everything was pulled: it is let go of, and welding goes on.
    fn clear<M: Plugged>(
        &self,
        journal: &mut Journal<&mut M>,
        memory: &mut Memory,
        tally: &mut Tally,
    ) -> Option<StoreError> {
        // Only between beads, as the logger has it.
        journal.medium().arc(false);
        let done = journal.clear();
        if done.is_ok() {
            memory.begin_anew();
            tally.cleared += 1;
            return None;
        }
        memory.clearing = true;
        tally.cut_while_cleared += 1;
        done.err()
    }

    /// Windows, beads and presses until the plug is pulled or the shift is over.
    fn weld<M: Plugged>(
        &self,
        journal: &mut Journal<&mut M>,
        memory: &mut Memory,
        random: &mut impl Chance,
    ) -> Option<StoreError> {
        memory.starts += 1;
        let event = |kind, position, value| {
            Record::Event(Event {
                position,
                kind,
                value,
            })
        };
        let on = event(EventKind::PowerOn, memory.position, memory.starts.into());
        let mut refused = memory.append(journal, &on).err();
        memory.sync(journal);
        for _ in 0..random.below(120) {
            let lit = random.below(3) > 0;
            journal.medium().arc(lit);
            if !lit {
                journal.idle();
            }
            if random.below(25) == 0 {
                // Only between beads, as the logger has it.
                journal.medium().arc(false);
                let header = Record::Header(header(memory.position, memory.calibrated + 1));
                if memory.append(journal, &header).is_ok() {
                    memory.calibrated += 1;
                    memory.sync(journal);
                }
                journal.medium().arc(lit);
            }
            let position = memory.position;
            let window = window(random, position, lit);
            memory.position += window.span();
            let said = match random.below(10) {
                0 => {
                    memory.bead += 1;
                    let mut bead = Bead {
                        number: memory.bead,
                        start: position,
                        ..Bead::default()
                    };
                    bead.add_window(&window);
                    memory.append(journal, &Record::Bead(bead))
                }
                1 => {
                    let marker = Marker {
                        position,
                        kind: MarkerKind::Note,
                        weld: None,
                        note: heapless::String::new(),
                    };
                    memory.append(journal, &Record::Marker(marker))
                }
                2 => memory.append(journal, &event(EventKind::CurrentClipped, position, 7)),
                _ => memory.append(journal, &Record::Window(window)),
            };
            refused = refused.or(said.err());
            if random.below(6) == 0 {
                memory.sync(journal);
            }
            if refused == Some(StoreError::Full) || journal.medium().power().is_gone() {
                break;
            }
        }
        refused
    }

    /// Everything that can be read is what was told, in order; what was acknowledged is there.
    fn compare<M: Plugged>(
        &self,
        journal: &mut Journal<&mut M>,
        memory: &mut Memory,
        tally: &mut Tally,
    ) -> Result<(), String> {
        if std::mem::take(&mut memory.clearing) && journal.cleared() > memory.cleared {
            memory.begin_anew();
        }
        if journal.cleared() != memory.cleared {
            return Err(format!(
                "was emptied {} times, not {}",
                journal.cleared(),
                memory.cleared
            ));
        }
        let end = journal.extent().map_or(0, |extent| extent.end);
        let resume = journal.resume();
        let calibrated = journal
            .last_header()
            .map_or(0, |header| header.calibrated_unix_s);
        if !(memory.calibration_kept..=memory.calibrated).contains(&calibrated) {
            return Err(format!(
                "the calibration is that of {calibrated}, not {} to {}",
                memory.calibration_kept, memory.calibrated
            ));
        }
        (memory.calibrated, memory.calibration_kept) = (calibrated, calibrated);
        let pieces = read_all(journal, end)?;
        let mut pieces = pieces.into_iter().peekable();
        let mut last = None;
        let mut dropped = true;
        let mut bead = 0;
        let mut kept = Vec::new();
        for sent in memory.sent.drain(..) {
            while pieces
                .next_if(|(place, bytes)| place + bytes.len() as u64 <= sent.place)
                .is_some()
            {}
            let found = pieces.peek().filter(|(place, _)| *place <= sent.place);
            let found = found.and_then(|(place, bytes)| {
                let at = (sent.place - place) as usize;
                bytes.get(at..at + sent.frame.len())
            });
            if let Some(found) = found {
                if found != sent.frame {
                    return Err(format!("other bytes at place {}", sent.place));
                }
                if sent.is_window {
                    dropped = false;
                }
                bead = bead.max(sent.bead);
                last = Some(sent.sequence);
                kept.push(sent);
            } else if sent.acknowledged && !sent.is_window {
                return Err(format!(
                    "record {} at place {} was acknowledged and is gone",
                    sent.sequence, sent.place
                ));
            } else if sent.acknowledged {
                if self.sound && !dropped {
                    return Err(format!(
                        "window {} is gone, older ones are not",
                        sent.sequence
                    ));
                }
                tally.windows_dropped += 1;
            }
        }
        memory.sent = kept;
        let sequence = last.map_or(0, |last| last + 1);
        let goes_on = if self.patchy {
            resume.sequence >= sequence
        } else {
            (resume.sequence, resume.beads) == (sequence, bead)
        };
        if !goes_on {
            return Err(format!(
                "goes on as {resume:?}, not with record {sequence} after bead {bead}"
            ));
        }
        tally.beads = tally.beads.max(bead.into());
        (memory.end, memory.sequence, memory.bead) = (end, resume.sequence, bead);
        memory.position = memory.position.max(resume.position);
        Ok(())
    }
}

/// Whole stretches, each with its place.
fn read_all(store: &mut impl Store, end: u64) -> Result<Vec<(u64, Vec<u8>)>, String> {
    let mut pieces: Vec<(u64, Vec<u8>)> = Vec::new();
    let mut at = 0;
    let mut bytes = [0; 200];
    while at < end {
        let (place, length) = store
            .read(at, &mut bytes)
            .map_err(|error| format!("cannot be read at {at}: {error:?}"))?;
        if length == 0 {
            break;
        }
        if place < at {
            return Err(format!("gave place {place} for {at}"));
        }
        match pieces.last_mut() {
            Some((begin, all)) if *begin + all.len() as u64 == place => {
                all.extend_from_slice(&bytes[..length]);
            }
            _ => pieces.push((place, bytes[..length].to_vec())),
        }
        at = place + length as u64;
    }
    Ok(pieces)
}

pub fn header(start: u64, calibrated_unix_s: u64) -> Header {
    let channel = Channel {
        gain_per_count: 0.01,
        zero_in_256ths: 0,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    };
    Header {
        start,
        device: heapless::String::new(),
        firmware: heapless::String::new(),
        title: heapless::String::new(),
        process: None,
        clock: None,
        calibration: Calibration {
            voltage: channel,
            current: channel,
            sample_rate_hz: 8000.0,
            rate_relative_uncertainty: 0.0,
        },
        calibrated_unix_s,
        arc: ArcCounts::default(),
    }
}

fn window(random: &mut impl Chance, start: u64, lit: bool) -> Window {
    let mut sums = WindowSums::EMPTY;
    for _ in 0..=random.below(3) {
        let pair = RawPair::new(random.below(30_000) as i32, random.below(30_000) as i32);
        assert!(sums.add(pair), "few enough");
    }
    Window {
        start,
        arc_on: lit,
        sums,
        clipped_voltage: 0,
        clipped_current: 0,
        dropped: random.below(2),
    }
}
