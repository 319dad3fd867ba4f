//! `coldsquare clear PORT`: empties a logger's store without its log.

use super::Io;
use crate::link::clear::clear_named;
use crate::link::{Client, Whereabouts, open};
use coldsquare_core::link::Identity;
use coldsquare_engine::failure::Failure;
use serde_json::json;

/// Arguments of `clear`.
#[derive(Debug, clap::Args)]
#[command(after_help = AFTER)]
pub struct Arguments {
    /// Where the logger is: a serial port (/dev/ttyACM0, COM3), tcp:HOST:PORT, or sim: to try it without a logger
    #[arg(value_name = "PORT")]
    pub port: String,
    /// Name of the logger whose log is to be lost for good; without it nothing is done but to say what there is
    #[arg(long, value_name = "NAME")]
    pub lose_log_of: Option<String>,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const AFTER: &str = "What is lost cannot be had back. To keep the log: coldsquare pull PORT LOG --then-clear. The store is \
never emptied while a bead is being made.";

/// Runs the command.
///
/// # Errors
/// [`Failure`] when there is no logger there, it was not named, or it refuses.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let port = &arguments.port;
    let mut client = Client::new(open(&Whereabouts::of(port), false)?);
    let identity = client.identify().map_err(|error| error.at(port))?;
    let Some(name) = &arguments.lose_log_of else {
        return Err(Failure::Usage(ask_first(port, &identity)));
    };
    if *name != identity.device.as_str() {
        return Err(Failure::Usage(format!(
            "the logger at {port} is \"{}\", not \"{name}\"; nothing was cleared",
            identity.device
        )));
    }
    let was = clear_named(&mut client, name).map_err(|error| error.at(port))?;
    let bytes = was.log.1.saturating_sub(was.log.0);
    if arguments.json {
        let told = json!({ "device": was.device.as_str(), "bytes_lost": bytes });
        writeln!(io.out, "{told}")?;
    } else {
        writeln!(
            io.out,
            "{}: {bytes} bytes of its log are gone, and a new log has begun.",
            was.device
        )?;
    }
    Ok(())
}

fn ask_first(port: &str, identity: &Identity) -> String {
    let (first, end) = identity.log;
    format!(
        "nothing was cleared: {} has {} bytes of a log.\n\
         To keep them: coldsquare pull {port} LOG --then-clear\n\
         To lose them: coldsquare clear {port} --lose-log-of \"{}\"",
        identity.device,
        end.saturating_sub(first),
        identity.device
    )
}
