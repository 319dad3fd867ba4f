//! `coldsquare calibrate LOG`: a sensor's gain from a known current or voltage that was logged.

use super::Io;
use crate::disk::Disk;
use crate::link::calibration;
use crate::save::{Existing, save};
use coldsquare_core::calibration::Calibration;
use coldsquare_core::gain_check::{CheckedGain, GainCheck};
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::log::steady::{Side, Steady, longest};
use coldsquare_engine::log::{self, SourceKind};
use serde_json::json;
use std::path::PathBuf;

/// Arguments of `calibrate`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
#[command(group(clap::ArgGroup::new("known").required(true).args(["amps", "volts"])))]
pub struct Arguments {
    /// A logger's log in which the known current or voltage was applied for some seconds
    #[arg(value_name = "LOG")]
    pub log: PathBuf,
    /// The current that the reference meter showed, A
    #[arg(long, value_name = "AMPS", allow_negative_numbers = true)]
    pub amps: Option<f64>,
    /// The voltage that the reference meter showed, V
    #[arg(long, value_name = "VOLTS", allow_negative_numbers = true)]
    pub volts: Option<f64>,
    /// Expanded uncertainty (k = 2) of that value, in the same unit: from the meter's or shunt's certificate
    #[arg(long, value_name = "A|V")]
    pub uncertainty: f64,
    /// How often the conductor goes through the clamp [default: 1]
    #[arg(long, value_name = "TURNS", conflicts_with = "volts", value_parser = clap::value_parser!(u16).range(1..=1000))]
    pub turns: Option<u16>,
    /// What one check cannot see, ± percent: other currents, place in the clamp, warmth. 1 is common practice for a
    /// clamp; take the sensor's linearity where it is known
    #[arg(long, default_value_t = 1.0, value_name = "PERCENT")]
    pub remains: f64,
    /// The date of the check, as 2026-11-25 [default: today]
    #[arg(long, value_parser = super::inspect::date)]
    pub on: Option<String>,
    /// Calibration file to write
    #[arg(long, default_value = "calibration.toml", value_name = "FILE")]
    pub out: PathBuf,
    /// Replace the file when it exists
    #[arg(long)]
    pub force: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const AFTER: &str = "Zero the clamp first, with no current (both buttons, 2 s). Then let a steady direct current flow for \
ten seconds, read the reference meter meanwhile, and pull the log. Many turns through the clamp make a welding current \
out of a small one: 10 A through 15 turns counts as 150 A. Never do this on the welding circuit: see \
docs/guide/logger.md.";

/// The shortest stretch that is taken, s.
const SHORTEST_S: f64 = 2.0;

/// Works the gain out and writes a calibration file.
///
/// # Errors
/// [`Failure`] when the log cannot be read, holds no steady stretch, or the gain would be unlikely; nothing is written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let (side, value) = match (arguments.amps, arguments.volts) {
        (Some(amps), _) => (Side::Current, amps),
        (_, Some(volts)) => (Side::Voltage, volts),
        _ => return Err(Failure::Usage("give --amps or --volts".into())),
    };
    let steady = applied(arguments, side)?;
    let old = steady.header.calibration;
    let check = GainCheck {
        known: Uncertain {
            value,
            standard: arguments.uncertainty / COVERAGE_FACTOR,
        },
        turns: arguments.turns.unwrap_or(1),
        counts: steady.counts,
        remains: arguments.remains / 100.0,
    };
    let found = check
        .apply(side.of(&old))
        .map_err(|why| unlikely(&check, &steady, side, &why.to_string()))?;
    let new = match side {
        Side::Voltage => Calibration {
            voltage: found.channel,
            ..old
        },
        Side::Current => Calibration {
            current: found.channel,
            ..old
        },
    };
    let told = Told {
        arguments,
        side,
        steady: &steady,
        check: &check,
        found: &found,
    };
    let today = || jiff::Timestamp::now().strftime("%Y-%m-%d").to_string();
    let date = arguments.on.clone().unwrap_or_else(today);
    let text = calibration::text(&new, &date, &told.remark());
    let existing = if arguments.force {
        Existing::Replace
    } else {
        Existing::Keep
    };
    save(&arguments.out, text.as_bytes(), existing)?;
    if arguments.json {
        writeln!(io.out, "{:#}", told.json(&date))?;
    } else {
        told.print(io)?;
    }
    Ok(())
}

