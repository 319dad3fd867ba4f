//! To whoever listens: every record as it is written.

/// A byte link to a computer.
pub trait Link {
    /// Offers one record, framed. Never blocks: a link that is busy or has nobody at the other end lets it go, because
    /// the store keeps it anyway.
    fn offer(&mut self, record: &[u8]);
}

/// No link.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unconnected;

impl Link for Unconnected {
    fn offer(&mut self, _record: &[u8]) {}
}
