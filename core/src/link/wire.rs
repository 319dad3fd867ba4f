//! Version 0x81 on the wire. Frozen: a field added, removed, reordered or retyped here is another version.
//!
//! Payloads are postcard 1.x, as in the log: the tuples below are their fields in order.

use super::live::{Advice, Live};
use super::message::{Capabilities, Chunk, Consent, Identity, Refusal, Reply, Request, StoreState};
use super::plan::{COMPONENTS, MOST_PLANNED, PlanHead, PlannedWeld};
use crate::calibration::{Calibration, Channel};
use crate::process::Process;
use crate::record::{ClockSource, EventKind, WallClock, check_calibration, codes as log};
use crate::sequence::Side;
use crate::units::{Amperes, Celsius, Joules, Millimetres, Seconds, Volts, Watts};
use heapless::{String, Vec};
use serde::{Deserialize, Serialize};

/// The kind of a message, second byte of every frame: questions below 0x40, answers from there.
mod kind {
    pub const IDENTIFY: u8 = 0x01;
    pub const LIVE: u8 = 0x02;
    pub const PULL: u8 = 0x03;
    pub const PLAN_BEGINS: u8 = 0x04;
    pub const PLAN_WELD: u8 = 0x05;
    pub const PLAN_ENDS: u8 = 0x06;
    pub const CALIBRATE: u8 = 0x07;
    pub const SET_CLOCK: u8 = 0x08;
    pub const CLEAR: u8 = 0x09;
    pub const PROCESS: u8 = 0x0A;
    pub const IDENTITY: u8 = 0x41;
    pub const MEASURED: u8 = 0x42;
    pub const CHUNK: u8 = 0x43;
    pub const DONE: u8 = 0x44;
    pub const REFUSED: u8 = 0x45;
    pub const WELDED_BY: u8 = 0x46;
}

/// Why a payload is no message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    UnknownKind,
    Malformed,
    Value,
}

type ChannelWire = (f64, i32, f64, f64, i32, i32);
type CalibrationWire = (ChannelWire, ChannelWire, f64, f64);
/// Number, joint, side, before, place, moment, energy, efficiency, length, interpass (NaN-free: 0 for none), wall,
/// girth, walls; the index comes first.
type WeldWire = (
    (u8, u16, u8, u8, u64, [i32; 3], [i32; COMPONENTS]),
    (f32, f32, f32, f32, f32, f32, u8),
);
/// End, why (0 pulled, 1 named), checksum of the tail (0 when named), name (empty when pulled).
type ClearWire = (u64, u8, u32, String<24>);
type HeadWire = (String<48>, u8, u8, [i32; COMPONENTS], f32);
type IdentityWire = (
    (String<24>, String<16>, String<24>, u8),
    (u8, u64, u64, f64),
    (u8, u64, u64, u64, u8, u8),
);
type LiveWire = (
    (u64, bool, f32, f32, f32),
    (u32, f32, f32, f32, f32),
    (u16, u16, u8, u16, u8, u8, u32),
);

/// The most bytes of a weld: three for a `u16`, ten for a `u64`, five for each of ten `i32`, four for each of six
/// `f32`, and five single bytes.
pub(super) const LONGEST_WELD: usize = 3 + 10 + 10 * 5 + 6 * 4 + 5;

const NO_ROOM_KNOWN: u64 = u64::MAX;

fn put(wire: &impl Serialize, buffer: &mut [u8]) -> Option<usize> {
    postcard::to_slice(wire, buffer).ok().map(|used| used.len())
}

fn take<'a, T: Deserialize<'a>>(payload: &'a [u8]) -> Result<T, Fault> {
    match postcard::take_from_bytes(payload) {
        Ok((wire, [])) => Ok(wire),
        _ => Err(Fault::Malformed),
    }
}

fn require(holds: bool) -> Result<(), Fault> {
    if holds { Ok(()) } else { Err(Fault::Value) }
}

/// Writes the payload of a question; gives its kind and length.
pub(super) fn write_request(request: &Request, buffer: &mut [u8]) -> Option<(u8, usize)> {
    Some(match request {
        Request::Identify => (kind::IDENTIFY, 0),
        Request::Live => (kind::LIVE, 0),
        Request::Pull { from, chunks } => (kind::PULL, put(&(from, chunks), buffer)?),
        Request::PlanBegins(head) => (kind::PLAN_BEGINS, put(&head_wire(head), buffer)?),
        Request::PlanWeld(weld) => (kind::PLAN_WELD, write_weld(weld, buffer)?),
        Request::PlanEnds { checksum } => (kind::PLAN_ENDS, put(checksum, buffer)?),
        Request::Calibrate {
            calibration,
            calibrated_unix_s,
        } => {
            let wire = (calibration_wire(calibration), calibrated_unix_s);
            (kind::CALIBRATE, put(&wire, buffer)?)
        }
        Request::SetClock { unix_ms } => (kind::SET_CLOCK, put(unix_ms, buffer)?),
        Request::Process(process) => (kind::PROCESS, put(&process_code(*process), buffer)?),
        Request::Clear { end, consent } => (kind::CLEAR, put(&clear_wire(*end, consent), buffer)?),
    })
}

