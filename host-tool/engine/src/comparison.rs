//! Measured beside predicted: what a weld map carries of the measurements of its frame.
//!
//! Only the data and its text are here; [`crate::measured::compare`] works it out. To change the table that people
//! see, change [`text`].

use crate::plain_text::aligned;
use crate::sanitise;
use crate::units::Units;
use coldsquare_core::uncertainty::Uncertain;
use serde::{Deserialize, Serialize};

/// The state in which the frame was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "state", rename_all = "lowercase")]
pub enum State {
    /// All welded and cold, the clamps still on.
    Clamped,
    /// All welded and cold, the clamps off, nothing straightened yet.
    Unclamped,
    /// After a step of correction, counted from 1.
    Corrected {
        /// Number of the step.
        step: u16,
    },
}

impl std::fmt::Display for State {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Clamped => out.write_str("with clamps on"),
            Self::Unclamped => out.write_str("with clamps off"),
            Self::Corrected { step } => write!(out, "after correction {step}"),
        }
    }
}

/// The readings of one build against its prediction.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Comparison {
    /// The factors used for the prediction ("the published factors").
    pub factors: String,
    /// One entry for each measure and state, in the order in which they were noted.
    pub rows: Vec<Compared>,
    /// Remarks, a sentence each.
    pub notes: Vec<String>,
}

/// One measure.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// Name of the measure, as in the prediction.
    pub of: String,
    /// State of the frame.
    pub state: State,
    /// When, as `2026-11-25`.
    pub on: String,
    /// Change from before welding as measured, with the uncertainty of the reading, mm. A gap is the whole gap.
    pub measured_mm: Uncertain,
    /// The same as predicted; `None` for gaps and for a frame that was straightened.
    pub predicted_mm: Option<Uncertain>,
}

impl Compared {
    /// Measured less predicted, with the uncertainty of both, mm.
    #[must_use]
    pub fn residual_mm(&self) -> Option<Uncertain> {
        self.predicted_mm.map(|predicted| Uncertain {
            value: self.measured_mm.value - predicted.value,
            standard: self.measured_mm.standard.hypot(predicted.standard),
        })
    }

    /// Whether measured and predicted agree: the residual is no more than its expanded uncertainty (k = 2).
    #[must_use]
    pub fn agrees(&self) -> Option<bool> {
        self.residual_mm()
            .map(|residual| residual.value.abs() <= residual.expanded())
    }

    /// "agrees", "differs", or why there is no verdict.
    #[must_use]
    pub fn verdict(&self) -> &'static str {
        match (self.agrees(), self.state) {
            (Some(true), _) => "agrees",
            (Some(false), _) => "differs",
            (None, State::Corrected { .. }) => "straightened",
            (None, _) => "not predicted",
        }
    }
}

/// The comparison for a terminal, in the user's units; ends with a line break.
#[must_use]
pub fn text(comparison: &Comparison, units: Units) -> String {
    let mut out = match comparison.rows.as_slice() {
        [] => "No measurement is of this build:\n".to_owned(),
        rows => table(rows, &comparison.factors, units),
    };
    for note in &comparison.notes {
        out += &format!("  Note: {}.\n", sanitise::plain(note));
    }
    out
}

fn table(compared: &[Compared], factors: &str, units: Units) -> String {
    let mut rows = vec![["", "measured", "predicted", "residual", "", ""].map(str::to_owned)];
    rows.extend(compared.iter().map(|row| {
        let shown =
            |change: Option<Uncertain>| change.map_or("-".into(), |change| units.change(change));
        [
            sanitise::plain(&row.of),
            units.change(row.measured_mm),
            shown(row.predicted_mm),
            shown(row.residual_mm()),
            row.verdict().to_owned(),
            format!("{}, {}", row.state, row.on),
        ]
    }));
    let mut out = format!(
        "Change measured, and predicted from this log's heat with {}, {}:\n",
        sanitise::plain(factors),
        units.length_symbol()
    );
    for line in aligned(&rows, &[0, 4, 5]) {
        out += &format!("  {line}\n");
    }
    out
}
