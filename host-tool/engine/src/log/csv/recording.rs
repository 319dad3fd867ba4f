//! How a recording was read: what was found and what was assumed.

use crate::log::instrument::{Drift, Stuck};
use crate::recording::{Decimal, Separator, TimeUnit};

/// How a recording was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    /// What separates the columns.
    pub separator: Separator,
    /// The decimal sign.
    pub decimal: Decimal,
    /// Place of the time column, from 1; `None` when samples were counted.
    pub time_column: Option<usize>,
    /// Unit of time; `None` for dates and times of day, or when samples were counted.
    pub time_unit: Option<TimeUnit>,
    /// The voltage column.
    pub volts: Quantity,
    /// The current column.
    pub amps: Quantity,
    /// Sampling rate of the grid that the rows were put on.
    pub rate_hz: f64,
    /// True if rows come evenly, so that each row is one sample; otherwise each row holds until the next.
    pub is_regular: bool,
    /// Typical rows per second.
    pub rows_per_second: f64,
    /// Rows with numbers.
    pub rows: u64,
    /// Rows without volts, amps or time; their samples count as dropped.
    pub missing_rows: u64,
    /// Rows on the same sample as the row after them, which replaced them.
    pub merged_rows: u64,
    /// Rows that cannot be read and were left out, as the user wished.
    pub bad_rows: u64,
    /// Values that are there and say that there is none: -9999, `OL`, `#N/A`; empty ones and NaN are not counted.
    pub fillers: u64,
    /// How often the recorder stood still with the arc on: the very same volts and amps for seconds.
    pub frozen: u64,
    /// How long it stood still, s; that time counts as missing.
    pub frozen_s: f64,
    /// Volts that were read with the power source off and taken off as the zero, with their standard uncertainty.
    pub zero_v: Option<(f64, f64)>,
    /// Amperes that were read without an arc and taken off as the zero of the clamp, with their standard uncertainty.
    pub zero_a: Option<(f64, f64)>,
    /// Where the zero of the clamp had drifted after that, bead by bead.
    pub drifts: Vec<Drift>,
    /// Where one channel stood still with the arc on.
    pub stuck: Vec<Stuck>,
    /// Number of places where rows are missing.
    pub gaps: u64,
    /// Of those, the ones longer than the longest gap of a bead: what happened in them is not known.
    pub long_gaps: u64,
    /// Number of places where time goes back; from there on it counts as a new recording right after the old one.
    pub time_went_back: u64,
    /// By how much the energy may be wrong, as a share of it (half-width), because samples this slow miss short circuits
    /// and pulses.
    ///
    /// Volts times amps of meters that show means were up to 30 % over or under the true arc energy with waveform
    /// control, with no fixed offset (W. J. Sperko, What's New in ASME Section IX, Welding Journal, 2010).
    pub waveform_uncertainty: f64,
}

/// One column of volts or amps.
#[derive(Clone, Debug, PartialEq)]
pub struct Quantity {
    /// Place from the left, from 1.
    pub column: usize,
    /// Its heading, if there was one.
    pub heading: Option<String>,
    /// Its heading names this column and no other before it.
    pub heading_names_it: bool,
    /// Volts or amperes for each 1 in the column.
    pub scale: f64,
    /// Volts or amperes added after scaling.
    pub offset: f64,
    /// Smallest step that the column was written in, volts or amperes.
    pub resolution: f64,
    /// Accuracy of the measurement, ± percent of the value.
    pub accuracy_percent: f64,
}

