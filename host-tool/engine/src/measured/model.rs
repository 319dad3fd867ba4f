//! A measurement: readings taken at one time in one state of the frame.

use crate::job::model::{Job, Point};
pub use crate::comparison::State;
use crate::movement::answers::{Measure, MeasureKind};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use serde::{Deserialize, Serialize};

/// A unit that lengths are read in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LengthUnit {
    /// Millimetre.
    Mm,
    /// Centimetre.
    Cm,
    /// Metre.
    M,
    /// Inch.
    In,
    /// Foot.
    Ft,
}

impl LengthUnit {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::Mm, Self::Cm, Self::M, Self::In, Self::Ft];

    /// Millimetres in one.
    #[must_use]
    pub const fn in_mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Cm => 10.0,
            Self::M => 1000.0,
            Self::In => 25.4,
            Self::Ft => 304.8,
        }
    }

    /// The word for several.
    #[must_use]
    pub const fn plural(self) -> &'static str {
        match self {
            Self::Mm => "millimetres",
            Self::Cm => "centimetres",
            Self::M => "metres",
            Self::In => "inches",
            Self::Ft => "feet",
        }
    }

    /// As it is printed after a number.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::In => "in",
            Self::Ft => "ft",
        }
    }
}

/// Between which points of the corners a width, height or diagonal was taken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "clap", derive(clap::ValueEnum))]
#[serde(rename_all = "lowercase")]
pub enum Between {
    /// Outer edges or corners.
    #[default]
    Outside,
    /// Inner edges or corners.
    Inside,
    /// Lines through the middles of the members.
    Centres,
}

/// One thing read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// What it is of: the name of a measure ("bow of top rail, upwards", "width at the top"), or "gap at" a joint.
    pub of: String,
    /// What was read: one value, or for a bow three at a quarter, half and three quarters of the length. A bow, racking
    /// or wind carries the sign of its name; a size is the whole distance.
    pub values: Vec<f64>,
    /// Their unit.
    pub unit: LengthUnit,
    /// Reading uncertainty ± (k = 2), in that unit.
    pub plus_minus: f64,
    /// Between which points, for widths, heights and diagonals.
    #[serde(default, skip_serializing_if = "is_outside")]
    pub between: Between,
    /// Whether the maker named the unit; known only while it is being entered.
    #[serde(skip)]
    pub unit_named: bool,
    /// What spoke against it when it was entered and was kept all the same; empty for most.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub doubts: Vec<String>,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde asks so
fn is_outside(between: &Between) -> bool {
    *between == Between::Outside
}

impl Reading {
    /// The value that is compared with predictions, mm: the middle one of three.
    #[must_use]
    pub fn value_mm(&self) -> f64 {
        let middle = self.values.get(self.values.len() / 2).copied();
        middle.unwrap_or(f64::NAN) * self.unit.in_mm()
    }

    /// All values, mm.
    #[must_use]
    pub fn values_mm(&self) -> Vec<f64> {
        let values = self.values.iter();
        values.map(|value| value * self.unit.in_mm()).collect()
    }

    /// Reading uncertainty ± (k = 2), mm.
    #[must_use]
    pub fn plus_minus_mm(&self) -> f64 {
        self.plus_minus * self.unit.in_mm()
    }
}

/// Readings taken at one time in one state.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measurement {
    /// When, as `2026-11-25`.
    pub on: String,
    /// Who, as they wrote it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// In which state.
    #[serde(flatten)]
    pub state: State,
    /// Which frame of several built from the job, as the maker calls it; empty for the only one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub build: String,
    /// Name of the log of that build, if there is one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub log: String,
    /// Its SHA-256 in hexadecimal digits, by which it is known whatever it is called.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub log_sha256: String,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// What was read; at least one.
    #[serde(rename = "reading")]
    pub readings: Vec<Reading>,
}

/// A reading as a measure of the movement engine has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observed {
    /// Index of the reading.
    pub reading: usize,
    /// Index of the measure.
    pub measure: usize,
    /// Change from before welding, mm, with its standard uncertainty.
    pub change_mm: Uncertain,
}

impl Measurement {
    /// The readings as changes of the engine's measures. Gaps are none of these and left out.
    #[must_use]
    pub fn observed(&self, job: &Job, measures: &[Measure]) -> Vec<Observed> {
        let one = |(reading, read): (usize, &Reading)| {
            let measure = measures.iter().position(|m| m.name == read.of)?;
            let nominal = nominal_mm(job, measures, &measures[measure], read.between);
            Some(Observed {
                reading,
                measure,
                change_mm: Uncertain {
                    value: read.value_mm() - nominal,
                    standard: read.plus_minus_mm() / COVERAGE_FACTOR,
                },
            })
        };
        self.readings.iter().enumerate().filter_map(one).collect()
    }
}

/// What a measure is before welding between these points, mm; nothing for bows, racking and wind.
///
/// Between other points the corners are taken as rigid: the change of the distance is the same.
#[must_use]
pub fn nominal_mm(job: &Job, measures: &[Measure], measure: &Measure, between: Between) -> f64 {
    let size = |axis: &str| measures.iter().find(|m| m.name.starts_with(axis));
    let (x, y) = (Point::new(1.0, 0.0, 0.0), Point::new(0.0, 1.0, 0.0));
    match measure.kind {
        MeasureKind::Size => {
            let axis = measure.terms.first().map_or(x, |term| term.direction);
            measure.nominal_mm - less(job, axis, between)
        }
        MeasureKind::Diagonal => match (size("width"), size("height")) {
            (Some(width), Some(height)) => (width.nominal_mm - less(job, x, between))
                .hypot(height.nominal_mm - less(job, y, between)),
            _ => measure.nominal_mm,
        },
        _ => 0.0,
    }
}

/// By how much a distance between these points is less than that over the outer edges, mm: the members at both ends
/// that lie across the direction, whole or by half.
fn less(job: &Job, direction: Point, between: Between) -> f64 {
    let share = match between {
        Between::Outside => return 0.0,
        Between::Inside => 1.0,
        Between::Centres => 0.5,
    };
    let across = |member: &&crate::job::model::Member| {
        (member.to - member.from)
            .unit()
            .is_some_and(|axis| axis.dot(direction).abs() < 0.5)
    };
    let middle = |member: &crate::job::model::Member| (member.from + member.to).dot(direction);
    let across: Vec<_> = job.members.iter().filter(across).collect();
    let ends = [
        across.iter().min_by(|a, b| middle(a).total_cmp(&middle(b))),
        across.iter().max_by(|a, b| middle(a).total_cmp(&middle(b))),
    ];
    let thickness = |member: &crate::job::model::Member| {
        let size = member.section.properties();
        let deep = member.depth_axis.dot(direction).abs() > 0.5;
        if deep { size.depth_mm } else { size.width_mm }
    };
    share * ends.iter().flatten().map(|m| thickness(m)).sum::<f64>()
}
