//! What the seals of a log show, and what they do not: records that are gone, changed or moved, starts and other loggers.

use super::*;
use coldsquare_core::bead::Window;
use coldsquare_core::record::{DecodeError, Event, EventKind};
use coldsquare_core::samples::{RawPair, WindowSums};
use coldsquare_core::seal::Secret;

/// A logger that seals, and its log so far.
struct Logger {
    secret: Secret,
    log: [u8; 32],
    section: Section,
    next: u32,
    log_so_far: Vec<Entry>,
}

impl Logger {
    /// One with this key and a log of this number.
    fn new(chance: u8, log: u8) -> Self {
        let secret = Secret::new([chance; 32]).expect("chance");
        let log = [log; 32];
        Self {
            section: Section::begin(&secret.public(), &log, &[0; 64]),
            secret,
            log,
            next: 0,
            log_so_far: Vec::new(),
        }
    }

    /// It is switched on: two records.
    fn start(mut self) -> Self {
        let key = self.secret.public();
        self.section = Section::begin(&key, &self.log, &[0; 64]);
        let log = self.log;
        self.note(SealNote::Key(key), 0).note(SealNote::Log(log), 0)
    }

    fn store(mut self, record: Record) -> Self {
        let frame = frame(self.next, &record);
        assert!(!frame.is_empty(), "no logger stores {record:?}");
        self.section.take(&record, &frame);
        self.store_unsealed(record)
    }

    fn store_unsealed(mut self, record: Record) -> Self {
        let sequence = self.next;
        self.log_so_far.push(Entry::Record { sequence, record });
        self.next += 1;
        self
    }

    fn note(self, note: SealNote, position: u64) -> Self {
        self.store(Record::Marker(note.at(position)))
    }

    fn event(self) -> Self {
        let value = i64::from(self.next);
        self.store(event(value))
    }

    fn events(self, count: usize) -> Self {
        (0..count).fold(self, |logger, _| logger.event())
    }

    fn window(self, arc_on: bool) -> Self {
        let start = u64::from(self.next);
        self.store(window(start, arc_on))
    }

    fn arc(self, windows: usize) -> Self {
        (0..windows).fold(self, |logger, _| logger.window(true))
    }

    fn idle(self, windows: usize) -> Self {
        (0..windows).fold(self, |logger, _| logger.window(false))
    }

    /// A seal: four records.
    fn seal(self) -> Self {
        self.seal_at(SealNote::Seal, [0; 3])
    }

    /// The last seal of a log that is handed out.
    fn last_seal(self) -> Self {
        self.seal_at(SealNote::LastSeal, [0; 3])
    }

    /// A seal whose first note is at position 0, and the others at these.
    fn seal_at(mut self, of_windows: fn([u8; 32]) -> SealNote, at: [u64; 3]) -> Self {
        let short = SealNote::Short(self.section.short().bytes());
        let windows = of_windows(self.section.windows());
        self = self.note(short, 0).note(windows, at[0]);
        let signature = self.secret.sign(&self.section.sum());
        let half = |from: usize| signature[from..from + 32].try_into().expect("half");
        let first = Record::Marker(SealNote::FirstHalf(half(0)).at(at[1]));
        let second = Record::Marker(SealNote::SecondHalf(half(32)).at(at[2]));
        self = self.store_unsealed(first).store_unsealed(second);
        self.section = Section::begin(&self.secret.public(), &self.log, &signature);
        self
    }

    /// The numbers go on from this one.
    const fn at_number(mut self, number: u32) -> Self {
        self.next = number;
        self
    }

    fn without(mut self, numbers: &[u32]) -> Self {
        self.log_so_far
            .retain(|entry| !numbers.contains(&number(entry)));
        self
    }

    /// The same log with another record in the place of one.
    fn with(mut self, at: u32, record: Record) -> Self {
        let sequence = at;
        self.log_so_far[at as usize] = Entry::Record { sequence, record };
        self
    }

    /// Bytes before this record cannot be read.
    fn damaged_before(mut self, at: u32) -> Self {
        let is_it = |entry: &Entry| number(entry) == at;
        let place = self.log_so_far.iter().position(is_it);
        let place = place.unwrap_or(self.log_so_far.len());
        self.log_so_far.insert(place, damage());
        self
    }

