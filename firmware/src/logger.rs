//! The logger's loop: readings to arc events, arc events to records, presses to markers.

mod answer;
mod now;

use crate::clock::Clock;
use crate::front_end::{FrontEnd, Reading};
use crate::link::{Link, Server};
use crate::next_weld::NextWeld;
use crate::panel::{Input, Panel, Shown};
use crate::recorder::Recorder;
use crate::say::say;
use crate::store::Store;
use crate::tare::tared;
use crate::watch::Watch;
use coldsquare_core::arc::{ArcConfig, ArcConfigError, ArcCounts, ArcEvent, ArcState};
use coldsquare_core::bead::Window;
use coldsquare_core::calibration::Calibration;
use coldsquare_core::link::Consent;
use coldsquare_core::process::Process;
use coldsquare_core::record::{Event, EventKind, Header, Marker, MarkerKind, Record};
use core::borrow::BorrowMut;
use heapless::{String, Vec};
use now::Now;

/// The link is served once in so many readings: a UART's 16 bytes of patience last 1.4 ms at 115 200 baud. While the
/// plan has something to work out, it gets every other turn of the link.
const READINGS_PER_LINK: u32 = 8;

/// The panel is asked instead of the link once in so many turns of the link: every 6 ms at 10 000 readings a second,
/// quicker than a finger.
const LINKS_PER_PANEL: u32 = 8;

/// What it shows is brought up to date once in so many turns: every 26 ms, quicker than an eye.
const TURNS_PER_SHOW: u32 = 32;

/// Most welds a plan on the logger can have.
pub const MAX_PLANNED: usize = 128;

/// The hardware, or what stands for it.
#[derive(Debug)]
pub struct Parts<F, S, L, C, P, N> {
    /// Gives sample pairs.
    pub front_end: F,
    /// Keeps records.
    pub store: S,
    /// To a computer, for whoever asks.
    pub link: L,
    /// Knows the time of day, perhaps.
    pub clock: C,
    /// Buttons and light.
    pub panel: P,
    /// Where the plan is kept: 8 KiB that are better not moved about a stack.
    pub plan: N,
}

/// What the logger is told before it starts.
#[derive(Clone, Debug)]
pub struct Setup {
    /// Name of this logger, as its owner gave it.
    pub device: String<24>,
    /// The board that it runs on, at most 24 bytes.
    pub board: &'static str,
    /// What is being built; may be empty.
    pub title: String<48>,
    /// Welding process, where it is known.
    pub process: Option<Process>,
    /// From counts to volts and amps.
    pub calibration: Calibration,
    /// When that was found, seconds since 1970-01-01T00:00:00Z; 0 when it never was.
    pub calibrated_unix_s: u64,
    /// How beads are told from the dark; see [`ArcConfig::new`].
    pub arc: ArcCounts,
    /// Numbers of the welds in the order in which they are to be made; empty when there is no plan, and then each
    /// press of next counts one on.
    pub order: Vec<u16, MAX_PLANNED>,
    /// Where an earlier log in the same store ended; the default for an empty one.
    pub resume: Resume,
}

impl Setup {
    /// Goes by what an earlier log in the same store was measured by last: its calibration, with the date and the doubts
    /// that it has, and how the arc is found. False, and nothing changes, when that was at another sample rate.
    pub fn recall(&mut self, header: &Header) -> bool {
        let (now, then) = (&self.calibration, &header.calibration);
        if now.sample_rate_hz != then.sample_rate_hz {
            return false;
        }
        self.calibration = header.calibration;
        self.calibrated_unix_s = header.calibrated_unix_s;
        self.arc = header.arc;
        self.process = header.process;
        true
    }
}

/// Where a log goes on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Resume {
    /// Position of the next sample.
    pub position: u64,
    /// Number of the next record.
    pub sequence: u32,
    /// Beads so far.
    pub beads: u32,
    /// Times the logger has started in this log.
    pub starts: u32,
}

/// What one turn of the loop did.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Progress {
    /// It took a reading.
    Took,
    /// There was none.
    Waiting,
}

