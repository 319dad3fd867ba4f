//! The arc detector against its definition, evaluated on the whole recording at once, and its promises.

use coldsquare_core::arc::{ArcConfig, ArcCounts, ArcEvent, ArcSettings, ArcState};
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::samples::{RawPair, Sums};
use coldsquare_core::units::{Amperes, Seconds};
use proptest::prelude::*;

/// 1 V and 1 A a count with zeros at 7 and −5 counts, clipped at ±500, 100 samples a second.
fn calibration() -> Calibration {
    let channel = |zero: i32| Channel {
        gain_per_count: 1.0,
        zero_in_256ths: zero * 256,
        gain_relative_uncertainty: 0.01,
        zero_uncertainty: 0.1,
        lowest_count: -500,
        highest_count: 500,
    };
    Calibration {
        voltage: channel(7),
        current: channel(-5),
        sample_rate_hz: 100.0,
        rate_relative_uncertainty: 0.0,
    }
}

const DIP: u64 = 3;
const GAP: u64 = 10;
const SHORTEST: u64 = 5;

fn config() -> ArcConfig {
    let settings = ArcSettings {
        striking: Amperes(20.0),
        burning: Amperes(10.0),
        longest_dip: Seconds(0.03),
        longest_gap: Seconds(0.10),
        shortest_bead: Seconds(0.05),
        longest_tack: Seconds(0.5),
        arc_window: Seconds(0.07),
        idle_window: Seconds(0.16),
    };
    ArcConfig::new(&settings, &calibration()).expect("usable settings")
}

/// Part of a recording: a sample that lasts, or a loss.
#[derive(Clone, Copy, Debug)]
enum Part {
    Samples {
        voltage: i32,
        current: i32,
        times: u32,
    },
    Dropped(u32),
}

fn recording() -> impl Strategy<Value = Vec<Part>> {
    // Currents relative to the zero, dense about the thresholds, on both sides, some of them clipped.
    let current = prop_oneof![
        4 => -25..=25i32,
        2 => Just(100),
        1 => Just(-100),
        1 => any::<i32>(),
    ];
    let times = prop_oneof![3 => 1..=4u32, 2 => 5..=15u32, 1 => 16..=60u32];
    let part = prop_oneof![
        8 => (-600..=600i32, current, times.clone()).prop_map(|(voltage, current, times)| Part::Samples {
            voltage,
            current: current.saturating_sub(5),
            times,
        }),
        1 => times.prop_map(Part::Dropped),
    ];
    prop::collection::vec(part, 0..80)
}

fn run(parts: &[Part], hold: bool) -> (Vec<ArcEvent>, ArcState) {
    let config = config();
    let (mut state, mut events) = (ArcState::new(), Vec::new());
    let mut emit = |event| events.push(event);
    for &part in parts {
        match part {
            Part::Dropped(count) => state.dropped(&config, count, &mut emit),
            Part::Samples {
                voltage,
                current,
                times,
            } => {
                let pair = RawPair::new(voltage, current);
                if hold {
                    state.repeat(&config, pair, times, &mut emit);
                } else {
                    (0..times).for_each(|_| state.step(&config, pair, &mut emit));
                }
            }
        }
    }
    state.finish(&config, &mut emit);
    (events, state)
}

fn windows(events: &[ArcEvent]) -> Vec<Window> {
    events
        .iter()
        .filter_map(|event| match event {
            ArcEvent::Window(window) => Some(*window),
            _ => None,
        })
        .collect()
}

fn beads(events: &[ArcEvent]) -> Vec<Bead> {
    events
        .iter()
        .filter_map(|event| match event {
            ArcEvent::BeadEnded(bead) => Some(*bead),
            _ => None,
        })
        .collect()
}

/// Start, span, arc time and restarts of each bead, from the definition: arc on, then joined, then long enough.
fn beads_by_definition(parts: &[Part]) -> Vec<(u64, u64, u64, u16)> {
    let lit = lit_by_definition(parts);
    // Runs of lit positions as (start, end).
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (position, _) in lit.iter().enumerate().filter(|(_, lit)| **lit) {
        match runs.last_mut() {
            Some((_, end)) if *end == position => *end += 1,
            _ => runs.push((position, position + 1)),
        }
    }
    // Joined runs as (start, end, lit, restarts).
    let mut joined: Vec<(u64, u64, u64, u16)> = Vec::new();
    for (start, end) in runs
        .into_iter()
        .map(|(start, end)| (start as u64, end as u64))
    {
        match joined.last_mut() {
            Some((_, last, lit, restarts)) if start - *last < GAP => {
                *last = end;
                *lit += end - start;
                *restarts += 1;
            }
            _ => joined.push((start, end, end - start, 0)),
        }
    }
    joined.retain(|(_, _, lit, _)| *lit >= SHORTEST);
    joined
        .into_iter()
        .map(|(start, end, lit, restarts)| (start, end - start, lit, restarts))
        .collect()
}

