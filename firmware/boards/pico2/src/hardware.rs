//! What is wired to which pin; the table is in `docs/boards.md`. Any failure here is a bug in this file or a fault of the
//! chip, so the program stops.

use coldsquare_firmware::clock::Ticks;
use embedded_hal::delay::DelayNs;
use embedded_hal::digital::OutputPin;
use embedded_hal::spi::{MODE_0, MODE_1, Mode, SpiBus};
use embedded_hal_bus::spi::ExclusiveDevice;
use hal::clocks::{Clock, ClocksManager, init_clocks_and_plls};
use hal::fugit::{HertzU32, RateExtU32};
use hal::gpio::bank0::*;
use hal::gpio::{
    FunctionClock, FunctionNull, FunctionSioInput, FunctionSioOutput, FunctionSpi, Pin, PinId,
    Pins, PullDown, PullNone, PullUp, ValidFunction,
};
use hal::multicore::{Multicore, Stack};
use hal::pac;
use hal::sio::{Sio, SioFifo};
use hal::spi::{Enabled, Spi, SpiDevice, ValidSpiPinout};
use hal::timer::{CopyableTimer0, Timer};
use hal::usb::UsbBus;
use hal::watchdog::Watchdog;
use rp235x_hal as hal;
use usb_device::bus::UsbBusAllocator;

/// The crystal on the board.
const CRYSTAL_HZ: u32 = 12_000_000;

/// The converter's clock: the 48 MHz of USB divided by a whole number, so that it adds no jitter.
pub const CONVERTER_CLOCK_HZ: u32 = 8_000_000;

/// SPI to the converter: a frame of 12 bytes takes 12 of 128 µs.
const CONVERTER_SPI_HZ: u32 = 8_000_000;

/// A card starts at 400 kHz at most and then allows up to 25 MHz; wires of some centimetres allow half of that.
const CARD_START_HZ: u32 = 400_000;
const CARD_SPI_HZ: u32 = 12_000_000;

/// The board's timer, from the same crystal as the converter's clock.
#[derive(Clone, Copy)]
pub struct Micros(Timer<CopyableTimer0>);

impl Micros {
    /// Milliseconds since the board started.
    pub fn ms(self) -> u64 {
        self.0.get_counter().ticks() / 1000
    }
}

impl Ticks for Micros {
    fn micros(&mut self) -> u32 {
        self.0.get_counter_low()
    }
}

impl DelayNs for Micros {
    fn delay_ns(&mut self, ns: u32) {
        self.0.delay_ns(ns);
    }
}

/// A pin as it is after reset.
type Unused<Id> = Pin<Id, FunctionNull, PullDown>;
type SpiPins<Tx, Rx, Sck> = (
    Pin<Tx, FunctionSpi, PullNone>,
    Pin<Rx, FunctionSpi, PullUp>,
    Pin<Sck, FunctionSpi, PullNone>,
);
type Device<D, Tx, Rx, Sck, Cs> = ExclusiveDevice<
    Spi<Enabled, D, SpiPins<Tx, Rx, Sck>>,
    Pin<Cs, FunctionSioOutput, PullNone>,
    Micros,
>;

/// The converter's bus.
pub type ConverterBus = Device<pac::SPI0, Gpio19, Gpio16, Gpio18, Gpio17>;
/// Low while a conversion waits.
pub type DataReady = Pin<Gpio20, FunctionSioInput, PullUp>;
/// The card's bus.
pub type CardBus = Device<pac::SPI1, Gpio11, Gpio12, Gpio10, Gpio13>;
/// A button to ground.
pub type Button<Id> = Pin<Id, FunctionSioInput, PullUp>;
/// The lights: on the board, and on the case.
pub type Lights = (
    Pin<Gpio25, FunctionSioOutput, PullNone>,
    Pin<Gpio22, FunctionSioOutput, PullNone>,
);

/// All hardware, ready to use.
pub struct Hardware {
    /// The converter.
    pub converter: (ConverterBus, DataReady),
    /// The card, at its start-up speed.
    pub card: CardBus,
    /// Buttons: next weld, and mark.
    pub buttons: (Button<Gpio14>, Button<Gpio15>),
    /// The lights.
    pub lights: Lights,
    /// USB.
    pub usb: UsbBusAllocator<UsbBus>,
    /// Time.
    pub micros: Micros,
    /// Restarts the board unless it is fed.
    pub watchdog: Watchdog,
    /// Clock of the peripherals.
    pub peripherals_hz: HertzU32,
    /// Starts the other core.
    pub second: SecondCore,
}

/// The core that takes readings.
pub struct SecondCore {
    power: pac::PSM,
    private: pac::PPB,
    fifo: SioFifo,
}

impl SecondCore {
    /// Runs this on it, for ever.
    pub fn start(mut self, work: impl FnOnce() + Send + 'static) -> Option<()> {
        /// 16 KiB.
        static STACK: Stack<4096> = Stack::new();
        let mut cores = Multicore::new(&mut self.power, &mut self.private, &mut self.fifo);
        let [_, second] = cores.cores() else {
            return None;
        };
        second.spawn(STACK.take()?, work).ok()
    }
}

