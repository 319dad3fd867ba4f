//! A converter on the bench that keeps to its data sheet, on a clock that the test turns, with faults to be had.

use coldsquare_firmware::converters::ads131m02::{
    Ads131m02, FRAME, Gain, Oversampling, Settings, StartError,
};
use embedded_hal::spi::{ErrorKind, ErrorType, Operation, SpiDevice};
use embedded_hal_mock::eh1::delay::NoopDelay;
use std::cell::RefCell;
use std::collections::VecDeque;
use std::convert::Infallible;
use std::rc::Rc;

/// 8 000 pairs a second.
pub const SETTINGS: Settings = Settings {
    clock_hz: 8_192_000,
    oversampling: Oversampling::By512,
    voltage: Gain::By1,
    current: Gain::By2,
};

/// The period that these settings give.
pub const PERIOD_US: u32 = 125;

/// Where its counter of microseconds begins: it wraps half-way through a welder's bead, as it does every 71 minutes.
const BEGINS_US: u64 = u32::MAX as u64 - 2_000_000;

/// What goes wrong on the bench.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// A bit of the next frames flips on its way.
    FlippedBit,
    /// The bus refuses.
    Bus,
    /// Its clock stops, so that no conversion comes.
    NoClock,
    /// It goes on giving the same counts.
    Stuck,
    /// Its supply dips, again and again: it forgets how it was set up.
    SupplyDips,
}

#[derive(Debug)]
struct Chip {
    /// Time on the bench, and when the next conversion is ready.
    micros: u64,
    next_conversion_us: u64,
    /// Conversions that are waiting, at most two.
    waiting: VecDeque<(i32, i32)>,
    conversions: i32,
    wave: fn(i32) -> (i32, i32),
    registers: [u16; 5],
    asked: Option<u8>,
    reset: bool,
    fault: Option<Fault>,
    starts: u32,
}

impl Chip {
    fn run_until(&mut self, micros: u64) {
        self.micros = micros;
        while self.next_conversion_us <= micros {
            self.next_conversion_us += u64::from(PERIOD_US);
            if self.fault == Some(Fault::NoClock) {
                continue;
            }
            if self.fault != Some(Fault::Stuck) {
                self.conversions += 1;
            }
            if self.waiting.len() == 2 {
                self.waiting.pop_front();
            }
            self.waiting.push_back((self.wave)(self.conversions));
        }
    }

    fn exchange(&mut self, frame: &mut [u8]) {
        let answer = match self.asked.take() {
            Some(register) => self.registers[usize::from(register)],
            // Words of 24 bits, both channels ready; bit 10 tells of a reset.
            None => 0x0103 | u16::from(self.reset) << 10,
        };
        let (command, data) = (
            u16::from_be_bytes([frame[0], frame[1]]),
            u16::from_be_bytes([frame[3], frame[4]]),
        );
        let register = (command >> 7 & 0x1f) as u8;
        match command >> 13 {
            0b101 => self.asked = Some(register),
            0b011 => {
                self.registers[usize::from(register)] = data;
                if register == 2 {
                    self.reset = data & 0x0400 != 0;
                }
            }
            _ if command == 0x0011 => self.power_on(),
            _ => {}
        }
        let (v, i) = self
            .waiting
            .pop_front()
            .unwrap_or((self.wave)(self.conversions));
        let bytes = framed(answer, v, i);
        frame.copy_from_slice(&bytes);
        if self.fault == Some(Fault::FlippedBit) {
            frame[4] ^= 0x10;
        }
    }

    fn power_on(&mut self) {
        self.registers = [0x2282, 0, 0x0510, 0x030e, 0];
        self.reset = true;
        self.starts += 1;
    }
}

/// The n-th conversion.
pub fn counts(n: i32) -> (i32, i32) {
    (100_000 + n, -200_000 - 3 * n)
}

