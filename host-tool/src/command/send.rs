//! `coldsquare send PORT`: gives a logger the time of day.

use crate::link::{Client, Whereabouts, open};
use crate::run::{Failure, Io};
use coldsquare_core::link::Request;

/// Arguments of `send`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Where the logger is: a serial port (/dev/ttyACM0, COM3), tcp:HOST:PORT, or sim: to try it without a logger
    #[arg(value_name = "PORT")]
    pub port: String,
    /// Set its clock to that of this computer
    #[arg(long, required = true)]
    pub clock: bool,
}

/// Runs the command.
///
/// # Errors
/// [`Failure`] when there is no logger there, or it refuses.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let name = &arguments.port;
    let mut client = Client::new(open(&Whereabouts::of(name), false)?);
    if arguments.clock {
        let now = jiff::Timestamp::now();
        let unix_ms = u64::try_from(now.as_millisecond()).unwrap_or(0);
        client
            .tell(&Request::SetClock { unix_ms })
            .map_err(|error| error.at(name))?;
        writeln!(
            io.out,
            "Clock set: {}",
            now.strftime("%Y-%m-%d %H:%M:%S UTC")
        )?;
    }
    Ok(())
}
