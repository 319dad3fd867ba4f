//! The link to a computer: requests in, replies out, without ever delaying a sample.
//!
//! ```text
//! Link --bytes--> Server --request--> Logger --reply--> Server --bytes--> Link
//! ```
//!
//! A turn takes at most [`MAX_IN`] bytes and gives at most [`MAX_OUT`], and does one thing: it answers one request or
//! prepares one chunk of the log. There is one reply at a time, and nothing more is read until it has been sent. So a
//! computer that is slow, absent or floods the line delays only its own requests.

mod server;

pub use server::{MAX_IN, MAX_OUT, Server, Wanted};

/// A stream of bytes to a computer and back: a UART, or USB that looks like one.
pub trait Link {
    /// The next received byte; `None` if there is none. Never blocks.
    fn receive(&mut self) -> Option<u8>;
    /// Takes as many of these bytes as there is room for; returns how many. Never blocks.
    fn send(&mut self, bytes: &[u8]) -> usize;
}

/// No link.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unconnected;

impl Link for Unconnected {
    fn receive(&mut self) -> Option<u8> {
        None
    }

    fn send(&mut self, _bytes: &[u8]) -> usize {
        0
    }
}

#[cfg(test)]
mod tests {
    use super::{Link, Unconnected};

    #[test]
    fn without_a_computer_nothing_comes_and_nothing_goes() {
        assert_eq!(Unconnected.receive(), None);
        assert_eq!(Unconnected.send(&[1, 2, 3]), 0);
    }
}
