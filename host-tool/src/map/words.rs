//! Numbers with units, dates, lists and other people's names, as every table prints them.

use super::model::{Flag, MappedWeld, Role, Warning};
use crate::job::model::{Limits, Units};
use crate::verdict::{Side, Verdict};
use coldsquare_core::uncertainty::Uncertain;
use coldsquare_core::units::{
    JoulesPerMillimetre, MILLIMETRES_PER_INCH, Millimetres, MillimetresPerSecond,
};

/// "1, 2 and 3"; "none" when there are none.
#[must_use]
pub fn numbers<T: std::fmt::Display>(numbers: &[T]) -> String {
    match numbers {
        [] => "none".into(),
        [one] => one.to_string(),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(ToString::to_string).collect();
            format!("{} and {last}", first.join(", "))
        }
    }
}

/// Somebody else's text made safe for a terminal and a line of a table: control characters, line breaks and marks
/// that turn the direction of writing are shown as U+FFFD, and nothing else is changed.
#[must_use]
pub fn plain(text: &str) -> String {
    text.chars()
        .map(|c| if harmful(c) { '\u{FFFD}' } else { c })
        .collect()
}

fn harmful(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FEFF}')
}

/// As [`plain`], and no longer than `most` characters.
#[must_use]
pub fn short(text: &str, most: usize) -> String {
    let text = plain(text);
    if text.chars().count() <= most {
        return text;
    }
    let kept: String = text.chars().take(most.saturating_sub(1)).collect();
    kept + "…"
}

/// How a quantity is printed in one of the systems of units.
#[derive(Clone, Copy, Debug)]
pub struct Printed {
    /// Symbol of the unit.
    pub symbol: &'static str,
    /// The same as part of a column's name.
    pub column: &'static str,
    /// Digits after the point.
    pub decimals: usize,
}

/// Heat input and arc energy: kJ/mm or kJ/in.
#[must_use]
pub fn heat(units: Units) -> (Printed, fn(JoulesPerMillimetre) -> f64) {
    match units {
        Units::Metric => (
            printed("kJ/mm", "kj_per_mm", 3),
            JoulesPerMillimetre::kilojoules_per_millimetre,
        ),
        Units::UsCustomary => (
            printed("kJ/in", "kj_per_in", 2),
            JoulesPerMillimetre::kilojoules_per_inch,
        ),
    }
}

/// Travel speed: mm/s or in/min.
#[must_use]
pub fn speed(units: Units) -> (Printed, fn(MillimetresPerSecond) -> f64) {
    match units {
        Units::Metric => (printed("mm/s", "mm_per_s", 2), MillimetresPerSecond::value),
        Units::UsCustomary => (
            printed("in/min", "in_per_min", 1),
            MillimetresPerSecond::inches_per_minute,
        ),
    }
}

/// Length: mm or in.
#[must_use]
pub fn length(units: Units) -> (Printed, fn(Millimetres) -> f64) {
    match units {
        Units::Metric => (printed("mm", "mm", 1), Millimetres::value),
        Units::UsCustomary => (printed("in", "in", 2), Millimetres::inches),
    }
}

/// A change with its doubt: "-0.30 ± 0.50" in mm, "-0.012 ± 0.020" in inches; without unit.
#[must_use]
pub fn change(change: Uncertain, units: Units) -> String {
    let (decimals, per_mm) = match units {
        Units::Metric => (2, 1.0),
        Units::UsCustomary => (3, 1.0 / MILLIMETRES_PER_INCH),
    };
    let of_mm = change.scaled(per_mm);
    let value = format!("{:+.decimals$}", of_mm.value);
    // Nothing is neither more nor less.
    let nothing = value.trim_start_matches(['+', '-', '0', '.']).is_empty();
    let value = if nothing {
        value.replace(['+', '-'], "")
    } else {
        value
    };
    format!("{value} ± {:.decimals$}", of_mm.expanded())
}

const fn printed(symbol: &'static str, column: &'static str, decimals: usize) -> Printed {
    Printed {
        symbol,
        column,
        decimals,
    }
}

/// "0.30 to 0.60", "up to 0.60", "from 0.30", or "-" when both ends are open; without unit.
#[must_use]
pub fn limits<T: Copy>(limits: Limits<T>, decimals: usize, number: impl Fn(T) -> f64) -> String {
    match (limits.low.map(&number), limits.high.map(&number)) {
        (Some(low), Some(high)) => format!("{low:.decimals$} to {high:.decimals$}"),
        (None, Some(high)) => format!("up to {high:.decimals$}"),
        (Some(low), None) => format!("from {low:.decimals$}"),
        (None, None) => "-".into(),
    }
}

/// "2026-11-25 14:03 UTC" from milliseconds since 1970-01-01T00:00:00Z; "no date" past the year 9999.
#[must_use]
pub fn date_and_time(unix_ms: u64) -> String {
    formatted(unix_ms, "%Y-%m-%d %H:%M UTC")
}

/// "2026-11-25" from seconds since 1970-01-01T00:00:00Z; "no date" past the year 9999.
#[must_use]
pub fn date(unix_s: u64) -> String {
    formatted(unix_s.saturating_mul(1000), "%Y-%m-%d")
}

fn formatted(unix_ms: u64, format: &str) -> String {
    i64::try_from(unix_ms)
        .ok()
        .and_then(|ms| jiff::Timestamp::from_millisecond(ms).ok())
        .map_or("no date".into(), |time| time.strftime(format).to_string())
}

/// "outside: heat input too high (run 2)"; only the verdict where no limit decided.
#[must_use]
pub fn verdict(weld: &MappedWeld) -> String {
    let Some(decision) = weld.decided_by else {
        return weld.verdict.words().into();
    };
    let side = match (weld.verdict, decision.side) {
        (Verdict::Outside, Side::Low) => "too low",
        (Verdict::Outside, Side::High) => "too high",
        (_, Side::Low) => "near the lower limit",
        (_, Side::High) => "near the upper limit",
    };
    let run = if weld.planned_runs > 1 {
        format!(" (run {})", decision.run)
    } else {
        String::new()
    };
    format!(
        "{}: {} {side}{run}",
        weld.verdict.words(),
        decision.quantity.words()
    )
}

/// "weld 3", "weld 3, run 2", "tack" and so on.
#[must_use]
pub fn role(role: Role) -> String {
    match role {
        Role::Weld { weld, run: 1 } => format!("weld {weld}"),
        Role::Weld { weld, run } => format!("weld {weld}, run {run}"),
        Role::Replaced { weld } => format!("weld {weld}, replaced"),
        Role::Tack => "tack".into(),
        Role::Scrap => "scrap".into(),
        Role::Extra => "extra".into(),
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
    format!("{what}{plural} {}", numbers(which))
}
