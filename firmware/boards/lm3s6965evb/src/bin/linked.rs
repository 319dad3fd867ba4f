//! The logger with a computer at its link: a header and then readings in over UART 1, the link on UART 0, figures over
//! UART 2. Its store is in memory, from which the computer pulls.
#![no_std]
#![no_main]

use coldsquare_emulated::fed::{header, logger};
use coldsquare_emulated::{exit, stack};
use coldsquare_firmware::feed::{FedFrontEnd, Pressed};
use coldsquare_firmware::link::Link;
use coldsquare_firmware::logger::Progress;
use coldsquare_firmware::next_weld::NextWeld;
use coldsquare_firmware::store::{Extent, Store, StoreError};
use coldsquare_lm3s6965evb::BOARD;
use coldsquare_lm3s6965evb::uart::Uart;
use core::fmt::Write;
use cortex_m::singleton;
use cortex_m_rt::entry;

coldsquare_emulated::ends_on_panic!();

/// The UART to a computer, which never blocks.
struct Cable(Uart);

impl Link for Cable {
    fn receive(&mut self) -> Option<u8> {
        self.0.try_receive()
    }

    fn send(&mut self, bytes: &[u8]) -> usize {
        self.0.try_send(bytes)
    }
}

/// Stores the first records, as many as fit.
struct Memory(&'static mut heapless::Vec<u8, 24_000>);

impl Store for Memory {
    fn append(&mut self, record: &[u8]) -> Result<(), StoreError> {
        self.0
            .extend_from_slice(record)
            .map_err(|_| StoreError::Full)
    }

    fn sync(&mut self) -> Result<(), StoreError> {
        Ok(())
    }

    fn extent(&self) -> Option<Extent> {
        let end = self.0.len() as u64;
        Some(Extent {
            first: 0,
            end,
            room: Some(24_000 - end),
        })
    }

    fn read(&mut self, from: u64, into: &mut [u8]) -> Result<(u64, usize), StoreError> {
        let rest = self.0.get(from as usize..).ok_or(StoreError::Fault)?;
        let length = rest.len().min(into.len());
        into[..length].copy_from_slice(&rest[..length]);
        Ok((from, length))
    }
}

#[entry]
fn main() -> ! {
    let plan = singleton!(: NextWeld = NextWeld::new());
    let memory = singleton!(: heapless::Vec<u8, 24_000> = heapless::Vec::new());
    let Some((plan, memory)) = plan.zip(memory) else {
        exit(false)
    };
    stack::paint();
    let pressed = Pressed::new(None);
    let mut feed = Uart::new(1);
    let mut next = move || feed.receive();
    let header = (header(&mut next), BOARD);
    let front_end = FedFrontEnd::new(next, &pressed);
    let store = (Memory(memory), Cable(Uart::new(0)));
    let Some(mut logger) = logger(front_end, store, header, plan, &pressed) else {
        exit(false)
    };
    let mut readings = 0_u32;
    while logger.poll() == Progress::Took {
        readings += 1;
    }
    let printed = writeln!(
        Uart::new(2),
        "stack_bytes {}\nreadings {readings}",
        stack::deepest()
    );
    exit(printed.is_ok())
}
