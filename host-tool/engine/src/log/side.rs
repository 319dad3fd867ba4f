//! The two channels of a log.

/// Which channel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The divider.
    Voltage,
    /// The clamp.
    Current,
}
