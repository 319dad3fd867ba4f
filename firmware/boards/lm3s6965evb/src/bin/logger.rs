//! The logger: a header and then readings in over UART 1, the log out over UART 0, figures over UART 2.
#![no_std]
#![no_main]

use coldsquare_emulated::fed::header;
use coldsquare_emulated::logging::{Listener, run};
use coldsquare_emulated::stack;
use coldsquare_firmware::feed::{FedFrontEnd, Pressed};
use coldsquare_lm3s6965evb::BOARD;
use coldsquare_lm3s6965evb::uart::Uart;
use cortex_m_rt::entry;

coldsquare_emulated::ends_on_panic!();

#[entry]
fn main() -> ! {
    stack::paint();
    let (mut log, mut feed) = (Uart::new(0), Uart::new(1));
    let mut next = move || feed.receive();
    let header = (header(&mut next), BOARD);
    let pressed = Pressed::new(None);
    let front_end = FedFrontEnd::new(next, &pressed);
    let store = Listener(|record: &[u8]| log.send(record));
    run(front_end, store, header, &pressed, &mut Uart::new(2))
}