/// Reads the payload of a question, all of it.
pub(super) fn read_request(kind: u8, payload: &[u8]) -> Result<Request, Fault> {
    Ok(match kind {
        kind::IDENTIFY => {
            let () = take(payload)?;
            Request::Identify
        }
        kind::LIVE => {
            let () = take(payload)?;
            Request::Live
        }
        kind::PULL => {
            let (from, chunks) = take(payload)?;
            require(chunks > 0)?;
            Request::Pull { from, chunks }
        }
        kind::PLAN_BEGINS => Request::PlanBegins(head(take(payload)?)?),
        kind::PLAN_WELD => Request::PlanWeld(weld(take(payload)?)?),
        kind::PLAN_ENDS => Request::PlanEnds {
            checksum: take(payload)?,
        },
        kind::CALIBRATE => {
            let (wire, calibrated_unix_s) = take(payload)?;
            Request::Calibrate {
                calibration: calibration(wire)?,
                calibrated_unix_s,
            }
        }
        kind::SET_CLOCK => Request::SetClock {
            unix_ms: take(payload)?,
        },
        kind::CLEAR => clear(take(payload)?)?,
        kind::PROCESS => Request::Process(process(take(payload)?)?),
        _ => return Err(Fault::UnknownKind),
    })
}

/// Writes the payload of an answer; gives its kind and length.
pub(super) fn write_reply(reply: &Reply, buffer: &mut [u8]) -> Option<(u8, usize)> {
    Some(match reply {
        Reply::Identity(identity) => (kind::IDENTITY, put(&identity_wire(identity), buffer)?),
        Reply::Live(live) => (kind::MEASURED, put(&live_wire(live), buffer)?),
        Reply::Chunk(chunk) => (kind::CHUNK, write_chunk(chunk, buffer)?),
        Reply::Process(process) => (kind::WELDED_BY, put(&process_code(*process), buffer)?),
        Reply::Done => (kind::DONE, 0),
        Reply::Refused(refusal) => (kind::REFUSED, put(&refusal_code(*refusal), buffer)?),
    })
}

/// Reads the payload of an answer, all of it.
pub(super) fn read_reply(kind: u8, payload: &[u8]) -> Result<Reply, Fault> {
    Ok(match kind {
        kind::IDENTITY => Reply::Identity(identity(take(payload)?)?),
        kind::MEASURED => Reply::Live(live(take(payload)?)?),
        kind::CHUNK => Reply::Chunk(chunk(payload)?),
        kind::DONE => {
            let () = take(payload)?;
            Reply::Done
        }
        kind::REFUSED => Reply::Refused(refusal(take(payload)?)?),
        kind::WELDED_BY => Reply::Process(process(take(payload)?)?),
        _ => return Err(Fault::UnknownKind),
    })
}

/// Pairs of wire number and meaning. A number is never used again for something else.
macro_rules! codes {
    ($to:ident, $from:ident, $model:ident { $($variant:ident = $code:literal),+ $(,)? }) => {
        const fn $to(model: $model) -> u8 {
            match model { $($model::$variant => $code),+ }
        }

        fn $from(code: u8) -> Result<$model, Fault> {
            match code {
                $($code => Ok($model::$variant),)+
                _ => Err(Fault::Value),
            }
        }
    };
}

codes!(side_code, side, Side { Either = 0, Front = 1, Back = 2 });
codes!(store_code, store, StoreState { Working = 0, Full = 1, Faulty = 2 });
codes!(refusal_code, refusal, Refusal {
    ArcBurns = 1, CannotDo = 2, StoreFault = 3, PastTheEnd = 4, Value = 5, TooManyWelds = 6, PlanOrder = 7,
    PlanChecksum = 8, SampleRate = 9, NotPulled = 10, TooCoarse = 11,
});

/// A process by its number in ISO 4063; 0 for none.
fn process_code(process: Option<Process>) -> u16 {
    process.map_or(0, Process::number)
}

