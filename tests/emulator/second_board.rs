//! The same logger on a second emulated board, another chip with other peripherals: readings taken in the interrupt of a
//! serial line or of a timer, the chip's own converter, a queue that overflows, a converter that does not answer, a panic.

use crate::board::{FIRST, Pace, SECOND, Sent, program, run_on, second_program, wanted};
use crate::budget::{taken, within};
use crate::same_log::{fed_for, records};
use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::process::Process;
use coldsquare_core::record::{
    EventKind, Header, MAX_FRAME, MarkerKind, Record, WallClock, encode,
};
use coldsquare_core::samples::RawPair;
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::feed::{Fed, FedFrontEnd, FedPanel, Pressed};
use coldsquare_firmware::link::Unconnected;
use coldsquare_firmware::logger::{Logger, Parts, Progress, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::store::{Store, StoreError};
use coldsquare_image::board::NETDUINOPLUS2;

/// Readings that the board's queue holds.
const QUEUED: u32 = 1023;

/// A store in memory.
#[derive(Default)]
struct Kept(Vec<u8>);

impl Store for Kept {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        self.0.extend_from_slice(record);
        Ok(())
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        Ok(())
    }
}

struct OfHeader(Option<WallClock>);

impl Clock for OfHeader {
    fn now(&mut self) -> Option<WallClock> {
        self.0
    }
}

/// A header for the chip's converter: the clamp rests at a count below 0, so that its saw-tooth is an arc of 50 A to 255 A.
fn header() -> Header {
    let channel = |gain_per_count, zero: i32| Channel {
        gain_per_count,
        zero_in_256ths: 256 * zero,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: 0,
        highest_count: 4095,
    };
    let calibration = Calibration {
        voltage: channel(0.01, 0),
        current: channel(0.05, -1000),
        sample_rate_hz: 10_000.0,
        rate_relative_uncertainty: 1e-4,
    };
    let settings = ArcSettings::for_process(Process::MagSolid);
    let arc = ArcConfig::new(&settings, &calibration).expect("they suit each other");
    let (log, _) = fed_for(2_000.0, 0.2);
    let Some(Record::Header(header)) = records(&log).into_iter().next() else {
        panic!("a log begins with its header");
    };
    Header {
        calibration,
        arc: arc.counts(),
        ..header
    }
}

fn frame(header: &Header) -> Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let header = Record::Header(header.clone());
    let length = encode(0, &header, &mut frame).expect("in range");
    frame[..length].to_vec()
}

/// The log of this process of a header and these readings.
fn logged(header: Header, readings: impl Iterator<Item = Fed>) -> Vec<u8> {
    let mut feed = readings.chain([Fed::End]).flat_map(|message| {
        let (bytes, length) = message.to_bytes();
        bytes.into_iter().take(length)
    });
    let pressed = Pressed::new(None);
    let parts = Parts {
        front_end: FedFrontEnd::new(move || feed.next().expect("an end"), &pressed),
        store: Kept::default(),
        link: Unconnected,
        clock: OfHeader(header.clock),
        panel: FedPanel(&pressed),
        plan: NextWeld::new(),
    };
    let setup = Setup {
        device: header.device,
        board: "here",
        title: header.title,
        process: header.process,
        calibration: header.calibration,
        calibrated_unix_s: header.calibrated_unix_s,
        arc: header.arc,
        order: heapless::Vec::new(),
        resume: Resume::default(),
    };
    let mut logger = Logger::start(parts, setup).expect("its arc counts suit");
    while logger.poll() == Progress::Took {}
    logger.finish().1.0
}

/// Runs a program of the second board with this header.
fn run(program: &str, header: &Header) -> Sent {
    let feed = frame(header);
    run_on(&SECOND, &second_program(program), Pace::Counted, feed, &[])
}

/// The samples that a log says were lost.
fn dropped(log: &[u8]) -> i64 {
    let events = records(log).into_iter().filter_map(|record| match record {
        Record::Event(event) if event.kind == EventKind::SamplesDropped => Some(event.value),
        _ => None,
    });
    events.sum()
}

