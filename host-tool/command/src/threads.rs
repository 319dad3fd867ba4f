//! Searches side by side, each on a thread of its own.

use coldsquare_engine::plan::side_by_side::{Search, SideBySide};
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;
use std::thread;

/// A thread for each search.
#[derive(Clone, Copy, Debug, Default)]
pub struct Threads;

impl SideBySide for Threads {
    fn run(
        &self,
        searches: Vec<Search<'_>>,
        go_on: &mut dyn FnMut(usize, &coldsquare_core::sequence::search::Progress) -> bool,
    ) {
        let enough = AtomicBool::new(false);
        let (tell, hear) = mpsc::channel();
        thread::scope(|scope| {
            let running = searches.into_iter().enumerate().map(|(k, search)| {
                let (tell, enough) = (tell.clone(), &enough);
                scope.spawn(move || {
                    search(&mut |progress| {
                        let heard = tell.send((k, *progress)).is_ok();
                        heard && !enough.load(Ordering::Relaxed)
                    });
                })
            });
            let running: Vec<_> = running.collect();
            drop(tell);
            for (k, progress) in hear {
                if !go_on(k, &progress) {
                    enough.store(true, Ordering::Relaxed);
                }
            }
            for search in running {
                search.join().unwrap_or_else(|panic| resume_unwind(panic));
            }
        });
    }
}
