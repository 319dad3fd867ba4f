//! Arc events as records, alarms and live readings.

use super::live::LiveReadings;
use crate::console::log;
use crate::recorder::Recorder;
use crate::store::Store;
use crate::watch::Watch;
use coldsquare_core::arc::ArcEvent;
use coldsquare_core::bead::{Bead, Window};
use coldsquare_core::calibration::Calibration;
use coldsquare_core::record::{Event, EventKind, Record};

/// Everything that an arc event changes, apart from the detector, which calls it in the middle of a step.
#[derive(Debug)]
pub(super) struct Log<S> {
    pub recorder: Recorder<S>,
    pub watch: Watch,
    pub calibration: Calibration,
    pub beads: u32,
    pub last_alarm: Option<EventKind>,
    pub live: LiveReadings,
    /// The last window with the arc off, until the logger has looked at it for a tare.
    pub arc_off: Option<Window>,
}

impl<S: Store> Log<S> {
    pub(super) fn event(&mut self, position: u64, kind: EventKind, value: i64) {
        self.recorder.write(
            position,
            &Record::Event(Event {
                position,
                kind,
                value,
            }),
        );
    }

    pub(super) fn arc(&mut self, event: ArcEvent) {
        match event {
            ArcEvent::Window(window) => self.window(&window),
            ArcEvent::BeadStarted { number, .. } => {
                self.beads = number;
                self.live.bead_started();
            }
            ArcEvent::BeadEnded(bead) => self.bead(&bead),
        }
    }

    fn window(&mut self, window: &Window) {
        let end = window.start.saturating_add(window.span());
        self.recorder.write(end, &Record::Window(*window));
        self.live.window(window);
        let report = &mut alarm(&mut self.recorder, &mut self.last_alarm, end);
        self.watch.window(window, &self.calibration, report);
        self.arc_off = (!window.arc_on).then_some(*window);
    }

    fn bead(&mut self, bead: &Bead) {
        let end = bead.start.saturating_add(bead.span());
        self.recorder.write(end, &Record::Bead(*bead));
        self.live.bead_ended(bead);
        self.watch.bead(
            bead,
            &mut alarm(&mut self.recorder, &mut self.last_alarm, end),
        );
        self.recorder.sync();
        log!(
            "bead {=u32} of {=u64} samples, {=u32} records lost",
            bead.number,
            bead.span(),
            self.recorder.lost()
        );
    }
}

/// Records an alarm at a position and remembers it as the last one.
fn alarm<S: Store>(
    recorder: &mut Recorder<S>,
    last_alarm: &mut Option<EventKind>,
    position: u64,
) -> impl FnMut(EventKind, i64) {
    move |kind, value| {
        log!("alarm {}", kind);
        *last_alarm = Some(kind);
        recorder.write(
            position,
            &Record::Event(Event {
                position,
                kind,
                value,
            }),
        );
    }
}
