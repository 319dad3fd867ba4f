//! `coldsquare send PORT`: gives a logger the plan, the process, a calibration or the time of day.

use super::Io;
use crate::disk::Disk;
use crate::link::plan::{Part, parts, send};
use crate::link::{Client, Whereabouts, calibration, open};
use coldsquare_core::arc::ArcSettings;
use coldsquare_core::link::{Request, StoreState};
use coldsquare_core::process::Process;
use coldsquare_core::units::Celsius;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::{self, model::Job};
use serde_json::{Value, json};
use std::path::PathBuf;

/// Arguments of `send`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
#[command(group(clap::ArgGroup::new("what").required(true).multiple(true).args(["clock", "calibration", "process", "plan"])))]
pub struct Arguments {
    /// Where the logger is: a serial port (/dev/ttyACM0, COM3), tcp:HOST:PORT, or sim: to try it without a logger
    #[arg(value_name = "PORT")]
    pub port: String,
    /// Set its clock to that of this computer
    #[arg(long)]
    pub clock: bool,
    /// A calibration file; `--calibration example` prints one to begin with
    #[arg(long, value_name = "FILE")]
    pub calibration: Option<PathBuf>,
    /// How it is welded from now on: tig, mig, mag, stick or a number of ISO 4063. Small TIG currents are not found otherwise
    #[arg(long, value_name = "PROCESS", value_parser = super::reading::process)]
    pub process: Option<Process>,
    /// The order of welding: the file of `coldsquare plan JOB --json`, or a list of welds as 3,1,2
    #[arg(long, value_name = "PLAN", requires = "job")]
    pub plan: Option<String>,
    /// The job file that the plan is for
    #[arg(long, value_name = "JOB", requires = "plan")]
    pub job: Option<PathBuf>,
    /// Which part of a plan of more than 64 welds and pieces of welds, from 1
    #[arg(long, default_value_t = 1, value_name = "PART", requires = "plan")]
    pub part: usize,
    /// Temperature of the work before welding, as 18 C or 65 F [default: 20 C]
    #[arg(long, value_name = "TEMPERATURE", requires = "plan", value_parser = temperature)]
    pub work: Option<Celsius>,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const AFTER: &str = "All of it is taken between beads only. A balanced order reduces distortion; for structural or \
safety-critical work follow the qualified procedure, also where it gives another order.";

fn temperature(text: &str) -> Result<Celsius, String> {
    job::temperature(text)
        .filter(|temperature| (-20.0..=300.0).contains(&temperature.0))
        .ok_or_else(|| "give -20 to 300 C, as 18 C or 65 F".into())
}

/// Runs the command.
///
/// # Errors
/// [`Failure`] when there is no logger there, it refuses, or what is to be sent has mistakes.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    if arguments
        .calibration
        .as_ref()
        .is_some_and(|path| path.as_os_str() == "example")
    {
        return Ok(io.out.write_all(calibration::EXAMPLE.as_bytes())?);
    }
    // Everything is read before anything is sent.
    let calibration = arguments
        .calibration
        .as_deref()
        .map(calibration::read)
        .transpose()?;
    let job = arguments
        .job
        .as_deref()
        .map(|path| job::load(&Disk, path))
        .transpose()?;
    let plan = plan(arguments, job.as_ref())?;
    let name = &arguments.port;
    let mut client = Client::new(open(&Whereabouts::of(name), false)?);
    let mut told = serde_json::Map::new();
    if arguments.clock {
        let now = jiff::Timestamp::now();
        let unix_ms = u64::try_from(now.as_millisecond()).unwrap_or(0);
        client
            .tell(&Request::SetClock { unix_ms })
            .map_err(|error| error.at(name))?;
        let now = now.strftime("%Y-%m-%d %H:%M:%S UTC").to_string();
        say(arguments, io, &format!("Clock set: {now}"))?;
        told.insert("clock".into(), now.into());
    }
    if let Some((calibration, calibrated_unix_s)) = calibration {
        client
            .tell(&Request::Calibrate {
                calibration,
                calibrated_unix_s,
            })
            .map_err(|error| error.at(name))?;
        say(
            arguments,
            io,
            "Calibration taken; the log holds it from here on.",
        )?;
        told.insert("calibrated_unix_s".into(), calibrated_unix_s.into());
    }
    if let Some(process) = arguments.process {
        client
            .process(Some(process))
            .map_err(|error| error.at(name))?;
        say(
            arguments,
            io,
            &format!(
                "It looks for arcs as {} has them, and keeps that.",
                named(process)
            ),
        )?;
        told.insert("process".into(), process.number().into());
    }
    if let Some((part, of)) = plan {
        send(&mut client, &part, &mut |_| {}).map_err(|error| error.at(name))?;
        let welds = part.welds.len();
        let first = part.welds.first().map_or(0, |weld| weld.number);
        let text = if of == 1 {
            format!("Plan taken: {welds} welds, the first is weld {first}.")
        } else {
            format!(
                "Part {} of {of} of the plan taken: {welds} welds and pieces, the first is weld {first}.",
                arguments.part
            )
        };
        say(arguments, io, &text)?;
        told.insert(
            "plan".into(),
            json!({ "welds": welds, "first": first, "part": arguments.part, "of": of }),
        );
        if let Some(wanted) = job.as_ref().and_then(smallest_arc)
            && let Some(caution) = other_process(&mut client, wanted, name)
        {
            writeln!(io.err, "{caution}")?;
        }
    }
    let is_kept = arguments.process.is_some() || arguments.calibration.is_some();
    if is_kept && stores_nothing(&mut client) {
        writeln!(
            io.err,
            "The logger stores nothing just now (look at its card, or empty it): when it is switched off it forgets this."
        )?;
    }
    if arguments.json {
        writeln!(io.out, "{}", Value::Object(told))?;
    }
    Ok(())
}

