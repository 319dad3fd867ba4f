//! Cancelling several searches together.

use super::search::Progress;

/// Hands progress to the caller and remembers its no: cancelling one of several searches cancels them all.
pub struct Cancel<'a> {
    on_progress: &'a mut dyn FnMut(&Progress) -> bool,
    is_cancelled: bool,
}

impl<'a> Cancel<'a> {
    /// `on_progress` returns false to cancel.
    pub fn new(on_progress: &'a mut dyn FnMut(&Progress) -> bool) -> Self {
        Self {
            on_progress,
            is_cancelled: false,
        }
    }

    /// Hands on progress; false from the first time the caller cancels.
    pub fn report(&mut self, progress: &Progress) -> bool {
        self.is_cancelled = self.is_cancelled || !(self.on_progress)(progress);
        !self.is_cancelled
    }

    /// Whether the caller has cancelled.
    #[must_use]
    pub fn is_cancelled(&self) -> bool {
        self.is_cancelled
    }
}