/// A frame as the converter sends it, its checksum worked out bit by bit.
pub fn framed(answer: u16, v: i32, i: i32) -> [u8; FRAME] {
    let ([a1, a0], [_, v2, v1, v0], [_, i2, i1, i0]) =
        (answer.to_be_bytes(), v.to_be_bytes(), i.to_be_bytes());
    let covered = [a1, a0, 0, v2, v1, v0, i2, i1, i0];
    let [c1, c0] = crc16(&covered).to_be_bytes();
    let mut frame = [0; FRAME];
    frame[..9].copy_from_slice(&covered);
    frame[9..11].copy_from_slice(&[c1, c0]);
    frame
}

/// CRC-16 with polynomial 1021 and start FFFF, by its definition.
pub fn crc16(bytes: &[u8]) -> u16 {
    bytes.iter().fold(0xffff, |crc, byte| {
        (0..8).fold(crc ^ u16::from(*byte) << 8, |crc, _| {
            if crc & 0x8000 == 0 {
                crc << 1
            } else {
                crc << 1 ^ 0x1021
            }
        })
    })
}

/// The bench: its clock, and a hand on the converter.
#[derive(Clone, Debug)]
pub struct Bench(Rc<RefCell<Chip>>);

impl Bench {
    pub fn new() -> Self {
        let mut chip = Chip {
            micros: 0,
            next_conversion_us: PERIOD_US.into(),
            waiting: VecDeque::new(),
            conversions: 0,
            wave: counts,
            registers: [0; 5],
            asked: None,
            reset: false,
            fault: None,
            starts: 0,
        };
        chip.power_on();
        Self(Rc::new(RefCell::new(chip)))
    }

    pub fn start(&self) -> Result<Driven, StartError<ErrorKind>> {
        let ticks: Box<dyn FnMut() -> u32> = {
            let bench = self.clone();
            Box::new(move || bench.micros())
        };
        Ads131m02::start(
            self.clone(),
            self.clone(),
            ticks,
            &mut NoopDelay::new(),
            SETTINGS,
        )
    }

    pub fn micros(&self) -> u32 {
        (BEGINS_US + self.0.borrow().micros) as u32
    }

    pub fn pass(&self, micros: u32) {
        let mut chip = self.0.borrow_mut();
        let until = chip.micros + u64::from(micros);
        chip.run_until(until);
    }

    /// What its inputs see from now on, by the number of the conversion.
    pub fn sees(&self, wave: fn(i32) -> (i32, i32)) {
        self.0.borrow_mut().wave = wave;
    }

    pub fn starts(&self) -> u32 {
        self.0.borrow().starts
    }

    pub fn fault(&self, fault: Option<Fault>) {
        self.0.borrow_mut().fault = fault;
    }

    pub fn supply_dips(&self) {
        self.0.borrow_mut().power_on();
    }

    pub fn registers(&self) -> [u16; 5] {
        self.0.borrow().registers
    }

    pub fn put_another_chip(&self, identity: u16) {
        self.0.borrow_mut().registers[0] = identity;
    }
}

pub type Driven = Ads131m02<Bench, Bench, Box<dyn FnMut() -> u32>>;

impl ErrorType for Bench {
    type Error = ErrorKind;
}

impl SpiDevice for Bench {
    fn transaction(&mut self, operations: &mut [Operation<'_, u8>]) -> Result<(), ErrorKind> {
        let mut chip = self.0.borrow_mut();
        if chip.fault == Some(Fault::Bus) {
            return Err(ErrorKind::Other);
        }
        for operation in operations {
            match operation {
                Operation::TransferInPlace(frame) => chip.exchange(frame),
                _ => panic!("frames go both ways at once"),
            }
        }
        Ok(())
    }
}

impl embedded_hal::digital::ErrorType for Bench {
    type Error = Infallible;
}

impl embedded_hal::digital::InputPin for Bench {
    fn is_high(&mut self) -> Result<bool, Infallible> {
        Ok(self.0.borrow().waiting.is_empty())
    }
    fn is_low(&mut self) -> Result<bool, Infallible> {
        Ok(!self.0.borrow().waiting.is_empty())
    }
}
