//! Version 1 on the wire. Frozen: a field added, removed, reordered or retyped here is version 2.
//!
//! Payloads are postcard 1.x: unsigned integers are base-128 varints, signed ones zigzag varints, `f64` eight bytes
//! little-endian, text a length and UTF-8 bytes, fields in order without names. What may vary (kinds, sources) is a
//! plain `u8` with the numbers given here, never the position of an enum variant.

use super::model::{
    ArcCounts, ClockSource, Event, EventKind, Header, Marker, MarkerKind, Record, WallClock,
};
use crate::bead::{Bead, Window};
use crate::calibration::{Calibration, Channel};
use crate::process::Process;
use crate::samples::{Sums, WindowSums};
use heapless::String;
use serde::{Deserialize, Serialize};

/// The kind of a record, second byte of every frame.
pub(super) mod kind {
    pub const HEADER: u8 = 1;
    pub const BEAD: u8 = 2;
    pub const WINDOW: u8 = 3;
    pub const MARKER: u8 = 4;
    pub const EVENT: u8 = 5;
}

/// Pairs of wire number and meaning. A number is never used again for something else.
macro_rules! codes {
    ($to:ident, $from:ident, $model:ident { $($variant:ident = $code:literal),+ $(,)? }) => {
        pub(crate) const fn $to(model: $model) -> u8 {
            match model { $($model::$variant => $code),+ }
        }

        pub(crate) fn $from(code: u8) -> Result<$model, &'static str> {
            match code {
                $($code => Ok($model::$variant),)+
                _ => Err(stringify!($model)),
            }
        }
    };
}

codes!(clock_code, clock_source, ClockSource { ByHand = 1, RealTimeClock = 2, Host = 3 });
codes!(marker_code, marker_kind, MarkerKind {
    NextWeld = 1, Done = 2, Skip = 3, Redo = 4, Scrap = 5, Undo = 6, Note = 7,
});
codes!(event_code, event_kind, EventKind {
    SamplesDropped = 1, VoltageClipped = 2, CurrentClipped = 3, VoltageLeadOpen = 4, ClampReversed = 5,
    VoltageStuck = 6, CurrentStuck = 7, PowerOn = 8, PowerFailing = 9, ClockSet = 10, StoreFull = 11,
    StoreFault = 12, CalibrationChanged = 13, StoreCleared = 14,
});

/// Number of no clock, no process, no weld.
const NONE: u8 = 0;

#[derive(Serialize, Deserialize)]
pub(super) struct HeaderV1 {
    start: u64,
    device: String<24>,
    firmware: String<16>,
    title: String<48>,
    process: u16,
    clock_source: u8,
    clock_unix_ms: u64,
    voltage: ChannelV1,
    current: ChannelV1,
    sample_rate_hz: f64,
    rate_relative_uncertainty: f64,
    calibrated_unix_s: u64,
    arc: ArcV1,
}

#[derive(Serialize, Deserialize)]
struct ChannelV1 {
    gain_per_count: f64,
    zero_in_256ths: i32,
    gain_relative_uncertainty: f64,
    zero_uncertainty: f64,
    lowest_count: i32,
    highest_count: i32,
}

#[derive(Serialize, Deserialize)]
struct ArcV1 {
    zero: i32,
    striking: u32,
    burning: u32,
    longest_dip: u32,
    longest_gap: u32,
    shortest_bead: u32,
    longest_tack: u32,
    lit_window: u32,
    dark_window: u32,
}

#[derive(Serialize, Deserialize)]
pub(super) struct BeadV1 {
    number: u32,
    start: u64,
    lit: u64,
    n: u64,
    v: i128,
    i: i128,
    vv: i128,
    ii: i128,
    vi: i128,
    restarts: u16,
    clipped_voltage: u32,
    clipped_current: u32,
    dropped: u32,
}

#[derive(Serialize, Deserialize)]
pub(super) struct WindowV1 {
    start: u64,
    lit: bool,
    n: u16,
    v: i64,
    i: i64,
    vv: i64,
    ii: i64,
    vi: i64,
    v_min: i32,
    v_max: i32,
    i_min: i32,
    i_max: i32,
    clipped_voltage: u16,
    clipped_current: u16,
    dropped: u32,
}

#[derive(Serialize, Deserialize)]
pub(super) struct MarkerV1 {
    position: u64,
    kind: u8,
    weld: u16,
    note: String<48>,
}

