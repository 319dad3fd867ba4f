//! Requests and replies as the rest of the code uses them.

use super::live::Live;
use super::plan::{PlanHeader, PlannedWeld};
use crate::calibration::Calibration;
use crate::process::Process;
use crate::record::WallClock;
use crate::trouble::Trouble;
use heapless::{String, Vec};

/// The most bytes of the log in one reply.
pub const CHUNK: usize = 215;

/// What a computer asks for.
// A message lives only until it is encoded or answered, and there is no heap to box the large ones.
#[allow(clippy::large_enum_variant)]
#[derive(Clone, Debug, PartialEq)]
pub enum Request {
    /// The logger's identity. Answered by [`Reply::Identity`].
    Identify,
    /// The live readings. Answered by [`Reply::Live`].
    Live,
    /// This many chunks of the log, each at most [`CHUNK`] bytes. Answered by as many [`Reply::Chunk`], fewer at the end of
    /// the log; an empty chunk means that there is nothing more yet. Another request ends it.
    Pull {
        /// Byte of the log at which to begin.
        from: u64,
        /// Chunks, at least 1.
        chunks: u8,
    },
    /// The checksum of the log from one byte on and before another. Answered by [`Reply::Checked`] for as much of it as the
    /// logger sums up at once. Whoever asks in order, from byte 0 to the end, may have the store cleared.
    Check {
        /// Byte of the log at which to begin.
        from: u64,
        /// Byte before which to end.
        until: u64,
    },
    /// Starts a plan and discards the one before. Answered by [`Reply::Done`].
    PlanBegins(PlanHeader),
    /// One weld of the plan. Answered by [`Reply::Done`].
    PlanWeld(PlannedWeld),
    /// All welds were sent: use the plan from now on. Answered by [`Reply::Done`].
    PlanEnds {
        /// See [`super::checksum_of_plan`].
        checksum: u32,
    },
    /// Use another calibration from now on. Answered by [`Reply::Done`].
    Calibrate {
        /// The calibration with its uncertainties.
        calibration: Calibration,
        /// When it was made, seconds since 1970-01-01T00:00:00Z.
        calibrated_unix_s: u64,
    },
    /// Set the clock. Answered by [`Reply::Done`].
    SetClock {
        /// Milliseconds since 1970-01-01T00:00:00Z.
        unix_ms: u64,
    },
    /// With `None`, the welding process in use. With a process, use it from now on, with its settings for arc detection.
    /// Answered by [`Reply::Process`].
    Process(Option<Process>),
    /// What is wrong with the store? Answered by [`Reply::Trouble`].
    Trouble,
    /// Clear the store and begin a new log. Answered by [`Reply::Done`] once the new log has begun.
    Clear {
        /// The end of the log that may be erased: the byte after its last. If the log has grown since, it stays.
        end: u64,
        /// Why it may be erased.
        consent: Consent,
    },
}

/// Why a store may be cleared.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Consent {
    /// The whole log was pulled, and what the computer has of it was checked.
    Pulled {
        /// [`super::checksum_of_log`] over all that the logger said when it was checked.
        sum: u32,
    },
    /// The user confirmed it by typing the logger's name.
    Named(
        /// The logger's name, as [`Identity::device`] has it.
        String<24>,
    ),
}

/// What a logger replies.
#[allow(clippy::large_enum_variant)] // See `Request`.
#[derive(Clone, Debug, PartialEq)]
pub enum Reply {
    /// Its identity and state.
    Identity(Identity),
    /// Its live readings.
    Live(Live),
    /// A piece of the log.
    Chunk(Chunk),
    /// The checksum of a piece of the log.
    Checked(Checked),
    /// The process in use; `None` if none was ever set, and arc detection uses the settings of the board's firmware.
    Process(Option<Process>),
    /// What is wrong with the store; `None` if nothing is.
    Trouble(Option<Trouble>),
    /// The request was carried out.
    Done,
    /// The request was refused.
    Refused(Refusal),
}

/// Who a logger is and what state it is in.
#[derive(Clone, Debug, PartialEq)]
pub struct Identity {
    /// Its name, given by its owner.
    pub device: String<24>,
    /// Version of its firmware.
    pub firmware: String<16>,
    /// The board it runs on.
    pub board: String<24>,
    /// Version of the log format that it writes.
    pub format: u8,
    /// The time of day, if it knows it.
    pub clock: Option<WallClock>,
    /// When its calibration was made, seconds since 1970-01-01T00:00:00Z; 0 for one from data sheets.
    pub calibrated_unix_s: u64,
    /// Sample pairs a second.
    pub sample_rate_hz: f64,
    /// The state of its store.
    pub store: StoreState,
    /// The first byte of the log that is still stored, and the byte after its last.
    pub log: (u64, u64),
    /// Bytes of free room, if it knows that.
    pub room: Option<u64>,
    /// What it can do.
    pub can: Capabilities,
    /// Welds of the plan in use; 0 without a plan.
    pub planned: u8,
}

