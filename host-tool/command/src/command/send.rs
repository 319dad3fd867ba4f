//! `coldsquare send PORT`: gives a logger the plan, the process, a calibration or the time of day.

use super::Io;
use crate::disk::Disk;
use crate::link::plan::{Portion, portions, send};
use crate::link::{CONSENT, Client, Whereabouts, calibration, open};
use coldsquare_core::arc::ArcSettings;
use coldsquare_core::calibration::Calibration;
use coldsquare_core::link::{Request, StoreState};
use coldsquare_core::process::Process;
use coldsquare_core::units::Celsius;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::format;
use coldsquare_engine::job::{self, model::Job};
use serde_json::{Map, Value, json};
use std::path::PathBuf;

/// Arguments of `send`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
#[command(group(clap::ArgGroup::new("what").required(true).multiple(true).args(["clock", "calibration", "process", "plan"])))]
pub struct Arguments {
    /// Serial port of the logger (/dev/ttyACM0, COM3), tcp:HOST:PORT, or sim: to try it without a logger
    #[arg(value_name = "PORT")]
    pub port: String,
    /// Set the logger's clock from this computer
    #[arg(long)]
    pub clock: bool,
    /// Send this calibration file; `--calibration example` prints one to start from
    #[arg(long, value_name = "FILE")]
    pub calibration: Option<PathBuf>,
    /// Set the process: tig, mig, mag, stick or an ISO 4063 number. Without it small TIG currents are missed
    #[arg(long, value_name = "PROCESS", value_parser = super::reading::process)]
    pub process: Option<Process>,
    /// Send this order: the file from `coldsquare plan JOB --json`, or a list of welds such as 3,1,2
    #[arg(long, value_name = "PLAN", requires = "job")]
    pub plan: Option<String>,
    /// Name the job file of the plan
    #[arg(long, value_name = "JOB", requires = "plan")]
    pub job: Option<PathBuf>,
    /// Choose the portion of a plan that has more than 64 welds or parts of welds, from 1
    #[arg(long, default_value_t = 1, value_name = "PORTION", requires = "plan")]
    pub portion: usize,
    /// Set the temperature of the work before welding: 18 C or 65 F [default: 20 C]
    #[arg(long, value_name = "TEMPERATURE", requires = "plan", value_parser = temperature)]
    pub work: Option<Celsius>,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const AFTER: &str = "The logger accepts these only between beads. A balanced order reduces distortion; for structural or \
safety-critical work follow the qualified procedure, even where it gives another order.";

fn temperature(text: &str) -> Result<Celsius, String> {
    coldsquare_engine::units::Units::Metric
        .parse_temperature(text)
        .filter(|temperature| (-20.0..=300.0).contains(&temperature.0))
        .ok_or_else(|| "give a temperature from -20 to 300 °C, such as 18 C or 65 F".into())
}

/// Runs the command.
///
/// # Errors
/// [`Failure`] if there is no logger, it refuses, or what is to be sent has errors.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let calibration = arguments.calibration.as_deref();
    if calibration.is_some_and(|path| path.as_os_str() == "example") {
        return Ok(io.out.write_all(calibration::EXAMPLE.as_bytes())?);
    }
    // Read every file before sending anything.
    let calibration = calibration.map(calibration::read).transpose()?;
    let job = arguments
        .job
        .as_deref()
        .map(|path| job::load(&Disk, path))
        .transpose()?;
    let plan = plan(arguments, job.as_ref())?;
    let mut sending = Sending {
        client: Client::new(open(&Whereabouts::of(&arguments.port), false)?),
        arguments,
        io,
        sent: Map::new(),
    };
    if arguments.clock {
        sending.clock()?;
    }
    if let Some((calibration, calibrated_unix_s)) = calibration {
        sending.calibration(calibration, calibrated_unix_s)?;
    }
    if let Some(process) = arguments.process {
        sending.process(process)?;
    }
    if let Some((portion, of)) = plan {
        sending.plan(&portion, of, job.as_ref())?;
    }
    sending.finish()
}

/// What is being sent to a logger.
struct Sending<'a, 'io> {
    arguments: &'a Arguments,
    client: Client<'a>,
    io: &'a mut Io<'io>,
    /// What the logger accepted, as JSON.
    sent: Map<String, Value>,
}

impl Sending<'_, '_> {
    fn clock(&mut self) -> Result<(), Failure> {
        let now = jiff::Timestamp::now();
        let unix_ms = u64::try_from(now.as_millisecond()).unwrap_or(0);
        self.tell(&Request::SetClock { unix_ms })?;
        let now = now.strftime("%Y-%m-%d %H:%M:%S UTC").to_string();
        self.accepted("clock", now.as_str().into(), &format!("Clock set: {now}"))
    }

