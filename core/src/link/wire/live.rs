//! Live readings and what to do next.

use super::payload::{Fault, require};
use crate::link::live::{Advice, Live};
use crate::record::{EventKind, codes as log};
use crate::units::{Amperes, Joules, Seconds, Volts, Watts};

pub(super) type LiveWire = (
    (u64, bool, f32, f32, f32),
    (u32, f32, f32, f32, f32),
    (u16, u16, u8, u16, u8, u8, u32),
);

pub(super) fn write(live: &Live) -> LiveWire {
    let (advice, wait) = match live.advice {
        Advice::NoPlan => (0, 0),
        Advice::Go => (1, 0),
        Advice::Wait(seconds) => (2, seconds),
        Advice::Flip => (3, 0),
        Advice::Replanning => (4, 0),
        Advice::Finished => (5, 0),
    };
    (
        (
            live.position,
            live.arc_on,
            live.voltage.0 as f32,
            live.current.0 as f32,
            live.power.0 as f32,
        ),
        (
            live.beads,
            live.bead_energy.0 as f32,
            live.bead_arc_time.0 as f32,
            live.weld_energy.0 as f32,
            live.planned_energy.0 as f32,
        ),
        (
            live.weld.unwrap_or(0),
            live.next.unwrap_or(0),
            advice,
            wait,
            live.left,
            live.last_alarm.map_or(0, log::event_code),
            live.lost,
        ),
    )
}

pub(super) fn read(
    (
        (position, arc_on, voltage, current, power),
        (beads, bead_energy, bead_arc_time, weld_energy, planned_energy),
        (weld, next, advice, wait, left, last_alarm, lost),
    ): LiveWire,
) -> Result<Live, Fault> {
    let numbers = [
        voltage,
        current,
        power,
        bead_energy,
        bead_arc_time,
        weld_energy,
        planned_energy,
    ];
    require(numbers.iter().all(|number| number.is_finite()))?;
    Ok(Live {
        position,
        arc_on,
        voltage: Volts(voltage.into()),
        current: Amperes(current.into()),
        power: Watts(power.into()),
        beads,
        bead_energy: Joules(bead_energy.into()),
        bead_arc_time: Seconds(bead_arc_time.into()),
        weld_energy: Joules(weld_energy.into()),
        planned_energy: Joules(planned_energy.into()),
        weld: (weld > 0).then_some(weld),
        next: (next > 0).then_some(next),
        advice: match (advice, wait) {
            (0, 0) => Advice::NoPlan,
            (1, 0) => Advice::Go,
            (2, seconds) => Advice::Wait(seconds),
            (3, 0) => Advice::Flip,
            (4, 0) => Advice::Replanning,
            (5, 0) => Advice::Finished,
            _ => return Err(Fault::Value),
        },
        left,
        last_alarm: read_event(last_alarm)?,
        lost,
    })
}

fn read_event(code: u8) -> Result<Option<EventKind>, Fault> {
    match code {
        0 => Ok(None),
        code => log::event_kind(code).map(Some).ok_or(Fault::Value),
    }
}