fn lit_by_definition(parts: &[Part]) -> Vec<bool> {
    let mut lit: Vec<bool> = Vec::new();
    let mut burning = false;
    // Length of the run of low samples at the end of `lit`, not yet known to be dark.
    let mut low = 0usize;
    let darken = |lit: &mut Vec<bool>, low: usize| {
        let from = lit.len() - low;
        lit[from..].fill(false);
    };
    for &part in parts {
        let (times, magnitude) = match part {
            Part::Dropped(count) => (count, None),
            Part::Samples { current, times, .. } => (
                times,
                Some((i64::from(RawPair::new(0, current).current()) + 5).abs()),
            ),
        };
        if magnitude.is_none() && burning && u64::from(times) > GAP {
            darken(&mut lit, low);
            (burning, low) = (false, 0);
        }
        for _ in 0..times {
            match magnitude {
                Some(magnitude) if burning && magnitude >= 10 => low = 0,
                Some(magnitude) if !burning && magnitude >= 20 => burning = true,
                Some(_) if burning => low += 1,
                None if burning && low > 0 => low += 1,
                _ => {}
            }
            lit.push(burning);
            if magnitude.is_some() && low as u64 >= DIP {
                darken(&mut lit, low);
                (burning, low) = (false, 0);
            }
        }
        // A loss counts as one step: whether the dip is over is checked after it.
        if low as u64 >= DIP {
            darken(&mut lit, low);
            (burning, low) = (false, 0);
        }
    }
    darken(&mut lit, low);
    lit
}

/// Every sample of the recording, summed without any windows.
fn everything(parts: &[Part]) -> (Sums, u64) {
    let (mut sums, mut dropped) = (Sums::default(), 0);
    for &part in parts {
        match part {
            Part::Dropped(count) => dropped += u64::from(count),
            Part::Samples {
                voltage,
                current,
                times,
            } => {
                let pair = RawPair::new(voltage, current);
                let (v, i, n) = (
                    i128::from(pair.voltage()),
                    i128::from(pair.current()),
                    i128::from(times),
                );
                sums.merge(&Sums {
                    n: times.into(),
                    v: n * v,
                    i: n * i,
                    vv: n * v * v,
                    ii: n * i * i,
                    vi: n * v * i,
                });
            }
        }
    }
    (sums, dropped)
}

