//! Each value exactly at its limit, and just past it.

use super::*;
use crate::record::{ClockSource, WallClock};

#[test]
fn each_value_of_a_planned_weld_is_accepted_up_to_its_limits_and_not_beyond() {
    type Set = fn(&mut PlannedWeld, f64);
    // What is set, what is accepted, what is not.
    let limits: [(Set, &[f64], &[f64]); 12] = [
        (|w, x| w.number = x as u16, &[1.0, 65_535.0], &[0.0]),
        (
            |w, x| w.energy.0 = x,
            &[0.001, 9.99e8],
            &[0.0, -1.0, 1e9, f64::NAN],
        ),
        (
            |w, x| w.efficiency = x as f32,
            &[0.001, 1.0],
            &[0.0, -0.5, 1.001, f64::NAN],
        ),
        (
            |w, x| w.length.0 = x,
            &[0.5, 99_999.0],
            &[0.0, -1.0, 1e5, f64::NAN],
        ),
        (
            |w, x| w.interpass = Some(Celsius(x)),
            &[0.5, 1000.0],
            &[-1.0, 1000.5, f64::NAN],
        ),
        (|w, x| w.wall.0 = x, &[0.5, 20.0], &[0.25, 20.5, f64::NAN]),
        (
            |w, x| w.girth.0 = x,
            &[10.0, 2000.0],
            &[9.5, 2000.5, f64::NAN],
        ),
        (|w, x| w.walls = x as u8, &[1.0, 4.0], &[0.0, 5.0]),
        (
            |w, x| w.at_mm[1] = x as i32,
            &[-100_000.0, 100_000.0],
            &[-100_001.0, 100_001.0],
        ),
        (
            |w, x| w.moment[6] = x as i32,
            &[-1_048_576.0, 1_048_576.0],
            &[-1_048_577.0, 1_048_577.0],
        ),
        // Before itself, and before the one ahead of it.
        (|w, x| w.before = 1 << x as u8, &[0.0, 4.0], &[5.0, 63.0]),
        (|w, x| w.index = x as u8, &[2.0, 63.0], &[0.0, 1.0]),
    ];
    judge(Request::PlanWeld(weld()), true);
    for (set, accepted, refused) in limits {
        for (values, is_fine) in [(accepted, true), (refused, false)] {
            for value in values {
                let mut changed = weld();
                set(&mut changed, *value);
                // Energies and lengths travel in single precision.
                for number in [&mut changed.energy.0, &mut changed.length.0] {
                    *number = f64::from(*number as f32);
                }
                judge(Request::PlanWeld(changed), is_fine);
            }
        }
    }
    // There are 64 places, and none after them, whatever the number.
    for (index, number) in [(64, 1), (64, 0), (255, 1)] {
        let changed = PlannedWeld {
            index,
            number,
            before: 0,
            ..weld()
        };
        judge(Request::PlanWeld(changed), false);
    }
}

#[test]
fn each_value_of_a_request_is_accepted_up_to_its_limits_and_not_beyond() {
    for (change, is_fine) in [
        (
            PlanHeader {
                welds: 0,
                ..header()
            },
            false,
        ),
        (
            PlanHeader {
                start: Celsius(-20.0),
                ..header()
            },
            true,
        ),
        (
            PlanHeader {
                start: Celsius(300.0),
                ..header()
            },
            true,
        ),
        (
            PlanHeader {
                start: Celsius(-20.5),
                ..header()
            },
            false,
        ),
        (
            PlanHeader {
                start: Celsius(300.5),
                ..header()
            },
            false,
        ),
        (
            PlanHeader {
                start: Celsius(f64::NAN),
                ..header()
            },
            false,
        ),
        (
            PlanHeader {
                before: [1 << 28; 7],
                ..header()
            },
            true,
        ),
        (
            PlanHeader {
                before: [-(1 << 28) - 1; 7],
                ..header()
            },
            false,
        ),
    ] {
        judge(Request::PlanBegins(change), is_fine);
    }
    for (chunks, is_fine) in [(0, false), (1, true), (255, true)] {
        judge(Request::Pull { from: 9, chunks }, is_fine);
    }
    for (from, until, is_fine) in [(9, 9, true), (9, 10, true), (10, 9, false)] {
        judge(Request::Check { from, until }, is_fine);
    }
    let consent = Consent::Named(String::new());
    judge(Request::Clear { end: 3, consent }, true);
}

#[test]
fn each_value_of_an_identity_is_accepted_up_to_its_limits_and_not_beyond() {
    for (rate, is_fine) in [
        (1e-3, true),
        (1e9, true),
        (0.0, false),
        (-1.0, false),
        (1.000_001e9, false),
        (f64::NAN, false),
    ] {
        let changed = Identity {
            sample_rate_hz: rate,
            ..identity()
        };
        judge(Reply::Identity(changed), is_fine);
    }
    for (log, is_fine) in [((7, 7), true), ((8, 7), false)] {
        judge(Reply::Identity(Identity { log, ..identity() }), is_fine);
    }
    for source in [
        ClockSource::ByHand,
        ClockSource::RealTimeClock,
        ClockSource::Host,
    ] {
        let clock = Some(WallClock { unix_ms: 5, source });
        judge(
            Reply::Identity(Identity {
                clock,
                ..identity()
            }),
            true,
        );
    }
    for store in [StoreState::Working, StoreState::Full, StoreState::Faulty] {
        judge(
            Reply::Identity(Identity {
                store,
                ..identity()
            }),
            true,
        );
    }
}
