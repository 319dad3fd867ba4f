//! How a recording was read, in the words that have another one of the same instrument read like it.

use super::recording::{Quantity, Recording};
use crate::recording::{ColumnRef, RecordingOptions};

impl Recording {
    /// The options under which this recording is read as it was: what was given, and the columns, scales and unit of time
    /// that were found.
    #[must_use]
    pub fn options(&self, given: &RecordingOptions) -> RecordingOptions {
        let found = RecordingOptions {
            time: self.time_column.map(ColumnRef::Number),
            time_unit: self.time_unit,
            volts: Some(self.volts.named()),
            volts_scale: self.volts.unusual_scale(),
            amps: Some(self.amps.named()),
            amps_scale: self.amps.unusual_scale(),
            ..RecordingOptions::default()
        };
        RecordingOptions {
            volts_scale: given.volts_scale.or(found.volts_scale),
            amps_scale: given.amps_scale.or(found.amps_scale),
            time_unit: given.time_unit.or(found.time_unit),
            calibration_of: None,
            sealed_by: None,
            ..given.or(&found)
        }
    }
}

impl Quantity {
    /// Its heading, so that it is found in whatever place; its number where the heading names another column first.
    fn named(&self) -> ColumnRef {
        match &self.heading {
            Some(heading) if self.heading_names_it => ColumnRef::Name(heading.clone()),
            _ => ColumnRef::Number(self.column),
        }
    }

    fn unusual_scale(&self) -> Option<f64> {
        (self.scale != 1.0).then_some(self.scale)
    }
}
