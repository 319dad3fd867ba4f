//! Whether to go on searching.

use coldsquare_core::sequence::search::Progress;

/// Asks whether to go on, and remembers a no: whoever ends the first of several searches ends them all.
pub struct Patience<'a> {
    ask: &'a mut dyn FnMut(&Progress) -> bool,
    is_over: bool,
}

impl<'a> Patience<'a> {
    /// Goes on for as long as `ask` says so.
    pub fn new(ask: &'a mut dyn FnMut(&Progress) -> bool) -> Self {
        Self {
            ask,
            is_over: false,
        }
    }

    /// Whether to go on.
    pub fn lasts(&mut self, progress: &Progress) -> bool {
        self.is_over = self.is_over || !(self.ask)(progress);
        !self.is_over
    }

    /// Whether a search was ended.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.is_over
    }
}
