//! `coldsquare calibrate LOG`: a sensor's gain from a known current or voltage that was logged.

use super::Io;
use crate::disk::Disk;
use crate::link::calibration;
use crate::save::{Existing, refuse_input, save};
use coldsquare_core::calibration::Calibration;
use coldsquare_core::uncertainty::{COVERAGE_FACTOR, Uncertain};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::formulas::gain_check::{CheckedGain, GainCheck};
use coldsquare_engine::log::side::Side;
use coldsquare_engine::log::steady::{Steady, longest};
use coldsquare_engine::log::{self, SourceKind};
use serde_json::json;
use std::path::PathBuf;

/// Arguments of `calibrate`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
#[command(group(clap::ArgGroup::new("known").required(true).args(["amps", "volts"])))]
pub struct Arguments {
    /// Log of a logger with the known current or voltage applied for some seconds
    #[arg(value_name = "LOG")]
    pub log: PathBuf,
    /// Give the current on the reference meter, A
    #[arg(long, value_name = "AMPS", allow_negative_numbers = true)]
    pub amps: Option<f64>,
    /// Give the voltage on the reference meter, V
    #[arg(long, value_name = "VOLTS", allow_negative_numbers = true)]
    pub volts: Option<f64>,
    /// Give the expanded uncertainty (k = 2) of that value in the same unit, from the certificate of meter or shunt
    #[arg(long, value_name = "A|V")]
    pub uncertainty: f64,
    /// Count how often the conductor goes through the clamp [default: 1]
    #[arg(long, value_name = "TURNS", conflicts_with = "volts", value_parser = clap::value_parser!(u16).range(1..=1000))]
    pub turns: Option<u16>,
    /// Set the remaining uncertainty not covered by this check, ± percent (other currents, position, temperature): 1 is
    /// common practice for a clamp; use the sensor's linearity if you know it
    #[arg(long, default_value_t = 1.0, value_name = "PERCENT")]
    pub remaining: f64,
    /// Date the check: 2026-11-25 [default: today]
    #[arg(long, value_parser = super::inspect::date)]
    pub on: Option<String>,
    /// Write the calibration to this file
    #[arg(long, default_value = "calibration.toml", value_name = "FILE")]
    pub out: PathBuf,
    /// Replace the file if it exists
    #[arg(long)]
    pub force: bool,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const AFTER: &str = "Zero the clamp first, with no current (both buttons, 2 s). Then run a steady direct current for ten \
seconds, read the reference meter meanwhile, and pull the log. Several turns through the clamp make a small current \
count as a large one: 10 A through 15 turns counts as 150 A. Never do this on the welding circuit: see \
docs/guide/logger.md.";

/// The shortest steady stretch used, s.
const MIN_STEADY_S: f64 = 2.0;

/// Works out the gain and writes a calibration file.
///
/// # Errors
/// [`Failure`] when the log cannot be read, holds no steady stretch, or the gain would be unlikely; nothing is written.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let (side, value) = match (arguments.amps, arguments.volts) {
        (Some(amps), _) => (Side::Current, amps),
        (_, Some(volts)) => (Side::Voltage, volts),
        _ => return Err(Failure::Usage("give --amps or --volts".into())),
    };
    refuse_input(&arguments.out, [arguments.log.as_path()])?;
    let steady = applied(arguments, side)?;
    let old = steady.header.calibration;
    let check = GainCheck {
        known: Uncertain {
            value,
            standard: arguments.uncertainty / COVERAGE_FACTOR,
        },
        turns: arguments.turns.unwrap_or(1),
        counts: steady.counts,
        remaining: arguments.remaining / 100.0,
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
    let report = Report {
        arguments,
        side,
        steady: &steady,
        check: &check,
        found: &found,
    };
    let date = arguments.on.clone().unwrap_or_else(super::today);
    let text = calibration::text(&new, &date, &report.remark());
    let existing = Existing::with_force(arguments.force);
    save(&arguments.out, text.as_bytes(), existing)?;
    if arguments.json {
        writeln!(io.out, "{:#}", report.json(&date))?;
    } else {
        report.print(io)?;
    }
    Ok(())
}

/// The steady stretch of the log.
fn applied(arguments: &Arguments, side: Side) -> Result<Steady, Failure> {
    let log = log::read(&Disk, &arguments.log, &Default::default())?;
    let path = arguments.log.display();
    if !matches!(log.source.kind, SourceKind::Logger { .. }) {
        return Err(Failure::Input(format!(
            "{path} is a recording of another instrument; use a log downloaded with `coldsquare pull`"
        )));
    }
    longest(&log, side)
        .filter(|steady| steady.duration.0 >= MIN_STEADY_S)
        .ok_or_else(|| {
            let what = name(side);
            Failure::Input(format!(
                "{path} has no {MIN_STEADY_S} s of steady {what}: apply it for about ten seconds, with ripple below 5 %, \
                 well above zero and below the sensor's limit"
            ))
        })
}

fn unlikely(check: &GainCheck, steady: &Steady, side: Side, why: &str) -> Failure {
    let read = reading(steady, side);
    let known = check.known.value * f64::from(check.turns);
    let unit = unit(side);
    Failure::Input(format!(
        "the logger read {read:.2} {unit} with {known:.2} {unit} applied; nothing written. Check the number of turns, \
         the clamp's range switch, its arrow and the zero ({why})"
    ))
}

/// What the logger read with its calibration at the time.
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

/// The result, for text and JSON.
struct Report<'a> {
    arguments: &'a Arguments,
    side: Side,
    steady: &'a Steady,
    check: &'a GainCheck,
    found: &'a CheckedGain,
}

impl Report<'_> {
    fn applied(&self) -> Uncertain {
        self.check.known.scaled(self.check.turns.into())
    }

    /// The known value, with the uncertainty of the reference.
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

    /// A comment for the file.
    fn remark(&self) -> String {
        format!(
            "Gain of the {} from a check at {}; the logger read {:.2} {}.",
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
            "Steady {}: {:.1} s, starting at {:.1} s, ripple {:.1} %",
            name(self.side),
            steady.duration.0,
            steady.start.0,
            100.0 * steady.ripple
        )?;
        writeln!(io.out, "Applied: {}", self.known())?;
        writeln!(io.out, "Read:    {:.2} {unit}", reading(steady, self.side))?;
        writeln!(
            io.out,
            "Gain:    {:+.2} %, now {:.6e} {unit} per count, ± {:.2} % (k = 2)",
            100.0 * found.change,
            found.channel.gain_per_count,
            percent(found.channel.gain_relative_uncertainty)
        )?;
        writeln!(
            io.out,
            "         of which reference {:.2} %, zero {:.2} %, noise {:.2} %, not covered by this check {:.2} %",
            percent(found.from_known),
            percent(found.from_zero),
            percent(found.from_noise),
            percent(found.from_remaining)
        )?;
        let out = self.arguments.out.display();
        writeln!(io.out, "Written: {out}")?;
        writeln!(io.out, "Next: coldsquare send PORT --calibration {out}")?;
        Ok(())
    }

    fn json(&self, date: &str) -> serde_json::Value {
        let Self { found, steady, .. } = self;
        json!({
            "channel": name(self.side),
            "steady_from_s": steady.start.0,
            "steady_s": steady.duration.0,
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
