//! Addresses of loggers, and opening them.

use super::port::{Port, Serial, Socket};
use super::sim::{Simulated, State};
use coldsquare_engine::failure::Failure;
use std::io::ErrorKind;
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Bits per second on a serial port; USB ignores it.
const BAUD: u32 = 115_200;

/// Address of a logger or of its log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Whereabouts {
    /// A serial port: `/dev/ttyACM0`, `COM3`.
    Serial(String),
    /// A network socket: `tcp:HOST:PORT`.
    Socket(String),
    /// A simulated logger in this process, on the demo's build: `sim:`.
    Simulated,
    /// A file: a log, or the image of a card.
    File(PathBuf),
}

impl Whereabouts {
    /// Reads an address.
    #[must_use]
    pub fn of(words: &str) -> Self {
        if let Some(address) = words.strip_prefix("tcp:") {
            Self::Socket(address.into())
        } else if words == "sim" || words == "sim:" {
            Self::Simulated
        } else if Path::new(words).is_file() || is_disk(Path::new(words)) {
            Self::File(words.into())
        } else {
            Self::Serial(words.into())
        }
    }
}

/// A card in its reader: `/dev/sdX`.
#[cfg(unix)]
fn is_disk(path: &Path) -> bool {
    use std::os::unix::fs::FileTypeExt;
    std::fs::metadata(path).is_ok_and(|found| found.file_type().is_block_device())
}

#[cfg(not(unix))]
fn is_disk(_: &Path) -> bool {
    false
}

/// Opens a port. `welded`: the simulated logger has already logged its whole build.
///
/// # Errors
/// [`Failure`] when there is no such port, or it is a file.
pub fn open(at: &Whereabouts, welded: bool) -> Result<Box<dyn Port>, Failure> {
    match at {
        Whereabouts::Serial(name) => {
            let port = serialport::new(name, BAUD)
                .timeout(Duration::from_millis(20))
                .open()
                .map_err(|error| cannot_open(name, &error.into()))?;
            Ok(Box::new(Serial(port)))
        }
        Whereabouts::Socket(address) => {
            let stream =
                TcpStream::connect(address).map_err(|cause| cannot_open(address, &cause))?;
            Ok(Box::new(Socket(stream)))
        }
        Whereabouts::Simulated => Ok(Box::new(Simulated::start(if welded {
            State::Welded
        } else {
            State::Begins
        })?)),
        Whereabouts::File(path) => Err(Failure::Input(format!(
            "{} is a file, but this command needs a logger: give its port (/dev/ttyACM0, COM3), tcp:HOST:PORT, or sim: to try it",
            path.display()
        ))),
    }
}

fn cannot_open(name: &str, cause: &std::io::Error) -> Failure {
    let seen = serialport::available_ports().unwrap_or_default();
    let names: Vec<&str> = seen.iter().map(|port| port.port_name.as_str()).collect();
    let hint = hint(cause.kind(), &names);
    Failure::File {
        path: name.into(),
        action: "open",
        cause: std::io::Error::new(cause.kind(), format!("{cause}{hint}")),
    }
}

/// What to try when a port cannot be opened, on a computer with these.
pub(super) fn hint(why: ErrorKind, ports: &[&str]) -> String {
    match why {
        ErrorKind::PermissionDenied => {
            "; your account has no access to it (on Linux: add yourself to the group dialout)"
                .into()
        }
        _ if ports.is_empty() => "; there is no serial port: is the logger plugged in?".into(),
        _ => format!("; available ports: {}", ports.join(", ")),
    }
}
