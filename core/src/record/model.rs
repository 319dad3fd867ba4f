//! The records as the rest of the program sees them.

pub use crate::arc::ArcCounts;
use crate::bead::{Bead, Window};
use crate::calibration::Calibration;
use crate::process::Process;
use heapless::String;

/// One thing that a log says.
// A record lives for as long as it takes to encode or to hand on, and there is no heap to box the large ones in.
#[allow(clippy::large_enum_variant)]
#[derive(Clone, Debug, PartialEq)]
pub enum Record {
    /// How what follows was measured.
    Header(Header),
    /// A finished bead.
    Bead(Bead),
    /// Sums over a short stretch, lit or idle.
    Window(Window),
    /// Something the welder said.
    Marker(Marker),
    /// Something the logger noticed.
    Event(Event),
}

/// How what follows was measured. The first record of a log, and repeated whenever something in it changes: after a
/// loss of power, when the clock is set, when another calibration is loaded.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// Position of the first sample that this header speaks for. Positions never go back within a log.
    pub start: u64,
    /// Name of the logger, as its owner gave it.
    pub device: String<24>,
    /// Version of the logger's program.
    pub firmware: String<16>,
    /// What is being built, in the words of whoever set it; may be empty.
    pub title: String<48>,
    /// Welding process, where it was set.
    pub process: Option<Process>,
    /// Wall-clock time at `start`, where it is known.
    pub clock: Option<WallClock>,
    /// From counts to volts and amps.
    pub calibration: Calibration,
    /// When the calibration was made, seconds since 1970-01-01T00:00:00Z; 0 when it never was.
    pub calibrated_unix_s: u64,
    /// How beads were found.
    pub arc: ArcCounts,
}

/// A time of day, and where it came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct WallClock {
    /// Milliseconds since 1970-01-01T00:00:00Z.
    pub unix_ms: u64,
    /// Where it came from.
    pub source: ClockSource,
}

/// Where a time of day came from, worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ClockSource {
    /// Somebody typed it.
    ByHand,
    /// A battery-backed clock of the logger.
    RealTimeClock,
    /// The computer it was connected to.
    Host,
}

/// Something the welder said, at the position where it was said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Marker {
    /// Position of the sample at that moment.
    pub position: u64,
    /// What was said.
    pub kind: MarkerKind,
    /// Number of the weld it is about; `None` where it is about none.
    pub weld: Option<u16>,
    /// Words; may be empty.
    pub note: String<48>,
}

/// What a marker says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MarkerKind {
    /// The beads that follow belong to this weld.
    NextWeld,
    /// This weld is finished.
    Done,
    /// This weld is passed over for now.
    Skip,
    /// This weld is done again: the beads that follow replace earlier ones.
    Redo,
    /// The bead just made belongs to no weld (a trial on scrap, a slip).
    Scrap,
    /// The marker before this one was a mistake.
    Undo,
    /// Only words.
    Note,
}

/// Something the logger noticed, at the position where it noticed it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Event {
    /// Position of the sample at that moment.
    pub position: u64,
    /// What was noticed.
    pub kind: EventKind,
    /// How much of it; the meaning is with each kind, 0 where there is none.
    pub value: i64,
}

/// What the logger noticed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum EventKind {
    /// Samples were due and never came; the value is how many.
    SamplesDropped,
    /// Voltage reached a limit of the sensor or converter; the value is the number of samples.
    VoltageClipped,
    /// Current reached a limit of the sensor or converter; the value is the number of samples.
    CurrentClipped,
    /// Current flows and there is no voltage: a voltage lead is off.
    VoltageLeadOpen,
    /// Current and voltage have opposite signs: the clamp is the wrong way round.
    ClampReversed,
    /// The voltage channel repeats one count that is not its zero; the value is that count.
    VoltageStuck,
    /// The current channel repeats one count that is not its zero; the value is that count.
    CurrentStuck,
    /// The logger started; the value is how often it has started in this log, from 1. After the first time, what
    /// happened between the record before this one and this one is not known.
    PowerOn,
    /// The supply is about to fail, and this is the last that could be written.
    PowerFailing,
    /// The clock was set; the value is by how many milliseconds it moved.
    ClockSet,
    /// There is no more room: nothing after this is stored.
    StoreFull,
    /// The store refused or soiled a write; the value is how many records were lost.
    StoreFault,
    /// Calibration was replaced; a header follows.
    CalibrationChanged,
    /// A new log begins because the store was emptied; the value is how many bytes of the log before were let go of
    /// without having been pulled.
    StoreCleared,
}
