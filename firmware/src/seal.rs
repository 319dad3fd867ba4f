//! Seals the log: what it sums up between two seals, and when a seal is due.

use crate::store::Store;
use coldsquare_core::record::{Entry, MAX_FRAME, Marker, Reader, Record, encode};
use coldsquare_core::seal::{SealNote, Secret, Section, sum_of};

/// What the recorder knows for the next seal.
#[derive(Debug)]
pub struct Sealer {
    secret: Secret,
    /// Number of the log.
    log: [u8; 32],
    /// Everything since the last seal; none before the first record, and after a record was lost.
    section: Option<Section>,
    /// There is more than idle time since the last seal.
    dirty: bool,
    /// The last seal was one for a log that was handed out.
    was_last: bool,
    /// From this position on a seal is due: some idle time after the last record that was more than that.
    due_at: u64,
    /// That time, samples.
    quiet: u64,
}

impl Sealer {
    /// Seals the log in this store, a new one or one that goes on, after `quiet` samples of idle time. `chance` is different
    /// at each start.
    pub fn new(secret: Secret, chance: &[u8; 32], quiet: u64, store: &mut impl Store) -> Self {
        let log = number_of(store).unwrap_or_else(|| secret.number_for(chance));
        Self {
            secret,
            log,
            section: None,
            dirty: false,
            was_last: false,
            due_at: 0,
            quiet,
        }
    }

    /// Another log begins.
    pub(crate) fn cleared(&mut self) {
        self.log = self.secret.number_for(&self.log);
        self.lost();
    }

    /// A record was lost: what was summed up since the last seal stays without one.
    pub(crate) fn lost(&mut self) {
        self.section = None;
    }

    pub(crate) const fn has_begun(&self) -> bool {
        self.section.is_some()
    }

    /// Begins to sum up, with the two notes that are to be stored next.
    pub(crate) fn begin(&mut self) -> [SealNote; 2] {
        let public = self.secret.public();
        self.section = Some(Section::begin(&public, &self.log, &[0; 64]));
        self.was_last = false;
        [SealNote::Key(public), SealNote::Log(self.log)]
    }

    /// Takes a record that was stored, and its frame.
    pub(crate) fn take(&mut self, position: u64, record: &Record, frame: &[u8]) {
        if let Some(section) = &mut self.section {
            section.take(record, frame);
            if !matches!(record, Record::Window(window) if !window.arc_on) {
                self.dirty = true;
                self.due_at = position.saturating_add(self.quiet);
            }
        }
    }

    /// Whether a seal is due at a position: nothing but idle time for a while, or the log is handed out.
    pub(crate) const fn is_due(&self, position: u64, is_last: bool) -> bool {
        let more = self.dirty && (is_last || position >= self.due_at);
        (more || (is_last && !self.was_last)) && self.has_begun()
    }

    /// The two notes that begin a seal.
    pub(crate) fn seal_begins(&mut self, is_last: bool) -> Option<[SealNote; 2]> {
        let section = self.section.as_ref()?;
        let (short, windows) = (section.short().bytes(), section.windows());
        self.was_last = is_last;
        let begins = if is_last {
            SealNote::LastSeal(windows)
        } else {
            SealNote::Seal(windows)
        };
        Some([SealNote::Short(short), begins])
    }

    /// The signature over everything so far, in two notes; the next section begins after it.
    pub(crate) fn sign(&mut self) -> Option<[SealNote; 2]> {
        let sum = self.section.as_ref()?.sum();
        let signature = self.secret.sign(&sum);
        self.section = Some(Section::begin(&self.secret.public(), &self.log, &signature));
        self.dirty = false;
        let (first, second) = signature.split_first_chunk()?;
        Some([
            SealNote::FirstHalf(*first),
            SealNote::SecondHalf(*second.first_chunk()?),
        ])
    }
}

/// The number of the log in a store, if it has one already: it stands in its second record. A log that began without a
/// seal has its first record for that.
fn number_of(store: &mut impl Store) -> Option<[u8; 32]> {
    let mut bytes = [0; 2 * MAX_FRAME];
    let (from, length) = store.read(0, &mut bytes).ok()?;
    let mut rest = bytes.get(..length).filter(|_| from == 0)?;
    let mut reader = Reader::new();
    let mut next = || {
        let found = core::iter::from_fn(|| reader.next(&mut rest));
        found
            .filter_map(|entry| match entry {
                Entry::Record { sequence, record } => Some((sequence, record)),
                Entry::Damage { .. } => None,
            })
            .next()
    };
    let (sequence, first) = next()?;
    if is_key(&first)
        && let Some((_, Record::Marker(marker))) = next()
        && let Some(SealNote::Log(number)) = SealNote::of(&marker)
    {
        return Some(number);
    }
    let mut frame = [0; MAX_FRAME];
    let length = encode(sequence, &first, &mut frame).ok()?;
    frame.get(..length).map(sum_of)
}

fn is_key(record: &Record) -> bool {
    let note = |marker: &Marker| SealNote::of(marker);
    matches!(record, Record::Marker(marker) if matches!(note(marker), Some(SealNote::Key(_))))
}
