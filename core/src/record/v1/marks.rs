//! Markers and events.

use crate::framing::codes;
use crate::record::model::{Event, EventKind, Marker, MarkerKind};
use heapless::String;
use serde::{Deserialize, Serialize};

codes!(marker_code, marker_kind, MarkerKind {
    NextWeld = 1, Done = 2, Skip = 3, Redo = 4, Scrap = 5, Undo = 6, Note = 7,
});
codes!(event_code, event_kind, EventKind {
    SamplesDropped = 1, VoltageClipped = 2, CurrentClipped = 3, VoltageLeadOpen = 4, ClampReversed = 5,
    VoltageStuck = 6, CurrentStuck = 7, PowerOn = 8, PowerFailing = 9, ClockSet = 10, StoreFull = 11,
    StoreFault = 12, CalibrationChanged = 13, StoreCleared = 14,
});

#[derive(Serialize, Deserialize)]
pub(super) struct MarkerV1 {
    position: u64,
    kind: u8,
    weld: u16,
    note: String<48>,
}

#[derive(Serialize, Deserialize)]
pub(super) struct EventV1 {
    position: u64,
    kind: u8,
    value: i64,
}

impl From<&Marker> for MarkerV1 {
    fn from(marker: &Marker) -> Self {
        Self {
            position: marker.position,
            kind: marker_code(marker.kind),
            weld: marker.weld.unwrap_or(0),
            note: marker.note.clone(),
        }
    }
}

impl TryFrom<MarkerV1> for Marker {
    type Error = &'static str;

    fn try_from(wire: MarkerV1) -> Result<Self, &'static str> {
        Ok(Self {
            position: wire.position,
            kind: marker_kind(wire.kind).ok_or("kind of marker")?,
            weld: (wire.weld != 0).then_some(wire.weld),
            note: wire.note,
        })
    }
}

impl From<&Event> for EventV1 {
    fn from(event: &Event) -> Self {
        Self {
            position: event.position,
            kind: event_code(event.kind),
            value: event.value,
        }
    }
}

impl TryFrom<EventV1> for Event {
    type Error = &'static str;

    fn try_from(wire: EventV1) -> Result<Self, &'static str> {
        Ok(Self {
            position: wire.position,
            kind: event_kind(wire.kind).ok_or("kind of event")?,
            value: wire.value,
        })
    }
}
