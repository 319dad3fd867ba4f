//! A measurement: readings taken together at one state of the frame.

pub use crate::comparison::State;
use crate::job::model::{Job, Point};
use crate::movement::measures::{Measure, MeasureKind};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use coldsquare_core::units::MILLIMETRES_PER_INCH;
use serde::{Deserialize, Serialize};

/// A unit of a reading.
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

    /// What one of it is in millimetres.
    #[must_use]
    pub const fn in_mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Cm => 10.0,
            Self::M => 1000.0,
            Self::In => MILLIMETRES_PER_INCH,
            Self::Ft => 304.8,
        }
    }

    /// Its name in the plural.
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

    /// Its symbol.
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

/// The points of the corners between which a width, height or diagonal was measured.
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

/// One reading.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// Name of the measure ("bow of top rail, upwards", "width at the top"), or "gap at" a joint.
    pub of: String,
    /// One value, or for a bow three: at a quarter, half and three quarters of the length. A bow, racking or twist is
    /// signed as its name says; a size is the whole distance.
    pub values: Vec<f64>,
    /// Their unit.
    pub unit: LengthUnit,
    /// Reading uncertainty ± (k = 2), in that unit.
    pub plus_minus: f64,
    /// The points it was measured between, for widths, heights and diagonals.
    #[serde(default, skip_serializing_if = "is_outside")]
    pub between: Between,
    /// Whether the unit was written with the value; known only while the reading is being entered.
    #[serde(skip)]
    pub unit_named: bool,
    /// Warnings that were given when it was entered, if it was kept in spite of them.
    #[serde(default, alias = "doubts", skip_serializing_if = "Vec::is_empty")]
    pub warnings: Vec<String>,
}

#[allow(clippy::trivially_copy_pass_by_ref)] // serde passes a reference
fn is_outside(between: &Between) -> bool {
    *between == Between::Outside
}

impl Reading {
    /// The value that is compared with predictions, mm: of three, the one in the middle of the member.
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

    /// The values as they were read, with their unit: "3, 4, 3 mm".
    #[must_use]
    pub fn as_read(&self) -> String {
        let values: Vec<String> = self
            .values
            .iter()
            .map(|&value| Self::number(value))
            .collect();
        format!("{} {}", values.join(", "), self.unit.symbol())
    }

    /// A value without trailing zeros, to four decimals.
    pub(super) fn number(value: f64) -> String {
        let text = format!("{value:.4}");
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    }

    /// Reading uncertainty ± (k = 2), mm.
    #[must_use]
    pub fn plus_minus_mm(&self) -> f64 {
        self.plus_minus * self.unit.in_mm()
    }
}

/// Readings taken together at one state of the frame.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measurement {
    /// Date, as `2026-11-25`.
    pub on: String,
    /// Who measured.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub by: String,
    /// State of the frame.
    #[serde(flatten)]
    pub state: State,
    /// Name of the frame if several were built from the job; empty for the only one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub build: String,
    /// File name of the log of that build, if there is one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub log: String,
    /// SHA-256 of the log in hexadecimal digits: it identifies the log under any name.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub log_sha256: String,
    /// Anything else.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// The readings; at least one.
    #[serde(rename = "reading")]
    pub readings: Vec<Reading>,
}

/// A reading as the change of a measure.
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
    /// The readings as changes of measures. Gaps are left out: they are not among the measures.
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

/// A measure before welding, between these points, mm; 0 for bows, racking and twist.
///
/// The corners count as rigid, so that the distance between any of the points changes by the same amount.
#[must_use]
pub fn nominal_mm(job: &Job, measures: &[Measure], measure: &Measure, between: Between) -> f64 {
    let size = |axis: &str| measures.iter().find(|m| m.name.starts_with(axis));
    let (x, y) = (Point::new(1.0, 0.0, 0.0), Point::new(0.0, 1.0, 0.0));
    match measure.kind {
        MeasureKind::Size => {
            let axis = measure.terms.first().map_or(x, |term| term.direction);
            measure.nominal_mm - shorter_by(job, axis, between)
        }
        MeasureKind::Diagonal if between != Between::Outside => {
            match (size("width"), size("height").or_else(|| size("depth"))) {
                (Some(width), Some(height)) => (width.nominal_mm - shorter_by(job, x, between))
                    .hypot(height.nominal_mm - shorter_by(job, y, between)),
                _ => measure.nominal_mm,
            }
        }
        _ => measure.nominal_mm,
    }
}

/// How much shorter a distance between these points is than one over the outer edges, mm: the members across its two
/// ends, whole or half.
fn shorter_by(job: &Job, direction: Point, between: Between) -> f64 {
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