/// Not the readings of the first board's own test, because this board's line takes a byte an interrupt; but the same faults.
#[test]
fn readings_taken_in_an_interrupt_give_the_log_of_the_first_board() {
    if !wanted() {
        return;
    }
    let (here, feed) = fed_for(2_000.0, 0.2);
    let first = run_on(&FIRST, &program("logger"), Pace::Fast, feed.clone(), &[]);
    let second = second_program("interrupted");
    let second = run_on(&SECOND, &second, Pace::Fast, feed, &[]);
    assert!(here == first.log, "the first board");
    assert!(here == second.log, "the second board");
    let count = |kind: fn(&Record) -> bool| records(&here).iter().filter(|r| kind(r)).count();
    let beads = count(|record| matches!(record, Record::Bead(_)));
    let presses = count(|record| matches!(record, Record::Marker(_)));
    assert_eq!((beads, presses, dropped(&here)), (4, 4, 37));
}

#[test]
fn the_logger_fits_its_budget_of_flash_and_memory() {
    if !wanted() {
        return;
    }
    for (name, program) in [("", "interrupted"), (", timer and converter", "sampled")] {
        let (flash, statics) = taken(&NETDUINOPLUS2, &second_program(program));
        let of = |what| format!("netduinoplus2: bytes of {what}{name}");
        within(&of("flash"), flash, NETDUINOPLUS2.max_flash);
        within(&of("statics"), statics, NETDUINOPLUS2.max_statics);
    }
}

/// The emulator's converter gives 7 more at each conversion, voltage and current in turn. The store is busy for 3000 pairs
/// at its sixth record: the queue keeps the first 1023 of them.
#[test]
fn what_the_chips_converter_gives_is_logged_and_what_the_queue_cannot_hold_is_counted() {
    if !wanted() {
        return;
    }
    let header = header();
    let sent = run("sampled", &header);
    let pairs = sent.number("pairs");
    let lost = u32::try_from(dropped(&sent.log)).expect("a count");
    assert!((1_970..1_980).contains(&lost), "{lost} of {pairs} lost");
    let Some(Record::Window(busy)) = records(&sent.log).into_iter().nth(5) else {
        panic!("the sixth record is a window");
    };
    let kept = u32::try_from(busy.start + busy.span()).expect("small") + QUEUED;
    let count = |conversion: u32| (7 * conversion % 4096).cast_signed();
    let pair = |at: u32| Fed::Pair(RawPair::new(count(2 * at + 1), count(2 * at + 2)));
    let before = (0..kept).map(pair);
    let after = (kept + lost..pairs).map(pair);
    let here = logged(header, before.chain([Fed::Dropped(lost)]).chain(after));
    assert!(
        here == sent.log,
        "{} bytes here, {} from the emulator",
        here.len(),
        sent.log.len()
    );
}

#[test]
fn a_converter_that_does_not_answer_is_tried_again_and_what_was_due_is_logged_as_lost() {
    if !wanted() {
        return;
    }
    let sent = run("unanswered", &header());
    assert_eq!(sent.number("refused"), 10);
    assert!(sent.number("bytes") > 10 * 12, "{}", sent.number("bytes"));
    assert_eq!(dropped(&sent.log), 10_000);
    let pairs = records(&sent.log).into_iter().map(|record| match record {
        Record::Window(window) => u32::from(window.sums.n),
        _ => 0,
    });
    assert_eq!(pairs.sum::<u32>(), 0);
}

#[test]
fn a_number_that_overflows_restarts_the_chip_and_the_next_start_says_where_it_was() {
    if !wanted() {
        return;
    }
    // The first start takes one; while the chip is reset some are lost.
    let feed = frame(&header()).repeat(2000);
    let program = second_program("panics");
    let sent = run_on(&SECOND, &program, Pace::Counted, feed, &[]);
    let mut notes = records(&sent.log)
        .into_iter()
        .filter_map(|record| match record {
            Record::Marker(marker) if marker.kind == MarkerKind::Note => {
                Some(marker.note.to_string())
            }
            _ => None,
        });
    let note = notes.next().expect("a note");
    assert!(
        note.starts_with("restarted: panic at panics.r line "),
        "{note}"
    );
    assert_eq!(notes.next(), None);
}
