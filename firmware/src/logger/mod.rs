//! The logger's loop: readings become arc events, arc events become records, presses become markers.
//!
//! [`Logger::poll`] is the hot path and runs for every reading; everything else gets a turn in between. To add a request
//! from the computer, see `answer`; to add a button, see `buttons`; records of arc events are written in `log`.

mod absence;
mod answer;
mod arrival;
mod asked;
mod buttons;
mod check;
mod check_progress;
mod clear;
mod consent;
mod live;
mod log;
mod settings;
mod setup;

use crate::clock::Clock;
use crate::console::log;
use crate::front_end::{FrontEnd, Reading};
use crate::link::{Link, Server};
use crate::next_weld::NextWeld;
use crate::panel::{Panel, Shown};
use crate::recorder::Recorder;
#[cfg(feature = "seal")]
use crate::seal::Sealer;
pub use crate::store::Resume;
use crate::store::Store;
use crate::watch::Watch;
use absence::Absence;
use asked::Asked;
use check_progress::Checks;
use coldsquare_core::arc::{ArcConfig, ArcConfigError, ArcState};
use coldsquare_core::link::Consent;
use coldsquare_core::record::{EventKind, Marker, MarkerKind, Record};
use core::borrow::{Borrow, BorrowMut};
use heapless::String;
use live::LiveReadings;
use log::Log;
pub use setup::{Hardware, MAX_ORDER, Parts, Setup};

/// The link gets a turn once in this many readings: the 16-byte buffer of a UART fills in 1.4 ms at 115 200 baud. While
/// the plan has something to work out, it gets every other turn of the link.
const READINGS_PER_LINK: u32 = 8;

/// The panel gets one in this many turns of the link: every 6 ms at 10 000 readings a second, faster than a finger.
const LINKS_PER_PANEL: u32 = 8;

/// The display is updated once in this many turns: every 26 ms, faster than an eye.
const TURNS_PER_SHOW: u32 = 32;

/// So long after the last bead or press the log is sealed, s. A signature takes a moment, and nobody is welding.
#[cfg(feature = "seal")]
const QUIET_S: f64 = 3.0;

/// What one call of [`Logger::poll`] did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    /// Took a reading.
    Took,
    /// There was no reading.
    Waiting,
}

/// The logger. Call [`Logger::poll`] in an endless loop.
#[derive(Debug)]
pub struct Logger<H: Hardware> {
    front_end: H::FrontEnd,
    clock: H::Clock,
    panel: H::Panel,
    setup: Setup,
    config: ArcConfig,
    arc: ArcState,
    log: Log<H::Store>,
    link: H::Link,
    server: Server,
    plan: H::Plan,
    /// Welds of the plan so far, including the current one.
    plan_position: u16,
    /// The welder asked for a tare that has not been made.
    tare_pending: bool,
    /// Position of the first header since the start.
    first_header: u64,
    /// From this position on the header is written again.
    next_header: u64,
    /// Readings until panel, link and plan get a turn, and the turns so far.
    until_others: u32,
    turns: u32,
    shown: Shown,
    /// Added to the position in the log, it counts samples since the start, modulo 2^64: the plan's time goes on across
    /// logs.
    clock_offset: u64,
    /// The end of the log that was cleared last, and the consent to that.
    cleared: Option<(u64, Consent)>,
    /// How far a computer has compared the log.
    checks: Checks,
    /// What a computer asks for that somebody here must agree to.
    asked: Option<Asked>,
    /// Trouble with the store that is not over.
    absence: Option<Absence>,
    /// Calibration or process were set since the start.
    was_set: bool,
}

impl<F, S, L, C, P, N> Logger<Parts<F, S, L, C, P, N>>
where
    F: FrontEnd,
    S: Store,
    L: Link,
    C: Clock,
    P: Panel,
    N: BorrowMut<NextWeld>,
{
    /// Starts a logger: writes the header and the power-on event.
    ///
    /// # Errors
    /// [`ArcConfigError`] when the arc counts of the setup contradict each other.
    pub fn start(parts: Parts<F, S, L, C, P, N>, setup: Setup) -> Result<Self, ArcConfigError> {
        let mut logger = Self::new(parts, setup)?;
        logger.open_log();
        Ok(logger)
    }

    /// The same, and seals the log with the secret of this logger; `chance` is different at each start.
    ///
    /// # Errors
    /// As for [`Logger::start`].
    #[cfg(feature = "seal")]
    pub fn start_sealed(
        parts: Parts<F, S, L, C, P, N>,
        setup: Setup,
        secret: coldsquare_core::seal::Secret,
        chance: &[u8; 32],
    ) -> Result<Self, ArcConfigError> {
        let mut logger = Self::new(parts, setup)?;
        let quiet = QUIET_S * logger.setup.calibration.sample_rate_hz;
        let recorder = &mut logger.log.recorder;
        let sealer = Sealer::new(secret, chance, quiet as u64, recorder.store());
        recorder.seal_with(sealer);
        logger.open_log();
        Ok(logger)
    }

    fn new(parts: Parts<F, S, L, C, P, N>, setup: Setup) -> Result<Self, ArcConfigError> {
        let config = ArcConfig::from_counts(setup.arc, &setup.calibration)?;
        let resume = setup.resume;
        Ok(Self {
            front_end: parts.front_end,
            clock: parts.clock,
            panel: parts.panel,
            config,
            arc: ArcState::resume(resume.position, resume.beads),
            log: Log {
                recorder: Recorder::new(parts.store, resume.sequence),
                watch: Watch::default(),
                calibration: setup.calibration,
                beads: resume.beads,
                last_alarm: None,
                live: LiveReadings::default(),
                arc_off: None,
            },
            link: parts.link,
            server: Server::new(),
            plan: parts.plan,
            setup,
            plan_position: 0,
            tare_pending: false,
            first_header: resume.position,
            next_header: resume.position,
            until_others: READINGS_PER_LINK,
            turns: 0,
            shown: Shown::default(),
            clock_offset: 0,
            cleared: None,
            checks: Checks::default(),
            asked: None,
            absence: None,
            was_set: false,
        })
    }
}

