//! Long work: shows progress, stops when its time is up, and at the first Ctrl-C returns the best so far. A second
//! Ctrl-C stops the command at once.

use std::io::Write;
use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Shorter work shows no progress.
const QUIET: Duration = Duration::from_secs(1);
/// Time between two lines of progress.
const BETWEEN_LINES: Duration = Duration::from_secs(5);
/// Exit code of a process that was ended by the second Ctrl-C: 128 and the number of the signal, as shells have it.
const ENDED_AT_ONCE: i32 = 130;

static INTERRUPTED: AtomicBool = AtomicBool::new(false);

/// Notes Ctrl-C from now on; a second one ends the process.
fn note_interrupts() {
    static NOTED: Once = Once::new();
    NOTED.call_once(|| {
        // Without a handler Ctrl-C ends the process as usual.
        let _ = ctrlc::set_handler(|| {
            if INTERRUPTED.swap(true, Ordering::Relaxed) {
                std::process::exit(ENDED_AT_ONCE);
            }
        });
    });
}

/// What stopped the work early.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ended {
    /// Ctrl-C.
    Interrupted,
    /// The time limit.
    TimeIsUp,
}

/// Progress, time limit and Ctrl-C of one piece of work.
pub(super) struct LongWork<'a> {
    err: &'a mut dyn Write,
    interactive: bool,
    began: Instant,
    limit: Option<Duration>,
    next_line: Duration,
    ended: Option<Ended>,
}

impl<'a> LongWork<'a> {
    /// Starts now. Progress goes to `err` if `interactive`.
    pub(super) fn new(err: &'a mut dyn Write, interactive: bool, limit: Option<Duration>) -> Self {
        note_interrupts();
        Self {
            err,
            interactive,
            began: Instant::now(),
            limit,
            next_line: QUIET,
            ended: None,
        }
    }

    /// Whether to go on; `how_far` says what has been done.
    pub(super) fn goes_on(&mut self, how_far: impl FnOnce() -> String) -> bool {
        let passed = self.began.elapsed();
        if INTERRUPTED.load(Ordering::Relaxed) {
            self.ended = Some(Ended::Interrupted);
        } else if self.limit.is_some_and(|limit| passed >= limit) {
            self.ended = Some(Ended::TimeIsUp);
        } else if self.interactive && passed >= self.next_line {
            self.next_line = passed + BETWEEN_LINES;
            let seconds = passed.as_secs();
            // Progress that cannot be shown is no reason to stop.
            let _ = writeln!(
                self.err,
                "{seconds:3} s: {}; Ctrl-C stops with the best so far",
                how_far()
            );
        }
        self.ended.is_none()
    }

    /// What stopped it early, if anything did.
    pub(super) fn ended(&self) -> Option<Ended> {
        self.ended
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_ends_when_its_time_is_up_and_says_nothing_before_a_second_has_passed() {
        let mut said = Vec::new();
        let mut work = LongWork::new(&mut said, true, Some(Duration::from_millis(20)));
        let began = Instant::now();
        while work.goes_on(|| "counting".into()) {}
        assert_eq!(work.ended(), Some(Ended::TimeIsUp));
        assert!(began.elapsed() >= Duration::from_millis(19));
        assert!(said.is_empty());
    }

    #[test]
    fn who_watches_is_told_how_far_it_is_and_a_pipe_is_not() {
        for (interactive, expected) in [(true, "  1 s: 7 tried; "), (false, "")] {
            let mut said = Vec::new();
            let mut work = LongWork::new(&mut said, interactive, None);
            work.began -= QUIET;
            assert!(work.goes_on(|| "7 tried".into()));
            assert!(work.goes_on(|| "8 tried".into()), "not again at once");
            let said = String::from_utf8(said).expect("text");
            assert!(said.starts_with(expected), "{said}");
            assert_eq!(said.lines().count(), usize::from(interactive));
        }
    }
}