    fn seals_say(&self) -> Seal {
        seals_of(&self.log_so_far)
    }

    fn verdict(&self) -> Verdict {
        self.seals_say().verdict
    }
}

fn event(value: i64) -> Record {
    Record::Event(Event {
        position: 7,
        kind: EventKind::ClockSet,
        value,
    })
}

fn window(start: u64, arc_on: bool) -> Record {
    let mut sums = WindowSums::EMPTY;
    sums.add_repeated(RawPair::new(180, 1200), 100);
    Record::Window(Window {
        start,
        arc_on,
        sums,
        ..Window::default()
    })
}

fn damage() -> Entry {
    Entry::Damage {
        offset: 0,
        bytes: 3,
        cause: DecodeError::Checksum,
    }
}

fn number(entry: &Entry) -> u32 {
    match entry {
        Entry::Record { sequence, .. } => *sequence,
        Entry::Damage { .. } => u32::MAX,
    }
}

fn seals_of(log: &[Entry]) -> Seal {
    let mut checker = Checker::default();
    for entry in log {
        checker.take(entry);
    }
    checker.finish()
}

/// What the seals of several logs say that stand in one file, one after the other.
fn seals_of_all<const N: usize>(logs: [Logger; N]) -> Seal {
    seals_of(&logs.map(|logger| logger.log_so_far).concat())
}

const fn records(first: u32, last: u32) -> Records {
    Records { first, last }
}

const fn changed(first: u32, last: u32) -> Verdict {
    let at = records(first, last);
    Verdict::Broken { at, missing: false }
}

const fn gone(first: u32, last: u32) -> Verdict {
    let at = records(first, last);
    Verdict::Broken { at, missing: true }
}

const fn up_to(record: u32, rest: u64) -> Verdict {
    Verdict::UpTo { record, rest }
}

/// Key 0, number of the log 1, event 2, windows 3 to 5 with the arc on, event 6; its seal would begin with record 7.
fn welded() -> Logger {
    Logger::new(1, 1).start().event().arc(3).event()
}

#[test]
fn only_idle_time_may_follow_the_last_seal() {
    let sealed = || welded().last_seal();
    assert_eq!(sealed().verdict(), Verdict::Sealed);
    assert_eq!(sealed().idle(2).verdict(), Verdict::Sealed);
    assert_eq!(sealed().arc(1).verdict(), up_to(10, 1));
    assert_eq!(sealed().idle(1).arc(2).idle(1).verdict(), up_to(10, 4));
    assert_eq!(sealed().event().idle(1).verdict(), up_to(10, 2));
    // A window is missing among the idle time, or something at the end cannot be read: it may have been a weld.
    assert_eq!(sealed().idle(3).without(&[12]).verdict(), up_to(10, 2));
    assert_eq!(sealed().damaged_before(11).verdict(), up_to(10, 0));
    // Where a record follows, its number shows that nothing was lost in between.
    assert_eq!(
        sealed().idle(1).damaged_before(11).verdict(),
        Verdict::Sealed
    );
}

#[test]
fn a_seal_that_is_not_the_last_does_not_show_that_the_log_ends_there() {
    assert_eq!(welded().seal().verdict(), up_to(10, 0));
    assert_eq!(welded().seal().idle(3).verdict(), up_to(10, 3));
    let more = welded().last_seal().event().seal();
    assert_eq!(more.verdict(), up_to(15, 0), "it went on");
    let ended = welded().seal().event().last_seal();
    assert_eq!(ended.verdict(), Verdict::Sealed);
    assert_eq!(welded().verdict(), Verdict::NotSealed);
    assert_eq!(seals_of(&[]).verdict, Verdict::NotSealed);
}

#[test]
fn damage_that_hides_no_record_leaves_the_seal_whole() {
    let log = welded().last_seal().damaged_before(3);
    assert_eq!(log.verdict(), Verdict::Sealed);
    assert_eq!(log.seals_say().lost, None);
}

