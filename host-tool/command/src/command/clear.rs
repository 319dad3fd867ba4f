//! `coldsquare clear PORT`: clears a logger's memory without saving the log.

use super::Io;
use crate::link::clear::clear_named;
use crate::link::{CONSENT, Client, Whereabouts, open};
use coldsquare_core::link::Identity;
use coldsquare_engine::failure::Failure;
use serde_json::json;

/// Arguments of `clear`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
pub struct Arguments {
    /// Serial port of the logger (/dev/ttyACM0, COM3), tcp:HOST:PORT, or sim: to try it without a logger
    #[arg(value_name = "PORT")]
    pub port: String,
    /// Name the logger whose log you want to lose for good; without it the command only shows what is there
    #[arg(long, value_name = "NAME")]
    pub lose_log_of: Option<String>,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const AFTER: &str = "A cleared log cannot be recovered. To keep it: coldsquare pull PORT LOG --then-clear. The logger will \
not clear its memory while you are welding.";

/// Runs the command.
///
/// # Errors
/// [`Failure`] if there is no logger, its name was not given, or it refuses.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let port = &arguments.port;
    let mut client = Client::new(open(&Whereabouts::of(port), false)?);
    let identity = client.identify().map_err(|error| error.at(port))?;
    let Some(name) = &arguments.lose_log_of else {
        return Err(Failure::Usage(ask_first(port, &identity)));
    };
    if *name != identity.device.as_str() {
        return Err(Failure::Usage(format!(
            "the logger at {port} is \"{}\", not \"{name}\"; nothing cleared",
            identity.device
        )));
    }
    if identity.can.confirm {
        writeln!(io.err, "{CONSENT}")?;
    }
    let was = clear_named(&mut client, name).map_err(|error| error.at(port))?;
    let bytes = was.log.1.saturating_sub(was.log.0);
    if arguments.json {
        let json = json!({ "device": was.device.as_str(), "bytes_lost": bytes });
        writeln!(io.out, "{json}")?;
    } else {
        writeln!(
            io.out,
            "{}: {bytes} bytes of log cleared; a new log has started.",
            was.device
        )?;
    }
    Ok(())
}

fn ask_first(port: &str, identity: &Identity) -> String {
    let (first, end) = identity.log;
    format!(
        "nothing cleared: {} holds {} bytes of log.\n\
         To keep them: coldsquare pull {port} LOG --then-clear\n\
         To discard them: coldsquare clear {port} --lose-log-of \"{}\"",
        identity.device,
        end.saturating_sub(first),
        identity.device
    )
}
