//! A store in flash that is full is emptied over the link: not while a bead is made, not before all of it was pulled or
//! its owner named it, and then the logger begins a new log.

use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::link::{
    Consent, Identity, MAX_FRAME, Receiver, Refusal, Reply, Request, StoreState, checksum_of_log,
    encode,
};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, EventKind, Reader, Record, WallClock};
use coldsquare_core::samples::{MAX_COUNT, RawPair};
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_firmware::journal::Journal;
use coldsquare_firmware::journal::flash::Flash;
use coldsquare_firmware::logger::{Logger, Parts, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::sim::{ComputerEnd, LoggerEnd, MemoryFlash, cable};
use coldsquare_firmware::store::Store;
use embedded_storage::nor_flash::{ErrorType, NorFlash, NorFlashErrorKind, ReadNorFlash};
use std::cell::Cell;
use std::rc::Rc;

const BLOCK: u32 = 4096;
const BLOCKS: u32 = 20;
const PAIRS_PER_SECOND: u32 = 1000;

/// What the electrode does: a second of arc, a gap of a fifth, another second of arc, rest.
const fn burns(pair: u32) -> bool {
    matches!(pair % 4000, 1000..2000 | 2200..3200)
}

#[derive(Default)]
struct Bench {
    pair: Cell<u32>,
    /// Nobody welds.
    rests: Cell<bool>,
    /// The panel has buttons that somebody can agree with, what they press, and what it shows.
    has_buttons: Cell<bool>,
    pressed: Cell<Option<Input>>,
    asks: Cell<bool>,
}

impl Bench {
    fn burns(&self) -> bool {
        !self.rests.get() && burns(self.pair.get())
    }
}

struct Electrode(Rc<Bench>);

impl FrontEnd for Electrode {
    fn next(&mut self) -> Reading {
        let pair = self.0.pair.get() + 1;
        self.0.pair.set(pair);
        let noise = (pair * 7919 % 7) as i32;
        Reading::Pair(if self.0.burns() {
            RawPair::new(2000 + noise, 5000 + noise)
        } else {
            RawPair::new(noise, noise)
        })
    }
}

/// Flash that knows when an arc burns.
struct Beside {
    flash: MemoryFlash,
    bench: Rc<Bench>,
}

impl ErrorType for Beside {
    type Error = NorFlashErrorKind;
}

impl ReadNorFlash for Beside {
    const READ_SIZE: usize = MemoryFlash::READ_SIZE;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Self::Error> {
        self.flash.read(offset, bytes)
    }

    fn capacity(&self) -> usize {
        self.flash.capacity()
    }
}

impl NorFlash for Beside {
    const WRITE_SIZE: usize = MemoryFlash::WRITE_SIZE;
    const ERASE_SIZE: usize = MemoryFlash::ERASE_SIZE;

    fn erase(&mut self, from: u32, to: u32) -> Result<(), Self::Error> {
        self.flash.arc = self.bench.burns();
        self.flash.erase(from, to)
    }

    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), Self::Error> {
        self.flash.write(offset, bytes)
    }
}

struct NoClock;

impl Clock for NoClock {
    fn now(&mut self) -> Option<WallClock> {
        None
    }
}

struct Buttons(Rc<Bench>);

impl Panel for Buttons {
    fn input(&mut self) -> Option<Input> {
        self.0.pressed.take()
    }

    fn can_confirm(&self) -> bool {
        self.0.has_buttons.get()
    }

    fn show(&mut self, shown: Shown) {
        self.0.asks.set(shown.asked);
    }
}

fn setup(resume: Resume) -> Setup {
    let channel = Channel {
        gain_per_count: 0.01,
        zero_in_256ths: 0,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    };
    let calibration = Calibration {
        voltage: channel,
        current: channel,
        sample_rate_hz: PAIRS_PER_SECOND.into(),
        rate_relative_uncertainty: 0.0,
    };
    let settings = ArcSettings::for_process(Process::MagSolid);
    let arc = ArcConfig::new(&settings, &calibration).expect("usable");
    Setup {
        device: "machine at the window".try_into().expect("short"),
        board: "bench",
        title: heapless::String::new(),
        process: Some(Process::MagSolid),
        calibration,
        calibrated_unix_s: 0,
        arc: arc.counts(),
        order: heapless::Vec::new(),
        resume,
    }
}