#[test]
fn the_first_windows_may_have_made_room_and_what_is_left_of_them_is_not_sealed() {
    let one = welded().last_seal().without(&[3]).seals_say();
    assert_eq!((one.verdict, one.made_room), (Verdict::Sealed, 1));
    assert_eq!((one.lost, one.between), (None, vec![records(4, 5)]));
    let all = welded().last_seal().without(&[3, 4, 5]).seals_say();
    assert_eq!((all.verdict, all.made_room), (Verdict::Sealed, 3));
    assert_eq!((all.lost, all.between), (None, vec![]));
    // Also of later sections, as long as no window is left that is older.
    let two = welded().seal().arc(2).last_seal();
    let two = two.without(&[3, 4, 5, 11, 12]).seals_say();
    assert_eq!((two.verdict, two.made_room), (Verdict::Sealed, 5));
}

#[test]
fn windows_that_are_missing_later_were_lost_and_the_first_of_them_is_named() {
    // Events 2 and 7, windows 3 to 6 and 8 to 11.
    let log = || {
        let log = Logger::new(1, 1).start().event().arc(4).event();
        log.arc(4).last_seal()
    };
    let lost = |numbers: &[u32]| {
        let seal = log().without(numbers).seals_say();
        assert_eq!(seal.verdict, Verdict::Sealed);
        (seal.made_room, seal.lost)
    };
    assert_eq!(lost(&[4]), (0, Some((records(4, 4), 1))));
    assert_eq!(lost(&[5, 6]), (0, Some((records(5, 6), 2))));
    assert_eq!(lost(&[4, 9, 10, 11]), (0, Some((records(4, 4), 4))));
    // After those that made room, it is those that nothing explains that are named.
    assert_eq!(lost(&[3, 4, 6]), (2, Some((records(6, 6), 1))));
    assert_eq!(lost(&[3, 5, 9]), (1, Some((records(5, 5), 2))));
    let between = log().without(&[9]).seals_say().between;
    assert_eq!(between, [records(3, 11)]);
    // What could not be read there was no window that made room.
    let unread = log().without(&[3, 4]).damaged_before(5).seals_say();
    assert_eq!(
        (unread.made_room, unread.lost),
        (0, Some((records(3, 4), 2)))
    );
}

#[test]
fn windows_that_were_lost_of_several_sections_are_added_up() {
    // The sections end with records 8 and 17.
    let log = Logger::new(1, 1).start().arc(3).seal().arc(5).last_seal();
    let seal = log.without(&[3, 10, 11, 13]).seals_say();
    assert_eq!(seal.verdict, Verdict::Sealed);
    assert_eq!(seal.lost, Some((records(3, 3), 4)));
    assert_eq!(seal.between, [records(2, 4), records(9, 12)]);
}

#[test]
fn a_record_that_is_missing_and_no_window_breaks_the_seal_where_the_first_is_missing() {
    assert_eq!(welded().last_seal().without(&[6]).verdict(), gone(6, 6));
    assert_eq!(welded().last_seal().without(&[4, 6]).verdict(), gone(4, 4));
    let log = Logger::new(1, 1).start().events(5).last_seal();
    assert_eq!(log.without(&[2, 3, 5]).verdict(), gone(2, 3));
    // The first place is told, and no other.
    let log = welded().seal().event().last_seal();
    assert_eq!(log.without(&[6, 11]).verdict(), gone(6, 6));
}

#[test]
fn what_came_before_a_start_and_after_the_last_seal_has_none() {
    let pulled = || welded().seal().events(2);
    let seal = pulled().start().event().last_seal().seals_say();
    assert_eq!(seal.verdict, Verdict::Sealed);
    assert_eq!(seal.between, [records(11, 12)]);
    assert_eq!(seal.keys.len(), 1, "one logger, started twice");
    // Two more were lost with the power.
    let seal = pulled()
        .at_number(15)
        .start()
        .event()
        .last_seal()
        .seals_say();
    assert_eq!(seal.verdict, Verdict::Sealed);
    assert_eq!(seal.between, [records(11, 12), records(13, 14)]);
    assert_eq!((seal.made_room, seal.lost), (0, None));
    // Nothing at all was left.
    let seal = welded().seal().start().event().last_seal().seals_say();
    assert_eq!((seal.verdict, seal.between), (Verdict::Sealed, vec![]));
}

