//! Each fault once, from where it happens to what the maker reads: a converter's pins, a card's slot or a cable at one
//! end; driver, logger, journal and card between; `coldsquare pull` and the host's reader at the other.

use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::calibration::{Calibration, Channel, CountLimits};
use coldsquare_core::journal::{CellBytes, Layout};
use coldsquare_core::link::{
    Identity, Live, MAX_FRAME, Receiver, Reply, Request, StoreState, encode,
};
use coldsquare_core::process::Process;
use coldsquare_core::record::{ClockSource, EventKind, WallClock};
use coldsquare_engine::recording::RecordingOptions;
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::converters::mcp3208::{CURRENT_LIMITS, Inputs, Mcp3208, VOLTAGE_LIMITS};
use coldsquare_firmware::journal::card::{Card, Sectors};
use coldsquare_firmware::journal::{Journal, MediumError};
use coldsquare_firmware::logger::{Logger, Parts, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::sim::{ComputerEnd, MemoryCard, cable};
use coldsquare_tests::command::coldsquare;
use embedded_hal::spi::{ErrorKind, ErrorType, Operation, SpiDevice};
use std::cell::{Cell, RefCell};
use std::rc::Rc;

const PAIRS_PER_SECOND: u32 = 1000;
const PERIOD_US: u16 = 1000;
const VOLTAGE_INPUT: u8 = 0;

/// 12-bit codes of both inputs at the n-th pair.
type Wave = fn(u32) -> (u16, u16);

/// No voltage and no current: the middle of both channels.
const MIDDLE: u16 = 2048;

/// 20 V and 100 A with their restlessness, for two seconds out of four.
fn arc(n: u32) -> (u16, u16) {
    let restless = (n * 7919 % 5) as u16;
    if (1000..3000).contains(&(n % 4000)) {
        (MIDDLE + 400 + restless, MIDDLE + 340 + restless)
    } else {
        (MIDDLE, MIDDLE)
    }
}

const fn burns(n: u32) -> bool {
    n % 4000 >= 1000 && n % 4000 < 3000
}

fn lead_off(n: u32) -> (u16, u16) {
    (MIDDLE + (n % 3) as u16, arc(n).1)
}

fn clamp_reversed(n: u32) -> (u16, u16) {
    (arc(n).0, 2 * MIDDLE - arc(n).1)
}

fn beyond_the_divider(n: u32) -> (u16, u16) {
    let spike = burns(n) && n.is_multiple_of(100);
    (if spike { 4095 } else { arc(n).0 }, arc(n).1)
}

fn beyond_the_clamp(n: u32) -> (u16, u16) {
    let surge = burns(n) && n.is_multiple_of(500);
    (arc(n).0, if surge { 4095 } else { arc(n).1 })
}

fn voltage_stuck(n: u32) -> (u16, u16) {
    (MIDDLE + 400, arc(n).1)
}

fn current_stuck(n: u32) -> (u16, u16) {
    (arc(n).0, if burns(n) { MIDDLE + 340 } else { MIDDLE })
}

/// The bench: a clock, a converter behind its bus, a slot for a card.
struct Bench {
    micros: Cell<u32>,
    pair: Cell<u32>,
    wave: Cell<Wave>,
    bus_refuses: Cell<bool>,
    unplugged: Cell<bool>,
    card: RefCell<MemoryCard>,
    card_is_out: Cell<bool>,
    clock_ms: Cell<u64>,
    shown: Cell<Shown>,
}

/// An MCP3208 as its data sheet says (DS21298, 5.0): three bytes in, a null bit and twelve bits out.
struct Converter(Rc<Bench>);

impl ErrorType for Converter {
    type Error = ErrorKind;
}

impl SpiDevice for Converter {
    fn transaction(&mut self, operations: &mut [Operation<'_, u8>]) -> Result<(), ErrorKind> {
        let bench = &self.0;
        if bench.bus_refuses.get() {
            return Err(ErrorKind::Other);
        }
        for operation in operations {
            let Operation::TransferInPlace(bytes) = operation else {
                panic!("bytes go both ways at once")
            };
            if bench.unplugged.get() {
                bytes.fill(0xFF);
                continue;
            }
            let input = (bytes[0] & 1) << 2 | bytes[1] >> 6;
            let (voltage, current) = bench.wave.get()(bench.pair.get());
            let code = if input == VOLTAGE_INPUT {
                voltage
            } else {
                current
            };
            let [high, low] = code.to_be_bytes();
            bytes.copy_from_slice(&[0xFF, 0b1110_0000 | high, low]);
        }
        Ok(())
    }
}

struct Slot(Rc<Bench>);

impl Sectors for Slot {
    fn read(&mut self, sector: u32, into: &mut CellBytes) -> Result<(), MediumError> {
        if self.0.card_is_out.get() {
            return Err(MediumError::Fault);
        }
        self.0.card.borrow_mut().read(sector, into)
    }

    fn write(&mut self, sector: u32, bytes: &CellBytes) -> Result<(), MediumError> {
        if self.0.card_is_out.get() {
            return Err(MediumError::Fault);
        }
        self.0.card.borrow_mut().write(sector, bytes)
    }
}

struct BenchClock(Rc<Bench>);

impl Clock for BenchClock {
    fn now(&mut self) -> Option<WallClock> {
        let unix_ms = self.0.clock_ms.get();
        let source = ClockSource::Host;
        Some(WallClock { unix_ms, source })
    }

    fn set(&mut self, unix_ms: u64) -> bool {
        self.0.clock_ms.set(unix_ms);
        true
    }

    fn can_be_set(&self) -> bool {
        true
    }
}

struct Light(Rc<Bench>);

impl Panel for Light {
    fn input(&mut self) -> Option<Input> {
        None
    }

    fn show(&mut self, shown: Shown) {
        self.0.shown.set(shown);
    }
}

/// ± 200 V and ± 600 A.
fn calibration() -> Calibration {
    let channel = |gain_per_count, zero: i32, limits: CountLimits| Channel {
        gain_per_count,
        zero_in_256ths: 256 * zero,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: limits.lowest,
        highest_count: limits.highest,
    };
    Calibration {
        // The sum of two readings.
        voltage: channel(0.025, 2 * i32::from(MIDDLE), VOLTAGE_LIMITS),
        current: channel(0.3, MIDDLE.into(), CURRENT_LIMITS),
        sample_rate_hz: PAIRS_PER_SECOND.into(),
        rate_relative_uncertainty: 0.0001,
    }
}

impl Bench {
    fn new(layout: &Layout) -> Rc<Self> {
        let mut card = MemoryCard::new(layout.cells(), 1);
        card.sectors[0] = layout.to_cell();
        Rc::new(Self {
            // The counter of microseconds wraps after two seconds.
            micros: Cell::new(u32::MAX - 2_000_000),
            pair: Cell::new(0),
            wave: Cell::new(arc),
            bus_refuses: Cell::new(false),
            unplugged: Cell::new(false),
            card: RefCell::new(card),
            card_is_out: Cell::new(false),
            clock_ms: Cell::new(1_795_672_800_000),
            shown: Cell::default(),
        })
    }

    /// One period of the converter passes.
    fn pass(&self) {
        let micros = self.micros.get().wrapping_add(PERIOD_US.into());
        self.micros.set(micros);
        self.pair.set(self.pair.get() + 1);
        self.clock_ms.set(self.clock_ms.get() + 1);
    }

    fn setup(&self, journal: &Journal<Card<Slot>>) -> Setup {
        let settings = ArcSettings::for_process(Process::MagSolid);
        let arc = ArcConfig::new(&settings, &calibration()).expect("usable");
        Setup {
            device: "bench".try_into().expect("short"),
            board: "bench",
            title: Default::default(),
            process: Some(Process::MagSolid),
            calibration: calibration(),
            calibrated_unix_s: 0,
            arc: arc.counts(),
            order: Default::default(),
            resume: journal.resume(),
        }
    }
}

/// A logger that says about itself, over its link, how it is.
struct Said {
    identity: Identity,
    live: Live,
}

fn framed(request: &Request) -> Vec<u8> {
    let mut frame = [0; MAX_FRAME];
    let length = encode(7, request, &mut frame).expect("it fits");
    frame[..length].to_vec()
}

/// So many seconds from power on to the plug being pulled, with a hand on the bench before each pair.
fn run(bench: &Rc<Bench>, seconds: u32, hand: &mut dyn FnMut(u32, &Bench, &ComputerEnd)) -> Said {
    let slot = Slot(Rc::clone(bench));
    let cells = bench.card.borrow().sectors.len() as u32;
    let journal = Journal::mount(Card::at(slot, 0, cells)).expect("prepared");
    let setup = bench.setup(&journal);
    let (logger_end, computer) = cable(4096);
    let inputs = Inputs {
        voltage: VOLTAGE_INPUT,
        current: 7,
    };
    let micros = Rc::clone(bench);
    let ticks = move || micros.micros.get();
    let parts = Parts {
        front_end: Mcp3208::new(Converter(Rc::clone(bench)), ticks, inputs, PERIOD_US),
        store: journal,
        link: logger_end,
        clock: BenchClock(Rc::clone(bench)),
        panel: Light(Rc::clone(bench)),
        plan: Box::new(NextWeld::new()),
    };
    let mut logger = Logger::start(parts, setup).expect("usable");
    let turn = |logger: &mut Logger<Parts<_, _, _, _, _, _>>| {
        bench.pass();
        for _ in 0..3 {
            logger.poll();
        }
    };
    for pair in 0..seconds * PAIRS_PER_SECOND {
        hand(pair, bench, &computer);
        turn(&mut logger);
    }
    let mut ask = |request| {
        let _ = computer.receive(usize::MAX);
        computer.send(&framed(&request));
        let mut receiver = Receiver::<Reply>::new();
        for _ in 0..100 {
            turn(&mut logger);
            let came = computer.receive(usize::MAX);
            let answer = came.iter().find_map(|byte| receiver.take(*byte));
            if let Some((7, Ok(answer))) = answer {
                return answer;
            }
        }
        panic!("no answer")
    };
    let (Reply::Identity(identity), Reply::Live(live)) =
        (ask(Request::Identify), ask(Request::Live))
    else {
        panic!("other answers")
    };
    Said { identity, live }
}

/// What the maker has of it: the log pulled off the card, as the host reads it, and what `beads` says beside its table.
struct Pulled {
    log: coldsquare_engine::log::Log,
    notes: String,
}

fn pulled(bench: &Bench) -> Pulled {
    let folder = tempfile::tempdir().expect("a folder");
    let name = |name: &str| {
        let path = folder.path().join(name);
        path.to_str().expect("plain path").to_owned()
    };
    let (journal, out) = (name("COLDSQ.JNL"), name("weld.log"));
    std::fs::write(&journal, bench.card.borrow().sectors.concat()).expect("room");
    let ran = coldsquare(["pull", &journal, &out]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let log = coldsquare_engine::log::read(
        &coldsquare::disk::Disk,
        out.as_ref(),
        &RecordingOptions::default(),
    )
    .expect("a log");
    Pulled {
        log,
        notes: coldsquare(["beads", &out]).err,
    }
}

impl Pulled {
    /// Events of a kind: values, in order.
    fn values(&self, kind: EventKind) -> Vec<i64> {
        let events = self.log.events.iter();
        events
            .filter(|event| event.kind == kind)
            .map(|event| event.value)
            .collect()
    }

    /// Events but that of the power coming on.
    fn told(&self) -> Vec<EventKind> {
        let kinds = self.log.events.iter().map(|event| event.kind);
        kinds.filter(|kind| *kind != EventKind::PowerOn).collect()
    }
}

fn roomy() -> Layout {
    Layout::divide(99, 4096, 4, 64).expect("large enough")
}

/// Eight seconds with two beads, a fault, and what the host has of it.
fn with(wave: Wave, hand: &mut dyn FnMut(u32, &Bench, &ComputerEnd)) -> (Said, Pulled) {
    let bench = Bench::new(&roomy());
    bench.wave.set(wave);
    let said = run(&bench, 8, hand);
    let pulled = pulled(&bench);
    // Time went on whatever happened: both beads are where they were welded.
    assert_eq!(pulled.log.beads.len(), 2);
    for (bead, at) in pulled.log.beads.iter().zip([1.0, 5.0]) {
        assert!((bead.start.0 - at).abs() < 0.003, "{}", bead.start.0);
        assert!((bead.arc_time.value - 2.0).abs() < 0.003);
    }
    (said, pulled)
}

#[test]
fn a_good_day_has_nothing_to_tell() {
    let (said, pulled) = with(arc, &mut |_, _, _| {});
    // This logger has no key, and that is all there is to say.
    let unsealed = "note: not sealed: nothing shows whether it was changed\n";
    assert_eq!((pulled.told(), pulled.notes.as_str()), (vec![], unsealed));
    assert_eq!(said.live.last_alarm, None);
    assert_eq!(said.identity.store, StoreState::Working);
}

#[test]
fn what_the_leads_the_clamp_and_the_converter_do_is_in_the_log() {
    use EventKind::{
        ClampReversed, CurrentClipped, CurrentStuck, VoltageClipped, VoltageLeadOpen, VoltageStuck,
    };
    for (wave, kind, values, words) in [
        (
            lead_off as Wave,
            VoltageLeadOpen,
            [0, 0],
            "a voltage lead was off",
        ),
        (clamp_reversed, ClampReversed, [0, 0], ""),
        (beyond_the_divider, VoltageClipped, [20, 20], ""),
        (beyond_the_clamp, CurrentClipped, [4, 4], ""),
        (
            voltage_stuck,
            VoltageStuck,
            [4896, 4896],
            "check the leads and the converter",
        ),
        (
            current_stuck,
            CurrentStuck,
            [2388, 2388],
            "check the clamp and the converter",
        ),
    ] {
        let (said, pulled) = with(wave, &mut |_, _, _| {});
        assert_eq!(pulled.told(), [kind, kind]);
        assert_eq!(pulled.values(kind), values, "{kind:?}");
        assert!(pulled.notes.contains(words), "{}", pulled.notes);
        // And while it happens: over the link.
        assert_eq!(said.live.last_alarm, Some(kind));
    }
}

/// Pairs that do not come, 50 of them in the first bead: the bus refuses, nobody drives the line, or the loop was away.
#[test]
fn pairs_that_never_came_are_counted_where_they_were_due() {
    let faults: [fn(u32, &Bench, &ComputerEnd); 3] = [
        |pair, bench, _| bench.bus_refuses.set((1500..1550).contains(&pair)),
        |pair, bench, _| bench.unplugged.set((1500..1550).contains(&pair)),
        |pair, bench, _| {
            if pair == 1500 {
                (0..50).for_each(|_| bench.pass());
            }
        },
    ];
    for mut fault in faults {
        let bench = Bench::new(&roomy());
        run(&bench, 8, &mut fault);
        let pulled = pulled(&bench);
        assert_eq!(pulled.told(), [EventKind::SamplesDropped]);
        assert_eq!(pulled.values(EventKind::SamplesDropped), [50]);
        let [first, second] = &pulled.log.beads[..] else {
            panic!("two beads")
        };
        assert_eq!((first.bead.dropped, second.bead.dropped), (50, 0));
        assert_eq!(
            (first.bead.arc_samples, second.bead.arc_samples),
            (2000, 2000)
        );
    }
}

#[test]
fn a_card_that_was_out_for_a_while_costs_what_came_meanwhile_and_that_is_told() {
    let (said, pulled) = with(arc, &mut |pair, bench, _| {
        bench.card_is_out.set((500..2500).contains(&pair));
    });
    let lost = pulled.values(EventKind::StoreFault);
    assert!(!lost.is_empty() && lost.iter().sum::<i64>() > 3, "{lost:?}");
    let tally = &pulled.log.report.tally;
    assert_eq!(tally.damaged_stretches, 0);
    assert!(tally.missing > 3, "{tally:?}");
    assert!(
        pulled.notes.contains("could not store records"),
        "{}",
        pulled.notes
    );
    // It works again, and still says that something was lost.
    assert_eq!(said.identity.store, StoreState::Working);
    assert_eq!(said.live.last_alarm, Some(EventKind::StoreFault));
}

#[test]
fn clock_calibration_and_a_pulled_plug_are_in_the_log() {
    let (_, pulled) = with(arc, &mut |pair, bench, computer| {
        let mut calibration = calibration();
        calibration.current.gain_per_count = 0.297;
        let request = match pair {
            4000 => Request::SetClock {
                unix_ms: bench.clock_ms.get() - 3_600_000,
            },
            4500 => Request::Calibrate {
                calibration,
                calibrated_unix_s: 1_790_000_000,
            },
            _ => return,
        };
        computer.send(&framed(&request));
    });
    assert_eq!(
        pulled.told(),
        [EventKind::ClockSet, EventKind::CalibrationChanged]
    );
    let moved = pulled.values(EventKind::ClockSet)[0];
    assert!((moved + 3_600_000).abs() < 20, "{moved}");
    let gain = |bead: usize| {
        let bead = &pulled.log.beads[bead].bead;
        pulled
            .log
            .header_at(bead.start)
            .calibration
            .current
            .gain_per_count
    };
    assert_eq!((gain(0), gain(1)), (0.3, 0.297));

    let bench = Bench::new(&roomy());
    (0..3).for_each(|_| drop(run(&bench, 4, &mut |_, _, _| {})));
    let pulled = self::pulled(&bench);
    assert_eq!(pulled.values(EventKind::PowerOn), [1, 2, 3]);
    let numbers: Vec<_> = pulled
        .log
        .beads
        .iter()
        .map(|bead| bead.bead.number)
        .collect();
    assert_eq!(numbers, [1, 2, 3]);
}

/// A store for some minutes, filled until nothing goes in any more.
#[test]
fn a_full_store_gives_up_its_oldest_windows_first_never_a_bead_and_says_so() {
    let layout = Layout::divide(99, 96, 4, 204).expect("large enough");
    let bench = Bench::new(&layout);
    let said = run(&bench, 400, &mut |_, _, _| {});
    let pulled = pulled(&bench);
    let log = &pulled.log;

    // Every bead until it was full is there, each with its record, and nothing after it.
    let numbers: Vec<_> = log.beads.iter().map(|bead| bead.bead.number).collect();
    assert!(numbers.len() > 20 && numbers.len() < 100, "{numbers:?}");
    assert!(numbers.iter().copied().eq(1..=numbers.len() as u32));
    assert!(log.beads.iter().all(|bead| bead.bead.arc_samples == 2000));

    // Of the windows the oldest are gone: those that are left follow one another up to the last bead.
    let first = log.windows.first().expect("some are left").start;
    assert!(first > log.beads[2].bead.start, "the oldest made room");
    assert_eq!(log.report.uncovered_samples, 0);
    let (last_window, last_bead) = (log.windows.last(), log.beads.last());
    let end = last_window.map_or(0, |window| window.start + window.span());
    assert!(last_bead.is_some_and(|bead| bead.bead.start < end));

    // That it is full is its last word, told once; on the link, on the light and to whoever reads the log.
    assert_eq!(pulled.told(), [EventKind::StoreFull]);
    let full = log.events.last().map_or(0, |event| event.position);
    assert!(full >= end);
    assert!(pulled.notes.contains("memory was full"), "{}", pulled.notes);
    assert_eq!(said.identity.store, StoreState::Full);
    assert_eq!(said.live.last_alarm, Some(EventKind::StoreFull));
    assert!(bench.shown.get().attention);
    assert!(
        said.live.lost > 0 && said.live.beads > 90,
        "it goes on measuring"
    );

    // Nor does it change after the power was gone.
    run(&bench, 8, &mut |_, _, _| {});
    let again = self::pulled(&bench);
    assert_eq!(again.log.beads.len(), numbers.len());
    assert_eq!(
        again.log.events.last().map(|event| event.kind),
        Some(EventKind::StoreFull)
    );
}