impl Recording {
    /// What the user should know, worst first.
    pub(super) fn notes(&self, unit_is_guess: bool, columns_by_order: bool) -> Vec<String> {
        let mut notes = Vec::new();
        if self.waveform_uncertainty > 0.0 {
            notes.push(format!(
                "{} rows per second are too few for short circuits, pulses or alternating current: energies may be wrong \
                 by {:.0} % either way, and their uncertainty allows for it; use --steady-arc if the arc was steady",
                short(self.rows_per_second),
                100.0 * self.waveform_uncertainty
            ));
        }
        if unit_is_guess && let Some(unit) = self.time_unit {
            notes.push(format!(
                "time is assumed to be in {}, which gives {} rows per second; if not, use --time-unit",
                unit.symbol(),
                short(self.rows_per_second)
            ));
        }
        if columns_by_order {
            notes.push(
                "columns are assumed to be time, volts, amps; if not, use --time, --volts, --amps"
                    .into(),
            );
        }
        if let Some((zero, _)) = self.zero_a {
            notes.insert(0, format!(
                "the current reads {} A without an arc; that is taken off as the zero of the clamp. If it is no zero, use \
                 --amps-offset 0",
                short(zero)
            ));
        }
        if let Some((zero, _)) = self.zero_v {
            notes.insert(0, format!(
                "the voltage reads {} V with the power source off; that is taken off as its zero. If it is no zero, use \
                 --volts-offset 0",
                short(zero)
            ));
        }
        self.drifted(&mut notes);
        self.damage(&mut notes);
        if !self.is_regular {
            notes.push(format!(
                "rows come unevenly, about {} per second: each holds until the next, on a grid of {} samples per second",
                short(self.rows_per_second),
                short(self.rate_hz)
            ));
        }
        notes.push(format!(
            "assumed accuracy ± {} % of volts and ± {} % of amps (--volts-accuracy, --amps-accuracy); resolution {} V \
             and {} A",
            self.volts.accuracy_percent,
            self.amps.accuracy_percent,
            short(self.volts.resolution),
            short(self.amps.resolution)
        ));
        notes
    }

    fn drifted(&self, notes: &mut Vec<String>) {
        let zeros = self.drifts.iter().map(|drift| drift.zero_a);
        if let Some(most) = zeros.map(f64::abs).max_by(f64::total_cmp) {
            notes.insert(0, format!(
                "the zero of the clamp drifts, by up to {} A beside {}; what is read without an arc before and after a bead is \
                 taken off, and its uncertainty counts. If it is no zero, use --amps-offset 0",
                short(most),
                crate::format::count(self.drifts.len(), "bead")
            ));
        }
    }

    fn damage(&self, notes: &mut Vec<String>) {
        let counted = [
            (
                self.time_went_back,
                "time goes back in 1 place; a new recording is assumed to begin there",
                "time goes back in {} places; each time a new recording is assumed to begin",
            ),
            (
                self.gaps - self.long_gaps,
                "rows are missing in 1 place; their time counts, with the mean energy of the others",
                "rows are missing in {} places; their time counts, with the mean energy of the others",
            ),
            (
                self.long_gaps,
                "rows are missing in 1 place for longer than an arc may pause; what happened there is not known, and a bead \
                 beside it is not whole",
                "rows are missing in {} places for longer than an arc may pause; what happened there is not known, and a \
                 bead beside one is not whole",
            ),
            (
                self.bad_rows,
                "1 row cannot be read and was left out; its time counts as missing",
                "{} rows cannot be read and were left out; their time counts as missing",
            ),
            (
                self.fillers,
                "1 value is a filler for no value (-9999, OL, #N/A and the like) and counts as missing",
                "{} values are fillers for no value (-9999, OL, #N/A and the like) and count as missing",
            ),
            (
                self.missing_rows,
                "1 row lacks volts, amps or time",
                "{} rows lack volts, amps or time",
            ),
            (
                self.merged_rows,
                "1 row was replaced by a later row with the same time",
                "{} rows were replaced by a later row with the same time",
            ),
        ];
        for (count, one, many) in counted {
            match count {
                0 => {}
                1 => notes.push(one.to_owned()),
                count => notes.push(many.replace("{}", &count.to_string())),
            }
        }
        if !self.stuck.is_empty() {
            notes.push(format!(
                "volts or amps alone stood still in {} with the arc on; the beads there say so",
                crate::format::count(self.stuck.len(), "place")
            ));
        }
        if self.frozen > 0 {
            notes.push(format!(
                "the recorder stood still {} for {} s, with the very same volts and amps; that time counts as missing",
                match self.frozen {
                    1 => "once".to_owned(),
                    times => format!("{times} times"),
                },
                short(self.frozen_s)
            ));
        }
    }
}

/// A number in at most four figures.
fn short(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return value.to_string();
    }
    let figures = 10f64.powf(3.0 - value.abs().log10().floor());
    ((value * figures).round() / figures).to_string()
}
