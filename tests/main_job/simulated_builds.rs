//! A thousand builds by chance, welded in front of the logger, and read back from its log.

use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::meter::{Measured, Polarity, Stretch, measure};
use coldsquare_core::process::Process;
use coldsquare_core::record::{
    Entry, Event, EventKind, Header, Marker, MarkerKind, Reader, Record,
};
use coldsquare_firmware::panel::Input;
use coldsquare_firmware::sim::{
    Build, Converter, Kind, MemoryStore, Mishap, SimulatedBead, Transfer, TrueBead, Truth,
    log_build, log_build_to,
};

const RATE_HZ: f64 = 2_000.0;

/// A log, read and sorted.
#[derive(Default)]
struct Log {
    headers: Vec<Header>,
    beads: Vec<Bead>,
    windows: Vec<Window>,
    markers: Vec<Marker>,
    events: Vec<Event>,
}

impl Log {
    /// Reads what can be read.
    fn salvage(bytes: &[u8]) -> Self {
        let (mut reader, mut rest, mut log) = (Reader::new(), bytes, Self::default());
        while let Some(entry) = reader.next(&mut rest) {
            if let Entry::Record { record, .. } = entry {
                match record {
                    Record::Header(header) => log.headers.push(header),
                    Record::Bead(bead) => log.beads.push(bead),
                    Record::Window(window) => log.windows.push(window),
                    Record::Marker(marker) => log.markers.push(marker),
                    Record::Event(event) => log.events.push(event),
                }
            }
        }
        log
    }

    fn has(&self, kind: EventKind) -> bool {
        self.events.iter().any(|event| event.kind == kind)
    }

    fn calibration(&self) -> Calibration {
        self.headers[0].calibration
    }
}

fn welded(build: &Build, seed: u64) -> (Log, Truth) {
    let (bytes, truth) = log_build(build, seed).expect("the build suits its settings");
    let log = Log::salvage(&bytes);
    (log, truth)
}

fn measured(bead: &Bead, calibration: &Calibration) -> Measured {
    measure(&Stretch::from(bead), calibration).expect("a bead can be measured")
}

/// The bead was found where it was made, to two samples, and with its restarts.
fn assert_found(bead: &Bead, made: &TrueBead, name: &str) {
    let end = bead.start + bead.span();
    assert!(
        bead.start.abs_diff(made.start) <= 2,
        "{name}: starts at {} not {}",
        bead.start,
        made.start
    );
    assert!(
        end.abs_diff(made.end) <= 2,
        "{name}: ends at {end} not {}",
        made.end
    );
    assert!(
        bead.arc_samples.abs_diff(made.arc_samples) <= 6,
        "{name}: burned {} not {}",
        bead.arc_samples,
        made.arc_samples
    );
    assert_eq!(bead.restarts, made.restarts, "{name}: restarts");
}

/// The energy is the true one within what rounding to whole counts can do.
///
/// Each count is off by at most half a step q/2, so a product is off by at most |v|·q_i/2 + |i|·q_v/2 + q_v·q_i/4, and
/// the energy by the sum of that times dt. Zero and gain are known to the logger here, so nothing else is left but
/// 1e-12 of floating point. Lost samples are covered by the uncertainty that the meter states.
fn assert_energy(bead: &Bead, truth: &Truth, calibration: &Calibration, name: &str) {
    let measured = measured(bead, calibration);
    let (energy, rounding) = truth.energy_between(bead.start, bead.start + bead.span());
    let lost = if bead.dropped > 0 {
        measured.energy_expanded_uncertainty().0
    } else {
        0.0
    };
    let bound = rounding + 1e-12 * energy.abs() + lost;
    let off = (measured.energy.0 - energy.abs()).abs();
    assert!(
        off <= bound,
        "{name}: {} J, really {energy} J, off by {off} J, bound {bound} J",
        measured.energy.0
    );
    assert!(
        rounding < 0.03 * energy.abs(),
        "{name}: a bound of {rounding} J on {energy} J says nothing"
    );
}

