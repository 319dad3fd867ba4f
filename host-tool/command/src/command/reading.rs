//! Arguments that say how a log is to be read, shared by every command that reads one.

use crate::disk::Disk;
use coldsquare_core::process::Process;
use coldsquare_core::seal::Fingerprint;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::procedure::names::process_called;
use coldsquare_engine::recording::{ColumnRef, Decimal, RecordingOptions, Separator, TimeUnit};
use std::path::PathBuf;

/// How to read a log. All but the process are for recordings of other instruments (columns of time, volts and amps);
/// what you leave out is detected and reported.
#[derive(Clone, Debug, Default, clap::Args)]
pub struct ReadingArguments {
    /// Set the welding process by ISO 4063 number or name: 135 or mag, 141 or tig, 111 or stick, ...
    #[arg(long, value_name = "PROCESS", value_parser = process)]
    pub process: Option<Process>,
    /// Name another log of the same logger, whose calibration holds for a log that has lost every header
    #[arg(long, value_name = "LOG")]
    pub calibration_of: Option<PathBuf>,
    /// Name the logger that must have sealed the log, by the fingerprint on its case; any other log is called in doubt
    #[arg(long, value_name = "FINGERPRINT")]
    pub sealed_by: Option<Fingerprint>,
    /// Name the column of time, by number from 1 or by heading
    #[arg(long, value_name = "COLUMN", help_heading = RECORDING)]
    pub time: Option<ColumnRef>,
    /// Name the column of arc voltage
    #[arg(long, value_name = "COLUMN", help_heading = RECORDING)]
    pub volts: Option<ColumnRef>,
    /// Name the column of welding current
    #[arg(long, value_name = "COLUMN", help_heading = RECORDING)]
    pub amps: Option<ColumnRef>,
    /// Name what separates the columns
    #[arg(long, value_enum, help_heading = RECORDING)]
    pub separator: Option<Separator>,
    /// Name the decimal sign
    #[arg(long, value_enum, help_heading = RECORDING)]
    pub decimal: Option<Decimal>,
    /// Name the unit of a numeric time column
    #[arg(long, value_enum, help_heading = RECORDING)]
    pub time_unit: Option<TimeUnit>,
    /// Give the sampling rate of a recording without a time column
    #[arg(long, value_name = "HZ", help_heading = RECORDING)]
    pub rate: Option<f64>,
    /// Scale the voltage: volts for each 1 in the column (0.1 for tenths of volts)
    #[arg(long, value_name = "VOLTS", help_heading = RECORDING, allow_negative_numbers = true)]
    pub volts_scale: Option<f64>,
    /// Add this many volts after scaling
    #[arg(long, value_name = "VOLTS", help_heading = RECORDING, allow_negative_numbers = true)]
    pub volts_offset: Option<f64>,
    /// Scale the current: amps for each 1 in the column
    #[arg(long, value_name = "AMPS", help_heading = RECORDING, allow_negative_numbers = true)]
    pub amps_scale: Option<f64>,
    /// Add this many amps after scaling
    #[arg(long, value_name = "AMPS", help_heading = RECORDING, allow_negative_numbers = true)]
    pub amps_offset: Option<f64>,
    /// State the accuracy of the voltage measurement, ± percent of the value
    #[arg(long, value_name = "PERCENT", help_heading = RECORDING)]
    pub volts_accuracy: Option<f64>,
    /// State the accuracy of the current measurement, ± percent of the value
    #[arg(long, value_name = "PERCENT", help_heading = RECORDING)]
    pub amps_accuracy: Option<f64>,
    /// Name the group or array to read in a file that holds several (MATLAB, HDF5, NumPy)
    #[arg(long, value_name = "NAME", help_heading = RECORDING)]
    pub dataset: Option<String>,
    /// Leave out rows that cannot be read, count them, and take their time as missing
    #[arg(long, help_heading = RECORDING, value_name = "true|false", num_args = 0..=1, require_equals = true, default_missing_value = "true")]
    pub skip_bad_rows: Option<bool>,
    /// Declare a steady arc (no short circuits, pulses or AC), so slow sampling misses nothing
    #[arg(long, help_heading = RECORDING, value_name = "true|false", num_args = 0..=1, require_equals = true, default_missing_value = "true")]
    pub steady_arc: Option<bool>,
}

pub(super) const RECORDING: &str = "Recordings of other instruments";

/// A process by its ISO 4063 number, or as the trade calls it.
pub(super) fn process(text: &str) -> Result<Process, String> {
    process_called(text).ok_or_else(|| {
        let known: Vec<_> = Process::ALL
            .iter()
            .map(|process| format!("{} {}", process.number(), process.name()))
            .collect();
        format!("unknown process; choose one of {}", known.join(", "))
    })
}

impl ReadingArguments {
    /// The same as the log reader takes it.
    #[must_use]
    pub fn options(&self) -> RecordingOptions {
        RecordingOptions {
            time: self.time.clone(),
            volts: self.volts.clone(),
            amps: self.amps.clone(),
            separator: self.separator,
            decimal: self.decimal,
            time_unit: self.time_unit,
            rate_hz: self.rate,
            volts_scale: self.volts_scale,
            volts_offset: self.volts_offset,
            amps_scale: self.amps_scale,
            amps_offset: self.amps_offset,
            volts_accuracy_percent: self.volts_accuracy,
            amps_accuracy_percent: self.amps_accuracy,
            dataset: self.dataset.clone(),
            calibration_of: self.calibration_of.clone(),
            sealed_by: self.sealed_by,
            skip_bad_rows: self.skip_bad_rows,
            steady_arc: self.steady_arc,
            process: self.process,
        }
    }
}

/// The planned order by weld number; empty for file order.
pub(super) fn order(given: Option<&str>, job: &Job) -> Result<Vec<u16>, Failure> {
    let Some(given) = given else {
        return Ok(Vec::new());
    };
    let (order, _) = coldsquare_engine::order::given(&Disk, given, job)?;
    Ok(order
        .into_iter()
        .map(|weld| job.welds[weld].number)
        .collect())
}
