//! Any text: a recording is read, or refused with a reason.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let text = [b"t,U,I\n0,20,100\n1,20,100\n", bytes].concat();
    for text in [bytes, &text] {
        let _ = coldsquare_engine::log::read_from("fuzz.csv".as_ref(), text, std::io::empty(), &Default::default());
    }
});