impl<H: Hardware> Logger<H> {
    /// Writes the first records of a start.
    fn open_log(&mut self) {
        let resume = self.setup.resume;
        self.write_header();
        let starts = resume.starts.saturating_add(1);
        self.log
            .event(resume.position, EventKind::PowerOn, starts.into());
        self.log.recorder.sync();
        log!(
            "logger {=str} on {=str}, start {=u32}, {=f64} pairs a second",
            env!("CARGO_PKG_VERSION"),
            self.setup.board,
            starts,
            self.setup.calibration.sample_rate_hz
        );
        match self.setup.calibrated_unix_s {
            0 => log!("calibration from data sheets, never checked"),
            _at => log!("calibration of {=u64} s since 1970", _at),
        }
    }

    /// Notes in the log, and shows, that the logger did not stop in an orderly way the last time: why, and where. Call it
    /// after the start, if the board knows.
    pub fn restarted(&mut self, why: &str) {
        let mut note = String::new();
        // What does not fit is cut off: the reason comes first.
        let _ = why.chars().try_for_each(|character| note.push(character));
        self.note(note);
        self.log.last_alarm = Some(EventKind::PowerOn);
    }

    /// Stores a note of the logger's own.
    fn note(&mut self, note: String<48>) {
        let position = self.arc.position();
        let marker = Marker {
            position,
            kind: MarkerKind::Note,
            weld: None,
            note,
        };
        self.log.recorder.write(position, &Record::Marker(marker));
        self.log.recorder.sync();
    }

    /// Takes one reading, and gives panel, link and plan a turn now and then.
    #[inline]
    pub fn poll(&mut self) -> Progress {
        let reading = self.front_end.next();
        let steady = matches!(reading, Reading::Pair(pair) if self.arc.step_steady(pair));
        if !steady {
            self.take(reading);
        }
        let waiting = reading == Reading::Waiting;
        // It is never 0 here; a check would cost every pair two instructions.
        self.until_others = self.until_others.wrapping_sub(1);
        if waiting || self.until_others == 0 {
            self.until_others = READINGS_PER_LINK;
            self.serve_others(waiting);
        }
        if waiting {
            Progress::Waiting
        } else {
            Progress::Took
        }
    }

    /// Takes a reading that changes more than the sums of the open window.
    #[inline(never)] // Its stack must not burden the steady readings.
    fn take(&mut self, reading: Reading) {
        let Self {
            arc, config, log, ..
        } = self;
        match reading {
            Reading::Pair(pair) => arc.step_full(config, pair, &mut |event| log.arc(event)),
            Reading::Dropped(count) => arc.dropped(config, count, &mut |event| log.arc(event)),
            Reading::Waiting => {}
        }
        if let Some(window) = self.log.arc_off.take() {
            self.try_tare(&window);
        }
    }

    /// Ends the log: closes and stores what is open. Returns front end, store and link.
    pub fn finish(mut self) -> (H::FrontEnd, H::Store, H::Link) {
        let Self {
            arc, config, log, ..
        } = &mut self;
        arc.finish(config, &mut |event| log.arc(event));
        #[cfg(feature = "seal")]
        log.recorder.seal(arc.position(), true);
        log.recorder.sync();
        (self.front_end, self.log.recorder.into_store(), self.link)
    }

    /// A turn for link, panel or plan; for all of them if there is time.
    #[inline(never)] // Once in eight readings: its stack must not burden the other seven.
    fn serve_others(&mut self, idle: bool) {
        self.turns = self.turns.wrapping_add(1);
        let panel = idle || self.turns.is_multiple_of(LINKS_PER_PANEL);
        let plan = self.turns.is_multiple_of(2) && self.plan.borrow().is_busy();
        if idle || !(panel || plan) {
            self.serve_link();
        }
        if panel || plan {
            self.serve_panel_and_plan(panel, plan);
        }
    }

    #[inline(never)] // As above: most turns are the link's.
    fn serve_panel_and_plan(&mut self, panel: bool, plan: bool) {
        if panel {
            self.serve_panel();
            self.see_trouble();
            if self.arc.is_idle() {
                self.log.recorder.idle();
                self.watch_store();
                self.repeat_header();
                #[cfg(feature = "seal")]
                self.log.recorder.seal(self.arc.position(), false);
            }
        }
        if plan || (panel && self.plan.borrow().has_plan()) {
            let now = self.now_s();
            self.plan.borrow_mut().slice(now);
        }
    }

    /// Time since the logger started, s.
    fn now_s(&self) -> f64 {
        let samples = self.clock_offset.wrapping_add(self.arc.position());
        samples as f64 / self.setup.calibration.sample_rate_hz
    }

    /// Arc energy of the current weld so far, J.
    fn weld_j(&self) -> f64 {
        self.log.live.weld_j(&self.setup.calibration)
    }
}
