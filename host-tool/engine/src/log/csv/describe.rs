//! What a recording is: its time base, its columns, and the calibration and settings that follow from them.

use super::headings::{amps_of, split_unit, time_unit_of, volts_of};
use super::instrument::Sample;
use super::layout::Layout;
use super::number::{Moment, decimals, moment};
use super::recording::{Quantity, Recording};
use super::rows::fields;
use super::time_base::{TimeBase, time_base};
use crate::log::rates::{SLOW_HZ, WAVEFORM_UNCERTAINTY};
use crate::recording::RecordingOptions;
use coldsquare_core::arc::{ArcConfig, ArcSettings};
use coldsquare_core::calibration::{Calibration, Channel};
use coldsquare_core::process::Process;
use coldsquare_core::record::{ClockSource, Header, WallClock};
use coldsquare_core::samples::MAX_COUNT;
use coldsquare_core::uncertainty::rectangular;
use coldsquare_core::units::Seconds;

/// Volts to a count: 0.1 mV, so that 24 bits hold ± 838 V.
pub(super) const VOLTS_PER_COUNT: f64 = 1e-4;
/// Amperes to a count: 1 mA, so that 24 bits hold ± 8388 A.
pub(super) const AMPS_PER_COUNT: f64 = 1e-3;

/// Accuracy assumed for an unknown instrument, ± percent. Welding power sources are validated to
/// ± 2.5 % of maximum values, "tolerance requirements in accordance with EN 60974-14" (a power-source maker's
/// validation page); that a recorder is as good is an assumption, and a note says so.
const ASSUMED_ACCURACY_PERCENT: f64 = 2.5;

/// Relative standard uncertainty of an instrument's clock: quartz, common practice.
const CLOCK_UNCERTAINTY: f64 = 1e-4;

pub(super) fn find_time_base(
    layout: &Layout,
    rows: &[&(u64, String)],
    options: &RecordingOptions,
) -> Result<TimeBase, String> {
    let Some(column) = layout.time else {
        let rate = options.rate_hz.unwrap_or(0.0);
        if !(1e-3..=1e6).contains(&rate) {
            return Err("--rate must be between 0.001 and 1000000 samples per second".into());
        }
        return Ok(TimeBase::counted(1.0 / rate));
    };
    let field = |line: &str| {
        fields(line, layout.separator)
            .nth(column)
            .map(|(_, field)| field.to_owned())
    };
    let written: Vec<String> = rows.iter().filter_map(|(_, line)| field(line)).collect();
    let moments: Vec<Moment> = written
        .iter()
        .filter_map(|text| moment(text, layout.decimal, layout.dates))
        .collect();
    let max_decimals = written
        .iter()
        .map(|text| decimals(text, layout.decimal))
        .max()
        .unwrap_or(0);
    let in_heading = layout
        .heading(column)
        .and_then(|heading| time_unit_of(split_unit(heading).unit));
    time_base(&moments, max_decimals, options.time_unit.or(in_heading))
}

pub(super) fn describe(
    layout: &Layout,
    time_base: &TimeBase,
    rows: &[&(u64, String)],
    options: &RecordingOptions,
) -> Result<Recording, String> {
    let rows_per_second = 1.0 / time_base.interval;
    let is_slow = rows_per_second < SLOW_HZ && !options.steady_arc.unwrap_or(false);
    let mut volts = quantity(
        layout,
        rows,
        layout.volts,
        Given {
            scale: options.volts_scale,
            in_heading: volts_of,
            by_level: layout.factors.volts,
            offset: options.volts_offset,
            accuracy_percent: options.volts_accuracy_percent,
        },
    )?;
    let mut amps = quantity(
        layout,
        rows,
        layout.amps,
        Given {
            scale: options.amps_scale,
            in_heading: amps_of,
            by_level: layout.factors.amps,
            offset: options.amps_offset,
            accuracy_percent: options.amps_accuracy_percent,
        },
    )?;
    let sample = scaled(&layout.sample, &volts, &amps);
    let zero_v = sample.zero_v().filter(|_| options.volts_offset.is_none());
    let zero_a = sample.zero().filter(|_| options.amps_offset.is_none());
    volts.offset -= zero_v.map_or(0.0, |(zero, _)| zero);
    amps.offset -= zero_a.map_or(0.0, |(zero, _)| zero);
    Ok(Recording {
        separator: layout.separator,
        decimal: layout.decimal,
        time_column: layout.time.map(|column| column + 1),
        time_unit: (layout.time.is_some() && time_base.is_numeric).then_some(time_base.unit),
        volts,
        amps,
        rate_hz: 1.0 / time_base.tick,
        is_regular: time_base.is_regular,
        rows_per_second,
        rows: 0,
        missing_rows: 0,
        merged_rows: 0,
        bad_rows: 0,
        fillers: 0,
        frozen: 0,
        frozen_s: 0.0,
        zero_v,
        zero_a,
        drifts: Vec::new(),
        stuck: Vec::new(),
        gaps: 0,
        long_gaps: 0,
        time_went_back: 0,
        waveform_uncertainty: if is_slow { WAVEFORM_UNCERTAINTY } else { 0.0 },
    })
}

