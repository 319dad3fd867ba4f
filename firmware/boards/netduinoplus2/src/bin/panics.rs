//! The logger with a number that overflows after a while: the chip is reset, and the next start says so in its log. Headers
//! in over USART 2, the logs out over USART 1.
#![no_std]
#![no_main]

use coldsquare_emulated::fed::{header, logger};
use coldsquare_emulated::logging::Listener;
use coldsquare_emulated::{exit, restart};
use coldsquare_firmware::feed::Pressed;
use coldsquare_firmware::link::Unconnected;
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_netduinoplus2::BOARD;
use coldsquare_netduinoplus2::sampling::Sampled;
use coldsquare_netduinoplus2::usart::Usart;
use core::fmt::Write;
use core::hint::black_box;
use cortex_m::singleton;
use cortex_m_rt::entry;

coldsquare_emulated::restarts_on_panic!();

/// Pairs until the number overflows.
const PAIRS: u8 = 200;

#[entry]
fn main() -> ! {
    let restarted = restart::reason();
    let (mut log, mut feed) = (Usart::new(1), Usart::new(2));
    if writeln!(Usart::new(3), "listens 1").is_err() {
        exit(false);
    }
    let header = header(&mut || feed.receive());
    let pressed = Pressed::new(None);
    let plan = singleton!(: NextWeld = NextWeld::new());
    let Some((front_end, plan)) = Sampled::start(u32::MAX).zip(plan) else {
        exit(false)
    };
    let store = (Listener(|record: &[u8]| log.send(record)), Unconnected);
    let Some(mut logger) = logger(front_end, store, (header, BOARD), plan, &pressed) else {
        exit(false)
    };
    if let Some(why) = &restarted {
        logger.restarted(why);
        logger.finish();
        exit(true)
    }
    let mut number = u8::MAX - PAIRS;
    loop {
        logger.poll();
        number = black_box(number) + 1;
    }
}
