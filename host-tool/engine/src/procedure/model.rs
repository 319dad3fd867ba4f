//! What a procedure fixes and allows: the limits that a log is judged by, and the other contents of ISO 15609-1.

use super::qualification::Qualification;
use crate::limits::Limits;
use coldsquare_core::process::Process;
use coldsquare_core::units::{
    Amperes, Celsius, JoulesPerMillimetre, Millimetres, MillimetresPerSecond, Volts,
};

/// The contents of a procedure (ISO 15609-1) that a log does not show. Each may be missing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// The file it was read from, as the job names it; `None` when the job itself describes it.
    pub file: Option<String>,
    /// Group of the parent metal (ISO/TR 15608), for example "1.1".
    pub material_group: Option<String>,
    /// Thickness of the parent metal.
    pub thickness: Limits<Millimetres>,
    /// Kind of joint, in words.
    pub joint: Option<String>,
    /// Preparation of the edges, in words.
    pub preparation: Option<String>,
    /// Welding position (ISO 6947).
    pub position: Option<&'static str>,
    /// Designation of wire, rod or electrode.
    pub consumable: Option<String>,
    /// Diameter of wire, rod or electrode.
    pub wire: Option<Millimetres>,
    /// Designation of the shielding gas (ISO 14175) or its name.
    pub gas: Option<String>,
    /// Flow of the shielding gas, litres a minute.
    pub gas_flow_l_min: Limits<f64>,
    /// Polarity of the electrode.
    pub polarity: Option<Polarity>,
    /// Speed of the wire.
    pub wire_speed: Limits<MillimetresPerSecond>,
    /// Lowest temperature of the work before a run.
    pub preheat: Option<Celsius>,
    /// Runs that differ from the first, in the order of their numbers.
    pub later_runs: Vec<RunSettings>,
    /// The test that it rests on.
    pub qualification: Option<Qualification>,
}

/// Polarity of the electrode.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    /// Electrode positive.
    Positive,
    /// Electrode negative.
    Negative,
    /// Alternating current.
    Alternating,
}

impl Polarity {
    /// "DC+", "DC-" or "AC", as in a file.
    #[must_use]
    pub const fn describe(self) -> &'static str {
        match self {
            Self::Positive => "DC+",
            Self::Negative => "DC-",
            Self::Alternating => "AC",
        }
    }
}

/// Limits of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunSettings {
    /// Number of the first run with these limits, from 1.
    pub from_run: u8,
    /// Arc voltage.
    pub voltage: Limits<Volts>,
    /// Welding current.
    pub current: Limits<Amperes>,
    /// Speed of the wire.
    pub wire_speed: Limits<MillimetresPerSecond>,
    /// Travel speed.
    pub travel_speed: Limits<MillimetresPerSecond>,
    /// Heat input, per run.
    pub heat_input: Limits<JoulesPerMillimetre>,
}

impl Procedure {
    /// The limits of a run: those of the last entry that begins with it or with an earlier one.
    #[must_use]
    pub fn for_run(&self, run: u8) -> RunSettings {
        let first = RunSettings {
            from_run: 1,
            voltage: self.voltage,
            current: self.current,
            wire_speed: self.sheet.wire_speed,
            travel_speed: self.travel_speed,
            heat_input: self.heat_input,
        };
        let later = self.sheet.later_runs.iter();
        later
            .take_while(|settings| settings.from_run <= run)
            .last()
            .copied()
            .unwrap_or(first)
    }

    /// The limits of the first run, then those of the later runs that differ.
    pub(crate) fn all_runs(&self) -> impl Iterator<Item = RunSettings> {
        std::iter::once(self.for_run(1)).chain(self.sheet.later_runs.iter().copied())
    }
}

/// What a procedure fixes and allows (contents after ISO 15609-1).
#[derive(Clone, Debug)]
pub struct Procedure {
    /// Name.
    pub name: String,
    /// Process.
    pub process: Process,
    /// Arc voltage.
    pub voltage: Limits<Volts>,
    /// Welding current.
    pub current: Limits<Amperes>,
    /// Travel speed.
    pub travel_speed: Limits<MillimetresPerSecond>,
    /// Heat input (arc energy times thermal efficiency), per run.
    pub heat_input: Limits<JoulesPerMillimetre>,
    /// Highest temperature of the joint before the next run.
    pub interpass: Option<Celsius>,
    /// The heat input that the user expects to measure; the plan and the expected arc times use it.
    pub planned_heat_input: JoulesPerMillimetre,
    /// The travel speed that the user expects to measure.
    pub planned_travel_speed: MillimetresPerSecond,
    /// The contents that a log does not show.
    pub sheet: Sheet,
}
