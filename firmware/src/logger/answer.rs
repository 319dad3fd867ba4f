//! Replies to the computer's requests.

use super::{Hardware, Logger};
use crate::clock::Clock;
use crate::link::Wanted;
use crate::panel::Panel;
use crate::store::{Extent, Store};
use coldsquare_core::arc::{ArcConfig, ArcConfigError, ArcSettings};
use coldsquare_core::calibration::Calibration;
use coldsquare_core::link::{
    CHUNK, Capabilities, Chunk, Identity, Live, PlanHeader, Refusal, Reply, Request, StoreState,
};
use coldsquare_core::process::Process;
use coldsquare_core::record::{EventKind, VERSION};
use coldsquare_core::units::{Amperes, Joules, Seconds, Volts, Watts};
use core::borrow::{Borrow, BorrowMut};
use heapless::{String, Vec};

impl<H: Hardware> Logger<H> {
    /// One turn of the link.
    pub(super) fn serve_link(&mut self) {
        if let Some(wanted) = self.server.turn(&mut self.link) {
            self.reply(wanted);
        }
    }

    #[inline(never)] // A turn without a request must not reserve the stack for a reply.
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
            Wanted::Check { tag, from, until } => match self.check(from, until) {
                Some(Ok(checked)) => self.server.reply(tag, &Reply::Checked(checked)),
                Some(Err(refusal)) => self.server.reply(tag, &Reply::Refused(refusal)),
                None => {}
            },
        }
    }

    fn answer(&mut self, request: &Request) -> Reply {
        if !self.has_consent(request) {
            return Reply::Refused(Refusal::Confirm);
        }
        let done = match request {
            Request::Identify => return Reply::Identity(self.identity()),
            Request::Live => return Reply::Live(self.live()),
            Request::Trouble => return Reply::Trouble(self.log.recorder.trouble()),
            Request::Process(wanted) => {
                return match wanted.map_or(Ok(()), |process| self.set_process(process)) {
                    Ok(()) => Reply::Process(self.setup.process),
                    Err(refusal) => Reply::Refused(refusal),
                };
            }
            // The server asks for these piece by piece.
            Request::Pull { .. } | Request::Check { .. } => Err(Refusal::CannotDo),
            Request::Calibrate {
                calibration,
                calibrated_unix_s,
            } => self.calibrate(calibration, *calibrated_unix_s),
            Request::SetClock { unix_ms } => self.set_clock(*unix_ms),
            Request::Clear { end, consent } => self.clear(*end, consent),
            Request::PlanBegins(_) if self.arc.is_arc_on() => Err(Refusal::ArcBurns),
            Request::PlanBegins(header) => self.begin_plan(header),
            Request::PlanWeld(weld) => self.plan.borrow_mut().add(weld),
            Request::PlanEnds { checksum } => self.plan.borrow_mut().end(*checksum),
        };
        match done {
            Ok(()) => Reply::Done,
            Err(refusal) => Reply::Refused(refusal),
        }
    }

    fn identity(&mut self) -> Identity {
        // A computer asks who this is before it downloads the log.
        #[cfg(feature = "seal")]
        if self.arc.is_idle() {
            self.log.recorder.seal(self.arc.position(), true);
        }
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
                check: extent.is_some(),
                confirm: self.panel.can_confirm(),
            },
            planned: self.plan.borrow().planned(),
        }
    }

    fn live(&self) -> Live {
        let calibration = &self.setup.calibration;
        let readings = &self.log.live;
        let window = readings.last_window(calibration);
        let (voltage, current, power) = window
            .map_or((Volts(0.0), Amperes(0.0), Watts(0.0)), |window| {
                (window.rms_voltage, window.rms_current, window.true_power)
            });
        Live {
            position: self.arc.position(),
            arc_on: self.arc.is_arc_on(),
            voltage,
            current,
            power,
            beads: self.log.beads,
            bead_energy: Joules(readings.bead_j(calibration)),
            bead_arc_time: Seconds(readings.bead_s(calibration)),
            weld_energy: Joules(readings.weld_j(calibration)),
            planned_energy: Joules(self.plan.borrow().planned_j()),
            weld: self.weld(),
            next: self.plan.borrow().advised(readings.weld_has_heat()),
            advice: self.plan.borrow().advice(readings.weld_has_heat()),
            left: self.plan.borrow().left(),
            last_alarm: self.last_alarm(),
            lost: self.log.recorder.lost(),
        }
    }

    /// Starts a plan; the log has its title from now on.
    fn begin_plan(&mut self, header: &PlanHeader) -> Result<(), Refusal> {
        self.plan.borrow_mut().begin(header)?;
        self.plan_position = 0;
        self.log.live.weld_started();
        if self.setup.title != header.title {
            self.setup.title = header.title.clone();
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
        // The vector has room for that many.
        let _ = bytes.resize(CHUNK, 0);
        let (from, length) = store
            .read(from, &mut bytes)
            .map_err(|_| Refusal::StoreFault)?;
        bytes.truncate(length);
        Ok(Chunk { index, from, bytes })
    }

    fn calibrate(&mut self, calibration: &Calibration, unix_s: u64) -> Result<(), Refusal> {
        if self.arc.is_arc_on() {
            return Err(Refusal::ArcBurns);
        }
        // Repeated after a lost reply.
        if *calibration == self.setup.calibration && unix_s == self.setup.calibrated_unix_s {
            return Ok(());
        }
        if calibration.sample_rate_hz != self.setup.calibration.sample_rate_hz {
            return Err(Refusal::SampleRate);
        }
        // The arc settings stay the same in amperes.
        let before = &self.setup.calibration.current;
        let arc = self.setup.arc.recalibrated(before, &calibration.current);
        let before = core::mem::replace(&mut self.setup.calibrated_unix_s, unix_s);
        if self.set_calibration(*calibration, arc) {
            Ok(())
        } else {
            self.setup.calibrated_unix_s = before;
            Err(Refusal::Value)
        }
    }

    /// Uses the arc settings of this process from the next bead on.
    fn set_process(&mut self, process: Process) -> Result<(), Refusal> {
        // Not in a gap inside a bead either: the bead would end by other settings than it began.
        if !self.arc.is_idle() {
            return Err(Refusal::ArcBurns);
        }
        // Repeated after a lost reply.
        if self.setup.process == Some(process) {
            return Ok(());
        }
        let settings = ArcSettings::for_process(process);
        let config = ArcConfig::new(&settings, &self.setup.calibration);
        let config = config.map_err(|why| match why {
            ArcConfigError::TooCoarse => Refusal::TooCoarse,
            _ => Refusal::Value,
        })?;
        self.was_set = true;
        self.setup.process = Some(process);
        self.set_config(config);
        self.write_header();
        self.log.recorder.sync();
        Ok(())
    }

    fn set_clock(&mut self, unix_ms: u64) -> Result<(), Refusal> {
        if self.arc.is_arc_on() {
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
