//! Several searches for the same thing: the caller says whether on threads or one after another.

use coldsquare_core::sequence::search::Progress;

/// A search that tells how far it is and asks with that whether to go on.
pub type Search<'a> = Box<dyn FnOnce(&mut dyn FnMut(&Progress) -> bool) + Send + 'a>;

/// Runs searches.
pub trait SideBySide {
    /// Runs each search to its end, in any order. What the k-th tells goes to `go_on` as `(k, progress)` on the thread
    /// that called; a `false` from it is the answer to all of them from then on.
    fn run(&self, searches: Vec<Search<'_>>, go_on: &mut dyn FnMut(usize, &Progress) -> bool);
}

/// One search after another, on the thread that asks.
#[derive(Clone, Copy, Debug, Default)]
pub struct OneByOne;

impl SideBySide for OneByOne {
    fn run(&self, searches: Vec<Search<'_>>, go_on: &mut dyn FnMut(usize, &Progress) -> bool) {
        for (k, search) in searches.into_iter().enumerate() {
            search(&mut |progress| go_on(k, progress));
        }
    }
}
