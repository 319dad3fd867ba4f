//! Any bytes to a logger: it goes on sampling, and the next whole question is answered.
#![no_main]

mod sealed;

use coldsquare_core::link::{MAX_FRAME, Receiver, Reply, Request, encode};
use coldsquare_core::process::Process;
use coldsquare_firmware::sim::{Build, Connected, SimulatedBead, Transfer, cable};

libfuzzer_sys::fuzz_target!(|input: &[u8]| {
    let bytes = sealed::stream(input);
    let bead = SimulatedBead::new(Transfer::TigDirect, 12.0, 90.0, 1.0);
    let build = Build::new("fuzz", Process::Tig, 1000.0, vec![bead]);
    let (logger_end, cable) = cable(4096);
    let mut logger = Connected::start(&build, 1, logger_end).expect("usable");
    cable.send(&bytes);
    let mut frame = [0; MAX_FRAME];
    let length = encode(7, &Request::Identify, &mut frame).expect("it fits");
    // What was pulled before is taken away first, so that there is room for the answer.
    for _ in 0..200_000 {
        logger.turns(8);
        let _ = cable.receive(4096);
        if cable.unread() == 0 {
            break;
        }
    }
    cable.send(&frame[..length]);
    let mut receiver = Receiver::<Reply>::new();
    let mut answered = false;
    for _ in 0..2000 {
        if answered {
            break;
        }
        logger.turns(8);
        for byte in cable.receive(4096) {
            answered |= matches!(receiver.take(byte), Some((7, Ok(Reply::Identity(_)))));
        }
    }
    assert!(answered);
});