proptest! {
    #[test]
    fn beads_are_what_the_definition_says(parts in recording()) {
        let (events, _) = run(&parts, false);
        let found: Vec<_> = beads(&events)
            .iter()
            .map(|bead| (bead.start, bead.span(), bead.arc_samples, bead.restarts))
            .collect();
        prop_assert_eq!(found, beads_by_definition(&parts));
    }

    #[test]
    fn windows_follow_one_another_and_hold_every_sample(parts in recording()) {
        let (events, state) = run(&parts, false);
        let (sums, dropped) = everything(&parts);
        let mut position = 0;
        let mut total = Bead::default();
        for window in windows(&events) {
            prop_assert_eq!(window.start, position);
            prop_assert!(window.span() > 0);
            position += window.span();
            total.add_window(&window);
        }
        prop_assert_eq!(position, state.position());
        prop_assert_eq!(position, sums.n + dropped);
        prop_assert_eq!(total.sums, sums);
        prop_assert_eq!(u64::from(total.dropped), dropped);
    }

    #[test]
    fn a_bead_is_its_windows_and_the_rest_is_idle(parts in recording()) {
        let (events, _) = run(&parts, false);
        let (windows, beads) = (windows(&events), beads(&events));
        let mut idle = Bead::default();
        let mut from_windows: Vec<Bead> = beads
            .iter()
            .map(|bead| Bead { number: bead.number, start: bead.start, restarts: bead.restarts, ..Bead::default() })
            .collect();
        for window in &windows {
            let owner = beads.iter().position(|bead| {
                window.start >= bead.start && window.start < bead.start + bead.span()
            });
            match owner {
                Some(owner) => {
                    prop_assert!(window.start + window.span() <= beads[owner].start + beads[owner].span());
                    from_windows[owner].add_window(window);
                }
                None => idle.add_window(window),
            }
        }
        prop_assert_eq!(&from_windows, &beads);
        let mut total = idle.sums;
        beads.iter().for_each(|bead| total.merge(&bead.sums));
        prop_assert_eq!(total, everything(&parts).0);
    }

    #[test]
    fn a_repeated_sample_is_as_many_equal_samples(parts in recording()) {
        prop_assert_eq!(run(&parts, true), run(&parts, false));
    }

    #[test]
    fn a_bead_is_reported_once_with_its_number_before_it_ends(parts in recording()) {
        let mut open = None;
        let mut number = 0;
        for event in run(&parts, false).0 {
            match event {
                ArcEvent::BeadStarted { number: told, start } => {
                    prop_assert_eq!((told, open), (number + 1, None));
                    number = told;
                    open = Some(start);
                }
                ArcEvent::BeadEnded(bead) => {
                    prop_assert_eq!((bead.number, Some(bead.start)), (number, open));
                    open = None;
                }
                ArcEvent::Window(_) => {}
            }
        }
        prop_assert_eq!(open, None);
    }

    /// Most samples take the fast path; the result must be the same.
    #[test]
    fn the_fast_path_leaves_the_same_state_as_the_full_step(
        parts in prop::collection::vec(
            (
                prop_oneof![6 => 95..=105i32, 4 => -105..=-95i32, 3 => -6..=-4i32, 2 => -15..=20i32, 1 => any::<i32>()],
                prop_oneof![4 => -3..=3i32, 1 => any::<i32>()],
                1..=30u32,
                prop_oneof![9 => Just(0u32), 1 => 1..=60u32],
            ),
            0..60,
        ),
        limits in prop::array::uniform2((-110..=-90i32, 90..=110i32)),
        zero in -8..=0i32,
    ) {
        let limited = |channel: Channel, (lowest_count, highest_count)| Channel { lowest_count, highest_count, ..channel };
        let limited = Calibration {
            voltage: limited(calibration().voltage, limits[0]),
            current: limited(calibration().current, limits[1]),
            ..calibration()
        };
        let configs = [0, zero].map(|by| {
            let counts = config().counts();
            let counts = ArcCounts { zero: counts.zero + by, ..counts };
            ArcConfig::from_counts(counts, &limited).expect("as sound as it was")
        });
        let (mut quick, mut full) = (ArcState::new(), ArcState::new());
        let (mut quick_events, mut full_events) = (Vec::new(), Vec::new());
        for (part, (current, voltage, times, lost)) in parts.into_iter().enumerate() {
            let config = &configs[part / 10 % 2];
            if part % 10 == 0 {
                quick.reconfigured();
            }
            for k in 0..times as i32 {
                // Neighbours of one another, as an arc's samples are.
                let pair = RawPair::new(voltage.saturating_add(k * 7 % 3), current.saturating_add(k * 5 % 4));
                quick.step(config, pair, &mut |event| quick_events.push(event));
                full.step_full(config, pair, &mut |event| full_events.push(event));
                prop_assert_eq!(&quick, &full);
            }
            if lost > 0 {
                quick.dropped(config, lost, &mut |event| quick_events.push(event));
                full.dropped(config, lost, &mut |event| full_events.push(event));
            }
        }
        prop_assert_eq!(quick_events, full_events);
    }

    #[test]
    fn any_losses_keep_every_position(counts in prop::collection::vec(any::<u32>(), 0..20), lit in any::<bool>()) {
        let config = config();
        let (mut state, mut spans) = (ArcState::new(), 0u64);
        let mut emit = |event| if let ArcEvent::Window(window) = event { spans += window.span() };
        let mut expected = 0;
        for count in counts {
            state.step(&config, RawPair::new(20, if lit { 100 } else { 0 }), &mut emit);
            state.dropped(&config, count, &mut emit);
            expected += 1 + u64::from(count);
        }
        prop_assert_eq!(state.position(), expected);
        state.finish(&config, &mut emit);
        prop_assert_eq!(spans, expected);
    }
}

proptest! {
    #[test]
    fn any_counts_that_are_accepted_keep_every_position(
        levels in any::<(i32, u32, u32)>(),
        times in prop::array::uniform6(prop_oneof![0..40u32, 0..70_000u32, any::<u32>()]),
        parts in recording(),
        losses in prop::collection::vec(any::<u32>(), 0..4),
    ) {
        let [longest_dip, longest_gap, shortest_bead, longest_tack, arc_window, idle_window] = times;
        let (zero, striking, burning) = levels;
        let counts = ArcCounts {
            zero,
            striking,
            burning,
            longest_dip,
            longest_gap,
            shortest_bead,
            longest_tack,
            arc_window,
            idle_window,
        };
        let near = ArcCounts { zero: -5, striking: 20, burning: 10, ..counts };
        for counts in [counts, near] {
            let Ok(config) = ArcConfig::from_counts(counts, &calibration()) else { continue };
            let (mut state, mut spans, mut expected) = (ArcState::new(), 0u64, 0u64);
            let mut emit = |event| if let ArcEvent::Window(window) = event { spans += window.span() };
            let losses = losses.iter().map(|count| Part::Dropped(*count));
            for part in parts.iter().copied().chain(losses).chain(parts.iter().copied()) {
                match part {
                    Part::Dropped(count) => {
                        state.dropped(&config, count, &mut emit);
                        expected += u64::from(count);
                    }
                    Part::Samples { voltage, current, times } => {
                        state.repeat(&config, RawPair::new(voltage, current), times, &mut emit);
                        expected += u64::from(times);
                    }
                }
            }
            prop_assert_eq!(state.position(), expected);
            state.finish(&config, &mut emit);
            prop_assert_eq!(spans, expected);
        }
    }
}