/// The steady stretch of the log.
fn applied(arguments: &Arguments, side: Side) -> Result<Steady, Failure> {
    let log = log::read(&Disk, &arguments.log, &Default::default())?;
    let path = arguments.log.display();
    if !matches!(log.source.kind, SourceKind::Logger { .. }) {
        return Err(Failure::Input(format!(
            "{path} is a recording of another instrument; a log of the logger is needed, as `coldsquare pull` fetches it"
        )));
    }
    longest(&log, side)
        .filter(|steady| steady.lasted.0 >= SHORTEST_S)
        .ok_or_else(|| {
            let what = name(side);
            Failure::Input(format!(
                "{path} has no {SHORTEST_S} s of steady {what}: apply it for about ten seconds, without ripple above 5 %, \
                 clear of the zero and below the sensor's limit"
            ))
        })
}

fn unlikely(check: &GainCheck, steady: &Steady, side: Side, why: &str) -> Failure {
    let read = reading(steady, side);
    let known = check.known.value * f64::from(check.turns);
    let unit = unit(side);
    Failure::Input(format!(
        "the logger read {read:.2} {unit} where {known:.2} {unit} were applied; nothing was written. Look at the turns, \
         the clamp's range switch, its arrow and the zero ({why})"
    ))
}

/// What the logger read, by the calibration that it went by.
fn reading(steady: &Steady, side: Side) -> f64 {
    let channel = side.of(&steady.header.calibration);
    channel.gain_per_count * (steady.counts.value - f64::from(channel.zero_in_256ths) / 256.0)
}

const fn unit(side: Side) -> &'static str {
    match side {
        Side::Voltage => "V",
        Side::Current => "A",
    }
}

const fn name(side: Side) -> &'static str {
    match side {
        Side::Voltage => "voltage",
        Side::Current => "current",
    }
}

/// Everything there is to tell.
struct Told<'a> {
    arguments: &'a Arguments,
    side: Side,
    steady: &'a Steady,
    check: &'a GainCheck,
    found: &'a CheckedGain,
}

impl Told<'_> {
    fn applied(&self) -> Uncertain {
        self.check.known.scaled(self.check.turns.into())
    }

    /// What is applied, with the doubt of the reference.
    fn known(&self) -> String {
        let unit = unit(self.side);
        let (known, applied) = (self.check.known, self.applied());
        let mut text = format!(
            "{:.2} {unit} ± {:.2} {unit}",
            applied.value,
            applied.expanded()
        );
        if self.check.turns > 1 {
            text += &format!(
                " ({:.3} {unit} ± {:.3} {unit} through {} turns)",
                known.value,
                known.expanded(),
                self.check.turns
            );
        }
        text
    }

    /// A line for the file.
    fn remark(&self) -> String {
        format!(
            "Gain of the {} found from {}, of which the logger read {:.2} {}.",
            name(self.side),
            self.known(),
            reading(self.steady, self.side),
            unit(self.side)
        )
    }

    fn print(&self, io: &mut Io<'_>) -> Result<(), Failure> {
        let Self { found, steady, .. } = self;
        let unit = unit(self.side);
        let percent = |standard: f64| 100.0 * COVERAGE_FACTOR * standard;
        writeln!(
            io.out,
            "Steady {}: {:.1} s from {:.1} s on, ripple {:.1} %",
            name(self.side),
            steady.lasted.0,
            steady.start.0,
            100.0 * steady.ripple
        )?;
        writeln!(io.out, "Applied: {}", self.known())?;
        writeln!(io.out, "Read:    {:.2} {unit}", reading(steady, self.side))?;
        writeln!(
            io.out,
            "Gain:    {:+.2} %, now {:.6e} {unit} a count, ± {:.2} % (k = 2)",
            100.0 * found.change,
            found.channel.gain_per_count,
            percent(found.channel.gain_relative_uncertainty)
        )?;
        writeln!(
            io.out,
            "         of which the reference {:.2} %, the zero {:.2} %, noise {:.2} %, what one check cannot see {:.2} %",
            percent(found.from_known),
            percent(found.from_zero),
            percent(found.from_noise),
            percent(found.from_rest)
        )?;
        let out = self.arguments.out.display();
        writeln!(io.out, "{out} written.")?;
        writeln!(io.out, "Next: coldsquare send PORT --calibration {out}")?;
        Ok(())
    }

    fn json(&self, date: &str) -> serde_json::Value {
        let Self { found, steady, .. } = self;
        json!({
            "channel": name(self.side),
            "steady_from_s": steady.start.0,
            "steady_s": steady.lasted.0,
            "ripple": steady.ripple,
            "applied": self.applied().value,
            "applied_expanded_uncertainty": self.applied().expanded(),
            "turns": self.check.turns,
            "read": reading(steady, self.side),
            "gain_per_count": found.channel.gain_per_count,
            "gain_change": found.change,
            "gain_relative_expanded_uncertainty": COVERAGE_FACTOR * found.channel.gain_relative_uncertainty,
            "calibrated": date,
            "file": self.arguments.out.display().to_string(),
        })
    }
}
