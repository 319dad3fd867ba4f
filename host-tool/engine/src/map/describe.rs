//! Verdicts, roles and notes as text.

use super::model::{Flag, MappedWeld, Role, Warning};
use crate::format::list;
use crate::sanitise::plain;
use crate::verdict::{Side, Verdict};

impl MappedWeld {
    /// "out of limits: heat input too high (run 2)"; only the verdict if no limit decided.
    #[must_use]
    pub fn describe_verdict(&self) -> String {
        if !self.whole {
            return format!("{}: not whole", self.verdict.name());
        }
        if let Some(flag) = self.flags.iter().find(|flag| flag.forbids_a_verdict()) {
            let why = match flag {
                Flag::VoltageStuck { .. } => "volts stood still",
                Flag::CurrentStuck { .. } => "amps stood still",
                _ => "no arc voltage",
            };
            return format!("{}: {why}", self.verdict.name());
        }
        let Some(decision) = self.decided_by else {
            return self.verdict.name().into();
        };
        let side = match (self.verdict, decision.side) {
            (Verdict::OutOfLimits, Side::Low) => "too low",
            (Verdict::OutOfLimits, Side::High) => "too high",
            (_, Side::Low) => "near the lower limit",
            (_, Side::High) => "near the upper limit",
        };
        let run = if self.planned_runs > 1 {
            format!(" (run {})", decision.run)
        } else {
            String::new()
        };
        format!(
            "{}: {} {side}{run}",
            self.verdict.name(),
            decision.quantity.name()
        )
    }
}

impl Role {
    /// "weld 3", "weld 3, run 2", "tack" and so on.
    #[must_use]
    pub fn describe(self) -> String {
        match self {
            Self::Weld { weld, run: 1 } => format!("weld {weld}"),
            Self::Weld { weld, run } => format!("weld {weld}, run {run}"),
            Self::Replaced { weld } => format!("weld {weld}, replaced"),
            Self::Tack => "tack".into(),
            Self::Scrap => "scrap".into(),
            Self::Extra => "extra".into(),
        }
    }
}

impl std::fmt::Display for Warning {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Holes {
                places,
                time,
                records,
            } => write!(
                out,
                "the log has holes in {}: {:.1} s and {} are lost; the totals are at least the values shown, and what \
                 depends on a hole says so at its weld",
                crate::format::count(*places, "place"),
                time.0,
                crate::format::count(usize::try_from(*records).unwrap_or(usize::MAX), "record"),
            ),
            Self::SlowRecording { rate_hz } => write!(
                out,
                "recorded at {rate_hz:.0} samples a second, too slow for short circuits and pulses: volts times amps can \
                 be wrong by up to 30 % either way, and the uncertainties allow for it"
            ),
            Self::NeverCalibrated => write!(
                out,
                "the logger was never calibrated: the uncertainties are those of its type of sensor; calibrate it, then \
                 map this log again"
            ),
            Self::NoClock => write!(out, "the log has no time of day; times are from its start"),
            Self::UncertainBeads(beads) => write!(
                out,
                "not certain where {} belong{}; if you know, assign with --assign BEAD=WELD",
                counted("bead", beads),
                if beads.len() == 1 { "s" } else { "" },
            ),
            Self::WeldsMissing(welds) => {
                write!(out, "no bead found for {}", counted("weld", welds))
            }
            Self::ExtraBeads(beads) => write!(
                out,
                "{} fit{} no planned weld",
                counted("bead", beads),
                if beads.len() == 1 { "s" } else { "" },
            ),
            Self::Reversed(beads) => write!(
                out,
                "power flows backwards in {}: the clamp or the voltage leads are reversed; the energy is shown \
                 without its sign",
                counted("bead", beads)
            ),
            Self::Clipped(beads) => write!(
                out,
                "a sensor reached its limit in {}: the energy was at least the value shown",
                counted("bead", beads)
            ),
            Self::OtherProcess { log, job } => write!(
                out,
                "the logger was set to {} ({}), the job says {} ({}); the thermal efficiency is the job's",
                log.name(),
                log.number(),
                job.name(),
                job.number()
            ),
            Self::UnknownWeldInMarker { weld } => write!(
                out,
                "a marker names weld {weld}, which the job does not have; it was ignored. Is this the right job?"
            ),
            Self::Log(text) => out.write_str(&plain(text)),
        }
    }
}

fn counted<T: std::fmt::Display>(what: &str, which: &[T]) -> String {
    let plural = if which.len() == 1 { "" } else { "s" };
    format!("{what}{plural} {}", list(which))
}
