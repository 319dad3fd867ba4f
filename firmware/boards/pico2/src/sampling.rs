//! The second core does nothing but take readings, so that neither a slow card nor a computer ever makes one late.

use crate::hardware::{CONVERTER_CLOCK_HZ, ConverterBus, DataReady, Micros};
use coldsquare_core::calibration::{Calibration, CountLimits};
use coldsquare_core::samples::MAX_COUNT;
use coldsquare_core::sensors::{ConverterInput, HallClamp, IsolatedDivider};
use coldsquare_firmware::clock::Ticks;
use coldsquare_firmware::converters::ads131m02::{Ads131m02, Gain, Oversampling, Settings};
use coldsquare_firmware::front_end::Reading;
use coldsquare_firmware::queue::Taker;
use embedded_hal::delay::DelayNs;
use heapless::spsc::Producer;

/// Readings that may wait for the loop: one second of them, in 96 KiB. A card may take half a second for a write.
pub const WAITING: usize = 8192;

/// ± 120 V and ± 600 A with the divider and the clamp of `docs/wiring-and-safety.md`.
const SETTINGS: Settings = Settings {
    clock_hz: CONVERTER_CLOCK_HZ,
    oversampling: Oversampling::By512,
    voltage: Gain::By1,
    current: Gain::By2,
};

/// Between two readings: 1024 clocks of the converter.
const PERIOD_US: u32 = 128;

/// A converter that does not answer is asked again after this.
const ASK_AGAIN_MS: u32 = 100;

/// How volts and amps follow from counts by the data sheets of the parts, until one that was found is sent.
pub fn calibration() -> Calibration {
    let input = |gain: Gain| ConverterInput {
        volts_per_count: gain.volts_per_count(),
        // Of the converter's own reference (data sheet 6.5, with its drift; from memory).
        accuracy: 0.005,
        zero_count: 0,
        limits: CountLimits {
            lowest: -MAX_COUNT,
            highest: MAX_COUNT,
        },
    };
    Calibration {
        voltage: IsolatedDivider {
            ratio: 100.0,
            accuracy: 0.02,
            zero_volts: 0.5,
        }
        .channel(&input(SETTINGS.voltage)),
        current: HallClamp {
            millivolts_per_ampere: 1.0,
            accuracy: 0.03,
            zero_amperes: 5.0,
        }
        .channel(&input(SETTINGS.current)),
        sample_rate_hz: SETTINGS.sample_rate_hz(),
        // A crystal's 30 ppm, and its age.
        rate_relative_uncertainty: 1e-4,
    }
}

/// What the second core needs.
pub struct Sampling {
    /// The converter's bus.
    pub bus: ConverterBus,
    /// Its data-ready line.
    pub data_ready: DataReady,
    /// The time.
    pub micros: Micros,
    /// Where readings go.
    pub readings: Producer<'static, Reading>,
}

impl Sampling {
    /// Takes readings for ever. While the converter does not answer, what was due is told as lost.
    pub fn run(mut self) {
        let mut told_us = self.micros.micros();
        let converter = loop {
            let (bus, data_ready) = (&mut self.bus, &mut self.data_ready);
            match Ads131m02::start(bus, data_ready, self.micros, &mut self.micros, SETTINGS) {
                Ok(converter) => break converter,
                Err(_) => self.micros.delay_ms(ASK_AGAIN_MS),
            }
            let due = self.micros.micros().wrapping_sub(told_us) / PERIOD_US;
            if self.readings.enqueue(Reading::Dropped(due)).is_ok() {
                told_us = told_us.wrapping_add(due * PERIOD_US);
            }
        };
        let mut taker = Taker::new(converter, self.readings);
        loop {
            taker.take();
        }
    }
}