/// Windows, beads and idle time hold exactly what the converter counted.
fn assert_adds_up(log: &Log, truth: &Truth, name: &str) {
    let (mut all, mut idle) = (Bead::default(), Bead::default());
    for window in &log.windows {
        all.add_window(window);
        let inside = |bead: &Bead| (bead.start..bead.start + bead.span()).contains(&window.start);
        if !log.beads.iter().any(inside) {
            idle.add_window(window);
        }
    }
    assert_eq!(all.sums, truth.sums, "{name}: windows");
    assert_eq!(
        u64::from(all.dropped),
        truth.dropped,
        "{name}: lost samples"
    );
    let mut beads_and_idle = idle.sums;
    log.beads
        .iter()
        .for_each(|bead| beads_and_idle.merge(&bead.sums));
    assert_eq!(beads_and_idle, truth.sums, "{name}: beads and idle");
}

/// 250 builds of one process: every bead found, none invented, energy right, everything adds up.
fn weld_by_chance(kind: Kind) {
    let mut beads = 0;
    for seed in 0..250 {
        let name = format!("{kind:?}, build {seed}");
        let build = Build::random(kind, RATE_HZ, seed);
        let (log, truth) = welded(&build, seed);
        assert_eq!(log.beads.len(), truth.beads.len(), "{name}: beads found");
        for (bead, made) in log.beads.iter().zip(&truth.beads) {
            let name = format!("{name}, bead {}", bead.number);
            assert_found(bead, made, &name);
            assert_energy(bead, &truth, &log.calibration(), &name);
            let polarity = measured(bead, &log.calibration()).polarity;
            assert_eq!(
                polarity == Polarity::ReversedLead,
                build.reversed_clamp,
                "{name}: {polarity:?}"
            );
        }
        assert_eq!(
            log.has(EventKind::ClampReversed),
            build.reversed_clamp,
            "{name}: clamp"
        );
        assert_eq!(
            log.has(EventKind::SamplesDropped),
            truth.dropped > 0,
            "{name}: losses"
        );
        assert!(
            !log.has(EventKind::VoltageLeadOpen),
            "{name}: no lead was open"
        );
        assert!(
            !log.has(EventKind::VoltageStuck) && !log.has(EventKind::CurrentStuck),
            "{name}: not stuck"
        );
        assert_adds_up(&log, &truth, &name);
        beads += truth.beads.len();
    }
    assert!(beads > 700, "{beads} beads show too little");
}

#[test]
fn every_bead_of_mag_with_short_circuits_is_found() {
    weld_by_chance(Kind::ShortCircuit);
}

#[test]
fn every_bead_of_pulsed_mag_is_found() {
    weld_by_chance(Kind::Pulsed);
}

#[test]
fn every_bead_of_tig_on_direct_current_is_found() {
    weld_by_chance(Kind::TigDirect);
}

#[test]
fn every_bead_of_tig_on_alternating_current_is_found() {
    weld_by_chance(Kind::TigAlternating);
}

const SHORTS: Transfer = Transfer::ShortCircuit { shorts_hz: 80.0 };
const ALTERNATING: Transfer = Transfer::TigAlternating {
    cycles_hz: 120.0,
    negative_share: 0.7,
};

fn mag(beads: Vec<SimulatedBead>) -> Build {
    Build::new("trial", Process::MagSolid, RATE_HZ, beads)
}

fn bead(arc_s: f64) -> SimulatedBead {
    SimulatedBead::new(SHORTS, 19.0, 110.0, arc_s)
}

#[test]
fn the_same_seed_gives_the_same_log_and_another_one_does_not() {
    let build = mag(vec![bead(1.0)]);
    let bytes = |seed| log_build(&build, seed).expect("suits").0;
    assert_eq!(bytes(1), bytes(1));
    assert_ne!(bytes(1), bytes(2));
}

#[test]
fn a_log_calibrated_afterwards_is_the_log_of_a_calibrated_logger_to_the_last_bit() {
    for kind in Kind::ALL {
        let mut build = Build::random(kind, RATE_HZ, 42);
        let right = build.converter.calibration;
        let wrong = |channel: Channel, shift: i32| Channel {
            gain_per_count: 1.03 * channel.gain_per_count,
            zero_in_256ths: channel.zero_in_256ths + shift,
            ..channel
        };
        let settings = ArcSettings::for_process(build.process);
        build.arc = Some(ArcConfig::new(&settings, &right).expect("usable").counts());
        let (calibrated, _) = welded(&build, 7);
        build.believed = Some(Calibration {
            voltage: wrong(right.voltage, 300),
            current: wrong(right.current, -77),
            ..right
        });
        let (off, _) = welded(&build, 7);

        assert_eq!(off.beads.len(), calibrated.beads.len());
        assert_eq!(off.windows, calibrated.windows);
        for (off_bead, bead) in off.beads.iter().zip(&calibrated.beads) {
            let later = measured(off_bead, &calibrated.calibration());
            let at_once = measured(bead, &calibrated.calibration());
            assert_eq!(bits(&later), bits(&at_once));
            assert_ne!(
                bits(&measured(off_bead, &off.calibration())),
                bits(&at_once)
            );
        }
    }
}

