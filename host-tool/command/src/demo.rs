//! How the invented maker of the demo welds the garden gate on a simulated logger.
//!
//! Everything is invented. The maker is good but human: one weld is cold, one hot, one arc is re-struck, one weld is
//! done twice and the last is forgotten, so that the map has something to show.

pub mod shop;

use coldsquare_core::units::Seconds;
use coldsquare_engine::job::model::Job;
use coldsquare_firmware::panel::Input;
use coldsquare_firmware::sim::{Build, Mishap, SimulatedBead, Transfer};

/// Sampling rate of the simulated logger: enough for the short circuits of thin-wire MAG.
const SAMPLE_RATE_HZ: f64 = 4000.0;
/// 2026-05-04 08:00 UTC.
const STARTED_UNIX_MS: u64 = 1_777_881_600_000;

/// Setting of the simulated machine between short circuits. The averages are lower in volts and higher in amps: about
/// 18.4 V and 115 A, the middle of the procedure.
const ARC_VOLTS: f64 = 21.3;
const ARC_AMPS: f64 = 85.0;
/// Arc time of a tack.
const TACK: Seconds = Seconds(0.5);
/// Pause from one tack to the next, and from one weld to the next.
const BETWEEN_TACKS: Seconds = Seconds(4.0);
const BETWEEN_WELDS: Seconds = Seconds(9.0);
/// Pause after the tacks, to measure and clamp the frame.
const MEASURING: Seconds = Seconds(120.0);

/// The build of a job in an order (indices of welds), with the mishaps of the demo's maker.
///
/// The maker presses "next" before each weld, and "redo" before the one done again.
#[must_use]
pub fn build(job: &Job, order: &[usize]) -> Build {
    build_with(job, order, &mishap_at)
}

/// The same maker on a better day: no mishaps.
#[must_use]
pub fn clean_build(job: &Job, order: &[usize]) -> Build {
    build_with(job, order, &|_, _| None)
}

fn build_with(
    job: &Job,
    order: &[usize],
    mishap_at: &dyn Fn(usize, usize) -> Option<Event>,
) -> Build {
    let mut beads: Vec<SimulatedBead> = tacks(job).collect();
    for (place, &weld) in order.iter().enumerate() {
        let weld = &job.welds[weld];
        let procedure = &job.procedures[weld.procedure];
        // No two welds are alike: they spread by a few per cent, the same in each run.
        let wobble = |k: usize| 1.0 + 0.03 * (((place * 7 + k * 3) % 11) as f64 / 5.0 - 1.0);
        let mut bead = SimulatedBead::new(
            Transfer::ShortCircuit {
                shorts_hz: 70.0 + 2.0 * (place % 9) as f64,
            },
            ARC_VOLTS * wobble(1),
            ARC_AMPS * wobble(2),
            weld.planned_arc_time(procedure).0 * wobble(3),
        );
        bead.pause_s = if place == 0 {
            MEASURING.0
        } else {
            BETWEEN_WELDS.0 * wobble(4)
        };
        bead.press = Some(Input::Next);
        match mishap_at(place, order.len()) {
            Some(Event::Forgotten) => continue,
            Some(Event::Cold) => bead.arc_s *= 0.55,
            Some(Event::Hot) => bead.arc_s *= 1.75,
            Some(Event::WentOut) => bead.mishap = Some(Mishap::Interruption { off_s: 0.25 }),
            Some(Event::Stuttered) => bead.mishap = Some(Mishap::Stutter { tries: 2 }),
            Some(Event::Again) => {
                let mut again = bead.clone();
                again.press = Some(Input::Redo);
                beads.push(bead);
                beads.push(again);
                continue;
            }
            None => {}
        }
        beads.push(bead);
    }
    let mut build = Build::new(&job.name, job.procedures[0].process, SAMPLE_RATE_HZ, beads);
    build.started_unix_ms = STARTED_UNIX_MS;
    build.order = order.iter().map(|&weld| job.welds[weld].number).collect();
    build
}

fn tacks(job: &Job) -> impl Iterator<Item = SimulatedBead> + '_ {
    job.joints.iter().flat_map(|joint| &joint.tacks).map(|_| {
        let mut tack = SimulatedBead::new(
            Transfer::ShortCircuit { shorts_hz: 80.0 },
            18.8,
            122.0,
            TACK.0,
        );
        tack.pause_s = BETWEEN_TACKS.0;
        tack
    })
}

/// Mishaps of the demo's maker.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Event {
    Cold,
    Hot,
    WentOut,
    Stuttered,
    Again,
    Forgotten,
}

/// The mishap at a place in the order, spread over a build of any length.
fn mishap_at(place: usize, welds: usize) -> Option<Event> {
    use Event::{Again, Cold, Forgotten, Hot, Stuttered, WentOut};
    if place + 1 == welds {
        return Some(Forgotten);
    }
    [
        (15, Stuttered),
        (30, Cold),
        (45, WentOut),
        (60, Hot),
        (75, Again),
    ]
    .into_iter()
    .find(|&(share, _)| welds >= 10 && place == share * welds / 100)
    .map(|(_, event)| event)
}