type OnFlash<'a> = Logger<
    Parts<Electrode, Journal<&'a mut Flash<Beside>>, LoggerEnd, NoClock, Buttons, Box<NextWeld>>,
>;

/// A logger that was switched on, and its computer.
struct Working<'a> {
    logger: OnFlash<'a>,
    computer: ComputerEnd,
    bench: Rc<Bench>,
}

impl<'a> Working<'a> {
    fn start(flash: &'a mut Flash<Beside>) -> Self {
        let bench = Rc::clone(&flash.flash().bench);
        let store = Journal::mount(flash).expect("prepared");
        let (link, computer) = cable(4096);
        let setup = setup(store.resume());
        let parts = Parts {
            front_end: Electrode(Rc::clone(&bench)),
            store,
            link,
            clock: NoClock,
            panel: Buttons(Rc::clone(&bench)),
            plan: Box::new(NextWeld::new()),
        };
        let logger = Logger::start(parts, setup).expect("usable");
        Self {
            logger,
            computer,
            bench,
        }
    }

    /// Welds until the electrode is at this place of its four seconds.
    fn until(&mut self, place: u32) {
        loop {
            self.logger.poll();
            if self.bench.pair.get() % 4000 == place {
                return;
            }
        }
    }

    /// Answers to a question: one, or the chunks of a pull.
    fn ask(&mut self, request: &Request) -> Vec<Reply> {
        let _ = self.computer.receive(usize::MAX);
        let mut frame = [0; MAX_FRAME];
        let length = encode(9, request, &mut frame).expect("it fits");
        self.computer.send(&frame[..length]);
        let wanted = match request {
            Request::Pull { chunks, .. } => usize::from(*chunks),
            _ => 1,
        };
        let (mut receiver, mut answers) = (Receiver::<Reply>::new(), Vec::new());
        for _ in 0..3000 {
            self.logger.poll();
            for byte in self.computer.receive(usize::MAX) {
                if let Some((9, Ok(answer))) = receiver.take(byte) {
                    answers.push(answer);
                }
            }
            if answers.len() == wanted {
                break;
            }
        }
        answers
    }

    fn identity(&mut self) -> Identity {
        match self.ask(&Request::Identify).pop() {
            Some(Reply::Identity(identity)) => identity,
            other => panic!("{other:?}"),
        }
    }

    fn clear(&mut self, end: u64, consent: Consent) -> Result<(), Refusal> {
        match self.ask(&Request::Clear { end, consent }).pop() {
            Some(Reply::Done) => Ok(()),
            Some(Reply::Refused(why)) => Err(why),
            other => panic!("{other:?}"),
        }
    }

    /// The sum of what the logger says about its log from a byte on, answer by answer.
    fn check(&mut self, from: u64, until: u64) -> u32 {
        let (mut at, mut sum) = (from, 0);
        while at < until {
            match self.ask(&Request::Check { from: at, until }).pop() {
                Some(Reply::Checked(checked)) => {
                    sum = checksum_of_log(sum, &checked);
                    at = checked.until;
                }
                other => panic!("{other:?}"),
            }
        }
        sum
    }

    /// The log, with 00 where windows made room.
    fn pull(&mut self) -> Vec<u8> {
        let end = self.identity().log.1;
        let mut log = Vec::new();
        while (log.len() as u64) < end {
            let from = log.len() as u64;
            let Some(Reply::Chunk(chunk)) = self.ask(&Request::Pull { from, chunks: 1 }).pop()
            else {
                panic!("no chunk")
            };
            log.resize(chunk.from as usize, 0);
            log.extend_from_slice(&chunk.bytes);
        }
        log.truncate(end as usize);
        log
    }
}

