//! What a recording is: its pace, its columns, and the calibration and settings that follow from them.

use super::layout::{Layout, scale_of, split_unit, time_unit_of};
use super::number::{Moment, decimals, moment};
use super::options::CsvOptions;
use super::pace::{Pace, pace};
use super::recording::{Quantity, Recording};
use super::rows::fields;
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

/// Accuracy taken for an instrument that nothing is known of, ± percent. Welding power sources are validated to
/// ± 2.5 % of maximum values, "tolerance requirements in accordance with EN 60974-14" (a power-source maker's
/// validation page); that a recorder is as good as that is an assumption, and is stated.
const ASSUMED_ACCURACY_PERCENT: f64 = 2.5;

/// Below this many rows a second, short circuits and pulses go unseen. Instruments for controlled waveforms sample "on
/// the order of 10,000 times per second" (T. Melfi, Welding Journal, June 2010); the line at a tenth of that is ours.
pub(in crate::log) const SLOW_HZ: f64 = 1000.0;
/// See [`Recording::waveform_doubt`].
pub(in crate::log) const WAVEFORM_DOUBT: f64 = 0.3;

/// Relative standard uncertainty of an instrument's clock: quartz, common practice.
const CLOCK_DOUBT: f64 = 1e-4;

pub(super) fn find_pace(
    layout: &Layout,
    rows: &[&(u64, String)],
    options: &CsvOptions,
) -> Result<Pace, String> {
    let Some(column) = layout.time else {
        let rate = options.rate_hz.unwrap_or(0.0);
        if !(1e-3..=1e6).contains(&rate) {
            return Err("--rate must be between 0.001 and 1000000 samples per second".into());
        }
        return Ok(Pace::counted(1.0 / rate));
    };
    let field = |line: &str| {
        fields(line, layout.separator)
            .nth(column)
            .map(|(_, field)| field.to_owned())
    };
    let written: Vec<String> = rows.iter().filter_map(|(_, line)| field(line)).collect();
    let moments: Vec<Moment> = written
        .iter()
        .filter_map(|text| moment(text, layout.decimal))
        .collect();
    let most_decimals = written
        .iter()
        .map(|text| decimals(text, layout.decimal))
        .max()
        .unwrap_or(0);
    let in_heading = layout
        .heading(column)
        .and_then(|heading| time_unit_of(split_unit(heading).1));
    pace(&moments, most_decimals, options.time_unit.or(in_heading))
}

pub(super) fn describe(
    layout: &Layout,
    pace: &Pace,
    rows: &[&(u64, String)],
    options: &CsvOptions,
) -> Result<Recording, String> {
    let quantity = |column: usize,
                    scale: Option<f64>,
                    offset: Option<f64>,
                    accuracy: Option<f64>| {
        let heading = layout.heading(column).map(str::to_owned);
        let in_heading = heading
            .as_deref()
            .and_then(|heading| scale_of(split_unit(heading).1));
        let scale = scale.or(in_heading).unwrap_or(1.0);
        let offset = offset.unwrap_or(0.0);
        let accuracy_percent = accuracy.unwrap_or(ASSUMED_ACCURACY_PERCENT);
        if !scale.is_normal() || !offset.is_finite() || !(0.0..=100.0).contains(&accuracy_percent) {
            return Err(
                "scales must be numbers other than 0, offsets numbers, and accuracies 0 to 100 %"
                    .to_owned(),
            );
        }
        let steps = rows
            .iter()
            .filter_map(|(_, line)| fields(line, layout.separator).nth(column));
        let most_decimals = steps
            .map(|(_, field)| decimals(field, layout.decimal))
            .max()
            .unwrap_or(0);
        Ok(Quantity {
            column: column + 1,
            heading,
            scale,
            offset,
            resolution: scale.abs() * 10f64.powi(-most_decimals),
            accuracy_percent,
        })
    };
    let rows_per_second = 1.0 / pace.interval;
    let is_slow = rows_per_second < SLOW_HZ && !options.steady_arc;
    Ok(Recording {
        separator: layout.separator,
        decimal: layout.decimal,
        time_column: layout.time.map(|column| column + 1),
        time_unit: (layout.time.is_some() && pace.is_numeric).then_some(pace.unit),
        volts: quantity(
            layout.volts,
            options.volts_scale,
            options.volts_offset,
            options.volts_accuracy_percent,
        )?,
        amps: quantity(
            layout.amps,
            options.amps_scale,
            options.amps_offset,
            options.amps_accuracy_percent,
        )?,
        rate_hz: 1.0 / pace.tick,
        is_regular: pace.is_regular,
        rows_per_second,
        rows: 0,
        missing_rows: 0,
        merged_rows: 0,
        gaps: 0,
        time_went_back: 0,
        waveform_doubt: if is_slow { WAVEFORM_DOUBT } else { 0.0 },
    })
}

/// Settings of the process, its times cut where a very fast recording would fill the detector's windows.
pub(super) fn arc_settings(pace: &Pace, options: &CsvOptions) -> ArcSettings {
    let settings = ArcSettings::for_process(options.process.unwrap_or(Process::ManualMetalArc));
    let longest = |wanted: Seconds, samples: f64| Seconds(wanted.0.min(samples * pace.tick));
    ArcSettings {
        longest_dip: longest(settings.longest_dip, 30_000.0),
        arc_window: longest(settings.arc_window, 30_000.0),
        idle_window: longest(settings.idle_window, 60_000.0),
        ..settings
    }
}

pub(super) fn calibration(recording: &Recording) -> Calibration {
    let channel = |gain_per_count, quantity: &Quantity| Channel {
        gain_per_count,
        zero_in_256ths: 0,
        gain_relative_uncertainty: rectangular(quantity.accuracy_percent / 100.0),
        zero_uncertainty: rectangular(quantity.resolution / 2.0),
        lowest_count: -MAX_COUNT,
        highest_count: MAX_COUNT,
    };
    Calibration {
        voltage: channel(VOLTS_PER_COUNT, &recording.volts),
        current: channel(AMPS_PER_COUNT, &recording.amps),
        sample_rate_hz: recording.rate_hz,
        rate_relative_uncertainty: CLOCK_DOUBT,
    }
}

pub(super) fn header(
    calibration: &Calibration,
    config: ArcConfig,
    pace: &Pace,
    options: &CsvOptions,
) -> Header {
    Header {
        start: 0,
        device: heapless::String::new(),
        firmware: heapless::String::new(),
        title: heapless::String::new(),
        process: options.process,
        clock: pace.epoch.map(|seconds| WallClock {
            unix_ms: (seconds * 1000.0).round() as u64,
            source: ClockSource::Host,
        }),
        calibration: *calibration,
        calibrated_unix_s: 0,
        arc: config.counts(),
    }
}