#[test]
fn a_number_that_goes_back_stands_where_it_does_not_belong() {
    let sealed = || welded().last_seal();
    let back = sealed().at_number(5).event();
    assert_eq!(back.verdict(), changed(5, 5));
    let back = sealed().at_number(0).event();
    assert_eq!(back.verdict(), changed(0, 0), "no key begins there");
    let back = sealed().at_number(5).start().event().last_seal();
    assert_eq!(back.verdict(), changed(5, 5));
    // Without any key there is no seal that could be broken.
    let none = Logger::new(1, 1).at_number(5).event().at_number(2);
    assert_eq!(none.event().verdict(), Verdict::NotSealed);
}

#[test]
fn logs_in_one_file_are_sealed_if_each_is_another_one() {
    let log = |key, log| Logger::new(key, log).start().event().last_seal();
    let cleared = seals_of_all([log(1, 1), log(1, 2), log(1, 3)]);
    assert_eq!((cleared.verdict, cleared.keys.len()), (Verdict::Sealed, 1));
    let two = seals_of_all([log(1, 1), log(2, 1)]);
    assert_eq!(two.verdict, Verdict::Sealed);
    let keys = [1, 2].map(|chance| Secret::new([chance; 32]).expect("chance").public());
    assert_eq!(two.keys, keys, "in the order in which they are met");
    // The same log again, at once or later.
    assert_eq!(seals_of_all([log(1, 1), log(1, 1)]).verdict, changed(0, 1));
    let later = seals_of_all([log(1, 1), log(1, 2), log(1, 1)]);
    assert_eq!(later.verdict, changed(0, 1));
}

#[test]
fn a_log_goes_on_with_its_own_number_only() {
    let begun = || welded().last_seal();
    assert_eq!(begun().start().last_seal().verdict(), Verdict::Sealed);
    let other = Logger::new(1, 2).at_number(11).start().last_seal();
    assert_eq!(seals_of_all([begun(), other]).verdict, changed(11, 12));
}

/// The card went from one logger into another and back: each goes on with its own log.
#[test]
fn two_loggers_may_write_in_turn() {
    let first = Logger::new(1, 1).start().event().last_seal();
    let second = Logger::new(2, 2).at_number(7).start().event().last_seal();
    let again = Logger::new(1, 1).at_number(14).start().event().last_seal();
    let seal = seals_of_all([first, second, again]);
    assert_eq!(seal.verdict, Verdict::Sealed);
    assert_eq!(seal.keys.len(), 2);
}

#[test]
fn the_number_of_a_log_stands_right_after_its_key() {
    let log = || Logger::new(1, 1).start().event().last_seal();
    assert_eq!(log().without(&[1]).verdict(), gone(1, 1));
    let mut apart = log();
    apart.log_so_far.remove(1);
    let late = Record::Marker(SealNote::Log([1; 32]).at(0));
    let skipped = Entry::Record {
        sequence: 2,
        record: late.clone(),
    };
    apart.log_so_far[1] = skipped;
    assert_eq!(apart.verdict(), changed(0, 2));
    // A record stands between them: then the number belongs to no key.
    let between = Logger::new(1, 1);
    let key = between.secret.public();
    let between = between.note(SealNote::Key(key), 0).event().store(late);
    assert_eq!(between.event().last_seal().verdict(), changed(2, 2));
}

/// It is in no place that means anything, so it is summed up like any other record.
#[test]
fn a_number_of_a_log_further_on_is_a_record_like_any_other() {
    let log = || welded().note(SealNote::Log([9; 32]), 0).event().last_seal();
    assert_eq!(log().verdict(), Verdict::Sealed);
    assert_eq!(log().with(7, event(0)).verdict(), changed(7, 7));
}

#[test]
fn seals_whose_beginning_was_taken_out_are_told() {
    // Renumbered, so that no gap shows: the seal's first note is record 1 then.
    let headless = |first: u32| {
        let log = Logger::new(1, 1).start().event().last_seal().log_so_far;
        let left = log.into_iter().skip(2).zip(first..);
        let numbered = left.map(|(entry, sequence)| match entry {
            Entry::Record { record, .. } => Entry::Record { sequence, record },
            damage => damage,
        });
        seals_of(&numbered.collect::<Vec<_>>())
    };
    assert_eq!(headless(0).verdict, changed(1, 1));
    assert_eq!(headless(2).verdict, gone(0, 1));
    assert!(headless(2).keys.is_empty());
}

/// Key 0, number of the log 1, events 2 to 24; the seal is records 25 to 28. The sixteen short sums are over records 0 and
/// 16, 1 and 17, …, 8 and 24, 9, 10, …, 15.
fn long() -> Logger {
    Logger::new(1, 1).start().events(23).last_seal()
}

