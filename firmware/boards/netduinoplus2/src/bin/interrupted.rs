//! The logger: a header and then readings in over USART 2, taken in its interrupt; the log out over USART 1, figures over
//! USART 3, which says first that USART 2 listens.
#![no_std]
#![no_main]

use coldsquare_emulated::fed::header;
use coldsquare_emulated::logging::{Listener, run};
use coldsquare_emulated::{exit, stack};
use coldsquare_firmware::feed::Pressed;
use coldsquare_netduinoplus2::BOARD;
use coldsquare_netduinoplus2::line::FromLine;
use coldsquare_netduinoplus2::usart::Usart;
use core::fmt::Write;
use cortex_m_rt::entry;

coldsquare_emulated::ends_on_panic!();

#[entry]
fn main() -> ! {
    stack::paint();
    let (mut log, mut feed, mut figures) = (Usart::new(1), Usart::new(2), Usart::new(3));
    if writeln!(figures, "listens 1").is_err() {
        exit(false);
    }
    let header = header(&mut || feed.receive());
    let pressed = Pressed::new(None);
    let Some(front_end) = FromLine::start(feed, &pressed) else {
        exit(false)
    };
    let store = Listener(|record: &[u8]| log.send(record));
    run(front_end, store, (header, BOARD), &pressed, &mut figures)
}