fn prepared() -> Flash<Beside> {
    let bench = Rc::<Bench>::default();
    bench.rests.set(true);
    let beside = Beside {
        flash: MemoryFlash::new(BLOCKS as usize, 5),
        bench,
    };
    let mut flash = Flash::new(beside, 0, BLOCKS * BLOCK).expect("suits");
    Journal::prepare(&mut flash, 1, 90).expect("power is on");
    flash.flash().bench.rests.set(false);
    flash
}

fn records(log: &[u8]) -> Vec<(u32, Record)> {
    let (mut reader, mut rest, mut records) = (Reader::new(), log, Vec::new());
    while let Some(entry) = reader.next(&mut rest) {
        match entry {
            Entry::Record { sequence, record } => records.push((sequence, record)),
            Entry::Damage { cause, .. } => panic!("{cause}"),
        }
    }
    records
}

fn beads(records: &[(u32, Record)]) -> Vec<u32> {
    let number = |(_, record): &(u32, Record)| match record {
        Record::Bead(bead) => Some(bead.number),
        _ => None,
    };
    records.iter().filter_map(number).collect()
}

#[test]
fn a_full_store_is_emptied_once_all_of_it_was_pulled_and_not_a_moment_before() {
    let mut flash = prepared();
    let mut logger = Working::start(&mut flash);
    let mut shifts = 0;
    while logger.identity().store != StoreState::Full {
        logger.until(900);
        shifts += 1;
        assert!(shifts < 500, "it never becomes full");
    }
    let log = logger.pull();
    let end = log.len() as u64;
    let pulled = |sum| Consent::Pulled { sum };
    // Pulled, but not compared; and compared from its middle on only.
    logger.until(3900);
    assert_eq!(logger.clear(end, pulled(0)), Err(Refusal::NotPulled));
    let part = logger.check(end / 2, end);
    logger.until(3900);
    assert_eq!(logger.clear(end, pulled(part)), Err(Refusal::NotPulled));
    let tail = logger.check(0, end);
    let before = beads(&records(&log));
    assert!(before.len() > 10);

    // In the arc, in the dark gap inside a bead, and before the bead is known to be over.
    for place in [1500, 2100, 3300] {
        logger.until(place);
        assert_eq!(logger.clear(end, pulled(tail)), Err(Refusal::ArcBurns));
    }
    // Another log, less than all, more than there is, somebody else's name.
    logger.until(3900);
    for (end, consent, why) in [
        (end, pulled(tail ^ 1), Refusal::NotPulled),
        (end - 1, pulled(tail), Refusal::NotPulled),
        (end + 1, pulled(tail), Refusal::NotPulled),
        (
            end,
            Consent::Named("another machine".try_into().expect("short")),
            Refusal::Value,
        ),
    ] {
        assert_eq!(logger.clear(end, consent), Err(why));
    }
    assert!(logger.pull() == log, "nothing of it was lost by asking");

    logger.until(3900);
    assert_eq!(logger.clear(end, pulled(tail)), Ok(()));
    // The answer was lost and the question comes again: the new log stays.
    logger.until(900);
    let young = logger.identity();
    assert_eq!(logger.clear(end, pulled(tail)), Ok(()));
    assert!(young.log.1 > 0 && logger.identity().log.1 >= young.log.1);
    assert_eq!(young.store, StoreState::Working);

    // Three beads of the new log, the plug is pulled, one more.
    for _ in 0..3 {
        logger.until(3900);
    }
    drop(logger);
    let mut logger = Working::start(&mut flash);
    logger.until(3900);
    let log = records(&logger.pull());
    assert_eq!(log[0].0, 0, "its records are counted from 0");
    assert!(matches!(&log[0].1, Record::Header(header) if header.start == 0));
    assert!(
        matches!(&log[1].1, Record::Event(event) if event.kind == EventKind::StoreCleared && event.value == 0)
    );
    assert_eq!(beads(&log), [1, 2, 3, 4]);
    drop(logger);
    assert_eq!(flash.flash().flash.misused, None);
}

