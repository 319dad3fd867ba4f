//! The header of a log.

use crate::calibration::{Calibration, Channel};
use crate::framing::codes;
use crate::process::Process;
use crate::record::model::{ArcCounts, ClockSource, Header, WallClock};
use heapless::String;
use serde::{Deserialize, Serialize};

codes!(clock_code, clock_source, ClockSource { ByHand = 1, RealTimeClock = 2, Host = 3 });

/// Number of no clock.
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
    arc_window: u32,
    idle_window: u32,
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
            (NONE, _) => return Err("time without a clock"),
            (code, unix_ms) => Some(WallClock {
                unix_ms,
                source: clock_source(code).ok_or("clock source")?,
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

/// Implements conversion both ways between a wire type and a model type with the same fields.
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
        arc_window,
        idle_window
    }
);
