//! The records as the rest of the code uses them.

pub use crate::arc::ArcCounts;
use crate::bead::{Bead, Window};
use crate::calibration::Calibration;
use crate::process::Process;
use heapless::String;

/// One entry of a log.
// A record lives only until it is encoded or passed on, and there is no heap to box the large ones.
#[allow(clippy::large_enum_variant)]
#[derive(Clone, Debug, PartialEq)]
pub enum Record {
    /// How the records that follow were measured.
    Header(Header),
    /// A finished bead.
    Bead(Bead),
    /// Sums over a short time with the arc on or off.
    Window(Window),
    /// A button that the welder pressed.
    Marker(Marker),
    /// An alarm or a change of state.
    Event(Event),
}

/// How the records that follow were measured. It is the first record of a log, and is written again whenever something in
/// it changes: after a power failure, when the clock is set, when another calibration is loaded.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// Position of the first sample that this header applies to. Positions never go back within a log.
    pub start: u64,
    /// Name of the logger, given by its owner.
    pub device: String<24>,
    /// Version of the logger's firmware.
    pub firmware: String<16>,
    /// What is being built; may be empty.
    pub title: String<48>,
    /// Welding process, if it was set.
    pub process: Option<Process>,
    /// Time of day at `start`, if it is known.
    pub clock: Option<WallClock>,
    /// From counts to volts and amps.
    pub calibration: Calibration,
    /// When the calibration was made, seconds since 1970-01-01T00:00:00Z; 0 for one from data sheets.
    pub calibrated_unix_s: u64,
    /// How beads were found.
    pub arc: ArcCounts,
}

/// A time of day and its source.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct WallClock {
    /// Milliseconds since 1970-01-01T00:00:00Z.
    pub unix_ms: u64,
    /// Its source.
    pub source: ClockSource,
}

/// The source of a time of day, worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ClockSource {
    /// Typed in.
    ByHand,
    /// The logger's battery-backed clock.
    RealTimeClock,
    /// The connected computer.
    Host,
}

/// What the welder told the logger with its buttons.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Marker {
    /// Position of the sample at that time.
    pub position: u64,
    /// What it means.
    pub kind: MarkerKind,
    /// Number of the weld it is about, if any.
    pub weld: Option<u16>,
    /// A note; may be empty.
    pub note: String<48>,
}

/// What a marker means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MarkerKind {
    /// The beads that follow belong to this weld.
    NextWeld,
    /// This weld is finished.
    Done,
    /// This weld is left for later.
    Skip,
    /// This weld is welded again: the beads that follow replace the earlier ones.
    Redo,
    /// The last bead belongs to no weld (a trial on scrap, a slip).
    Scrap,
    /// Ignore the marker before this one.
    Undo,
    /// Only a note.
    Note,
}

/// An alarm or a change of state of the logger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Event {
    /// Position of the sample at that time.
    pub position: u64,
    /// What happened.
    pub kind: EventKind,
    /// A value whose meaning depends on the kind; 0 if it has none.
    pub value: i64,
}

/// What happened.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum EventKind {
    /// Samples were due and did not arrive; the value is how many.
    SamplesDropped,
    /// Voltage reached a limit of the sensor or converter; the value is the number of samples.
    VoltageClipped,
    /// Current reached a limit of the sensor or converter; the value is the number of samples.
    CurrentClipped,
    /// Current flows and there is no voltage: a voltage lead is off.
    VoltageLeadOpen,
    /// Current and voltage have opposite signs: the clamp is the wrong way round.
    ClampReversed,
    /// The voltage channel is stuck on one count; the value is that count.
    VoltageStuck,
    /// The current channel is stuck on one count; the value is that count.
    CurrentStuck,
    /// The logger started; the value is how often it has started in this log, from 1. After the first start, nothing is
    /// known about the time between the record before and this one.
    PowerOn,
    /// The supply is failing; this is the last record that could be written.
    PowerFailing,
    /// The clock was set; the value is the correction in milliseconds.
    ClockSet,
    /// The store is full: nothing after this is stored.
    StoreFull,
    /// Writes to the store failed; the value is how many records were lost.
    StoreFault,
    /// The calibration was replaced; a header follows.
    CalibrationChanged,
    /// A new log begins because the store was cleared; the value is how many bytes of the old log were erased without
    /// having been pulled.
    StoreCleared,
}
