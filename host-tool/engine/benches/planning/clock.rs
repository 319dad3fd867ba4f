//! Processor time of this thread or of all of them, so that a busy machine does not spoil a comparison.

use std::time::Instant;

/// Counts from its start.
#[derive(Clone, Copy)]
pub struct Clock {
    started: Instant,
    computed_ns: Option<u64>,
}

impl Clock {
    pub fn start() -> Self {
        Self {
            started: Instant::now(),
            computed_ns: computed_ns(),
        }
    }

    /// Seconds of one core; of the wall clock where the system does not say.
    pub fn seconds(&self) -> f64 {
        match (self.computed_ns, computed_ns()) {
            (Some(then), Some(now)) => now.saturating_sub(then) as f64 * 1e-9,
            _ => self.started.elapsed().as_secs_f64(),
        }
    }
}

/// Linux: the first number is the time on a processor, ns.
fn computed_ns() -> Option<u64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    text.split_whitespace().next()?.parse().ok()
}

/// Processor time of all threads of this process, including those that have ended, s; `None` where the system does not
/// say. Linux counts it in hundredths.
pub fn all_threads_s() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/stat").ok()?;
    // The name is in brackets and may hold anything.
    let (_, rest) = text.rsplit_once(')')?;
    let ticks = rest.split_whitespace().skip(11).take(2);
    let ticks: Option<Vec<f64>> = ticks.map(|ticks| ticks.parse().ok()).collect();
    Some(ticks?.iter().sum::<f64>() / 100.0)
}