fn bits(measured: &Measured) -> [u64; 8] {
    [
        measured.duration.0,
        measured.mean_voltage.0,
        measured.mean_current.0,
        measured.rms_voltage.0,
        measured.rms_current.0,
        measured.true_power.0,
        measured.energy.0,
        measured.energy_standard_uncertainty.0,
    ]
    .map(f64::to_bits)
}

#[test]
fn pulses_have_more_energy_than_two_panel_meters_say_and_short_circuits_less() {
    let energy_over_meters = |transfer| {
        let (log, _) = welded(
            &mag(vec![SimulatedBead::new(transfer, 22.0, 120.0, 3.0)]),
            1,
        );
        let measured = measured(&log.beads[0], &log.calibration());
        measured.true_power / measured.product_of_means
    };
    assert!(energy_over_meters(Transfer::Pulsed { pulses_hz: 100.0 }) > 1.05);
    assert!(energy_over_meters(SHORTS) < 0.95);
}

#[test]
fn alternating_current_is_called_so_and_has_power_though_its_means_have_little() {
    let build = Build::new(
        "trial",
        Process::Tig,
        RATE_HZ,
        vec![SimulatedBead::new(ALTERNATING, 15.0, 120.0, 3.0)],
    );
    let (log, _) = welded(&build, 1);
    let measured = measured(&log.beads[0], &log.calibration());
    assert_eq!(measured.polarity, Polarity::Alternating);
    coldsquare_tests::assert_close(measured.true_power.0, 15.0 * 120.0, 0.0, 0.01);
    assert!(measured.product_of_means.0 < 0.25 * measured.true_power.0);
}

#[test]
fn electrode_positive_and_negative_are_told_apart() {
    let polarity = |transfer, process| {
        let build = Build::new(
            "trial",
            process,
            RATE_HZ,
            vec![SimulatedBead::new(transfer, 18.0, 100.0, 1.0)],
        );
        let (log, _) = welded(&build, 1);
        measured(&log.beads[0], &log.calibration()).polarity
    };
    assert_eq!(
        polarity(SHORTS, Process::MagSolid),
        Polarity::ElectrodePositive
    );
    assert_eq!(
        polarity(Transfer::TigDirect, Process::Tig),
        Polarity::ElectrodeNegative
    );
}

#[test]
fn clipping_is_counted_told_and_doubted() {
    let mut build = mag(vec![SimulatedBead::new(SHORTS, 22.0, 460.0, 2.0)]);
    build.converter = Converter::twelve_bit(RATE_HZ);
    let (log, truth) = welded(&build, 1);
    let measured = measured(&log.beads[0], &log.calibration());
    let clipped = log
        .events
        .iter()
        .find(|event| event.kind == EventKind::CurrentClipped)
        .expect("told");
    // The highest count is 4095 and the zero 2043.66, so it clips from (4094.5 - 2043.66) · 600/2048 A on.
    let past_the_limit = truth
        .samples
        .iter()
        .filter(|(_, amps)| *amps >= 600.83)
        .count();
    assert!(past_the_limit > 20);
    assert_eq!(clipped.value, i64::from(log.beads[0].clipped_current));
    assert!(
        log.beads[0]
            .clipped_current
            .abs_diff(u32::try_from(past_the_limit).expect("few"))
            <= 2
    );
    let missing = truth.beads[0].energy_j - measured.energy.0;
    assert!(missing > 0.0 && missing < measured.energy_expanded_uncertainty().0);
    let unclipped = Bead {
        clipped_current: 0,
        ..log.beads[0]
    };
    let without = self::measured(&unclipped, &log.calibration()).energy_standard_uncertainty;
    assert!(measured.energy_standard_uncertainty.0 > without.0);
}

