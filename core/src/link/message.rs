//! Questions and answers as the rest of the program sees them.

use super::live::Live;
use super::plan::{PlanHead, PlannedWeld};
use crate::calibration::Calibration;
use crate::framing;
use crate::process::Process;
use crate::record::WallClock;
use heapless::{String, Vec};

/// Most bytes of the log in one answer.
pub const CHUNK: usize = 215;

/// What a computer asks.
// A message lives for as long as it takes to encode or to answer, and there is no heap to box the large ones in.
#[allow(clippy::large_enum_variant)]
#[derive(Clone, Debug, PartialEq)]
pub enum Request {
    /// Who are you? Answered by [`Reply::Identity`].
    Identify,
    /// What do you measure just now? Answered by [`Reply::Live`].
    Live,
    /// The log from a byte on, so many chunks of at most [`CHUNK`] bytes. Answered by as many [`Reply::Chunk`], fewer
    /// at the end of the log; an empty one says that there is nothing after it yet. Another question ends it.
    Pull {
        /// Byte of the log at which to begin.
        from: u64,
        /// Chunks, at least 1.
        chunks: u8,
    },
    /// A plan begins; the one before is forgotten. Answered by [`Reply::Done`].
    PlanBegins(PlanHead),
    /// One weld of it. Answered by [`Reply::Done`].
    PlanWeld(PlannedWeld),
    /// All welds were sent: go by the plan from now on. Answered by [`Reply::Done`].
    PlanEnds {
        /// See [`super::checksum_of_plan`].
        checksum: u32,
    },
    /// Go by another calibration from now on. Answered by [`Reply::Done`].
    Calibrate {
        /// The calibration, doubts included.
        calibration: Calibration,
        /// When it was made, seconds since 1970-01-01T00:00:00Z.
        calibrated_unix_s: u64,
    },
    /// It is this time of day now. Answered by [`Reply::Done`].
    SetClock {
        /// Milliseconds since 1970-01-01T00:00:00Z.
        unix_ms: u64,
    },
    /// By which process is welded? Or, with one: it is welded by this from now on, so look for arcs as that wants.
    /// Answered by [`Reply::Process`].
    Process(Option<Process>),
    /// Empty the store and begin a new log. Answered by [`Reply::Done`] once a new log has begun.
    Clear {
        /// The byte after the last of the log that is to go. A log that has grown since stays.
        end: u64,
        /// Why nothing is lost by it that somebody wants.
        consent: Consent,
    },
}

/// Why a store may be emptied.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Consent {
    /// All of it was pulled.
    Pulled {
        /// [`checksum_of_tail`] of what was pulled: it is this log, to its end.
        tail: u32,
    },
    /// Somebody who named the logger does not want it.
    Named(
        /// The logger's name, as [`Identity::device`] has it.
        String<24>,
    ),
}

/// The checksum of a log's last bytes, at most [`CHUNK`] of them, with 00 where some were dropped.
#[must_use]
pub fn checksum_of_tail(bytes: &[u8]) -> u32 {
    framing::checksum(
        bytes
            .get(bytes.len().saturating_sub(CHUNK)..)
            .unwrap_or(bytes),
    )
}

/// What a logger answers.
#[allow(clippy::large_enum_variant)] // See `Request`.
#[derive(Clone, Debug, PartialEq)]
pub enum Reply {
    /// Who it is.
    Identity(Identity),
    /// What it measures.
    Live(Live),
    /// A piece of the log.
    Chunk(Chunk),
    /// The process that it goes by; `None` when it was never told, and looks for arcs as its board's program says.
    Process(Option<Process>),
    /// It was done.
    Done,
    /// It was not done, and why.
    Refused(Refusal),
}

/// Who a logger is and how it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Identity {
    /// Its name, as its owner gave it.
    pub device: String<24>,
    /// Version of its program.
    pub firmware: String<16>,
    /// The board it runs on.
    pub board: String<24>,
    /// Version of the log format that it writes.
    pub format: u8,
    /// The time of day, where it knows it.
    pub clock: Option<WallClock>,
    /// When its calibration was made, seconds since 1970-01-01T00:00:00Z; 0 when it never was.
    pub calibrated_unix_s: u64,
    /// Sample pairs a second.
    pub sample_rate_hz: f64,
    /// How the store is.
    pub store: StoreState,
    /// First byte of the log that is still there, and the byte after its last.
    pub log: (u64, u64),
    /// Bytes for which there is still room, where it knows that.
    pub room: Option<u64>,
    /// What it can do.
    pub can: Capabilities,
    /// Welds of the plan that it goes by; 0 without a plan.
    pub planned: u8,
}

/// How a store is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StoreState {
    /// It takes records.
    Working,
    /// It has no room: nothing more is kept.
    Full,
    /// It lost records since the last one that it kept.
    Faulty,
}

/// What a logger can do, beyond saying who it is and what it measures.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Capabilities {
    /// Its store can be read while it works.
    pub pull: bool,
    /// It has room for a plan.
    pub plan: bool,
    /// It takes another calibration.
    pub calibrate: bool,
    /// It has a clock that can be set.
    pub set_clock: bool,
    /// Its store can be emptied.
    pub clear: bool,
    /// It takes the welding process.
    pub process: bool,
}

/// A piece of the log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chunk {
    /// Which chunk of the question it answers, from 0: a lost one is noticed by the next.
    pub index: u8,
    /// Byte of the log at which it begins: the one asked for, or a later one where what stood before it was dropped to
    /// make room.
    pub from: u64,
    /// The bytes; none at the end of the log.
    pub bytes: Vec<u8, CHUNK>,
}

/// Why something was not done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Refusal {
    /// The arc burns: ask again once it is out.
    ArcBurns,
    /// This logger cannot do that.
    CannotDo,
    /// The store cannot be read there.
    StoreFault,
    /// There is nothing at that place: it is past the end of the log.
    PastTheEnd,
    /// A value makes no sense.
    Value,
    /// More welds than there is room for: send the plan in parts.
    TooManyWelds,
    /// A weld of the plan comes before one that must come before it, or welds do not come in order.
    PlanOrder,
    /// The plan is not the one that was sent: begin again.
    PlanChecksum,
    /// The calibration is for another sample rate.
    SampleRate,
    /// The log is not the one that was pulled, or has more by now.
    NotPulled,
    /// Its counts are too coarse for the small currents of this process.
    TooCoarse,
}

impl core::fmt::Display for Refusal {
    fn fmt(&self, out: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        out.write_str(match self {
            Self::ArcBurns => "the arc burns; try again once it is out",
            Self::CannotDo => "this logger cannot do that",
            Self::StoreFault => "the logger's store cannot be read there",
            Self::PastTheEnd => "the logger's log ends before that place",
            Self::Value => "a value makes no sense",
            Self::TooManyWelds => "more welds than the logger has room for; send the plan in parts",
            Self::PlanOrder => {
                "a weld of the plan stands before one that must come before it; plan again"
            }
            Self::PlanChecksum => "the plan did not arrive whole; send it again",
            Self::SampleRate => "the calibration is for another sample rate than the logger's",
            Self::NotPulled => {
                "the logger's log is not the one that was pulled, or has more by now; pull it again"
            }
            Self::TooCoarse => {
                "the logger's counts are too coarse for the small currents of this process; use a smaller clamp, or, \
                 with the machine off, lead the cable through it twice and calibrate"
            }
        })
    }
}

impl core::error::Error for Refusal {}