#[test]
fn by_its_name_a_store_is_emptied_unread_and_the_new_log_says_so() {
    let mut flash = prepared();
    let mut logger = Working::start(&mut flash);
    (0..3).for_each(|_| logger.until(3900));
    let name = Consent::Named("machine at the window".try_into().expect("short"));
    // What the log has grown by meanwhile is not what was agreed to.
    let early = logger.identity().log.1;
    (0..2).for_each(|_| logger.until(3900));
    assert_eq!(logger.clear(early, name.clone()), Err(Refusal::NotPulled));
    let end = logger.identity().log.1;
    assert_eq!(logger.clear(end, name), Ok(()));
    logger.until(3900);
    let log = records(&logger.pull());
    assert!(matches!(&log[1].1, Record::Event(event)
            if event.kind == EventKind::StoreCleared && event.value == end as i64));
    assert_eq!(beads(&log), [1]);
    // A restart finds the same.
    drop(logger);
    let journal = Journal::mount(&mut flash).expect("mounted");
    assert_eq!((journal.cleared(), journal.resume().beads), (1, 1));
    assert!(journal.extent().is_some_and(|extent| extent.end > 0));
    drop(journal);
    assert_eq!(flash.flash().flash.misused, None);
}

/// Whoever reaches the port may not be whoever stands at the machine.
#[test]
fn a_logger_with_buttons_is_not_cleared_before_somebody_holds_them() {
    let mut flash = prepared();
    let mut logger = Working::start(&mut flash);
    logger.bench.has_buttons.set(true);
    (0..3).for_each(|_| logger.until(3900));
    assert!(logger.identity().can.confirm);
    let name = || Consent::Named("machine at the window".try_into().expect("short"));
    let clear = |logger: &mut Working<'_>| {
        let end = logger.identity().log.1;
        logger.clear(end, name())
    };
    assert_eq!(clear(&mut logger), Err(Refusal::Confirm));
    logger.until(900);
    assert!(logger.bench.asks.get(), "its panel says so");
    // A press for the next weld is no consent, and neither is consent that nobody asked for lately.
    logger.bench.pressed.set(Some(Input::Next));
    logger.until(3900);
    assert_eq!(clear(&mut logger), Err(Refusal::Confirm));
    (0..20).for_each(|_| logger.until(3900));
    logger.bench.pressed.set(Some(Input::Tare));
    logger.until(900);
    logger.until(3900);
    assert_eq!(clear(&mut logger), Err(Refusal::Confirm));

    logger.bench.pressed.set(Some(Input::Tare));
    logger.until(900);
    assert!(!logger.bench.asks.get());
    logger.until(3900);
    // Consent to clear is none to calibrate.
    let calibrate = Request::Calibrate {
        calibration: setup(Resume::default()).calibration,
        calibrated_unix_s: 1,
    };
    assert_eq!(clear(&mut logger), Ok(()));
    let refused = logger.ask(&calibrate).pop();
    assert_eq!(refused, Some(Reply::Refused(Refusal::Confirm)));
    let log = records(&logger.pull());
    assert!(matches!(&log[1].1, Record::Event(event) if event.kind == EventKind::StoreCleared));
}

#[test]
fn a_restart_leaves_its_reason_in_the_log_and_on_the_panel() {
    let mut flash = prepared();
    let mut logger = Working::start(&mut flash);
    let long = "restarted: panic at search.rs line 214, and more than fits";
    logger.logger.restarted(long);
    logger.until(900);
    let log = records(&logger.pull());
    let (_, last) = log
        .iter()
        .find(|(_, record)| matches!(record, Record::Marker(_)))
        .expect("there");
    assert!(
        matches!(last, Record::Marker(marker) if long.starts_with(marker.note.as_str()) && marker.note.len() == 48)
    );
    let live = logger.ask(&Request::Live).pop();
    assert!(matches!(live, Some(Reply::Live(live)) if live.last_alarm == Some(EventKind::PowerOn)));
}
