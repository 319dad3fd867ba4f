//! What the logger answers a computer.

use super::Logger;
use crate::clock::Clock;
use crate::front_end::FrontEnd;
use crate::link::{Link, Wanted};
use crate::next_weld::NextWeld;
use crate::panel::Panel;
use crate::store::{Extent, Store, StoreError};
use coldsquare_core::arc::{ArcConfig, ArcConfigError, ArcSettings};
use coldsquare_core::calibration::Calibration;
use coldsquare_core::link::{
    CHUNK, Capabilities, Chunk, Consent, Identity, Live, PlanHead, Refusal, Reply, Request,
    StoreState, checksum_of_tail,
};
use coldsquare_core::process::Process;
use coldsquare_core::record::{EventKind, VERSION};
use coldsquare_core::units::{Amperes, Joules, Seconds, Volts, Watts};
use core::borrow::BorrowMut;
use heapless::{String, Vec};

impl<F, S, L, C, P, N> Logger<F, S, L, C, P, N>
where
    F: FrontEnd,
    S: Store,
    L: Link,
    C: Clock,
    P: Panel,
    N: BorrowMut<NextWeld>,
{
    /// One turn of the link.
    pub(super) fn serve_link(&mut self) {
        if let Some(wanted) = self.server.turn(&mut self.link) {
            self.reply(wanted);
        }
    }

    #[inline(never)] // An answer's room on the stack must not be made where there is no question.
    fn reply(&mut self, wanted: Wanted) {
        match wanted {
            Wanted::Answer { tag, request } => {
                let reply = self.answer(&request);
                self.server.reply(tag, &reply);
            }
            Wanted::Chunk { tag, index, from } => {
                let reply = match self.chunk(index, from) {
                    Ok(chunk) => Reply::Chunk(chunk),
                    Err(refusal) => Reply::Refused(refusal),
                };
                self.server.reply(tag, &reply);
            }
        }
    }

    fn answer(&mut self, request: &Request) -> Reply {
        let done = match request {
            Request::Identify => return Reply::Identity(self.identity()),
            Request::Live => return Reply::Live(self.live()),
            Request::Process(wanted) => {
                return match wanted.map_or(Ok(()), |process| self.weld_by(process)) {
                    Ok(()) => Reply::Process(self.setup.process),
                    Err(refusal) => Reply::Refused(refusal),
                };
            }
            // The server makes chunks of it.
            Request::Pull { .. } => Err(Refusal::CannotDo),
            Request::Calibrate {
                calibration,
                calibrated_unix_s,
            } => self.calibrate(calibration, *calibrated_unix_s),
            Request::SetClock { unix_ms } => self.set_clock(*unix_ms),
            Request::Clear { end, consent } => self.clear(*end, consent),
            Request::PlanBegins(_) if self.arc.is_lit() => Err(Refusal::ArcBurns),
            Request::PlanBegins(head) => self.begin_plan(head),
            Request::PlanWeld(weld) => self.plan.borrow_mut().add(weld),
            Request::PlanEnds { checksum } => self.plan.borrow_mut().end(*checksum),
        };
        match done {
            Ok(()) => Reply::Done,
            Err(refusal) => Reply::Refused(refusal),
        }
    }

    fn identity(&mut self) -> Identity {
        let extent = self.log.recorder.store().extent();
        let can_clear = self.log.recorder.store().can_clear();
        let Extent { first, end, room } = extent.unwrap_or_default();
        Identity {
            device: self.setup.device.clone(),
            firmware: String::try_from(env!("CARGO_PKG_VERSION")).unwrap_or_default(),
            board: String::try_from(self.setup.board).unwrap_or_default(),
            format: VERSION,
            clock: self.clock.now(),
            calibrated_unix_s: self.setup.calibrated_unix_s,
            sample_rate_hz: self.setup.calibration.sample_rate_hz,
            store: if self.log.recorder.is_full() {
                StoreState::Full
            } else if self.log.recorder.lost() > 0 {
                StoreState::Faulty
            } else {
                StoreState::Working
            },
            log: (first, end),
            room,
            can: Capabilities {
                pull: extent.is_some(),
                plan: true,
                calibrate: true,
                set_clock: self.clock.can_be_set(),
                clear: can_clear,
                process: true,
            },
            planned: self.plan.borrow().planned(),
        }
    }

    fn live(&self) -> Live {
        let calibration = &self.setup.calibration;
        let now = &self.log.now;
        let window = now.last_window(calibration);
        let (voltage, current, power) = window
            .map_or((Volts(0.0), Amperes(0.0), Watts(0.0)), |window| {
                (window.rms_voltage, window.rms_current, window.true_power)
            });
        Live {
            position: self.arc.position(),
            lit: self.arc.is_lit(),
            voltage,
            current,
            power,
            beads: self.log.beads,
            bead_energy: Joules(now.bead_j(calibration)),
            bead_arc_time: Seconds(now.bead_s(calibration)),
            weld_energy: Joules(now.weld_j(calibration)),
            planned_energy: Joules(self.plan.borrow().planned_j()),
            weld: self.weld(),
            next: self.plan.borrow().advised(now.weld_is_begun()),
            advice: self.plan.borrow().advice(now.weld_is_begun()),
            left: self.plan.borrow().left(),
            noticed: self.noticed(),
            lost: self.log.recorder.lost(),
        }
    }

    /// What is being built has its name in the log from here on; welds are numbered by the plan.
    fn begin_plan(&mut self, head: &PlanHead) -> Result<(), Refusal> {
        self.plan.borrow_mut().begin(head)?;
        self.begun = 0;
        self.log.now.weld_begins();
        if self.setup.title != head.title {
            self.setup.title = head.title.clone();
            self.write_header();
            self.log.recorder.sync();
        }
        Ok(())
    }

    fn chunk(&mut self, index: u8, from: u64) -> Result<Chunk, Refusal> {
        let store = self.log.recorder.store();
        let extent = store.extent().ok_or(Refusal::CannotDo)?;
        if from > extent.end {
            return Err(Refusal::PastTheEnd);
        }
        let mut bytes = Vec::new();
        // There is room for as many as the vector holds.
        let _ = bytes.resize(CHUNK, 0);
        let (from, length) = store
            .read(from, &mut bytes)
            .map_err(|_| Refusal::StoreFault)?;
        bytes.truncate(length);
        Ok(Chunk { index, from, bytes })
    }

    fn calibrate(&mut self, calibration: &Calibration, unix_s: u64) -> Result<(), Refusal> {
        if self.arc.is_lit() {
            return Err(Refusal::ArcBurns);
        }
        // Asked again after an answer that was lost.
        if *calibration == self.setup.calibration && unix_s == self.setup.calibrated_unix_s {
            return Ok(());
        }
        if calibration.sample_rate_hz != self.setup.calibration.sample_rate_hz {
            return Err(Refusal::SampleRate);
        }
        // What counts as an arc stays what it was, in amperes.
        let before = &self.setup.calibration.current;
        let arc = self.setup.arc.recalibrated(before, &calibration.current);
        let before = core::mem::replace(&mut self.setup.calibrated_unix_s, unix_s);
        if self.adopt(*calibration, arc) {
            Ok(())
        } else {
            self.setup.calibrated_unix_s = before;
            Err(Refusal::Value)
        }
    }

    /// Looks for arcs as this process wants, from the next bead on.
    fn weld_by(&mut self, process: Process) -> Result<(), Refusal> {
        // Not in the dark gap of a bead either: it would end by other rules than it began.
        if !self.arc.is_idle() {
            return Err(Refusal::ArcBurns);
        }
        // Asked again after an answer that was lost.
        if self.setup.process == Some(process) {
            return Ok(());
        }
        let settings = ArcSettings::for_process(process);
        let config = ArcConfig::new(&settings, &self.setup.calibration);
        let config = config.map_err(|why| match why {
            ArcConfigError::TooCoarse => Refusal::TooCoarse,
            _ => Refusal::Value,
        })?;
        self.setup.process = Some(process);
        self.go_by(config);
        self.write_header();
        self.log.recorder.sync();
        Ok(())
    }

    /// Empties the store when everything in it is known to the computer, or somebody who named this logger said so.
    fn clear(&mut self, end: u64, consent: &Consent) -> Result<(), Refusal> {
        let store = self.log.recorder.store();
        if !store.can_clear() {
            return Err(Refusal::CannotDo);
        }
        // Not in the dark gap of a bead either.
        if !self.arc.is_idle() {
            return Err(Refusal::ArcBurns);
        }
        // What waits in a buffer belongs to the log; a full store has taken what it could.
        if store.sync() == Err(StoreError::Fault) {
            return Err(Refusal::StoreFault);
        }
        let extent = store.extent().ok_or(Refusal::CannotDo)?;
        let unread = match consent {
            Consent::Pulled { .. } => 0,
            Consent::Named(_) => extent.end.saturating_sub(extent.first),
        };
        let agreed = match consent {
            Consent::Pulled { tail } => end == extent.end && tail_of(store, extent)? == *tail,
            Consent::Named(name) if *name != self.setup.device => return Err(Refusal::Value),
            Consent::Named(_) => end == extent.end,
        };
        if !agreed {
            // Asked again after an answer that was lost.
            let was_done = self
                .cleared
                .as_ref()
                .is_some_and(|(at, why)| *at == end && why == consent);
            return if was_done {
                Ok(())
            } else {
                Err(Refusal::NotPulled)
            };
        }
        self.log.recorder.clear().map_err(|_| Refusal::StoreFault)?;
        self.cleared = Some((end, consent.clone()));
        self.begin_anew(unread);
        Ok(())
    }

    fn set_clock(&mut self, unix_ms: u64) -> Result<(), Refusal> {
        if self.arc.is_lit() {
            return Err(Refusal::ArcBurns);
        }
        let before = self.clock.now().map_or(unix_ms, |clock| clock.unix_ms);
        if !self.clock.set(unix_ms) {
            return Err(Refusal::CannotDo);
        }
        let moved = i64::try_from(i128::from(unix_ms) - i128::from(before)).unwrap_or(i64::MAX);
        self.log
            .event(self.arc.position(), EventKind::ClockSet, moved);
        self.write_header();
        self.log.recorder.sync();
        Ok(())
    }
}

/// The checksum of what a store ends with, 00 where something was dropped.
fn tail_of(store: &mut impl Store, extent: Extent) -> Result<u32, Refusal> {
    let from = extent.end.saturating_sub(CHUNK as u64).max(extent.first);
    let (mut bytes, mut piece) = ([0; CHUNK], [0; CHUNK]);
    let length = extent.end.saturating_sub(from) as usize;
    let mut at = from;
    while at < extent.end {
        let (place, count) = store
            .read(at, &mut piece)
            .map_err(|_| Refusal::StoreFault)?;
        if count == 0 {
            break;
        }
        let to = place.saturating_sub(from) as usize;
        for (to, from) in bytes.iter_mut().skip(to).zip(piece.iter().take(count)) {
            *to = *from;
        }
        at = place.saturating_add(count as u64);
    }
    Ok(checksum_of_tail(bytes.get(..length).unwrap_or(&bytes)))
}
