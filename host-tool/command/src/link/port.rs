//! Ports to a logger: serial, network, simulated.

use super::sim::{Simulated, State};
use coldsquare_engine::failure::Failure;
use std::io::{ErrorKind, Read, Result, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Bits per second on a serial port; USB ignores it.
const BAUD: u32 = 115_200;

/// A stream of bytes to a logger and back.
pub trait Port {
    /// Sends all bytes.
    ///
    /// # Errors
    /// What the system says.
    fn send(&mut self, bytes: &[u8]) -> Result<()>;

    /// Reads bytes, waiting at most this long; 0 if none came.
    ///
    /// # Errors
    /// What the system says; a closed connection is an error.
    fn receive(&mut self, into: &mut [u8], wait: Duration) -> Result<usize>;

    /// Lets time pass.
    fn rest(&mut self, time: Duration) {
        std::thread::sleep(time);
    }
}

impl<P: Port + ?Sized> Port for &mut P {
    fn send(&mut self, bytes: &[u8]) -> Result<()> {
        (**self).send(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> Result<usize> {
        (**self).receive(into, wait)
    }

    fn rest(&mut self, time: Duration) {
        (**self).rest(time);
    }
}

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
pub fn open(at: &Whereabouts, welded: bool) -> std::result::Result<Box<dyn Port>, Failure> {
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
    let hint = match cause.kind() {
        ErrorKind::PermissionDenied => {
            "; your account has no access to it (on Linux: add yourself to the group dialout)".into()
        }
        _ if names.is_empty() => "; there is no serial port: is the logger plugged in?".to_owned(),
        _ => format!("; available ports: {}", names.join(", ")),
    };
    Failure::File {
        path: name.into(),
        action: "open",
        cause: std::io::Error::new(cause.kind(), format!("{cause}{hint}")),
    }
}

/// A timeout, which is not an error.
fn nothing_is_no_error(read: Result<usize>) -> Result<usize> {
    match read {
        Err(error)
            if matches!(
                error.kind(),
                ErrorKind::TimedOut | ErrorKind::WouldBlock | ErrorKind::Interrupted
            ) =>
        {
            Ok(0)
        }
        read => read,
    }
}

struct Serial(Box<dyn serialport::SerialPort>);

impl Port for Serial {
    fn send(&mut self, bytes: &[u8]) -> Result<()> {
        // Longer than a frame takes at this speed, so that a stuck logger cannot block the program.
        self.0.set_timeout(Duration::from_secs(1))?;
        self.0.write_all(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> Result<usize> {
        self.0.set_timeout(wait)?;
        nothing_is_no_error(self.0.read(into))
    }
}

struct Socket(TcpStream);

impl Port for Socket {
    fn send(&mut self, bytes: &[u8]) -> Result<()> {
        self.0.set_write_timeout(Some(Duration::from_secs(1)))?;
        self.0.write_all(bytes)
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> Result<usize> {
        self.0
            .set_read_timeout(Some(wait.max(Duration::from_millis(1))))?;
        match nothing_is_no_error(self.0.read(into).and_then(|count| match count {
            0 if !into.is_empty() => Err(ErrorKind::BrokenPipe.into()),
            count => Ok(count),
        })) {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => Err(std::io::Error::new(
                ErrorKind::UnexpectedEof,
                "the other end closed the connection",
            )),
            read => read,
        }
    }
}
