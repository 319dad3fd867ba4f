//! The messages between logger and computer on a byte link.
//!
//! The computer sends a request and the logger replies to each, in frames like those of the log. `docs/link.md` describes
//! the messages, with worked bytes. Rules:
//!
//! - Only the messages in this module are accepted, and none is longer than [`MAX_FRAME`]. Anything else is skipped up to
//!   the next boundary: noise or half a message costs that message and no other.
//! - Every request may be repeated: twice has the same effect as once. So a computer that gets no reply asks again, and a
//!   tag tells a late reply from the expected one.
//! - The types here are the *model*; the bytes are in `wire` and never change within a version.
//!
//! ```text
//! Request -> frame -> bytes, noise -> Receiver -> Request -> (logger) -> Reply -> frame -> bytes -> Receiver -> Reply
//! ```
//!
//! ```
//! use coldsquare_core::link::{MAX_FRAME, Receiver, Request, encode};
//!
//! let mut buffer = [0; MAX_FRAME];
//! let length = encode(5, &Request::Live, &mut buffer).expect("room for any message");
//! let mut receiver = Receiver::<Request>::new();
//! let received = buffer[..length].iter().find_map(|&byte| receiver.take(byte));
//! assert_eq!(received, Some((5, Ok(Request::Live))));
//! ```

mod checksum;
mod frame;
mod live;
mod message;
mod plan;
#[cfg(test)]
mod tests;
mod wire;

pub use checksum::{checksum_of_bytes, checksum_of_log, checksum_of_plan};
pub use frame::{Garbled, MAX_FRAME, Message, Receiver, ReceiverCounts, encode};
pub use live::{Advice, Live};
pub use message::{
    CHUNK, Capabilities, Checked, Chunk, Consent, Identity, MAX_STRETCHES, Refusal, Reply, Request,
    StoreState, Stretch,
};
pub use plan::{COMPONENTS, MAX_PLANNED, PlanHeader, PlannedWeld};

/// The version of the messages. Its top bit tells a message from a record of a log.
pub const VERSION: u8 = 0x81;
