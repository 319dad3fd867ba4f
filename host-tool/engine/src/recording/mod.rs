//! How to read a recording of another instrument, as a person says it: with options of a command, or once and for all in
//! `[recording]` of the job file.
//!
//! A new option goes into [`RecordingOptions`] with its merging and its key here, and is read in `job::read`.

mod options;

pub use options::{ColumnRef, Decimal, RecordingOptions, Separator, TimeUnit};

use coldsquare_core::process::Process;
use toml_edit::Value;

impl RecordingOptions {
    /// True if nothing is said.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// What is said here, and for the rest what `other` says.
    ///
    /// A scale, an offset and an accuracy belong to their column: a column that is named here leaves aside those of
    /// `other`. So do a column of time and a rate with each other.
    #[must_use]
    pub fn or(&self, other: &Self) -> Self {
        let ours = self.clone();
        let of_time = (self.time.is_none() && self.rate_hz.is_none()).then_some(other);
        let of_volts = self.volts.is_none().then_some(other);
        let of_amps = self.amps.is_none().then_some(other);
        Self {
            time: ours.time.or(of_time.and_then(|other| other.time.clone())),
            time_unit: ours.time_unit.or(of_time.and_then(|other| other.time_unit)),
            rate_hz: ours.rate_hz.or(of_time.and_then(|other| other.rate_hz)),
            volts: ours.volts.or(other.volts.clone()),
            volts_scale: ours
                .volts_scale
                .or(of_volts.and_then(|other| other.volts_scale)),
            volts_offset: ours
                .volts_offset
                .or(of_volts.and_then(|other| other.volts_offset)),
            volts_accuracy_percent: ours
                .volts_accuracy_percent
                .or(of_volts.and_then(|other| other.volts_accuracy_percent)),
            amps: ours.amps.or(other.amps.clone()),
            amps_scale: ours
                .amps_scale
                .or(of_amps.and_then(|other| other.amps_scale)),
            amps_offset: ours
                .amps_offset
                .or(of_amps.and_then(|other| other.amps_offset)),
            amps_accuracy_percent: ours
                .amps_accuracy_percent
                .or(of_amps.and_then(|other| other.amps_accuracy_percent)),
            separator: ours.separator.or(other.separator),
            decimal: ours.decimal.or(other.decimal),
            dataset: ours.dataset.or(other.dataset.clone()),
            skip_bad_rows: ours.skip_bad_rows.or(other.skip_bad_rows),
            steady_arc: ours.steady_arc.or(other.steady_arc),
            process: ours.process.or(other.process),
            sealed_by: ours.sealed_by.or(other.sealed_by),
            calibration_of: ours.calibration_of.or(other.calibration_of.clone()),
        }
    }

    /// What is said as keys of `[recording]`, in the order of the guide. A calibration taken from another log is none.
    #[must_use]
    pub fn settings(&self) -> Vec<(&'static str, Value)> {
        let column = |column: &Option<ColumnRef>| {
            column.as_ref().map(|column| match column {
                ColumnRef::Number(number) => i64::try_from(*number).unwrap_or(i64::MAX).into(),
                ColumnRef::Name(name) => name.as_str().into(),
            })
        };
        let word = |word: Option<&'static str>| word.map(Value::from);
        let all = [
            ("time", column(&self.time)),
            ("time_unit", word(self.time_unit.map(TimeUnit::name))),
            ("rate", self.rate_hz.map(number)),
            ("volts", column(&self.volts)),
            ("volts_scale", self.volts_scale.map(number)),
            ("volts_offset", self.volts_offset.map(number)),
            ("volts_accuracy", self.volts_accuracy_percent.map(number)),
            ("amps", column(&self.amps)),
            ("amps_scale", self.amps_scale.map(number)),
            ("amps_offset", self.amps_offset.map(number)),
            ("amps_accuracy", self.amps_accuracy_percent.map(number)),
            ("separator", word(self.separator.map(Separator::name))),
            ("decimal", word(self.decimal.map(Decimal::name))),
            ("dataset", self.dataset.as_deref().map(Value::from)),
            ("skip_bad_rows", self.skip_bad_rows.map(Value::from)),
            ("steady_arc", self.steady_arc.map(Value::from)),
            ("process", self.process.map(process)),
            ("sealed_by", self.sealed_by.map(|by| by.to_string().into())),
        ];
        all.into_iter()
            .filter_map(|(key, value)| Some((key, value?)))
            .collect()
    }

    /// The table for a job file.
    ///
    /// ```
    /// use coldsquare_engine::recording::{ColumnRef, RecordingOptions};
    ///
    /// let options = RecordingOptions {
    ///     volts: Some(ColumnRef::Name("U ist".into())),
    ///     amps: Some(ColumnRef::Number(5)),
    ///     ..RecordingOptions::default()
    /// };
    /// assert_eq!(options.table(), "[recording]\nvolts = \"U ist\"\namps = 5\n");
    /// ```
    #[must_use]
    pub fn table(&self) -> String {
        let lines = self.settings().into_iter();
        let lines = lines.map(|(key, value)| format!("{key} = {}\n", value.to_string().trim()));
        "[recording]\n".to_owned() + &lines.collect::<String>()
    }
}

/// A number as a person writes it: whole ones without decimals.
fn number(value: f64) -> Value {
    if value.fract() == 0.0 && value.abs() < 1e9 {
        (value as i64).into()
    } else {
        value.into()
    }
}

fn process(process: Process) -> Value {
    i64::from(process.number()).into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_wins_over_what_is_kept_and_a_column_takes_its_scale_along() {
        let kept = RecordingOptions {
            volts: Some(ColumnRef::Number(3)),
            volts_scale: Some(0.1),
            amps: Some(ColumnRef::Number(5)),
            amps_scale: Some(1000.0),
            rate_hz: Some(100.0),
            skip_bad_rows: Some(true),
            ..RecordingOptions::default()
        };
        let typed = RecordingOptions {
            time: Some(ColumnRef::Number(1)),
            volts: Some(ColumnRef::Number(4)),
            skip_bad_rows: Some(false),
            ..RecordingOptions::default()
        };
        let both = typed.or(&kept);
        assert_eq!(both.volts, typed.volts);
        assert_eq!((both.volts_scale, both.rate_hz), (None, None));
        assert_eq!((&both.amps, both.amps_scale), (&kept.amps, Some(1000.0)));
        assert_eq!(both.skip_bad_rows, Some(false));
        assert_eq!(RecordingOptions::default().or(&kept), kept);
        assert_eq!(kept.or(&RecordingOptions::default()), kept);
    }
}
