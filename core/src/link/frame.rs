//! One message as bytes that a receiver can find among noise.
//!
//! ```text
//! 00 | COBS( version 81 | kind u8 | tag u8 | payload | CRC-32C u32 LE ) | 00
//! ```

use super::message::{Reply, Request};
use super::{VERSION, wire};
use crate::framing;
use core::marker::PhantomData;

/// Bytes before the payload: version, kind, tag.
const PREFIX: usize = 3;
/// The longest payload: a full chunk.
const MAX_PAYLOAD: usize = 224;
const MAX_BODY: usize = PREFIX + MAX_PAYLOAD + framing::SUFFIX;

/// The longest frame, both boundaries included: a buffer of this size holds any message.
pub const MAX_FRAME: usize = framing::longest_frame(MAX_BODY);

/// A request or a reply.
pub trait Message: Sized {
    #[doc(hidden)]
    fn write(&self, buffer: &mut [u8]) -> Option<(u8, usize)>;
    #[doc(hidden)]
    fn read(kind: u8, payload: &[u8]) -> Result<Self, Garbled>;
}

impl From<wire::Fault> for Garbled {
    fn from(fault: wire::Fault) -> Self {
        match fault {
            wire::Fault::UnknownKind => Self::UnknownKind,
            wire::Fault::Malformed => Self::Malformed,
            wire::Fault::Value => Self::Value,
        }
    }
}

impl Message for Request {
    fn write(&self, buffer: &mut [u8]) -> Option<(u8, usize)> {
        wire::write_request(self, buffer)
    }

    fn read(kind: u8, payload: &[u8]) -> Result<Self, Garbled> {
        Ok(wire::read_request(kind, payload)?)
    }
}

impl Message for Reply {
    fn write(&self, buffer: &mut [u8]) -> Option<(u8, usize)> {
        wire::write_reply(self, buffer)
    }

    fn read(kind: u8, payload: &[u8]) -> Result<Self, Garbled> {
        Ok(wire::read_reply(kind, payload)?)
    }
}

/// Why bytes between two boundaries are not a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Garbled {
    /// Noise, or half a message.
    Noise,
    /// Whole, but of this other version of the link.
    OtherVersion(u8),
    /// Whole, but of a kind that is not expected here.
    UnknownKind,
    /// Whole, but the payload is not that of its kind.
    Malformed,
    /// Whole, but a value is not allowed. The tag says which message it was.
    Value,
}

/// Writes one message as a frame; returns its length, or `None` if the buffer is too small. [`MAX_FRAME`] bytes are always
/// enough.
pub fn encode(tag: u8, message: &impl Message, buffer: &mut [u8]) -> Option<usize> {
    let mut body = [0; MAX_BODY];
    let (kind, length) = message.write(body.get_mut(PREFIX..PREFIX + MAX_PAYLOAD)?)?;
    body.get_mut(..PREFIX)?
        .copy_from_slice(&[VERSION, kind, tag]);
    framing::seal(&mut body, PREFIX + length, buffer)
}

/// Counts of what a receiver has seen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ReceiverCounts {
    /// Messages.
    pub messages: u32,
    /// Frames between two boundaries that were not messages.
    pub garbled: u32,
}

/// Finds messages in a stream, byte by byte. Needs memory for one frame only.
#[derive(Clone, Debug)]
pub struct Receiver<M> {
    frame: [u8; MAX_FRAME],
    /// Bytes since the last boundary; those past the buffer are only counted.
    length: usize,
    counts: ReceiverCounts,
    message: PhantomData<M>,
}

impl<M: Message> Default for Receiver<M> {
    fn default() -> Self {
        Self::new()
    }
}

impl<M: Message> Receiver<M> {
    /// A receiver at the start of a stream, or in the middle of one.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            frame: [0; MAX_FRAME],
            length: 0,
            counts: ReceiverCounts {
                messages: 0,
                garbled: 0,
            },
            message: PhantomData,
        }
    }

    /// Counts of what it has seen.
    #[must_use]
    pub const fn counts(&self) -> &ReceiverCounts {
        &self.counts
    }

    /// Takes one byte. At the boundary that ends a frame, returns its tag (0 if it has none) and the message, or why it
    /// is not a message.
    pub fn take(&mut self, byte: u8) -> Option<(u8, Result<M, Garbled>)> {
        if byte != 0 {
            if let Some(slot) = self.frame.get_mut(self.length) {
                *slot = byte;
            }
            self.length = self.length.saturating_add(1);
            return None;
        }
        let length = core::mem::take(&mut self.length);
        if length == 0 {
            return None;
        }
        let (tag, found) = match self.frame.get_mut(..length) {
            Some(frame) => open(frame),
            None => (0, Err(Garbled::Noise)),
        };
        let count = match found {
            Ok(_) => &mut self.counts.messages,
            Err(_) => &mut self.counts.garbled,
        };
        *count = count.wrapping_add(1);
        Some((tag, found))
    }
}

fn open<M: Message>(frame: &mut [u8]) -> (u8, Result<M, Garbled>) {
    let Ok((covered, _)) = framing::open(frame) else {
        return (0, Err(Garbled::Noise));
    };
    let Some((&[version, kind, tag], payload)) = covered.split_first_chunk::<PREFIX>() else {
        return (0, Err(Garbled::Noise));
    };
    if version != VERSION {
        return (tag, Err(Garbled::OtherVersion(version)));
    }
    (tag, M::read(kind, payload))
}
