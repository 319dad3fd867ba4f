//! Several searches for the same thing: the caller decides whether they run on threads or one after another.

use super::search::Progress;

/// A search, to be called with what hears of its progress and returns false to cancel it.
pub type Task<'a> = Box<dyn FnOnce(&mut dyn FnMut(&Progress) -> bool) + Send + 'a>;

/// Runs searches.
pub trait Parallel {
    /// Runs each task to its end, in any order. `on_progress` hears, on the calling thread, of the progress of task
    /// `k` as `(k, progress)`; once it returns false all tasks are cancelled.
    fn run(&self, tasks: Vec<Task<'_>>, on_progress: &mut dyn FnMut(usize, &Progress) -> bool);
}

/// One search after another, on the calling thread.
#[derive(Clone, Copy, Debug, Default)]
pub struct Serial;

impl Parallel for Serial {
    fn run(&self, tasks: Vec<Task<'_>>, on_progress: &mut dyn FnMut(usize, &Progress) -> bool) {
        for (k, task) in tasks.into_iter().enumerate() {
            task(&mut |progress| on_progress(k, progress));
        }
    }
}
