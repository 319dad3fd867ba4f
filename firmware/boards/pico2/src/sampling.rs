//! The second core only takes readings, so that neither a slow card nor a computer can delay one.

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

/// Readings that may wait for the loop: one second of them, in 96 KiB. A card may need half a second for a write.
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

/// Time until a converter that does not answer is tried again.
const RETRY_MS: u32 = 100;

/// The calibration from the data sheets of the parts, used until a measured one is sent.
pub fn calibration() -> Calibration {
    let input = |gain: Gain| ConverterInput {
        volts_per_count: gain.volts_per_count(),
        // That of the converter's own reference (data sheet 6.5, with drift; from memory).
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
        // 30 ppm of a crystal, plus ageing.
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
    /// The queue for readings.
    pub readings: Producer<'static, Reading>,
}

impl Sampling {
    /// Takes readings for ever. While the converter does not answer, the pairs that were due are reported as lost.
    pub fn run(mut self) {
        let mut reported_us = self.micros.micros();
        let converter = loop {
            let (bus, data_ready) = (&mut self.bus, &mut self.data_ready);
            match Ads131m02::start(bus, data_ready, self.micros, &mut self.micros, SETTINGS) {
                Ok(converter) => break converter,
                Err(_) => self.micros.delay_ms(RETRY_MS),
            }
            let due = self.micros.micros().wrapping_sub(reported_us) / PERIOD_US;
            if self.readings.enqueue(Reading::Dropped(due)).is_ok() {
                reported_us = reported_us.wrapping_add(due * PERIOD_US);
            }
        };
        let mut taker = Taker::new(converter, self.readings);
        loop {
            taker.take();
        }
    }
}