    fn calibration(&mut self, calibration: Calibration, unix_s: u64) -> Result<(), Failure> {
        let name = &self.arguments.port;
        let identity = self.client.identify().map_err(|error| error.at(name))?;
        if identity.can.confirm {
            writeln!(self.io.err, "{CONSENT}")?;
        }
        self.tell(&Request::Calibrate {
            calibration,
            calibrated_unix_s: unix_s,
        })?;
        let text = "Calibration sent; the log records it from now on.";
        self.accepted("calibrated_unix_s", unix_s.into(), text)
    }

    fn process(&mut self, process: Process) -> Result<(), Failure> {
        let name = &self.arguments.port;
        self.client
            .process(Some(process))
            .map_err(|error| error.at(name))?;
        let text = format!(
            "Process set to {}; the logger keeps it when switched off.",
            named(process)
        );
        self.accepted("process", process.number().into(), &text)
    }

    fn plan(&mut self, portion: &Portion, of: usize, job: Option<&Job>) -> Result<(), Failure> {
        let name = &self.arguments.port;
        send(&mut self.client, portion, &mut |_| {}).map_err(|error| error.at(name))?;
        let welds = format::count(portion.welds.len(), "weld");
        let first = portion.welds.first().map_or(0, |weld| weld.number);
        let number = self.arguments.portion;
        let text = if of == 1 {
            format!("Plan sent: {welds}, the first is weld {first}.")
        } else {
            format!(
                "Portion {number} of {of} of the plan sent: {welds} or parts of welds, the first is weld {first}."
            )
        };
        let sent = json!({ "welds": welds, "first": first, "portion": number, "of": of });
        self.accepted("plan", sent, &text)?;
        if let Some(wanted) = job.and_then(smallest_arc)
            && let Some(caution) = other_process(&mut self.client, wanted, name)
        {
            writeln!(self.io.err, "{caution}")?;
        }
        Ok(())
    }

    fn tell(&mut self, request: &Request) -> Result<(), Failure> {
        let name = &self.arguments.port;
        self.client.tell(request).map_err(|error| error.at(name))
    }

    fn accepted(&mut self, key: &str, value: Value, text: &str) -> Result<(), Failure> {
        self.sent.insert(key.into(), value);
        if !self.arguments.json {
            writeln!(self.io.out, "{text}")?;
        }
        Ok(())
    }

    fn finish(mut self) -> Result<(), Failure> {
        let should_last = self.arguments.process.is_some() || self.arguments.calibration.is_some();
        if should_last && stores_nothing(&mut self.client) {
            writeln!(
                self.io.err,
                "The logger cannot store anything now (check its card, or clear it): it will forget this when switched \
                 off."
            )?;
        }
        if self.arguments.json {
            writeln!(self.io.out, "{}", Value::Object(self.sent))?;
        }
        Ok(())
    }
}

fn stores_nothing(client: &mut Client<'_>) -> bool {
    let identity = client.identify();
    identity.is_ok_and(|identity| identity.store != StoreState::Working)
}

/// "TIG (141)".
fn named(process: Process) -> String {
    format!("{} ({})", process.name(), process.number())
}

/// The process of the job with the smallest arcs.
fn smallest_arc(job: &Job) -> Option<Process> {
    let striking = |process: &Process| ArcSettings::for_process(*process).striking.0;
    let processes = job.procedures.iter().map(|procedure| procedure.process);
    processes.min_by(|a, b| striking(a).total_cmp(&striking(b)))
}

/// The note to print if the logger is set to another process than the job's.
fn other_process(client: &mut Client<'_>, wanted: Process, name: &str) -> Option<String> {
    let known = client.process(None).ok()?;
    let setting = match known {
        Some(known) if ArcSettings::for_process(known) == ArcSettings::for_process(wanted) => {
            return None;
        }
        Some(known) => format!("is set to {}", named(known)),
        None => "has no process set".into(),
    };
    Some(format!(
        "The logger {setting}, but this job is welded by {}. Set the process, or beads may be missed or invented: \
         `coldsquare send {name} --process {}`",
        named(wanted),
        wanted.number()
    ))
}

/// The chosen portion, and how many there are.
fn plan(arguments: &Arguments, job: Option<&Job>) -> Result<Option<(Portion, usize)>, Failure> {
    let (Some(given), Some(job)) = (&arguments.plan, job) else {
        return Ok(None);
    };
    let portions = portions(job, given, arguments.work.unwrap_or(Celsius(20.0)))?;
    let of = portions.len();
    let wanted = arguments.portion.checked_sub(1);
    match wanted.and_then(|k| portions.into_iter().nth(k)) {
        Some(portion) => Ok(Some((portion, of))),
        None => Err(Failure::Input(format!(
            "there is no portion {}: the plan has {of}",
            arguments.portion
        ))),
    }
}
