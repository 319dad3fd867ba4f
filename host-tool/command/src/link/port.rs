//! Streams of bytes to a logger: serial and network.

use std::io::{ErrorKind, Read, Result, Write};
use std::net::TcpStream;
use std::time::Duration;

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

pub(super) struct Serial(pub(super) Box<dyn serialport::SerialPort>);

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

pub(super) struct Socket(pub(super) TcpStream);

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
