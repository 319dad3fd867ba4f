//! The life of a journal, told by the input: records, syncs, idling, clearing, pulled plugs, refused reads and writes,
//! rings that go round, on a card and in flash. Beside it goes an exact memory of what the journal was told and what it
//! said it had stored, which is compared at every start: that of the ordinary tests.
#![no_main]

#[allow(dead_code)]
#[path = "../../../firmware/tests/power/life.rs"]
mod life;
#[path = "../../../firmware/tests/power/media.rs"]
mod media;
#[path = "../../../firmware/tests/power/told.rs"]
mod told;

libfuzzer_sys::fuzz_target!(|input: &[u8]| {
    if let Err(what) = told::live(input) {
        panic!("{what}");
    }
});
