//! The frame as it stands: its members with their welds, pressed and let go, or heated, as a whole.
//!
//! ```text
//! job -> frame (members cut at joints and presses) -> structure -> push -> PressCurve, and what it does to other bows
//!                                                       \------> reach: how much of a kink the frame lets through
//! ```

mod frame;
mod give;
mod line;
mod push;

pub use frame::AssembledFrame;
pub use push::{Hardest, PressedFrame};
