//! Alarms of the logger in a welder's words.

use coldsquare_core::record::EventKind;

/// The alarm in words.
#[must_use]
pub const fn noticed(kind: EventKind) -> &'static str {
    match kind {
        EventKind::SamplesDropped => "samples were lost",
        EventKind::VoltageClipped => "voltage above the sensor's range",
        EventKind::CurrentClipped => "current above the clamp's range",
        EventKind::VoltageLeadOpen => "a voltage lead is disconnected",
        EventKind::ClampReversed => "the clamp is reversed",
        EventKind::VoltageStuck => "the voltage channel is stuck",
        EventKind::CurrentStuck => "the current channel is stuck",
        EventKind::PowerOn => "restarted by itself; its log says why",
        EventKind::PowerFailing => "supply failing",
        EventKind::ClockSet => "clock set",
        EventKind::StoreFull => "memory full",
        EventKind::StoreFault => "memory lost records",
        EventKind::CalibrationChanged => "calibration changed",
        EventKind::StoreCleared => "memory cleared",
    }
}