#[derive(Serialize, Deserialize)]
pub(super) struct EventV1 {
    position: u64,
    kind: u8,
    value: i64,
}

/// Writes the payload of a record; gives its kind and length.
pub(super) fn write(record: &Record, buffer: &mut [u8]) -> Result<(u8, usize), postcard::Error> {
    fn put(wire: &impl Serialize, buffer: &mut [u8]) -> Result<usize, postcard::Error> {
        postcard::to_slice(wire, buffer).map(|written| written.len())
    }
    Ok(match record {
        Record::Header(header) => (kind::HEADER, put(&HeaderV1::from(header), buffer)?),
        Record::Bead(bead) => (kind::BEAD, put(&BeadV1::from(bead), buffer)?),
        Record::Window(window) => (kind::WINDOW, put(&WindowV1::from(window), buffer)?),
        Record::Marker(marker) => (kind::MARKER, put(&MarkerV1::from(marker), buffer)?),
        Record::Event(event) => (kind::EVENT, put(&EventV1::from(event), buffer)?),
    })
}

/// Why a payload is not a record.
pub(super) enum Fault {
    UnknownKind,
    Malformed,
    LeftOver(usize),
    Value(&'static str),
}

/// Reads the payload of a record, all of it.
pub(super) fn read(kind: u8, payload: &[u8]) -> Result<Record, Fault> {
    fn take<'a, T: Deserialize<'a>>(payload: &'a [u8]) -> Result<T, Fault> {
        match postcard::take_from_bytes(payload) {
            Ok((wire, [])) => Ok(wire),
            Ok((_, rest)) => Err(Fault::LeftOver(rest.len())),
            Err(_) => Err(Fault::Malformed),
        }
    }
    match kind {
        kind::HEADER => Header::try_from(take::<HeaderV1>(payload)?).map(Record::Header),
        kind::BEAD => Ok(Record::Bead(take::<BeadV1>(payload)?.into())),
        kind::WINDOW => Ok(Record::Window(take::<WindowV1>(payload)?.into())),
        kind::MARKER => Marker::try_from(take::<MarkerV1>(payload)?).map(Record::Marker),
        kind::EVENT => Event::try_from(take::<EventV1>(payload)?).map(Record::Event),
        _ => return Err(Fault::UnknownKind),
    }
    .map_err(Fault::Value)
}

impl From<&Header> for HeaderV1 {
    fn from(header: &Header) -> Self {
        Self {
            start: header.start,
            device: header.device.clone(),
            firmware: header.firmware.clone(),
            title: header.title.clone(),
            process: header.process.map_or(0, Process::number),
            clock_source: header.clock.map_or(NONE, |clock| clock_code(clock.source)),
            clock_unix_ms: header.clock.map_or(0, |clock| clock.unix_ms),
            voltage: header.calibration.voltage.into(),
            current: header.calibration.current.into(),
            sample_rate_hz: header.calibration.sample_rate_hz,
            rate_relative_uncertainty: header.calibration.rate_relative_uncertainty,
            calibrated_unix_s: header.calibrated_unix_s,
            arc: header.arc.into(),
        }
    }
}

impl TryFrom<HeaderV1> for Header {
    type Error = &'static str;

    fn try_from(wire: HeaderV1) -> Result<Self, &'static str> {
        let clock = match (wire.clock_source, wire.clock_unix_ms) {
            (NONE, 0) => None,
            (NONE, _) => return Err("a time from no clock"),
            (code, unix_ms) => Some(WallClock {
                unix_ms,
                source: clock_source(code)?,
            }),
        };
        let process = match wire.process {
            0 => None,
            number => Some(Process::from_number(number).ok_or("process")?),
        };
        Ok(Self {
            start: wire.start,
            device: wire.device,
            firmware: wire.firmware,
            title: wire.title,
            process,
            clock,
            calibration: Calibration {
                voltage: wire.voltage.into(),
                current: wire.current.into(),
                sample_rate_hz: wire.sample_rate_hz,
                rate_relative_uncertainty: wire.rate_relative_uncertainty,
            },
            calibrated_unix_s: wire.calibrated_unix_s,
            arc: wire.arc.into(),
        })
    }
}

/// Implements the conversion both ways between a wire type and a model type that have the same fields.
macro_rules! same_fields {
    ($wire:ident, $model:ident { $($field:ident),+ $(,)? }) => {
        impl From<$model> for $wire {
            fn from(model: $model) -> Self {
                Self { $($field: model.$field),+ }
            }
        }

        impl From<$wire> for $model {
            fn from(wire: $wire) -> Self {
                Self { $($field: wire.$field),+ }
            }
        }
    };
}

