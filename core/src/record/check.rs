//! The allowed values of a record, for writer and reader alike.

#[cfg(test)]
mod tests;

use super::MAX_POSITION;
use super::model::{Header, Marker, MarkerKind, Record};
use crate::bead::{Bead, Window};
use crate::calibration::{Calibration, Channel};
use crate::samples::{MAX_COUNT, Sums};

/// The fastest converter a header may claim, sample pairs per second.
const MAX_RATE_HZ: f64 = 1e9;

/// Checks a record; the error names the value that is not allowed.
pub(super) fn check(record: &Record) -> Result<(), &'static str> {
    match record {
        Record::Header(header) => check_header(header),
        Record::Bead(bead) => check_bead(bead),
        Record::Window(window) => check_window(window),
        Record::Marker(marker) => check_marker(marker),
        Record::Event(event) => require(event.position <= MAX_POSITION, "position"),
    }
}

fn require(holds: bool, what: &'static str) -> Result<(), &'static str> {
    if holds { Ok(()) } else { Err(what) }
}

fn check_header(header: &Header) -> Result<(), &'static str> {
    require(header.start <= MAX_POSITION, "start")?;
    check_calibration(&header.calibration)
}

/// Checks a calibration; the error names the value that is not allowed.
pub(crate) fn check_calibration(calibration: &Calibration) -> Result<(), &'static str> {
    let rate = calibration.sample_rate_hz;
    require(rate > 0.0 && rate <= MAX_RATE_HZ, "sampling rate")?;
    require(
        is_uncertainty(calibration.rate_relative_uncertainty),
        "uncertainty of the sampling rate",
    )?;
    check_channel(
        &calibration.voltage,
        [
            "gain of voltage",
            "uncertainty of voltage",
            "limits of voltage",
        ],
    )?;
    check_channel(
        &calibration.current,
        [
            "gain of current",
            "uncertainty of current",
            "limits of current",
        ],
    )
}

fn check_channel(
    channel: &Channel,
    [gain, uncertainty, limits]: [&'static str; 3],
) -> Result<(), &'static str> {
    require(channel.gain_per_count.is_normal(), gain)?;
    require(
        is_uncertainty(channel.gain_relative_uncertainty)
            && is_uncertainty(channel.zero_uncertainty),
        uncertainty,
    )?;
    let (lowest, highest) = (channel.lowest_count, channel.highest_count);
    require(
        -MAX_COUNT <= lowest && lowest < highest && highest <= MAX_COUNT,
        limits,
    )
}

/// A standard uncertainty: 0 or more, and small enough that its square is finite.
fn is_uncertainty(value: f64) -> bool {
    (0.0..1e100).contains(&value)
}

fn check_bead(bead: &Bead) -> Result<(), &'static str> {
    require(bead.number != 0, "bead number")?;
    require(
        bead.span() > 0 && bead.arc_samples <= bead.span(),
        "arc time",
    )?;
    require(ends_in_range(bead.start, bead.span()), "position")?;
    check_sums(&bead.sums)?;
    let n = bead.sums.n;
    require(
        u64::from(bead.clipped_voltage) <= n && u64::from(bead.clipped_current) <= n,
        "clipped samples",
    )
}

fn check_window(window: &Window) -> Result<(), &'static str> {
    require(window.span() > 0, "samples of the window")?;
    require(ends_in_range(window.start, window.span()), "position")?;
    check_sums(&Sums::from(window.sums))?;
    let sums = &window.sums;
    require(
        window.clipped_voltage <= sums.n && window.clipped_current <= sums.n,
        "clipped samples",
    )?;
    let between = |least: i32, greatest: i32| {
        -MAX_COUNT <= least && least <= greatest && greatest <= MAX_COUNT
    };
    require(
        if sums.n == 0 {
            (sums.v_min, sums.v_max, sums.i_min, sums.i_max)
                == (i32::MAX, i32::MIN, i32::MAX, i32::MIN)
        } else {
            between(sums.v_min, sums.v_max) && between(sums.i_min, sums.i_max)
        },
        "least and greatest counts",
    )
}

fn ends_in_range(start: u64, span: u64) -> bool {
    start
        .checked_add(span)
        .is_some_and(|end| end <= MAX_POSITION)
}

/// Checks that samples within the count range can give these sums. `n` is at most [`MAX_POSITION`], so nothing overflows.
fn check_sums(sums: &Sums) -> Result<(), &'static str> {
    let n = i128::from(sums.n);
    let max = n * i128::from(MAX_COUNT);
    let max_squared = max * i128::from(MAX_COUNT);
    let within = |sum: i128, max: i128| -max <= sum && sum <= max;
    require(within(sums.v, max) && within(sums.i, max), "sums")?;
    let squares = (0..=max_squared).contains(&sums.vv) && (0..=max_squared).contains(&sums.ii);
    require(
        squares && within(sums.vi, max_squared),
        "sums of squares and products",
    )
}

fn check_marker(marker: &Marker) -> Result<(), &'static str> {
    require(marker.position <= MAX_POSITION, "position")?;
    require(marker.weld != Some(0), "weld number")?;
    let needs_weld = matches!(
        marker.kind,
        MarkerKind::NextWeld | MarkerKind::Done | MarkerKind::Skip | MarkerKind::Redo
    );
    require(!needs_weld || marker.weld.is_some(), "weld number")
}
