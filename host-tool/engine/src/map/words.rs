//! What became of welds and beads, in words.

use super::model::{Flag, MappedWeld, Role, Warning};
use crate::verdict::{Side, Verdict};
use crate::format::list;
use crate::sanitise::plain;

impl MappedWeld {
    /// "outside: heat input too high (run 2)"; only the verdict where no limit decided.
    #[must_use]
    pub fn verdict_words(&self) -> String {
        let Some(decision) = self.decided_by else {
            return self.verdict.words().into();
        };
        let side = match (self.verdict, decision.side) {
            (Verdict::Outside, Side::Low) => "too low",
            (Verdict::Outside, Side::High) => "too high",
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
            self.verdict.words(),
            decision.quantity.words()
        )
    }
}

impl Role {
    /// "weld 3", "weld 3, run 2", "tack" and so on.
    #[must_use]
    pub fn words(self) -> String {
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

fn times(count: u32) -> String {
    match count {
        1 => "once".into(),
        2 => "twice".into(),
        count => format!("{count} times"),
    }
}

impl std::fmt::Display for Flag {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::VoltageClipped { share } => {
                write!(out, "voltage at the sensor's limit in {}", percent(*share))
            }
            Self::CurrentClipped { share } => {
                write!(out, "current at the sensor's limit in {}", percent(*share))
            }
            Self::SamplesDropped { share } => {
                write!(out, "{} of the samples missing", percent(*share))
            }
            Self::Reversed => write!(out, "a sensor is the wrong way round"),
            Self::Alternating => write!(out, "AC, volts and amps are RMS"),
            Self::Restarted { times: count } => write!(out, "arc restarted {}", times(*count)),
            Self::InDoubt => write!(out, "perhaps not its own bead"),
            Self::RunsMissing { found, planned } => write!(out, "{found} of {planned} runs found"),
            Self::Redone { beads: 1 } => write!(out, "redone, 1 bead replaced"),
            Self::Redone { beads } => write!(out, "redone, {beads} beads replaced"),
            Self::Skipped => write!(out, "passed over by the welder"),
            Self::OutOfOrder => write!(out, "not in its planned place"),
            Self::UnusualArcTime { ratio } => {
                write!(out, "arc time {ratio:.1} times the planned one")
            }
            Self::AssignedByHand => write!(out, "beads given by hand"),
        }
    }
}

fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent > 0.0 && percent < 0.1 {
        "less than 0.1 %".into()
    } else {
        format!("{percent:.1} %")
    }
}

impl std::fmt::Display for Warning {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::SlowRecording { rate_hz } => write!(
                out,
                "recorded at {rate_hz:.0} samples a second, too slow to follow short circuits and pulses: volts times \
                 amps can be wrong by up to 30 % either way, and the doubts given allow for it"
            ),
            Self::NeverCalibrated => write!(
                out,
                "the logger was never calibrated: doubts are those of its sensor class; calibrate it, and this log \
                 can be mapped again with the better numbers"
            ),
            Self::NoClock => write!(
                out,
                "the log has no time of day; times count from its start"
            ),
            Self::BeadsInDoubt(beads) => write!(
                out,
                "not certain where {} belong{}; where you know better, say so with --assign BEAD=WELD",
                counted("bead", beads),
                if beads.len() == 1 { "s" } else { "" },
            ),
            Self::WeldsMissing(welds) => {
                write!(out, "no bead was found for {}", counted("weld", welds))
            }
            Self::ExtraBeads(beads) => write!(
                out,
                "{} fit{} no planned weld",
                counted("bead", beads),
                if beads.len() == 1 { "s" } else { "" },
            ),
            Self::Reversed(beads) => write!(
                out,
                "power flows backwards in {}: clamp or voltage lead is the wrong way round; energy is given as a \
                 magnitude",
                counted("bead", beads)
            ),
            Self::Clipped(beads) => write!(
                out,
                "a sensor reached its limit in {}: the energy given is the least that it can have been",
                counted("bead", beads)
            ),
            Self::OtherProcess { log, job } => write!(
                out,
                "the logger was set to {} ({}), the job says {} ({}); the job's thermal efficiency was used",
                log.name(),
                log.number(),
                job.name(),
                job.number()
            ),
            Self::UnknownWeldInMarker { weld } => write!(
                out,
                "a marker names weld {weld}, which the job does not have; it was left aside: is this the right job?"
            ),
            Self::Log(text) => out.write_str(&plain(text)),
        }
    }
}

fn counted<T: std::fmt::Display>(what: &str, which: &[T]) -> String {
    let plural = if which.len() == 1 { "" } else { "s" };
    format!("{what}{plural} {}", list(which))
}
