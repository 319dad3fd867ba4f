//! The logger: a header and then readings in over UART 1, the log out over UART 0, figures over UART 2.
#![no_std]
#![no_main]

use coldsquare_firmware::feed::Pressed;
use coldsquare_firmware::link::Unconnected;
use coldsquare_firmware::logger::Progress;
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::store::{Store, StoreError};
use coldsquare_lm3s6965evb::fed::logger;
use coldsquare_lm3s6965evb::uart::Uart;
use coldsquare_lm3s6965evb::{exit, stack};
use core::fmt::Write;
use cortex_m::singleton;
use cortex_m_rt::entry;

/// Sends the log out over the UART.
struct Listener(Uart);

impl Store for Listener {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        self.0.send(record);
        Ok(())
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        Ok(())
    }
}

#[entry]
fn main() -> ! {
    let Some(plan) = singleton!(: NextWeld = NextWeld::new()) else {
        exit(false)
    };
    stack::paint();
    let pressed = Pressed::new(None);
    let Some(mut logger) = logger((Listener(Uart::new(0)), Unconnected), plan, &pressed) else {
        exit(false)
    };
    while logger.poll() == Progress::Took {}
    logger.finish();
    let printed = writeln!(Uart::new(2), "stack_bytes {}", stack::deepest());
    exit(printed.is_ok())
}
