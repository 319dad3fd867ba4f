//! Each fault that a converter can have, from its pins to the log.

use crate::bench::{Bench, Fault, PERIOD_US, SETTINGS};
use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::bead::Bead;
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::process::Process;
use coldsquare_core::record::{Entry, EventKind, Reader, Record, WallClock};
use coldsquare_core::samples::MAX_COUNT;
use coldsquare_firmware::clock::Clock;
use coldsquare_firmware::converters::ads131m02::STILL_FRAMES;
use coldsquare_firmware::link::Unconnected;
use coldsquare_firmware::logger::{Logger, Parts, Resume, Setup};
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::panel::{Input, Panel, Shown};
use coldsquare_firmware::sim::MemoryStore;

struct NoClock;

impl Clock for NoClock {
    fn now(&mut self) -> Option<WallClock> {
        None
    }
}

struct NoPanel;

impl Panel for NoPanel {
    fn input(&mut self) -> Option<Input> {
        None
    }
    fn show(&mut self, _shown: Shown) {}
}

/// A divider of 1 to 100 and a clamp of 1 mV/A on the bench's converter: ± 120 V and ± 600 A.
fn calibration() -> Calibration {
    let channel = |gain_per_count| Channel {
        gain_per_count,
        zero_in_256ths: 0,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    };
    Calibration {
        voltage: channel(100.0 * SETTINGS.voltage.volts_per_count()),
        current: channel(1000.0 * SETTINGS.current.volts_per_count()),
        sample_rate_hz: SETTINGS.sample_rate_hz(),
        rate_relative_uncertainty: 0.0,
    }
}

const VOLT: i32 = 69_905;
const AMPERE: i32 = 13_981;

/// Half a second of rest, three seconds of 20 V and 100 A, half a second of rest; noise everywhere.
const LIT: core::ops::Range<i32> = 4000..28_000;

fn arc(n: i32) -> (i32, i32) {
    let noise = n * 7919 % 41 - 20;
    if LIT.contains(&n) {
        (20 * VOLT + 50 * noise, 100 * AMPERE + 30 * noise)
    } else {
        (noise, -noise)
    }
}

fn lead_off(n: i32) -> (i32, i32) {
    (n * 7919 % 41 - 20, arc(n).1)
}

fn clamp_reversed(n: i32) -> (i32, i32) {
    (arc(n).0, -arc(n).1)
}

/// Each half second of arc one conversion finds more current than 600 A.
fn beyond_the_clamp(n: i32) -> (i32, i32) {
    if LIT.contains(&n) && n % 4000 == 100 {
        (arc(n).0, 0x7f_ffff)
    } else {
        arc(n)
    }
}

/// Events without the one of switching on, beads, and where the log ends.
struct Told {
    events: Vec<(EventKind, i64)>,
    beads: Vec<Bead>,
    end: u64,
}

/// Four seconds in front of the real driver and the real logger; from `from_ms` on for `for_ms` there is a fault.
fn logged(wave: fn(i32) -> (i32, i32), fault: Option<Fault>, from_ms: u32, for_ms: u32) -> Told {
    let bench = Bench::new();
    bench.sees(wave);
    let settings = ArcSettings::for_process(Process::MagSolid);
    let setup = Setup {
        device: "bench".try_into().expect("short"),
        board: "bench",
        title: Default::default(),
        process: Some(Process::MagSolid),
        calibration: calibration(),
        calibrated_unix_s: 0,
        arc: ArcConfig::new(&settings, &calibration())
            .expect("usable")
            .counts(),
        order: Default::default(),
        resume: Resume::default(),
    };
    let parts = Parts {
        front_end: bench.start().expect("well"),
        store: MemoryStore::new(),
        link: Unconnected,
        clock: NoClock,
        panel: NoPanel,
        plan: NextWeld::new(),
    };
    let mut logger = Logger::start(parts, setup).expect("usable");
    for turn in 0..160_000 {
        bench.pass(25);
        let ms = turn / 40;
        let is_wrong = (from_ms..from_ms + for_ms).contains(&ms);
        bench.fault(fault.filter(|_| is_wrong));
        if is_wrong && fault == Some(Fault::SupplyDips) && turn % 4000 == 0 {
            bench.supply_dips();
        }
        logger.poll();
    }
    let bytes = logger.finish().1.into_bytes();
    let (mut reader, mut rest) = (Reader::new(), &bytes[..]);
    let mut told = Told {
        events: Vec::new(),
        beads: Vec::new(),
        end: 0,
    };
    while let Some(entry) = reader.next(&mut rest) {
        match entry {
            Entry::Record { record, .. } => match record {
                Record::Event(event) if event.kind != EventKind::PowerOn => {
                    told.events.push((event.kind, event.value));
                }
                Record::Bead(bead) => told.beads.push(bead),
                Record::Window(window) => told.end = window.start + window.span(),
                _ => {}
            },
            Entry::Damage { cause, .. } => panic!("{cause}"),
        }
    }
    told
}