fn steady(seconds: f64, voltage: i32, current: i32) -> Part {
    Part::Samples {
        voltage: voltage + 7,
        current: current - 5,
        times: (seconds * 100.0).round() as u32,
    }
}

fn found(parts: &[Part]) -> Vec<Bead> {
    beads(&run(parts, false).0)
}

#[test]
fn open_circuit_voltage_without_current_is_no_arc() {
    assert_eq!(
        found(&[steady(5.0, 80, 0), steady(0.03, 80, 19), steady(5.0, 80, 9)]),
        []
    );
}

#[test]
fn a_stutter_start_is_one_bead_and_its_gaps_are_no_arc_time() {
    let found = found(&[
        steady(1.0, 80, 0),
        steady(0.02, 20, 120),
        steady(0.08, 80, 0),
        steady(0.02, 20, 120),
        steady(0.09, 80, 0),
        steady(3.0, 20, 120),
        steady(1.0, 0, 0),
    ]);
    let [bead] = found[..] else {
        panic!("one bead, not {found:?}")
    };
    assert_eq!(
        (bead.start, bead.span(), bead.arc_samples, bead.restarts),
        (100, 321, 304, 2)
    );
}

#[test]
fn beads_with_a_pause_between_them_are_kept_apart() {
    let found = found(&[
        steady(2.0, 20, 120),
        steady(0.10, 80, 0),
        steady(2.0, 20, 120),
    ]);
    assert_eq!(
        found
            .iter()
            .map(|bead| (bead.number, bead.arc_samples))
            .collect::<Vec<_>>(),
        [(1, 200), (2, 200)]
    );
}

#[test]
fn alternating_current_is_one_continuous_arc() {
    let mut parts = Vec::new();
    for _ in 0..50 {
        parts.extend([
            steady(0.04, 20, 100),
            steady(0.02, 0, 5),
            steady(0.04, -20, -100),
            steady(0.01, 0, -5),
        ]);
    }
    let (events, _) = run(&parts, false);
    let [bead] = beads(&events)[..] else {
        panic!("one bead")
    };
    assert_eq!((bead.restarts, bead.arc_samples), (0, 549));
    assert_eq!(
        windows(&events)
            .iter()
            .filter(|window| !window.arc_on)
            .count(),
        1
    );
}

#[test]
fn a_tack_differs_from_a_weld_by_its_arc_time() {
    let found = found(&[
        steady(0.5, 20, 120),
        steady(1.0, 80, 0),
        steady(0.51, 20, 120),
    ]);
    assert_eq!(
        found
            .iter()
            .map(|bead| config().is_tack(bead))
            .collect::<Vec<_>>(),
        [true, false]
    );
}

#[test]
fn a_clipped_sample_is_counted_where_it_happened() {
    let found = found(&[
        Part::Samples {
            voltage: 500,
            current: 100,
            times: 4,
        },
        Part::Samples {
            voltage: 20,
            current: 500,
            times: 3,
        },
        Part::Samples {
            voltage: -501,
            current: -500,
            times: 2,
        },
        Part::Samples {
            voltage: 499,
            current: -499,
            times: 5,
        },
    ]);
    assert_eq!((found[0].clipped_voltage, found[0].clipped_current), (6, 5));
}

#[test]
fn a_short_loss_is_arc_time_and_a_long_one_ends_the_bead() {
    let short = found(&[
        steady(1.0, 20, 120),
        Part::Dropped(10),
        steady(1.0, 20, 120),
    ]);
    assert_eq!(
        short
            .iter()
            .map(|bead| (bead.arc_samples, bead.dropped))
            .collect::<Vec<_>>(),
        [(210, 10)]
    );
    let long = found(&[
        steady(1.0, 20, 120),
        Part::Dropped(11),
        steady(1.0, 20, 120),
    ]);
    assert_eq!(
        long.iter()
            .map(|bead| (bead.arc_samples, bead.dropped))
            .collect::<Vec<_>>(),
        [(100, 0), (100, 0)]
    );
}
