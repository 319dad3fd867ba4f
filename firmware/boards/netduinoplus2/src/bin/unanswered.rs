//! The logger with the driver of the converter to buy on a bus where nothing answers: it is tried ten times a second, and
//! what was due is logged as lost. A header in over USART 2, the log out over USART 1, figures over USART 3.
#![no_std]
#![no_main]

use coldsquare_emulated::fed::header;
use coldsquare_emulated::logging::{Listener, run};
use coldsquare_emulated::{exit, stack};
use coldsquare_firmware::converters::ads131m02::{Ads131m02, Gain, Oversampling, Settings};
use coldsquare_firmware::feed::Pressed;
use coldsquare_firmware::front_end::{FrontEnd, Reading};
use coldsquare_netduinoplus2::BOARD;
use coldsquare_netduinoplus2::interrupt::{Interrupt, Work, at_each};
use coldsquare_netduinoplus2::sampling::PERIOD_US;
use coldsquare_netduinoplus2::spi::Spi;
use coldsquare_netduinoplus2::timer::{Timer, periods};
use coldsquare_netduinoplus2::usart::Usart;
use core::convert::Infallible;
use core::fmt::Write;
use cortex_m::singleton;
use cortex_m_rt::entry;
use embedded_hal::delay::DelayNs;
use embedded_hal::digital::{ErrorType, InputPin};

coldsquare_emulated::ends_on_panic!();

/// A second, and how often the converter is tried in it.
const PAIRS: u32 = 10_000;
const RETRY: u32 = 1_000;

const SETTINGS: Settings = Settings {
    clock_hz: 8_000_000,
    oversampling: Oversampling::By512,
    voltage: Gain::By1,
    current: Gain::By2,
};

struct Clock(Timer);

impl Work for Clock {
    fn work(&mut self) {
        self.0.period_ended();
    }
}

/// The line that says that a conversion waits: it never does.
struct NoneWaits;

impl ErrorType for NoneWaits {
    type Error = Infallible;
}

impl InputPin for NoneWaits {
    fn is_high(&mut self) -> Result<bool, Infallible> {
        Ok(true)
    }

    fn is_low(&mut self) -> Result<bool, Infallible> {
        Ok(false)
    }
}

struct Spin;

impl DelayNs for Spin {
    fn delay_ns(&mut self, ns: u32) {
        cortex_m::asm::delay(ns / 6 + 1);
    }
}

struct Unanswered {
    spi: Spi,
    refused: u32,
    reported: u32,
}

impl FrontEnd for Unanswered {
    fn next(&mut self) -> Reading {
        if self.reported >= PAIRS {
            return Reading::Waiting;
        }
        while periods() < self.reported + RETRY {}
        let micros = || periods().wrapping_mul(PERIOD_US);
        let started = Ads131m02::start(&mut self.spi, NoneWaits, micros, &mut Spin, SETTINGS);
        self.refused += u32::from(started.is_err());
        self.reported += RETRY;
        Reading::Dropped(RETRY)
    }
}

impl Drop for Unanswered {
    fn drop(&mut self) {
        let (refused, bytes) = (self.refused, self.spi.bytes());
        let _ = writeln!(Usart::new(3), "refused {refused}\nbytes {bytes}");
    }
}

#[entry]
fn main() -> ! {
    stack::paint();
    let (mut log, mut feed, mut figures) = (Usart::new(1), Usart::new(2), Usart::new(3));
    if writeln!(figures, "listens 1").is_err() {
        exit(false);
    }
    let header = header(&mut || feed.receive());
    let Some(clock) = singleton!(: Clock = Clock(Timer::start(PERIOD_US, PAIRS))) else {
        exit(false)
    };
    at_each(Interrupt::Timer2, clock);
    let pressed = Pressed::new(None);
    let front_end = Unanswered {
        spi: Spi::new(),
        refused: 0,
        reported: 0,
    };
    let store = Listener(|record: &[u8]| log.send(record));
    run(front_end, store, (header, BOARD), &pressed, &mut figures)
}