fn lost(told: &Told) -> i64 {
    let count = |&(kind, value): &(EventKind, i64)| {
        assert_eq!(kind, EventKind::SamplesDropped);
        value
    };
    told.events.iter().map(count).sum()
}

/// Four seconds at 8 000 a second, whatever was lost; one conversion may be on its way at the end.
fn assert_time_went_on(told: &Told) {
    assert_eq!(1_000_000 / PERIOD_US, 8000);
    assert!((31_998..=32_000).contains(&told.end), "{}", told.end);
}

#[test]
fn nothing_is_told_of_a_good_arc() {
    let told = logged(arc, None, 0, 0);
    assert_eq!(told.events, []);
    assert_eq!(told.beads.len(), 1);
    assert_time_went_on(&told);
    // 20 V and 100 A for three seconds.
    let bead = told.beads[0];
    let energy = bead.sums.vi as f64
        * calibration().voltage.gain_per_count
        * calibration().current.gain_per_count
        / 8000.0;
    assert!((energy - 6000.0).abs() < 3.0, "{energy}");
}

#[test]
fn an_open_lead_a_reversed_clamp_and_saturation_are_told() {
    let told = logged(lead_off, None, 0, 0);
    assert_eq!(told.events, [(EventKind::VoltageLeadOpen, 0)]);
    let told = logged(clamp_reversed, None, 0, 0);
    assert_eq!(told.events, [(EventKind::ClampReversed, 0)]);
    let told = logged(beyond_the_clamp, None, 0, 0);
    assert_eq!(told.events, [(EventKind::CurrentClipped, 6)]);
}

#[test]
fn frames_that_fail_their_checksum_are_counted_as_lost() {
    let told = logged(arc, Some(Fault::FlippedBit), 1500, 1);
    assert_eq!(lost(&told), 8);
    assert_eq!(told.beads.len(), 1);
    assert_eq!(told.beads[0].dropped, 8);
    assert_time_went_on(&told);
}

#[test]
fn a_converter_that_falls_silent_is_told_and_time_goes_on() {
    for fault in [Fault::NoClock, Fault::Bus] {
        let told = logged(arc, Some(fault), 1500, 300);
        assert!(
            (2399..=2404).contains(&lost(&told)),
            "{fault:?} {}",
            lost(&told)
        );
        assert_time_went_on(&told);
    }
    // Also while nobody welds.
    let told = logged(arc, Some(Fault::NoClock), 100, 300);
    assert!((2399..=2404).contains(&lost(&told)), "{}", lost(&told));
    assert_eq!(told.beads.len(), 1);
    assert_time_went_on(&told);
}

#[test]
fn a_converter_that_is_stuck_gives_no_energy_and_time_goes_on() {
    let told = logged(arc, Some(Fault::Stuck), 1500, 1000);
    // The first ones cannot be told from a calm moment; from then on nothing of it is taken.
    let expected = 8000 - i64::from(STILL_FRAMES);
    assert!(
        (expected - 2..=expected + 2).contains(&lost(&told)),
        "{}",
        lost(&told)
    );
    assert_time_went_on(&told);
}

#[test]
fn a_converter_that_forgets_its_settings_is_set_up_again_and_what_that_cost_is_told() {
    // Ten dips in a second.
    let told = logged(arc, Some(Fault::SupplyDips), 1500, 1000);
    assert!((10..=20).contains(&lost(&told)), "{}", lost(&told));
    assert_eq!(told.beads.len(), 1);
    assert_eq!(i64::from(told.beads[0].dropped), lost(&told));
    assert_time_went_on(&told);
}

#[test]
fn one_channel_that_is_stuck_is_told_with_its_count() {
    let told = logged(
        |n| (arc(n).0, if LIT.contains(&n) { 100 * AMPERE } else { 0 }),
        None,
        0,
        0,
    );
    assert_eq!(
        told.events,
        [(EventKind::CurrentStuck, i64::from(100 * AMPERE))]
    );
    let told = logged(
        |n| (if LIT.contains(&n) { 20 * VOLT } else { 0 }, arc(n).1),
        None,
        0,
        0,
    );
    assert_eq!(
        told.events,
        [(EventKind::VoltageStuck, i64::from(20 * VOLT))]
    );
}
