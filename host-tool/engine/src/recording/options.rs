//! What a person may say about a recording; everything left out is detected, and what was detected is stated.

use coldsquare_core::process::Process;
use coldsquare_core::seal::Fingerprint;
use std::path::PathBuf;
use std::str::FromStr;

/// What is known about a recording beforehand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RecordingOptions {
    /// Column of time.
    pub time: Option<ColumnRef>,
    /// Column of arc voltage.
    pub volts: Option<ColumnRef>,
    /// Column of welding current.
    pub amps: Option<ColumnRef>,
    /// What stands between columns.
    pub separator: Option<Separator>,
    /// What stands before the decimals.
    pub decimal: Option<Decimal>,
    /// Unit of a numeric time column.
    pub time_unit: Option<TimeUnit>,
    /// Samples per second of a recording without a time column.
    pub rate_hz: Option<f64>,
    /// Volts for each 1 in the column; overrides a unit in the heading.
    pub volts_scale: Option<f64>,
    /// Volts added after scaling.
    pub volts_offset: Option<f64>,
    /// Amperes for each 1 in the column; overrides a unit in the heading.
    pub amps_scale: Option<f64>,
    /// Amperes added after scaling.
    pub amps_offset: Option<f64>,
    /// Accuracy of the voltage measurement, ± percent of the value.
    pub volts_accuracy_percent: Option<f64>,
    /// Accuracy of the current measurement, ± percent of the value.
    pub amps_accuracy_percent: Option<f64>,
    /// Name of the group or array to read in a file that holds several, as MATLAB and HDF5 files do.
    pub dataset: Option<String>,
    /// A log of the same logger whose calibration holds for a log that has lost every header.
    pub calibration_of: Option<PathBuf>,
    /// The logger whose seal the log must have, by its fingerprint.
    pub sealed_by: Option<Fingerprint>,
    /// Rows that cannot be read are left out and counted instead of refused.
    pub skip_bad_rows: Option<bool>,
    /// The arc was steady (no short circuits, pulses or alternating current), so that slow samples miss nothing.
    pub steady_arc: Option<bool>,
    /// Welding process: sets what counts as an arc.
    pub process: Option<Process>,
}

/// A column, by its place or its heading.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ColumnRef {
    /// Place from the left, from 1.
    Number(usize),
    /// Heading, in any case, with or without its unit.
    Name(String),
}

impl FromStr for ColumnRef {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let text = text.trim();
        match text.parse() {
            Ok(0) => Err("columns are counted from 1".into()),
            Ok(number) => Ok(Self::Number(number)),
            Err(_) if text.is_empty() => Err("a column needs a number or a heading".into()),
            Err(_) => Ok(Self::Name(text.into())),
        }
    }
}

/// What stands between columns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "clap", derive(clap::ValueEnum))]
pub enum Separator {
    /// A tab.
    Tab,
    /// A semicolon.
    Semicolon,
    /// A comma.
    Comma,
    /// Spaces or tabs, any number of them.
    Space,
}

impl Separator {
    /// The ways there are.
    pub const ALL: [Self; 4] = [Self::Tab, Self::Semicolon, Self::Comma, Self::Space];

    /// In words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tab => "tab",
            Self::Semicolon => "semicolon",
            Self::Comma => "comma",
            Self::Space => "space",
        }
    }
}

/// What stands before the decimals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "clap", derive(clap::ValueEnum))]
pub enum Decimal {
    /// 24.5
    Point,
    /// 24,5
    Comma,
}

impl Decimal {
    /// The ways there are.
    pub const ALL: [Self; 2] = [Self::Point, Self::Comma];

    /// In words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Point => "point",
            Self::Comma => "comma",
        }
    }
}

/// Unit of a numeric time column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "clap", derive(clap::ValueEnum))]
pub enum TimeUnit {
    /// Seconds.
    S,
    /// Milliseconds.
    Ms,
    /// Microseconds.
    Us,
    /// Nanoseconds.
    Ns,
    /// Minutes.
    Min,
    /// Hours.
    H,
}

impl TimeUnit {
    /// The units there are.
    pub const ALL: [Self; 6] = [Self::S, Self::Ms, Self::Us, Self::Ns, Self::Min, Self::H];

    /// As an option or a job file writes it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Us => "us",
            other => other.symbol(),
        }
    }

    /// Seconds in one.
    #[must_use]
    pub const fn seconds(self) -> f64 {
        match self {
            Self::S => 1.0,
            Self::Ms => 1e-3,
            Self::Us => 1e-6,
            Self::Ns => 1e-9,
            Self::Min => 60.0,
            Self::H => 3600.0,
        }
    }

    /// Its symbol.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::S => "s",
            Self::Ms => "ms",
            Self::Us => "µs",
            Self::Ns => "ns",
            Self::Min => "min",
            Self::H => "h",
        }
    }
}
