//! Seals the log: what it sums up between two seals, and when a seal is due.

use crate::store::{Store, StoreError};
use coldsquare_core::record::{Entry, MAX_FRAME, Marker, Reader, Record, encode};
use coldsquare_core::seal::{SealNote, Secret, Section, sum_of};

/// What the recorder knows for the next seal.
#[derive(Debug)]
pub struct Sealer {
    secret: Secret,
    /// Number of the log; none if the log goes on and its number cannot be read. Then nothing is sealed.
    log: Option<[u8; 32]>,
    /// The number of this log, or of the one before; the next follows from it.
    before: [u8; 32],
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
        let mut sealer = Self {
            secret,
            log: None,
            before: *chance,
            section: None,
            dirty: false,
            was_last: false,
            due_at: 0,
            quiet,
        };
        sealer.go_on_in(store);
        sealer
    }

    /// The log is that in this store from now on.
    pub(crate) fn go_on_in(&mut self, store: &mut impl Store) {
        match number_of(store) {
            Ok(Some(log)) => (self.log, self.before) = (Some(log), log),
            Ok(None) => self.cleared(),
            Err(_) => self.log = None,
        }
        self.lost();
    }

    /// Another log begins.
    pub(crate) fn cleared(&mut self) {
        self.before = self.secret.number_for(&self.before);
        self.log = Some(self.before);
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
    pub(crate) fn begin(&mut self) -> Option<[SealNote; 2]> {
        let log = self.log?;
        let public = self.secret.public();
        self.section = Some(Section::begin(&public, &log, &[0; 64]));
        self.was_last = false;
        Some([SealNote::Key(public), SealNote::Log(log)])
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
        let (sum, log) = (self.section.as_ref()?.sum(), self.log?);
        let signature = self.secret.sign(&sum);
        self.section = Some(Section::begin(&self.secret.public(), &log, &signature));
        self.dirty = false;
        let (first, second) = signature.split_first_chunk()?;
        Some([
            SealNote::FirstHalf(*first),
            SealNote::SecondHalf(*second.first_chunk()?),
        ])
    }
}

/// How often the first bytes of a log are asked for before its number counts as unknown.
const ASKED: u32 = 4;

/// The number of the log in a store, if there is one already: it stands in its second record. A log that began without a
/// seal has its first record for that.
///
/// # Errors
/// [`StoreError`] when there is a log and its beginning cannot be read.
fn number_of(store: &mut impl Store) -> Result<Option<[u8; 32]>, StoreError> {
    let mut bytes = [0; 2 * MAX_FRAME];
    let end = store.extent().map_or(0, |extent| extent.end);
    let wanted = usize::try_from(end).unwrap_or(usize::MAX).min(bytes.len());
    let mut known = 0;
    // A store may give no more than a record at a time.
    while known < wanted {
        let room = bytes.get_mut(known..wanted).unwrap_or_default();
        let mut read = Err(StoreError::Fault);
        for _ in 0..ASKED {
            read = read.or_else(|_| store.read(known as u64, room));
        }
        match read? {
            (from, length @ 1..) if from == known as u64 => known += length,
            _ => break,
        }
    }
    match bytes.get(..known).filter(|known| !known.is_empty()) {
        Some(known) => number_in(known).map(Some).ok_or(StoreError::Fault),
        None if end == 0 => Ok(None),
        None => Err(StoreError::Fault),
    }
}

/// The number of the log that begins with these bytes.
fn number_in(mut rest: &[u8]) -> Option<[u8; 32]> {
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
    if is_key(&first) {
        return match next() {
            Some((_, Record::Marker(marker))) => match SealNote::of(&marker)? {
                SealNote::Log(number) => Some(number),
                _ => None,
            },
            _ => None,
        };
    }
    let mut frame = [0; MAX_FRAME];
    let length = encode(sequence, &first, &mut frame).ok()?;
    frame.get(..length).map(sum_of)
}

fn is_key(record: &Record) -> bool {
    let note = |marker: &Marker| SealNote::of(marker);
    matches!(record, Record::Marker(marker) if matches!(note(marker), Some(SealNote::Key(_))))
}
