//! What welders call processes, in a job as in a command.

use coldsquare_core::process::Process;

/// Names that welders call processes by, besides the ISO 4063 number. MIG and MAG are told apart by their gas; plain
/// "mig" means inert gas, as ISO 4063 has it, and "gmaw", which does not say, is read as active gas on steel.
pub const PROCESS_NAMES: [(&str, Process); 14] = [
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
    ("submerged", Process::SubmergedArc),
    ("plasma", Process::Plasma),
];

/// The process of a name, in capitals or not, or of an ISO 4063 number.
#[must_use]
pub fn process_called(text: &str) -> Option<Process> {
    let text = text.trim();
    let called = |(name, _): &&(&str, Process)| name.eq_ignore_ascii_case(text);
    let by_name = PROCESS_NAMES.iter().find(called);
    by_name
        .map(|(_, process)| *process)
        .or_else(|| text.parse().ok().and_then(Process::from_number))
}
