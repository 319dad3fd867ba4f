//! To a computer: questions in, answers out, never in the way of a sample.
//!
//! ```text
//! Link --bytes--> Server --question--> Logger --answer--> Server --bytes--> Link
//! ```
//!
//! A turn takes at most [`MAX_IN`] bytes and gives at most [`MAX_OUT`], and does one thing: answers one question or
//! makes one chunk of the log ready. There is one answer at a time: while it is not taken, nothing more is read, so a
//! computer that is slow, absent or floods the line costs nothing but its own questions.

mod server;

pub use server::{MAX_IN, MAX_OUT, Server, Wanted};

/// A stream of bytes to a computer and back: a UART, or USB that looks like one.
pub trait Link {
    /// The next byte that came in; `None` when none waits. Never blocks.
    fn receive(&mut self) -> Option<u8>;
    /// Takes as many of these bytes as there is room for and gives how many that was. Never blocks.
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
