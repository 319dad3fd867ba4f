//! The logger with the chip's own converter, read in a timer's interrupt at 10 000 pairs a second. Its store is busy for so
//! long once that the queue overflows. A header in over USART 2, the log out over USART 1, figures over USART 3.
#![no_std]
#![no_main]

use coldsquare_emulated::fed::header;
use coldsquare_emulated::logging::{Listener, run};
use coldsquare_emulated::{exit, stack};
use coldsquare_firmware::feed::Pressed;
use coldsquare_netduinoplus2::BOARD;
use coldsquare_netduinoplus2::sampling::Sampled;
use coldsquare_netduinoplus2::timer::periods;
use coldsquare_netduinoplus2::usart::Usart;
use core::fmt::Write;
use cortex_m_rt::entry;

coldsquare_emulated::ends_on_panic!();

/// Two seconds.
const PAIRS: u32 = 20_000;
/// The record at which the store is busy, and for how many pairs.
const BUSY_AT: u32 = 6;
const BUSY_FOR: u32 = 3_000;

#[entry]
fn main() -> ! {
    stack::paint();
    let (mut log, mut feed, mut figures) = (Usart::new(1), Usart::new(2), Usart::new(3));
    if writeln!(figures, "listens 1\npairs {PAIRS}").is_err() {
        exit(false);
    }
    let header = header(&mut || feed.receive());
    let pressed = Pressed::new(None);
    let Some(front_end) = Sampled::start(PAIRS) else {
        exit(false)
    };
    let mut records = 0;
    let store = Listener(|record: &[u8]| {
        log.send(record);
        records += 1;
        let since = periods();
        while records == BUSY_AT && periods() < since + BUSY_FOR {}
    });
    run(front_end, store, (header, BOARD), &pressed, &mut figures)
}