#[test]
fn an_interruption_longer_than_the_longest_gap_parts_the_bead() {
    let dark = |off_s| {
        let mishap = Some(Mishap::Interruption { off_s });
        welded(
            &mag(vec![SimulatedBead {
                mishap,
                ..bead(2.0)
            }]),
            1,
        )
        .0
        .beads
        .len()
    };
    assert_eq!((dark(0.39), dark(0.41)), (1, 2));
}

#[test]
fn presses_become_markers_where_they_were_pressed() {
    let press = |input| SimulatedBead {
        press: Some(input),
        ..bead(1.0)
    };
    let mut build = mag(vec![
        press(Input::Next),
        press(Input::Skip),
        press(Input::Redo),
        press(Input::Mark),
    ]);
    build.order = vec![7, 3, 5];
    let (log, truth) = welded(&build, 1);
    let told: Vec<_> = log
        .markers
        .iter()
        .map(|marker| (marker.kind, marker.weld))
        .collect();
    assert_eq!(
        told,
        [
            (MarkerKind::NextWeld, Some(7)),
            (MarkerKind::Skip, Some(7)),
            (MarkerKind::NextWeld, Some(3)),
            (MarkerKind::Redo, Some(3)),
            (MarkerKind::Note, None),
        ]
    );
    let before = |marker: &Marker| {
        truth
            .beads
            .iter()
            .filter(|bead| bead.end <= marker.position)
            .count()
    };
    assert_eq!(
        log.markers.iter().map(before).collect::<Vec<_>>(),
        [0, 1, 1, 2, 3]
    );
}

#[test]
fn a_tare_takes_out_the_zero_of_the_clamp_from_the_next_bead_on() {
    let mut build = mag(vec![
        SimulatedBead {
            pause_s: 4.0,
            press: Some(Input::Tare),
            ..bead(1.0)
        },
        bead(1.0),
    ]);
    let right = build.converter.calibration;
    // More than keeps an arc burning: without the tare the first bead would never end.
    let amps_off = 15.0;
    build.believed = Some(Calibration {
        current: Channel {
            zero_in_256ths: right.current.zero_in_256ths
                + (256.0 * amps_off / right.current.gain_per_count) as i32,
            ..right.current
        },
        ..right
    });
    let (log, truth) = welded(&build, 1);
    assert!(log.has(EventKind::CalibrationChanged));
    let [_, tared] = &log.headers[..] else {
        panic!("{} headers", log.headers.len())
    };
    let clock = log
        .headers
        .iter()
        .map(|header| header.clock.expect("set").unix_ms)
        .collect::<Vec<_>>();
    assert_eq!(clock[1] - clock[0], tared.start * 1000 / RATE_HZ as u64);
    let residue = tared.calibration.current.zero_in_256ths - right.current.zero_in_256ths;
    coldsquare_tests::assert_close(
        f64::from(residue) / 256.0 * right.current.gain_per_count,
        0.0,
        0.02,
        0.0,
    );
    assert_eq!(tared.arc.zero, tared.calibration.current.nearest_zero());
    for (bead, made) in log.beads.iter().zip(&truth.beads) {
        assert_found(bead, made, "after the tare");
    }
    let energy = measured(&log.beads[1], &tared.calibration).energy.0;
    coldsquare_tests::assert_close(energy, truth.beads[1].energy_j, 0.0, 0.002);
}

#[test]
fn what_was_synced_before_the_power_went_is_in_the_log() {
    let build = mag(vec![bead(0.5), bead(0.3), bead(0.4)]);
    let (whole, _) = log_build(&build, 3).expect("suits");
    let all = Log::salvage(&whole).beads;
    for cut in (0..whole.len()).step_by(61) {
        let (store, _) = log_build_to(&build, 3, MemoryStore::failing_after(cut)).expect("suits");
        let promised = Log::salvage(&whole[..store.synced()]).beads.len();
        let bytes = store.into_bytes();
        assert_eq!(bytes, whole[..cut]);
        let kept = Log::salvage(&bytes).beads;
        assert!(kept.len() >= promised, "cut at {cut}");
        assert_eq!(kept, all[..kept.len()], "cut at {cut}");
    }
}