same_fields!(
    ChannelV1,
    Channel {
        gain_per_count,
        zero_in_256ths,
        gain_relative_uncertainty,
        zero_uncertainty,
        lowest_count,
        highest_count,
    }
);
same_fields!(
    ArcV1,
    ArcCounts {
        zero,
        striking,
        burning,
        longest_dip,
        longest_gap,
        shortest_bead,
        longest_tack,
        lit_window,
        dark_window
    }
);

impl From<&Bead> for BeadV1 {
    fn from(bead: &Bead) -> Self {
        let Sums {
            n,
            v,
            i,
            vv,
            ii,
            vi,
        } = bead.sums;
        Self {
            number: bead.number,
            start: bead.start,
            lit: bead.lit,
            n,
            v,
            i,
            vv,
            ii,
            vi,
            restarts: bead.restarts,
            clipped_voltage: bead.clipped_voltage,
            clipped_current: bead.clipped_current,
            dropped: bead.dropped,
        }
    }
}

impl From<BeadV1> for Bead {
    fn from(wire: BeadV1) -> Self {
        let BeadV1 {
            n,
            v,
            i,
            vv,
            ii,
            vi,
            ..
        } = wire;
        Self {
            number: wire.number,
            start: wire.start,
            lit: wire.lit,
            sums: Sums {
                n,
                v,
                i,
                vv,
                ii,
                vi,
            },
            restarts: wire.restarts,
            clipped_voltage: wire.clipped_voltage,
            clipped_current: wire.clipped_current,
            dropped: wire.dropped,
        }
    }
}

impl From<&Window> for WindowV1 {
    fn from(window: &Window) -> Self {
        let WindowSums {
            n,
            v,
            i,
            vv,
            ii,
            vi,
            v_min,
            v_max,
            i_min,
            i_max,
        } = window.sums;
        // A window whose every sample was dropped has no least and greatest count; the wire says 0.
        let bound = |count: i32| if n == 0 { 0 } else { count };
        Self {
            start: window.start,
            lit: window.lit,
            n,
            v,
            i,
            vv,
            ii,
            vi,
            v_min: bound(v_min),
            v_max: bound(v_max),
            i_min: bound(i_min),
            i_max: bound(i_max),
            clipped_voltage: window.clipped_voltage,
            clipped_current: window.clipped_current,
            dropped: window.dropped,
        }
    }
}

impl From<WindowV1> for Window {
    fn from(wire: WindowV1) -> Self {
        let WindowV1 {
            n,
            v,
            i,
            vv,
            ii,
            vi,
            v_min,
            v_max,
            i_min,
            i_max,
            ..
        } = wire;
        let bounds = if n == 0 {
            WindowSums::EMPTY
        } else {
            WindowSums {
                v_min,
                v_max,
                i_min,
                i_max,
                ..WindowSums::EMPTY
            }
        };
        Self {
            start: wire.start,
            lit: wire.lit,
            sums: WindowSums {
                n,
                v,
                i,
                vv,
                ii,
                vi,
                ..bounds
            },
            clipped_voltage: wire.clipped_voltage,
            clipped_current: wire.clipped_current,
            dropped: wire.dropped,
        }
    }
}

impl From<&Marker> for MarkerV1 {
    fn from(marker: &Marker) -> Self {
        Self {
            position: marker.position,
            kind: marker_code(marker.kind),
            weld: marker.weld.unwrap_or(0),
            note: marker.note.clone(),
        }
    }
}

impl TryFrom<MarkerV1> for Marker {
    type Error = &'static str;

    fn try_from(wire: MarkerV1) -> Result<Self, &'static str> {
        Ok(Self {
            position: wire.position,
            kind: marker_kind(wire.kind)?,
            weld: (wire.weld != 0).then_some(wire.weld),
            note: wire.note,
        })
    }
}

impl From<&Event> for EventV1 {
    fn from(event: &Event) -> Self {
        Self {
            position: event.position,
            kind: event_code(event.kind),
            value: event.value,
        }
    }
}

impl TryFrom<EventV1> for Event {
    type Error = &'static str;

    fn try_from(wire: EventV1) -> Result<Self, &'static str> {
        Ok(Self {
            position: wire.position,
            kind: event_kind(wire.kind)?,
            value: wire.value,
        })
    }
}