fn process(code: u16) -> Result<Option<Process>, Fault> {
    match code {
        0 => Ok(None),
        code => Process::from_number(code).map(Some).ok_or(Fault::Value),
    }
}

fn channel_wire(channel: &Channel) -> ChannelWire {
    (
        channel.gain_per_count,
        channel.zero_in_256ths,
        channel.gain_relative_uncertainty,
        channel.zero_uncertainty,
        channel.lowest_count,
        channel.highest_count,
    )
}

fn channel(wire: ChannelWire) -> Channel {
    Channel {
        gain_per_count: wire.0,
        zero_in_256ths: wire.1,
        gain_relative_uncertainty: wire.2,
        zero_uncertainty: wire.3,
        lowest_count: wire.4,
        highest_count: wire.5,
    }
}

fn calibration_wire(calibration: &Calibration) -> CalibrationWire {
    (
        channel_wire(&calibration.voltage),
        channel_wire(&calibration.current),
        calibration.sample_rate_hz,
        calibration.rate_relative_uncertainty,
    )
}

fn calibration((voltage, current, rate, doubt): CalibrationWire) -> Result<Calibration, Fault> {
    let calibration = Calibration {
        voltage: channel(voltage),
        current: channel(current),
        sample_rate_hz: rate,
        rate_relative_uncertainty: doubt,
    };
    check_calibration(&calibration).map_err(|_| Fault::Value)?;
    Ok(calibration)
}

/// Writes a weld of a plan; gives its length.
pub(super) fn write_weld(weld: &PlannedWeld, buffer: &mut [u8]) -> Option<usize> {
    let wire: WeldWire = (
        (
            weld.index,
            weld.number,
            weld.joint,
            side_code(weld.side),
            weld.before,
            weld.at_mm,
            weld.moment,
        ),
        (
            weld.energy.0 as f32,
            weld.efficiency,
            weld.length.0 as f32,
            weld.interpass.map_or(0.0, |limit| limit.0 as f32),
            weld.wall.0 as f32,
            weld.girth.0 as f32,
            weld.walls,
        ),
    );
    put(&wire, buffer)
}

fn weld(
    (
        (index, number, joint, side_code, before, at_mm, moment),
        (energy, efficiency, length, interpass, wall, girth, walls),
    ): WeldWire,
) -> Result<PlannedWeld, Fault> {
    require(usize::from(index) < MOST_PLANNED && number > 0)?;
    require(before >> index == 0)?;
    require(at_mm.iter().all(|mm| mm.unsigned_abs() <= 100_000))?;
    let most = 1 << 20;
    require(moment.iter().all(|part| part.unsigned_abs() <= most))?;
    require(energy > 0.0 && energy < 1e9 && efficiency > 0.0 && efficiency <= 1.0)?;
    require(length > 0.0 && length < 1e5 && (0.0..=1000.0).contains(&interpass))?;
    require((0.5..=20.0).contains(&wall) && (10.0..=2000.0).contains(&girth))?;
    require((1..=4).contains(&walls))?;
    Ok(PlannedWeld {
        index,
        number,
        joint,
        side: side(side_code)?,
        before,
        at_mm,
        moment,
        energy: Joules(energy.into()),
        efficiency,
        length: Millimetres(length.into()),
        interpass: (interpass > 0.0).then_some(Celsius(interpass.into())),
        wall: Millimetres(wall.into()),
        girth: Millimetres(girth.into()),
        walls,
    })
}

fn clear_wire(end: u64, consent: &Consent) -> ClearWire {
    match consent {
        Consent::Pulled { tail } => (end, 0, *tail, String::new()),
        Consent::Named(name) => (end, 1, 0, name.clone()),
    }
}

fn clear((end, why, tail, name): ClearWire) -> Result<Request, Fault> {
    let consent = match why {
        0 => {
            require(name.is_empty())?;
            Consent::Pulled { tail }
        }
        1 => {
            require(tail == 0)?;
            Consent::Named(name)
        }
        _ => return Err(Fault::Value),
    };
    Ok(Request::Clear { end, consent })
}

fn head_wire(head: &PlanHead) -> HeadWire {
    (
        head.title.clone(),
        head.welds,
        head.most_turns,
        head.before,
        head.start.0 as f32,
    )
}

fn head((title, welds, most_turns, before, start): HeadWire) -> Result<PlanHead, Fault> {
    require(welds > 0 && (-20.0..=300.0).contains(&start))?;
    require(before.iter().all(|part| part.unsigned_abs() <= 1 << 28))?;
    Ok(PlanHead {
        title,
        welds,
        most_turns,
        before,
        start: Celsius(start.into()),
    })
}

