//! Presses of the welder, and what the panel shows.

use super::{Hardware, Logger, TURNS_PER_SHOW};
use crate::panel::{Input, Panel, Shown};
use coldsquare_core::record::{EventKind, Marker, MarkerKind, Record};
use core::borrow::{Borrow, BorrowMut};
use heapless::String;

impl<H: Hardware> Logger<H> {
    pub(super) fn serve_panel(&mut self) {
        if let Some(input) = self.panel.input() {
            self.press(input);
        }
        if self.turns.is_multiple_of(TURNS_PER_SHOW) {
            self.show();
        }
    }

    fn show(&mut self) {
        let trouble = self.log.recorder.trouble();
        let shown = Shown {
            arc_on: self.arc.is_arc_on(),
            weld: self.weld(),
            next: self.plan.borrow().advised(self.log.live.weld_has_heat()),
            advice: self.plan.borrow().advice(self.log.live.weld_has_heat()),
            left: self.plan.borrow().left(),
            beads: self.log.beads,
            attention: self.last_alarm().is_some() || trouble.is_some(),
            asked: self.is_asked(),
            trouble,
        };
        if shown != self.shown {
            self.shown = shown;
            self.panel.show(shown);
        }
    }

    /// The last alarm; a store that loses records comes before all others.
    pub(super) fn last_alarm(&self) -> Option<EventKind> {
        let recorder = &self.log.recorder;
        if recorder.is_full() {
            Some(EventKind::StoreFull)
        } else if recorder.lost() > 0 {
            Some(EventKind::StoreFault)
        } else {
            let lost_before = recorder.ever_lost().then_some(EventKind::StoreFault);
            self.log.last_alarm.or(lost_before)
        }
    }

    fn press(&mut self, input: Input) {
        match input {
            // Without an arc nothing was welded, so the weld is left for later.
            Input::Next => self.next_weld(self.log.live.weld_has_heat()),
            Input::Skip => {
                if let Some(weld) = self.weld() {
                    self.mark(MarkerKind::Skip, Some(weld));
                }
                self.next_weld(false);
            }
            Input::Redo => {
                if let Some(weld) = self.weld() {
                    self.mark(MarkerKind::Redo, Some(weld));
                }
            }
            Input::Mark => self.mark(MarkerKind::Note, None),
            Input::Tare if self.agree() => {}
            Input::Tare => self.tare_pending = true,
        }
        self.log.recorder.sync();
    }

    fn next_weld(&mut self, done: bool) {
        self.plan_position = self.plan_position.saturating_add(1);
        let (heat, now) = (self.weld_j(), self.now_s());
        if done {
            self.plan.borrow_mut().complete(heat, now);
        } else {
            self.plan.borrow_mut().skip(heat, now);
        }
        self.log.live.weld_started();
        if let Some(weld) = self.weld() {
            self.mark(MarkerKind::NextWeld, Some(weld));
        }
    }

    /// The current weld, to which the next bead belongs.
    pub(super) fn weld(&self) -> Option<u16> {
        let index = self.plan_position.checked_sub(1)?;
        if self.plan.borrow().has_plan() {
            self.plan.borrow().current()
        } else if self.setup.order.is_empty() {
            Some(self.plan_position)
        } else {
            self.setup.order.get(usize::from(index)).copied()
        }
    }

    pub(super) fn mark(&mut self, kind: MarkerKind, weld: Option<u16>) {
        let position = self.arc.position();
        let marker = Marker {
            position,
            kind,
            weld,
            note: String::new(),
        };
        self.log.recorder.write(position, &Record::Marker(marker));
    }
}
