//! A calibration.

use super::payload::Fault;
use crate::calibration::{Calibration, Channel};
use crate::record::check_calibration;

type ChannelWire = (f64, i32, f64, f64, i32, i32);
pub(super) type CalibrationWire = (ChannelWire, ChannelWire, f64, f64);

fn write_channel(channel: &Channel) -> ChannelWire {
    (
        channel.gain_per_count,
        channel.zero_in_256ths,
        channel.gain_relative_uncertainty,
        channel.zero_uncertainty,
        channel.lowest_count,
        channel.highest_count,
    )
}

fn read_channel(wire: ChannelWire) -> Channel {
    Channel {
        gain_per_count: wire.0,
        zero_in_256ths: wire.1,
        gain_relative_uncertainty: wire.2,
        zero_uncertainty: wire.3,
        lowest_count: wire.4,
        highest_count: wire.5,
    }
}

pub(super) fn write(calibration: &Calibration) -> CalibrationWire {
    (
        write_channel(&calibration.voltage),
        write_channel(&calibration.current),
        calibration.sample_rate_hz,
        calibration.rate_relative_uncertainty,
    )
}

pub(super) fn read(
    (voltage, current, rate, rate_uncertainty): CalibrationWire,
) -> Result<Calibration, Fault> {
    let calibration = Calibration {
        voltage: read_channel(voltage),
        current: read_channel(current),
        sample_rate_hz: rate,
        rate_relative_uncertainty: rate_uncertainty,
    };
    check_calibration(&calibration).map_err(|_| Fault::Value)?;
    Ok(calibration)
}
