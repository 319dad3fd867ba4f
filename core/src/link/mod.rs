//! What logger and computer say to each other over a byte link.
//!
//! The computer asks, the logger answers each question, in frames like those of the log. The pages of messages are in
//! `docs/link.md`, with worked bytes. Rules:
//!
//! - Only the messages in this module are accepted, none is longer than [`MAX_FRAME`], and what is no message is let go
//!   up to the next boundary: noise or half a message costs that message and no other.
//! - Every question may be asked again: asking twice does no more than asking once. So whoever gets no answer asks
//!   again, and a tag tells a late answer from the one waited for.
//! - The types here are the *model*; what is on the wire is in `wire` and never changes within a version.
//!
//! ```text
//! Request -> frame -> bytes, noise -> Receiver -> Request -> (logger) -> Reply -> frame -> bytes -> Receiver -> Reply
//! ```

mod frame;
mod live;
mod message;
mod plan;
#[cfg(test)]
mod tests;
mod wire;

pub use frame::{Garbled, MAX_FRAME, Message, Receiver, Tally, encode};
pub use live::{Advice, Live};
pub use message::{
    CHUNK, Capabilities, Chunk, Consent, Identity, Refusal, Reply, Request, StoreState,
    checksum_of_tail,
};
pub use plan::{COMPONENTS, MOST_PLANNED, PlanHead, PlannedWeld, checksum_of_plan};

/// The version of the messages. Its top bit tells a message from a record of a log.
pub const VERSION: u8 = 0x81;