#[test]
fn a_changed_record_is_told_by_its_short_sum() {
    assert_eq!(long().verdict(), Verdict::Sealed);
    // The short sums are over the records before the seal, so record 25, its first note, is not named beside record 9.
    for at in 9..16 {
        assert_eq!(long().with(at, event(-1)).verdict(), changed(at, at));
    }
    for at in 2..9 {
        let told = changed(at, at + 16);
        assert_eq!(long().with(at, event(-1)).verdict(), told);
        assert_eq!(long().with(at + 16, event(-1)).verdict(), told);
    }
}

#[test]
fn two_changed_records_are_told_together_and_of_three_the_whole_section() {
    let two = long().with(10, event(-1)).with(13, event(-2));
    assert_eq!(two.verdict(), changed(10, 13));
    let three = || {
        let log = long().with(10, event(-1)).with(13, event(-2));
        log.with(15, event(-3))
    };
    assert_eq!(three().verdict(), changed(0, 28));
    // Of a later section it is that section.
    let later = long().event().last_seal().with(29, event(-1));
    assert_eq!(later.verdict(), changed(29, 29));
    let later = long().events(3).last_seal();
    let later = later.with(29, event(-1)).with(30, event(-2));
    assert_eq!(later.with(31, event(-3)).verdict(), changed(29, 35));
}

#[test]
fn a_changed_window_is_told_with_the_windows_of_its_section() {
    for at in 3..6 {
        let log = welded().last_seal().with(at, window(99, true));
        assert_eq!(log.verdict(), changed(3, 5));
    }
}

#[test]
fn a_changed_note_of_a_seal_is_told_as_that_note_or_as_the_seal() {
    let forged = |at, note: SealNote| {
        let record = Record::Marker(note.at(0));
        welded().last_seal().with(at, record).verdict()
    };
    assert_eq!(forged(7, SealNote::Short([7; 32])), changed(7, 7));
    assert_eq!(forged(8, SealNote::LastSeal([7; 32])), changed(8, 8));
    // That the log ends there was said by the logger, or by somebody else.
    let windows = welded().section.windows();
    assert_eq!(forged(8, SealNote::Seal(windows)), changed(7, 10));
    assert_eq!(forged(9, SealNote::FirstHalf([7; 32])), changed(7, 10));
    assert_eq!(forged(10, SealNote::SecondHalf([7; 32])), changed(7, 10));
    // Of a seal that is not the last too.
    let record = |note: SealNote| Record::Marker(note.at(0));
    let log = welded().seal().with(8, record(SealNote::Seal([7; 32])));
    assert_eq!(log.verdict(), changed(8, 8));
    let log = welded().seal().with(7, record(SealNote::Short([7; 32])));
    assert_eq!(log.verdict(), changed(7, 7));
}

/// Only somebody who has the logger's secret could sign these; no logger does.
#[test]
fn the_four_notes_of_a_seal_follow_each_other_at_one_position() {
    let sealed_at = |positions| welded().seal_at(SealNote::LastSeal, positions);
    assert_eq!(sealed_at([0; 3]).verdict(), Verdict::Sealed);
    for apart in [[1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 1]] {
        assert_eq!(sealed_at(apart).verdict(), changed(7, 10), "{apart:?}");
        // Not even where a window is missing, which may have made room.
        let log = sealed_at(apart).without(&[3]);
        assert_eq!(log.verdict(), gone(3, 3), "{apart:?}");
    }
    // A window stands among them.
    let mut log = welded().last_seal();
    let last = log.log_so_far.pop().expect("a note");
    let Entry::Record { record, .. } = last else {
        panic!("a note is a record")
    };
    let log = log.at_number(10).idle(1).store_unsealed(record);
    assert_eq!(log.verdict(), changed(7, 11));
}

#[test]
fn a_seal_without_its_first_note_is_told_as_the_whole_section() {
    let mut log = welded().last_seal();
    log.log_so_far.remove(7);
    for (entry, number) in log.log_so_far.iter_mut().zip(0..) {
        if let Entry::Record { sequence, .. } = entry {
            *sequence = number;
        }
    }
    assert_eq!(log.verdict(), changed(0, 9));
}