fn identity_wire(identity: &Identity) -> IdentityWire {
    let clock = identity.clock;
    let Capabilities {
        pull,
        plan,
        calibrate,
        set_clock,
        clear,
        process,
    } = identity.can;
    let can = u8::from(pull)
        | u8::from(plan) << 1
        | u8::from(calibrate) << 2
        | u8::from(set_clock) << 3
        | u8::from(clear) << 4
        | u8::from(process) << 5;
    (
        (
            identity.device.clone(),
            identity.firmware.clone(),
            identity.board.clone(),
            identity.format,
        ),
        (
            clock.map_or(0, |clock| log::clock_code(clock.source)),
            clock.map_or(0, |clock| clock.unix_ms),
            identity.calibrated_unix_s,
            identity.sample_rate_hz,
        ),
        (
            store_code(identity.store),
            identity.log.0,
            identity.log.1,
            identity.room.unwrap_or(NO_ROOM_KNOWN),
            can,
            identity.planned,
        ),
    )
}

fn identity(
    (
        (device, firmware, board, format),
        (source, unix_ms, calibrated_unix_s, sample_rate_hz),
        (store_code, first, end, room, can, planned),
    ): IdentityWire,
) -> Result<Identity, Fault> {
    require(first <= end && can < 1 << 6)?;
    require(sample_rate_hz > 0.0 && sample_rate_hz <= 1e9)?;
    let clock = match source {
        0 => None,
        code => Some(WallClock {
            unix_ms,
            source: clock_source(code)?,
        }),
    };
    Ok(Identity {
        device,
        firmware,
        board,
        format,
        clock,
        calibrated_unix_s,
        sample_rate_hz,
        store: store(store_code)?,
        log: (first, end),
        room: (room != NO_ROOM_KNOWN).then_some(room),
        can: Capabilities {
            pull: can & 1 != 0,
            plan: can & 2 != 0,
            calibrate: can & 4 != 0,
            set_clock: can & 8 != 0,
            clear: can & 16 != 0,
            process: can & 32 != 0,
        },
        planned,
    })
}

fn clock_source(code: u8) -> Result<ClockSource, Fault> {
    log::clock_source(code).map_err(|_| Fault::Value)
}

fn event_kind(code: u8) -> Result<Option<EventKind>, Fault> {
    match code {
        0 => Ok(None),
        code => log::event_kind(code).map(Some).map_err(|_| Fault::Value),
    }
}

fn live_wire(live: &Live) -> LiveWire {
    let (advice, wait) = match live.advice {
        Advice::NoPlan => (0, 0),
        Advice::Go => (1, 0),
        Advice::Wait(seconds) => (2, seconds),
        Advice::TurnOver => (3, 0),
        Advice::Replanning => (4, 0),
        Advice::Finished => (5, 0),
    };
    (
        (
            live.position,
            live.lit,
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
            live.noticed.map_or(0, log::event_code),
            live.lost,
        ),
    )
}

fn live(
    (
        (position, lit, voltage, current, power),
        (beads, bead_energy, bead_arc_time, weld_energy, planned_energy),
        (weld, next, advice, wait, left, noticed, lost),
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
        lit,
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
            (3, 0) => Advice::TurnOver,
            (4, 0) => Advice::Replanning,
            (5, 0) => Advice::Finished,
            _ => return Err(Fault::Value),
        },
        left,
        noticed: event_kind(noticed)?,
        lost,
    })
}

/// A chunk is its index, one byte, its place, eight bytes little-endian, and the bytes to the end of the payload.
fn write_chunk(chunk: &Chunk, buffer: &mut [u8]) -> Option<usize> {
    let (index, rest) = buffer.split_first_mut()?;
    *index = chunk.index;
    let (place, bytes) = rest.split_first_chunk_mut::<8>()?;
    *place = chunk.from.to_le_bytes();
    bytes
        .get_mut(..chunk.bytes.len())?
        .copy_from_slice(&chunk.bytes);
    Some(9 + chunk.bytes.len())
}

fn chunk(payload: &[u8]) -> Result<Chunk, Fault> {
    let (&index, rest) = payload.split_first().ok_or(Fault::Malformed)?;
    let (place, bytes) = rest.split_first_chunk::<8>().ok_or(Fault::Malformed)?;
    Ok(Chunk {
        index,
        from: u64::from_le_bytes(*place),
        bytes: Vec::from_slice(bytes).map_err(|_| Fault::Malformed)?,
    })
}