/// The sample in volts and amperes.
pub(super) fn scaled(sample: &Sample, volts: &Quantity, amps: &Quantity) -> Sample {
    let scale = |values: &[f64], quantity: &Quantity| {
        let values = values.iter();
        values
            .map(|value| value * quantity.scale + quantity.offset)
            .collect()
    };
    Sample {
        volts: scale(&sample.volts, volts),
        amps: scale(&sample.amps, amps),
    }
}

/// What is given of a quantity: by the user, by the unit in its heading, by its level.
struct Given {
    scale: Option<f64>,
    in_heading: fn(&str) -> Option<f64>,
    by_level: f64,
    offset: Option<f64>,
    accuracy_percent: Option<f64>,
}

/// A column of volts or amps, with what the user says of it.
fn quantity(
    layout: &Layout,
    rows: &[&(u64, String)],
    column: usize,
    given: Given,
) -> Result<Quantity, String> {
    let heading = layout.heading(column).map(str::to_owned);
    let in_heading = heading
        .as_deref()
        .and_then(|heading| (given.in_heading)(split_unit(heading).unit));
    let scale = given.scale.or(in_heading).unwrap_or(given.by_level);
    let offset = given.offset.unwrap_or(0.0);
    let accuracy_percent = given.accuracy_percent.unwrap_or(ASSUMED_ACCURACY_PERCENT);
    if !scale.is_normal() || !offset.is_finite() || !(0.0..=100.0).contains(&accuracy_percent) {
        return Err(
            "scales must be numbers other than 0, offsets must be numbers, accuracies 0 to 100 %"
                .to_owned(),
        );
    }
    let written = rows
        .iter()
        .filter_map(|(_, line)| fields(line, layout.separator).nth(column));
    let max_decimals = written
        .map(|(_, field)| decimals(field, layout.decimal))
        .max()
        .unwrap_or(0);
    Ok(Quantity {
        column: column + 1,
        heading_names_it: heading
            .as_deref()
            .is_some_and(|heading| layout.named(heading) == Some(column)),
        heading,
        scale,
        offset,
        resolution: scale.abs() * 10f64.powi(-max_decimals),
        accuracy_percent,
    })
}

/// Settings of the process; times are cut if a very fast recording would overfill the detector's windows.
pub(super) fn arc_settings(time_base: &TimeBase, options: &RecordingOptions) -> ArcSettings {
    let settings = ArcSettings::for_process(options.process.unwrap_or(Process::ManualMetalArc));
    let longest = |wanted: Seconds, samples: f64| Seconds(wanted.0.min(samples * time_base.tick));
    ArcSettings {
        longest_dip: longest(settings.longest_dip, 30_000.0),
        arc_window: longest(settings.arc_window, 30_000.0),
        idle_window: longest(settings.idle_window, 60_000.0),
        ..settings
    }
}

pub(super) fn calibration(recording: &Recording, sample: &Sample) -> Calibration {
    let sample = scaled(sample, &recording.volts, &recording.amps);
    let channel = |gain_per_count: f64, quantity: &Quantity, values: &[f64], zero: f64| {
        let (lowest, highest) = Sample::limits(values);
        let count =
            |value: f64| ((value / gain_per_count).round() as i32).clamp(-MAX_COUNT, MAX_COUNT);
        Channel {
            gain_per_count,
            zero_in_256ths: 0,
            gain_relative_uncertainty: rectangular(quantity.accuracy_percent / 100.0),
            zero_uncertainty: rectangular(quantity.resolution / 2.0).hypot(zero),
            lowest_count: lowest.map_or(-MAX_COUNT, count),
            highest_count: highest.map_or(MAX_COUNT, count),
        }
    };
    let [zero_v, zero_a] = [recording.zero_v, recording.zero_a]
        .map(|zero| zero.map_or(0.0, |(_, uncertainty)| uncertainty));
    Calibration {
        voltage: channel(VOLTS_PER_COUNT, &recording.volts, &sample.volts, zero_v),
        current: channel(AMPS_PER_COUNT, &recording.amps, &sample.amps, zero_a),
        sample_rate_hz: recording.rate_hz,
        rate_relative_uncertainty: CLOCK_UNCERTAINTY,
    }
}

pub(super) fn header(
    calibration: &Calibration,
    config: ArcConfig,
    time_base: &TimeBase,
    options: &RecordingOptions,
) -> Header {
    Header {
        start: 0,
        device: heapless::String::new(),
        firmware: heapless::String::new(),
        title: heapless::String::new(),
        process: options.process,
        clock: time_base.epoch.map(|seconds| WallClock {
            unix_ms: (seconds * 1000.0).round() as u64,
            source: ClockSource::Host,
        }),
        calibration: *calibration,
        calibrated_unix_s: 0,
        arc: config.counts(),
    }
}
