//! The chip's own converter, 12 bits, read when the timer says so. The emulator's gives 7 more at each conversion, and round
//! again: a saw-tooth that a test knows.

use crate::register::Register;
use crate::timer::Timer;
use coldsquare_core::samples::RawPair;
use coldsquare_firmware::front_end::{FrontEnd, Reading};

const ADC_1: usize = 0x4001_2000;
const STATUS: Register = Register::at(ADC_1);
const CONTROL_2: Register = Register::at(ADC_1 + 0x08);
const FIRST_OF_SEQUENCE: Register = Register::at(ADC_1 + 0x34);
const DATA: Register = Register::at(ADC_1 + 0x4C);

const ON: u32 = 1;
const START: u32 = 1 << 30;
const DONE: u32 = 1 << 1;
/// The emulator never says that a conversion is done; on a chip it takes a microsecond.
const LOOKS: usize = 4;

/// Inputs of the divider and of the clamp.
const VOLTAGE: u32 = 1;
const CURRENT: u32 = 2;

/// Voltage and current, one after the other, once a period of the timer.
#[derive(Debug)]
pub struct Converter {
    timer: Timer,
}

impl Converter {
    /// The converter, on.
    #[must_use]
    pub fn new(timer: Timer) -> Self {
        CONTROL_2.write(ON);
        Self { timer }
    }
}

fn convert(input: u32) -> i32 {
    FIRST_OF_SEQUENCE.write(input);
    CONTROL_2.write(ON | START);
    let _ = (0..LOOKS).any(|_| STATUS.read() & DONE != 0);
    (DATA.read() & 0xFFF).cast_signed()
}

impl FrontEnd for Converter {
    fn next(&mut self) -> Reading {
        if !self.timer.period_ended() {
            return Reading::Waiting;
        }
        let voltage = convert(VOLTAGE);
        Reading::Pair(RawPair::new(voltage, convert(CURRENT)))
    }
}
