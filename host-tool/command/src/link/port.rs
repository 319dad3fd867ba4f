//! Where a logger is, and the bytes to it and back.

use super::sim::{Simulated, State};
use coldsquare_engine::failure::Failure;
use std::io::{ErrorKind, Read, Result, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Bits a second on a serial port; USB does not care.
const BAUD: u32 = 115_200;

/// A stream of bytes to a logger and back.
pub trait Port {
    /// Sends all of them.
    ///
    /// # Errors
    /// What the system says.
    fn send(&mut self, bytes: &[u8]) -> Result<()>;

    /// Waits at most this long for bytes; 0 when none came.
    ///
    /// # Errors
    /// What the system says; the other end being gone is an error.
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

/// Where a logger or its log is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Whereabouts {
    /// A serial port: `/dev/ttyACM0`, `COM3`.
    Serial(String),
    /// A network socket: `tcp:HOST:PORT`.
    Socket(String),
    /// A logger in this process, in front of the demo's build: `sim:`.
    Simulated,
    /// A file: a log, or the image of a card.
    File(PathBuf),
}

impl Whereabouts {
    /// What is meant by these words.
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

/// Opens a port. `welded` says that a logger in this process has already seen its whole build.
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
            "{} is a file, and this needs a logger: give its port (/dev/ttyACM0, COM3), tcp:HOST:PORT, or sim: to try",
            path.display()
        ))),
    }
}

fn cannot_open(name: &str, cause: &std::io::Error) -> Failure {
    let seen = serialport::available_ports().unwrap_or_default();
    let names: Vec<&str> = seen.iter().map(|port| port.port_name.as_str()).collect();
    let hint = match cause.kind() {
        ErrorKind::PermissionDenied => {
            "; your account may not use it (on Linux: add yourself to the group dialout)".into()
        }
        _ if names.is_empty() => "; no serial port is there: is the logger plugged in?".to_owned(),
        _ => format!("; ports that are there: {}", names.join(", ")),
    };
    Failure::File {
        path: name.into(),
        action: "open",
        cause: std::io::Error::new(cause.kind(), format!("{cause}{hint}")),
    }
}

/// Nothing came in time, or there is nothing yet: no error.
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
        // Longer than a frame takes at this speed; a logger that takes nothing must not hold us for ever.
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