fn say(arguments: &Arguments, io: &mut Io<'_>, text: &str) -> Result<(), Failure> {
    if !arguments.json {
        writeln!(io.out, "{text}")?;
    }
    Ok(())
}

fn stores_nothing(client: &mut Client<'_>) -> bool {
    let identity = client.identify();
    identity.is_ok_and(|identity| identity.store != StoreState::Working)
}

/// "TIG (141)".
fn named(process: Process) -> String {
    format!("{} ({})", process.name(), process.number())
}

/// Of the processes of a job the one with the smallest arcs.
fn smallest_arc(job: &Job) -> Option<Process> {
    let striking = |process: &Process| ArcSettings::for_process(*process).striking.0;
    let processes = job.procedures.iter().map(|procedure| procedure.process);
    processes.min_by(|a, b| striking(a).total_cmp(&striking(b)))
}

/// What to say when the logger looks for other arcs than the job's.
fn other_process(client: &mut Client<'_>, wanted: Process, name: &str) -> Option<String> {
    let known = client.process(None).ok()?;
    let goes_by = match known {
        Some(known) if ArcSettings::for_process(known) == ArcSettings::for_process(wanted) => {
            return None;
        }
        Some(known) => format!("looks for arcs as {} has them", named(known)),
        None => "was never told how it is welded".into(),
    };
    Some(format!(
        "The logger {goes_by}, and this job is welded by {}. Tell it, or beads may be missed or made up: \
         `coldsquare send {name} --process {}`",
        named(wanted),
        wanted.number()
    ))
}

/// The part that was asked for, and how many there are.
fn plan(arguments: &Arguments, job: Option<&Job>) -> Result<Option<(Part, usize)>, Failure> {
    let (Some(given), Some(job)) = (&arguments.plan, job) else {
        return Ok(None);
    };
    let parts = parts(job, given, arguments.work.unwrap_or(Celsius(20.0)))?;
    let of = parts.len();
    let wanted = arguments.part.checked_sub(1);
    match wanted.and_then(|k| parts.into_iter().nth(k)) {
        Some(part) => Ok(Some((part, of))),
        None => Err(Failure::Input(format!(
            "there is no part {}: the plan has {of}",
            arguments.part
        ))),
    }
}
