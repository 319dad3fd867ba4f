//! Names of welding processes: what welders call them, in a job as in a command, and the letters of AWS A3.0.
//!
//! ```
//! use coldsquare_engine::procedure::names::{aws_letters, process_called};
//!
//! let mag = process_called("GMAW").expect("known");
//! assert_eq!(mag.number(), 135);
//! assert_eq!(aws_letters(mag), "GMAW");
//! ```

use coldsquare_core::process::Process;

/// Names of processes besides the ISO 4063 number. MIG and MAG differ in their gas: "mig" means inert gas, as in
/// ISO 4063; "gmaw", which does not say, means active gas on steel.
pub const PROCESS_NAMES: [(&str, Process); 17] = [
    ("mag", Process::MagSolid),
    ("gmaw", Process::MagSolid),
    ("mig", Process::MigSolid),
    ("tig", Process::Tig),
    ("gtaw", Process::Tig),
    ("stick", Process::ManualMetalArc),
    ("mma", Process::ManualMetalArc),
    ("smaw", Process::ManualMetalArc),
    ("flux-cored", Process::MagFluxCored),
    ("fcaw-g", Process::MagFluxCored),
    ("fcaw-s", Process::SelfShieldedCored),
    ("metal-cored", Process::MagMetalCored),
    ("gmaw-c", Process::MagMetalCored),
    ("submerged", Process::SubmergedArc),
    ("saw", Process::SubmergedArc),
    ("plasma", Process::Plasma),
    ("paw", Process::Plasma),
];

/// The process with this name, in either case, or with this ISO 4063 number.
#[must_use]
pub fn process_called(text: &str) -> Option<Process> {
    let text = text.trim();
    let called = |(name, _): &&(&str, Process)| name.eq_ignore_ascii_case(text);
    let by_name = PROCESS_NAMES.iter().find(called);
    by_name
        .map(|(_, process)| *process)
        .or_else(|| text.parse().ok().and_then(Process::from_number))
}

/// Letter designation of AWS A3.0; values from memory.
#[must_use]
pub const fn aws_letters(process: Process) -> &'static str {
    match process {
        Process::ManualMetalArc => "SMAW",
        Process::SelfShieldedCored => "FCAW-S",
        Process::SubmergedArc => "SAW",
        Process::MigSolid | Process::MagSolid => "GMAW",
        Process::MigFluxCored | Process::MagFluxCored => "FCAW-G",
        Process::MigMetalCored | Process::MagMetalCored => "GMAW-C",
        Process::Tig => "GTAW",
        Process::Plasma => "PAW",
    }
}
