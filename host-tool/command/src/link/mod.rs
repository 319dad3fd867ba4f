//! The link to a logger: over a serial port, a network socket, or to a simulated logger in this process.
//!
//! ```text
//! where (port, tcp:, sim:, file) -> Port -> Client (request, repeat) -> identity, live values, done or refused
//!                                              '-> Source -> pull -> the log, byte for byte -> clear
//! ```

pub mod calibration;
pub mod clear;
mod client;
mod open;
pub mod plan;
mod port;
pub mod pull;
mod sim;
pub mod source;
#[cfg(test)]
mod tests;
mod verify;
pub mod words;

pub use client::{CONSENT, Client, LinkError};
pub use open::{Whereabouts, open};
pub use port::Port;
