//! Any bytes to a computer, and to a logger's receiver: messages are found or not, and what is found can be sent again.
#![no_main]

mod sealed;

use coldsquare_core::link::{MAX_FRAME, Message, Receiver, Reply, Request, encode};

fn found<M: Message + PartialEq + std::fmt::Debug>(bytes: &[u8]) {
    let mut receiver = Receiver::<M>::new();
    for &byte in bytes {
        if let Some((tag, Ok(message))) = receiver.take(byte) {
            let mut frame = [0; MAX_FRAME];
            let length = encode(tag, &message, &mut frame).expect("read, so sound");
            let mut again = Receiver::<M>::new();
            let back = frame[..length].iter().find_map(|byte| again.take(*byte));
            assert_eq!(back, Some((tag, Ok(message))));
        }
    }
}

libfuzzer_sys::fuzz_target!(|input: &[u8]| {
    let bytes = sealed::stream(input);
    found::<Reply>(&bytes);
    found::<Request>(&bytes);
});