/// The logger. Call [`Logger::poll`] forever.
#[derive(Debug)]
pub struct Logger<F, S, L, C, P, N> {
    front_end: F,
    clock: C,
    panel: P,
    setup: Setup,
    config: ArcConfig,
    arc: ArcState,
    log: Log<S>,
    link: L,
    server: Server,
    plan: N,
    /// Welds of the plan that are behind us, the present one included.
    begun: u16,
    taring: bool,
    /// Readings until the others have their turn, and the turns they had.
    until_others: u32,
    turns: u32,
    shown: Shown,
    /// Samples before this log began, where an earlier one was let go of: time goes on for the plan.
    before: u64,
    /// The end of the log that was let go of last, and why.
    cleared: Option<(u64, Consent)>,
}

/// Everything an arc event may touch, so that the detector can call it in the middle of a step.
#[derive(Debug)]
struct Log<S> {
    recorder: Recorder<S>,
    watch: Watch,
    calibration: Calibration,
    beads: u32,
    /// What was noticed last.
    noticed: Option<EventKind>,
    /// What is measured just now.
    now: Now,
    /// The last dark window, until a tare or the next step has seen it.
    dark: Option<Window>,
}

impl<S: Store> Log<S> {
    fn event(&mut self, position: u64, kind: EventKind, value: i64) {
        self.recorder.write(
            position,
            &Record::Event(Event {
                position,
                kind,
                value,
            }),
        );
    }

    fn arc(&mut self, event: ArcEvent) {
        let Self {
            recorder,
            watch,
            calibration,
            noticed,
            now,
            ..
        } = self;
        match event {
            ArcEvent::Window(window) => {
                let end = window.start.saturating_add(window.span());
                recorder.write(end, &Record::Window(window));
                now.window(&window);
                watch.window(&window, calibration, &mut |kind, value| {
                    say!("noticed {}", kind);
                    *noticed = Some(kind);
                    recorder.write(
                        end,
                        &Record::Event(Event {
                            position: end,
                            kind,
                            value,
                        }),
                    );
                });
                self.dark = (!window.lit).then_some(window);
            }
            ArcEvent::BeadStarted { number, .. } => {
                self.beads = number;
                now.bead_started();
            }
            ArcEvent::BeadEnded(bead) => {
                let end = bead.start.saturating_add(bead.span());
                recorder.write(end, &Record::Bead(bead));
                now.bead_ended(&bead);
                watch.bead(&bead, &mut |kind, value| {
                    say!("noticed {}", kind);
                    *noticed = Some(kind);
                    recorder.write(
                        end,
                        &Record::Event(Event {
                            position: end,
                            kind,
                            value,
                        }),
                    );
                });
                recorder.sync();
                say!(
                    "bead {=u32} of {=u64} samples, {=u32} records lost",
                    bead.number,
                    bead.span(),
                    recorder.lost()
                );
            }
        }
    }
}

