//! What a logger noticed, in a welder's words.

use coldsquare_core::record::EventKind;

/// What was noticed and where to look.
#[must_use]
pub const fn noticed(kind: EventKind) -> &'static str {
    match kind {
        EventKind::SamplesDropped => "samples were lost",
        EventKind::VoltageClipped => "voltage beyond what the sensor can measure",
        EventKind::CurrentClipped => "current beyond what the clamp can measure",
        EventKind::VoltageLeadOpen => "a voltage lead is off",
        EventKind::ClampReversed => "the clamp is the wrong way round",
        EventKind::VoltageStuck => "the voltage channel is stuck",
        EventKind::CurrentStuck => "the current channel is stuck",
        EventKind::PowerOn => "it was switched on",
        EventKind::PowerFailing => "its supply is failing",
        EventKind::ClockSet => "its clock was set",
        EventKind::StoreFull => "its store is full",
        EventKind::StoreFault => "its store lost records",
        EventKind::CalibrationChanged => "its calibration was changed",
        EventKind::StoreCleared => "its store was emptied",
    }
}
