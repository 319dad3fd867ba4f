//! Telling the page how far a search is.

#[cfg(target_arch = "wasm32")]
#[link(wasm_import_module = "page")]
unsafe extern "C" {
    /// Hears how many orders were tried; 0 ends the search with the best order so far.
    fn progress(trials: f64) -> i32;
}

/// Tells the page how far a search is; false to end it.
#[cfg(target_arch = "wasm32")]
pub(crate) fn report(trials: u64) -> bool {
    // SAFETY: the function takes a number and gives one.
    unsafe { progress(trials as f64) != 0 }
}

/// Without a page every search runs to its end.
#[cfg(not(target_arch = "wasm32"))]
pub(crate) fn report(_: u64) -> bool {
    true
}