/// The state of a store.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StoreState {
    /// It takes records.
    Working,
    /// It is full: nothing more is stored.
    Full,
    /// It has lost records since the last one it stored.
    Faulty,
}

/// What a logger can do besides identity and live readings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Capabilities {
    /// Its store can be read while it works.
    pub pull: bool,
    /// It has room for a plan.
    pub plan: bool,
    /// It accepts another calibration.
    pub calibrate: bool,
    /// It has a clock that can be set.
    pub set_clock: bool,
    /// Its store can be cleared.
    pub clear: bool,
    /// It accepts the welding process.
    pub process: bool,
    /// Its log can be checked.
    pub check: bool,
    /// It asks for consent at its buttons before it clears its store or takes another calibration.
    pub confirm: bool,
}

/// A piece of the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chunk {
    /// Its number within the request, from 0, so that a lost chunk shows in the next.
    pub index: u8,
    /// Byte of the log at which it begins: the one requested, or a later one if the bytes before were dropped to make
    /// room.
    pub from: u64,
    /// The bytes; none at the end of the log.
    pub bytes: Vec<u8, CHUNK>,
}

/// The most stretches in one reply.
pub const MAX_STRETCHES: usize = 15;

/// What a logger holds of a piece of its log, and its checksum.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Checked {
    /// What it holds, in order. What lies between was dropped to make room.
    pub stretches: Vec<Stretch, MAX_STRETCHES>,
    /// CRC-32C of the bytes of all stretches.
    pub sum: u32,
    /// Up to here it is checked: ask from here on.
    pub until: u64,
}

/// Bytes of a log that follow one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The first.
    pub from: u64,
    /// How many.
    pub length: u16,
}

impl Stretch {
    /// The byte after the last.
    #[must_use]
    pub const fn end(&self) -> u64 {
        self.from.saturating_add(self.length as u64)
    }
}

/// Why a request was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Refusal {
    /// The arc burns; ask again once it is off.
    ArcBurns,
    /// This logger cannot do that.
    CannotDo,
    /// The store cannot be read at that byte.
    StoreFault,
    /// That byte is past the end of the log.
    PastTheEnd,
    /// A value is not allowed.
    Value,
    /// More welds than there is room for; send the plan in parts.
    TooManyWelds,
    /// A weld of the plan comes before one that must precede it, or the welds did not arrive in order.
    PlanOrder,
    /// The plan is not the one that was sent; send it again.
    PlanChecksum,
    /// The calibration is for another sampling rate.
    SampleRate,
    /// The log is not the one that was pulled, or has grown since.
    NotPulled,
    /// The logger's counts are too coarse for the low currents of this process.
    TooCoarse,
    /// Somebody at the logger must agree, with its buttons; then ask again.
    Confirm,
}

impl core::fmt::Display for Refusal {
    fn fmt(&self, out: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        out.write_str(match self {
            Self::ArcBurns => "the arc burns; try again once it is off",
            Self::CannotDo => "this logger cannot do that",
            Self::StoreFault => "the logger's memory cannot be read at that byte",
            Self::PastTheEnd => "the logger's log ends before that byte",
            Self::Value => "a value is not allowed",
            Self::TooManyWelds => "more welds than the logger has room for; send the plan in parts",
            Self::PlanOrder => {
                "a weld of the plan comes before one that must precede it; plan again"
            }
            Self::PlanChecksum => "the plan arrived incomplete; send it again",
            Self::SampleRate => "the calibration is for a different sampling rate from the logger's",
            Self::NotPulled => {
                "the logger's log is not the one that was pulled, or has grown since; pull it again"
            }
            Self::TooCoarse => {
                "the logger's counts are too coarse for the low currents of this process; use a smaller clamp, or, \
                 with the machine off, pass the cable through it twice and calibrate"
            }
            Self::Confirm => {
                "nobody agreed at the logger; hold both its buttons for two seconds when its light flickers"
            }
        })
    }
}

impl core::error::Error for Refusal {}