impl<F, S, L, C, P, N> Logger<F, S, L, C, P, N>
where
    F: FrontEnd,
    S: Store,
    L: Link,
    C: Clock,
    P: Panel,
    N: BorrowMut<NextWeld>,
{
    /// Starts: writes the header and that the power came on.
    ///
    /// # Errors
    /// [`ArcConfigError`] when the counts of the setup contradict one another.
    pub fn start(parts: Parts<F, S, L, C, P, N>, setup: Setup) -> Result<Self, ArcConfigError> {
        let config = ArcConfig::from_counts(setup.arc, &setup.calibration)?;
        let resume = setup.resume;
        let mut logger = Self {
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
                noticed: None,
                now: Now::default(),
                dark: None,
            },
            link: parts.link,
            server: Server::new(),
            plan: parts.plan,
            setup,
            begun: 0,
            taring: false,
            until_others: READINGS_PER_LINK,
            turns: 0,
            shown: Shown::default(),
            before: 0,
            cleared: None,
        };
        logger.write_header();
        let starts = resume.starts.saturating_add(1);
        logger
            .log
            .event(resume.position, EventKind::PowerOn, starts.into());
        logger.log.recorder.sync();
        say!(
            "logger {=str} on {=str}, start {=u32}, {=f64} pairs a second",
            env!("CARGO_PKG_VERSION"),
            logger.setup.board,
            starts,
            logger.setup.calibration.sample_rate_hz
        );
        match logger.setup.calibrated_unix_s {
            0 => say!("calibration of the data sheets, never checked"),
            _at => say!("calibration of {=u64} s since 1970", _at),
        }
        Ok(logger)
    }

    /// One turn of the loop: takes one reading, and looks at panel, link and plan now and then.
    #[inline]
    pub fn poll(&mut self) -> Progress {
        let reading = self.front_end.next();
        let steady = matches!(reading, Reading::Pair(pair) if self.arc.step_steadily(pair));
        if !steady {
            self.take(reading);
        }
        let waiting = reading == Reading::Waiting;
        self.until_others -= 1;
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
    #[inline(never)] // What it needs must not weigh on the others.
    fn take(&mut self, reading: Reading) {
        let Self {
            arc, config, log, ..
        } = self;
        match reading {
            Reading::Pair(pair) => arc.step_in_full(config, pair, &mut |event| log.arc(event)),
            Reading::Dropped(count) => arc.dropped(config, count, &mut |event| log.arc(event)),
            Reading::Waiting => {}
        }
        if let Some(window) = self.log.dark.take() {
            self.take_zero(&window);
        }
    }

    /// Ends the log: closes and stores what is open. Gives front end, store and link back.
    pub fn finish(mut self) -> (F, S, L) {
        let Self {
            arc, config, log, ..
        } = &mut self;
        arc.finish(config, &mut |event| log.arc(event));
        log.recorder.sync();
        (self.front_end, self.log.recorder.into_store(), self.link)
    }

    fn write_header(&mut self) {
        let header = Header {
            start: self.arc.position(),
            device: self.setup.device.clone(),
            firmware: String::try_from(env!("CARGO_PKG_VERSION")).unwrap_or_default(),
            title: self.setup.title.clone(),
            process: self.setup.process,
            clock: self.clock.now(),
            calibration: self.setup.calibration,
            calibrated_unix_s: self.setup.calibrated_unix_s,
            arc: self.config.counts(),
        };
        self.log
            .recorder
            .write(header.start, &Record::Header(header));
    }

    /// Panel, link or plan; all of them only when there is time.
    #[inline(never)] // Once in eight readings: what it needs must not weigh on the other seven.
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

    #[inline(never)] // As above: the link has most turns.
    fn serve_panel_and_plan(&mut self, panel: bool, plan: bool) {
        if panel {
            self.serve_panel();
            if self.arc.is_idle() {
                self.log.recorder.idle();
            }
        }
        if plan || (panel && self.plan.borrow().has_plan()) {
            let now = self.now_s();
            self.plan.borrow_mut().slice(now);
        }
    }

    /// Time since the first log began, s.
    fn now_s(&self) -> f64 {
        let samples = self.before.saturating_add(self.arc.position());
        samples as f64 / self.setup.calibration.sample_rate_hz
    }

    /// Begins a new log, at the first sample, bead and record, because the store was emptied; `unread` bytes of the log
    /// before were not pulled.
    fn begin_anew(&mut self, unread: u64) {
        self.before = self.before.saturating_add(self.arc.position());
        self.arc = ArcState::new();
        self.log.watch = Watch::default();
        self.log.beads = 0;
        self.log.noticed = None;
        self.log.dark = None;
        self.write_header();
        let value = i64::try_from(unread).unwrap_or(i64::MAX);
        self.log.event(0, EventKind::StoreCleared, value);
        // The press that said so is in the log before.
        if let Some(weld) = self.weld() {
            self.mark(MarkerKind::NextWeld, Some(weld));
        }
        self.log.recorder.sync();
    }

    /// Arc energy of the present weld so far, J.
    fn weld_j(&self) -> f64 {
        self.log.now.weld_j(&self.setup.calibration)
    }

    fn serve_panel(&mut self) {
        if let Some(input) = self.panel.input() {
            self.press(input);
        }
        if self.turns.is_multiple_of(TURNS_PER_SHOW) {
            self.show();
        }
    }

    fn show(&mut self) {
        let shown = Shown {
            lit: self.arc.is_lit(),
            weld: self.weld(),
            next: self.plan.borrow().advised(self.log.now.weld_is_begun()),
            advice: self.plan.borrow().advice(self.log.now.weld_is_begun()),
            left: self.plan.borrow().left(),
            beads: self.log.beads,
            attention: self.noticed().is_some(),
        };
        if shown != self.shown {
            self.shown = shown;
            self.panel.show(shown);
        }
    }

    /// What was noticed last; a store that does not take everything comes before all else.
    fn noticed(&self) -> Option<EventKind> {
        let recorder = &self.log.recorder;
        if recorder.is_full() {
            Some(EventKind::StoreFull)
        } else if recorder.lost() > 0 {
            Some(EventKind::StoreFault)
        } else {
            let lost_before = recorder.ever_lost().then_some(EventKind::StoreFault);
            self.log.noticed.or(lost_before)
        }
    }

    fn press(&mut self, input: Input) {
        match input {
            // Without an arc nothing was welded: it is left for later, so that it is not forgotten.
            Input::Next => self.next_weld(self.log.now.weld_is_begun()),
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
            Input::Tare => self.taring = true,
        }
        self.log.recorder.sync();
    }

    fn next_weld(&mut self, done: bool) {
        self.begun = self.begun.saturating_add(1);
        let (heat, now) = (self.weld_j(), self.now_s());
        if done {
            self.plan.borrow_mut().go_on(heat, now);
        } else {
            self.plan.borrow_mut().skip(heat, now);
        }
        self.log.now.weld_begins();
        if let Some(weld) = self.weld() {
            self.mark(MarkerKind::NextWeld, Some(weld));
        }
    }

    /// The weld that the next bead is taken for.
    fn weld(&self) -> Option<u16> {
        let index = self.begun.checked_sub(1)?;
        if self.plan.borrow().has_plan() {
            self.plan.borrow().current()
        } else if self.setup.order.is_empty() {
            Some(self.begun)
        } else {
            self.setup.order.get(usize::from(index)).copied()
        }
    }

    fn mark(&mut self, kind: MarkerKind, weld: Option<u16>) {
        let position = self.arc.position();
        let marker = Marker {
            position,
            kind,
            weld,
            note: String::new(),
        };
        self.log.recorder.write(position, &Record::Marker(marker));
    }

    /// Takes the zero from a dark window, when one was asked for and this one will do.
    fn take_zero(&mut self, window: &Window) {
        if !self.taring || self.arc.is_lit() {
            return;
        }
        let Some(calibration) = tared(&self.setup.calibration, &self.config, window) else {
            return;
        };
        let arc = ArcCounts {
            zero: calibration.current.nearest_zero(),
            ..self.setup.arc
        };
        // The date of the calibration stays: it is the gain's, and a tare does not renew that.
        if self.adopt(calibration, arc) {
            self.taring = false;
        }
    }

    /// Goes by another calibration from here on; false when the arc's counts do not suit it.
    fn adopt(&mut self, calibration: Calibration, arc: ArcCounts) -> bool {
        let Ok(config) = ArcConfig::from_counts(arc, &calibration) else {
            return false;
        };
        self.setup.calibration = calibration;
        self.log.calibration = calibration;
        self.go_by(config);
        self.log
            .event(self.arc.position(), EventKind::CalibrationChanged, 0);
        self.write_header();
        self.log.recorder.sync();
        true
    }

    /// Looks for arcs by other counts from here on.
    fn go_by(&mut self, config: ArcConfig) {
        self.setup.arc = config.counts();
        self.config = config;
        self.arc.reconfigured();
    }
}