impl Hardware {
    /// Sets up everything. `None` if it was taken before, or a clock does not start.
    pub fn take() -> Option<Self> {
        let mut chip = pac::Peripherals::take()?;
        let mut watchdog = Watchdog::new(chip.WATCHDOG);
        let mut clocks = init_clocks_and_plls(
            CRYSTAL_HZ,
            chip.XOSC,
            chip.CLOCKS,
            chip.PLL_SYS,
            chip.PLL_USB,
            &mut chip.RESETS,
            &mut watchdog,
        )
        .ok()?;
        let micros = Micros(Timer::new_timer0(chip.TIMER0, &mut chip.RESETS, &clocks));
        let sio = Sio::new(chip.SIO);
        let pins = Pins::new(
            chip.IO_BANK0,
            chip.PADS_BANK0,
            sio.gpio_bank0,
            &mut chip.RESETS,
        );
        let peripherals_hz = clocks.peripheral_clock.freq();

        start_converter_clock(&mut clocks)?;
        // Nothing else may drive the converter's clock input.
        let _: Pin<Gpio21, FunctionClock, PullNone> = pins.gpio21.reconfigure();
        let converter = spi(
            chip.SPI0,
            (pins.gpio19, pins.gpio16, pins.gpio18),
            (&mut chip.RESETS, peripherals_hz),
            (CONVERTER_SPI_HZ, MODE_1),
        );
        let converter = ExclusiveDevice::new(converter, high(pins.gpio17)?, micros).ok()?;
        let mut card = spi(
            chip.SPI1,
            (pins.gpio11, pins.gpio12, pins.gpio10),
            (&mut chip.RESETS, peripherals_hz),
            (CARD_START_HZ, MODE_0),
        );
        let card_select = high(pins.gpio13)?;
        wake(&mut card, micros)?;
        let card = ExclusiveDevice::new(card, card_select, micros).ok()?;

        let (registers, memory) = (chip.USB, chip.USB_DPRAM);
        let usb = UsbBus::new(registers, memory, clocks.usb_clock, true, &mut chip.RESETS);
        Some(Self {
            converter: (converter, pins.gpio20.reconfigure()),
            card,
            buttons: (pins.gpio14.reconfigure(), pins.gpio15.reconfigure()),
            lights: (pins.gpio25.reconfigure(), pins.gpio22.reconfigure()),
            usb: UsbBusAllocator::new(usb),
            micros,
            watchdog,
            peripherals_hz,
            second: SecondCore {
                power: chip.PSM,
                private: chip.PPB,
                fifo: sio.fifo,
            },
        })
    }
}

/// A bus whose pins are out, back and clock, at this speed.
fn spi<D, Tx, Rx, Sck>(
    device: D,
    (out, back, clock): (Unused<Tx>, Unused<Rx>, Unused<Sck>),
    (resets, peripherals_hz): (&mut pac::RESETS, HertzU32),
    (hz, mode): (u32, Mode),
) -> Spi<Enabled, D, SpiPins<Tx, Rx, Sck>>
where
    D: SpiDevice,
    Tx: PinId + ValidFunction<FunctionSpi>,
    Rx: PinId + ValidFunction<FunctionSpi>,
    Sck: PinId + ValidFunction<FunctionSpi>,
    SpiPins<Tx, Rx, Sck>: ValidSpiPinout<D>,
{
    let pins = (out.reconfigure(), back.reconfigure(), clock.reconfigure());
    Spi::new(device, pins).init(resets, peripherals_hz, hz.Hz(), mode)
}

fn start_converter_clock(clocks: &mut ClocksManager) -> Option<()> {
    clocks
        .gpio_output0_clock
        .configure_clock(&clocks.usb_clock, CONVERTER_CLOCK_HZ.Hz())
        .ok()
}

/// A chip select, inactive.
fn high<Id, F, P>(pin: Pin<Id, F, P>) -> Option<Pin<Id, FunctionSioOutput, PullNone>>
where
    Id: PinId + ValidFunction<FunctionSioOutput>,
    F: hal::gpio::Function,
    P: hal::gpio::PullType,
{
    let mut pin = pin.into_pull_type().into_function();
    OutputPin::set_high(&mut pin).ok()?;
    Some(pin)
}

/// Wakes a card: it needs a millisecond after power-on, then 74 clocks without being selected.
fn wake(bus: &mut impl SpiBus, mut delay: impl DelayNs) -> Option<()> {
    delay.delay_ms(1);
    bus.write(&[0xFF; 10]).ok()?;
    bus.flush().ok()
}

/// Sets the card's bus to its working speed, or to its start-up speed.
pub fn set_card_speed(bus: &mut CardBus, peripherals_hz: HertzU32, awake: bool) {
    let hz = if awake { CARD_SPI_HZ } else { CARD_START_HZ };
    bus.bus_mut().set_baudrate(peripherals_hz, hz.Hz());
}
