//! Any bytes: the reader finds records or damage and accounts for every byte.
#![no_main]

use coldsquare_core::record::{MAX_FRAME, decode, encode};

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let _ = coldsquare_engine::log::read_from("fuzz.log".as_ref(), bytes, std::io::empty(), &Default::default());
    if let Ok((sequence, record)) = decode(bytes) {
        // What a reader takes, a writer can write.
        let mut frame = [0; MAX_FRAME];
        let length = encode(sequence, &record, &mut frame).expect("read, so sound");
        assert_eq!(decode(&frame[1..length - 1]), Ok((sequence, record)));
    }
});
