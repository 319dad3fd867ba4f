//! Searches in parallel, each on a thread of its own.

use coldsquare_engine::plan::parallel::{Parallel, Task};
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;
use std::thread;

/// A thread for each search.
#[derive(Clone, Copy, Debug, Default)]
pub struct Threads;

impl Parallel for Threads {
    fn run(
        &self,
        tasks: Vec<Task<'_>>,
        on_progress: &mut dyn FnMut(usize, &coldsquare_engine::plan::search::Progress) -> bool,
    ) {
        let cancelled = AtomicBool::new(false);
        let (sender, receiver) = mpsc::channel();
        thread::scope(|scope| {
            let running = tasks.into_iter().enumerate().map(|(k, task)| {
                let (sender, cancelled) = (sender.clone(), &cancelled);
                scope.spawn(move || {
                    task(&mut |progress| {
                        let heard = sender.send((k, *progress)).is_ok();
                        heard && !cancelled.load(Ordering::Relaxed)
                    });
                })
            });
            let running: Vec<_> = running.collect();
            drop(sender);
            for (k, progress) in receiver {
                if !on_progress(k, &progress) {
                    cancelled.store(true, Ordering::Relaxed);
                }
            }
            for thread in running {
                thread.join().unwrap_or_else(|panic| resume_unwind(panic));
            }
        });
    }
}
