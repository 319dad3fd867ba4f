//! ADS131M02: two delta-sigma converters of 24 bits that sample at the same moment, over SPI, each frame with a CRC.
//!
//! ```text
//! DOUT  answer 24 | voltage 24 | current 24 | CRC-16, 8 zero bits     chip select low for the whole frame, SPI mode 1
//! DIN   command   | data       | 0          | 0
//! ```
//!
//! Voltage is on channel 0, current on channel 1. The answer to "nothing" is the status register. What a frame says is
//! taken only when its checksum holds and the status is that of a converter that still has its settings.
//!
//! | what happens | what the logger is told | what the driver does |
//! |---|---|---|
//! | checksum wrong | one pair lost | goes on with the next frame: chip select begins it afresh |
//! | that, [`BAD_FRAMES`] times in a row | each pair lost | starts the converter anew |
//! | the bus refuses | what comes meanwhile is lost | asks again at each turn |
//! | the converter was reset (supply dip) | pairs lost until it is set up | sets it up again, verified |
//! | no conversion for [`SILENT_PERIODS`] periods | as many pairs lost as were due | starts it anew, again and again |
//! | both channels on one and the same count for [`STILL_FRAMES`] frames | from then on pairs lost | starts it anew |
//! | the logger came late, and conversions were overwritten | those pairs lost | throws away what is stale |
//!
//! Source of registers, commands and times: ADS131M02 data sheet (SBAS853), 8.5 serial interface and 8.6 register map;
//! values from memory, in part seen again in public drivers of the family.

use super::Ticks;
use super::pace::{Pace, Time};
use crate::front_end::{FrontEnd, Reading};
use coldsquare_core::samples::RawPair;
use embedded_hal::delay::DelayNs;
use embedded_hal::digital::InputPin;
use embedded_hal::spi::SpiDevice;

/// Bytes of a frame: four words of 24 bits.
pub const FRAME: usize = 12;

/// Bytes of a frame that its checksum covers.
const COVERED: usize = 9;

/// Between voltage and current: both modulators run on one clock.
pub const SKEW_S: f64 = 0.0;

/// Input at full scale with gain 1, V either way (data sheet 8.3.5; from memory).
pub const FULL_SCALE_VOLTS: f64 = 1.2;

/// Frames in a row that fail their checksum after which the converter is started anew.
pub const BAD_FRAMES: u8 = 8;

/// Periods without a conversion after which the converter counts as lost.
pub const SILENT_PERIODS: u32 = 16;

/// Frames in a row with the very same counts on both channels: the noise of 24 bits alone makes that impossible.
pub const STILL_FRAMES: u16 = 256;

/// CRC-16/IBM-3740, also called CCITT-FALSE: polynomial 1021, start FFFF.
const CRC: crc::Crc<u16> = crc::Crc::<u16>::new(&crc::CRC_16_IBM_3740);

const ID: u8 = 0x00;
const MODE: u8 = 0x02;
const CLOCK: u8 = 0x03;
const GAIN: u8 = 0x04;

const NOTHING: u16 = 0x0000;
const RESET: u16 = 0x0011;
const READ: u16 = 0xa000;
const WRITE: u16 = 0x6000;

/// Words of 24 bits, CCITT checksum, frames that stop half-way time out, the reset flag cleared.
const MODE_SETTING: u16 = 0x0110;
/// Both channels on, high resolution.
const CLOCK_SETTING: u16 = 0x0302;
/// Status: the converter has started since its mode was written, and has forgotten what it was told.
const STATUS_RESET: u16 = 1 << 10;
/// Upper byte of the identity: two channels.
const TWO_CHANNELS: u16 = 0x22;

/// Modulator clocks per sample: the more, the slower and the quieter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u16)]
pub enum Oversampling {
    /// 16 000 pairs a second at 8.192 MHz.
    By256 = 1,
    /// 8 000 pairs a second at 8.192 MHz: the usual one.
    By512 = 2,
    /// 4 000.
    By1024 = 3,
    /// 2 000.
    By2048 = 4,
}

impl Oversampling {
    const fn factor(self) -> u32 {
        128 << self as u16
    }
}

/// Gain before a channel: how much smaller than 1.2 V its full scale is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u16)]
pub enum Gain {
    /// ± 1.2 V.
    By1 = 0,
    /// ± 0.6 V.
    By2 = 1,
    /// ± 0.3 V.
    By4 = 2,
    /// ± 0.15 V.
    By8 = 3,
}

impl Gain {
    /// Volts at the converter's pins per count.
    #[must_use]
    pub fn volts_per_count(self) -> f64 {
        FULL_SCALE_VOLTS / f64::from(1_u32 << self as u16) / 8_388_608.0
    }
}

/// How the converter is to be set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Frequency at its clock input, Hz: up to 8.2 MHz in high resolution.
    pub clock_hz: u32,
    /// Modulator clocks per sample.
    pub oversampling: Oversampling,
    /// Gain of channel 0.
    pub voltage: Gain,
    /// Gain of channel 1.
    pub current: Gain,
}

impl Settings {
    /// Sample pairs per second: the modulator runs at half the clock.
    #[must_use]
    pub fn sample_rate_hz(&self) -> f64 {
        f64::from(self.clock_hz) / f64::from(2 * self.oversampling.factor())
    }

    /// The period in 1/256 µs.
    const fn period(&self) -> Time {
        let clocks = 2 * self.oversampling.factor() as u64 * 256_000_000;
        let hz = if self.clock_hz == 0 { 1 } else { self.clock_hz } as u64;
        (clocks + hz / 2) / hz
    }

    const fn registers(&self) -> [(u8, u16); 3] {
        [
            (MODE, MODE_SETTING),
            (CLOCK, CLOCK_SETTING | ((self.oversampling as u16) << 2)),
            (GAIN, self.voltage as u16 | ((self.current as u16) << 4)),
        ]
    }
}

/// Why the converter could not be started.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StartError<E> {
    /// The bus refused.
    Bus(E),
    /// What came back fails its checksum: nothing there, wires, or the wrong SPI mode.
    Checksum,
    /// Something answers, but it is not this converter: its identity.
    Identity(u16),
    /// A register did not keep what was written.
    Register {
        /// Its address.
        address: u8,
        /// What it holds.
        found: u16,
    },
}

/// The converter.
#[derive(Debug)]
pub struct Ads131m02<S, D, T> {
    spi: S,
    data_ready: D,
    pace: Pace<T>,
    settings: Settings,
    /// The last moment at which no conversion was waiting.
    clear: Time,
    bad_frames: u8,
    still: u16,
    last: RawPair,
    /// A pair that waits until the loss before it was told.
    held: Option<RawPair>,
    /// It was told to start and is to be set up next.
    restarting: bool,
}

impl<S: SpiDevice, D: InputPin, T: Ticks> Ads131m02<S, D, T> {
    /// Starts the converter and verifies every setting. `ticks` should run on the clock that the converter gets.
    ///
    /// # Errors
    /// [`StartError`] says what is wrong; the wiring is then to be looked at.
    pub fn start(
        mut spi: S,
        data_ready: D,
        ticks: T,
        delay: &mut impl DelayNs,
        settings: Settings,
    ) -> Result<Self, StartError<S::Error>> {
        exchange(&mut spi, RESET, 0).map_err(StartError::Bus)?;
        // At least 5 µs until registers can be reached (data sheet 6.7, from memory); 1 ms is no loss.
        delay.delay_ms(1);
        set_up(&mut spi, &settings)?;
        Ok(Self {
            spi,
            data_ready,
            pace: Pace::new(ticks, settings.period()),
            settings,
            clear: 0,
            bad_frames: 0,
            still: 0,
            last: RawPair::default(),
            held: None,
            restarting: false,
        })
    }

    /// Takes a conversion that came between two moments.
    fn take(&mut self, earliest: Time, now: Time) -> Reading {
        let Ok(frame) = exchange(&mut self.spi, NOTHING, 0) else {
            // It still waits in the converter, and at the next turn it is asked for again.
            return Reading::Waiting;
        };
        let missed = self.pace.count_seen(earliest, now) - 1;
        let pair = self.trusted(&frame);
        self.clear = self.pace.now();
        match (missed, pair) {
            (0, Some(pair)) => Reading::Pair(pair),
            (_, None) => Reading::Dropped(missed.saturating_add(1)),
            (_, Some(pair)) => {
                self.held = Some(pair);
                Reading::Dropped(missed)
            }
        }
    }

    /// The pair of a frame; `None` when it is not to be trusted.
    fn trusted(&mut self, frame: &[u8; FRAME]) -> Option<RawPair> {
        let Some((status, pair)) = opened(frame) else {
            self.bad_frames += 1;
            if self.bad_frames >= BAD_FRAMES {
                self.restart();
            }
            return None;
        };
        self.bad_frames = 0;
        if status & STATUS_RESET != 0 {
            // Reset already, so only what it forgot is to be told again; what it measured has another scale.
            self.restarting = true;
            return None;
        }
        self.still = if pair == self.last {
            self.still.saturating_add(1)
        } else {
            0
        };
        self.last = pair;
        if self.still >= STILL_FRAMES {
            self.restart();
            return None;
        }
        Some(pair)
    }

    /// Asks the converter to start anew. It is set up at the next turn, when a reset has long taken effect.
    fn restart(&mut self) {
        self.bad_frames = 0;
        self.restarting = exchange(&mut self.spi, RESET, 0).is_ok();
    }

    /// What was due while nothing came is lost.
    fn give_up(&mut self, due: u32, now: Time) -> Reading {
        self.pace.count(due);
        self.clear = now;
        self.restart();
        Reading::Dropped(due)
    }
}

impl<S: SpiDevice, D: InputPin, T: Ticks> FrontEnd for Ads131m02<S, D, T> {
    fn next(&mut self) -> Reading {
        if let Some(pair) = self.held.take() {
            return Reading::Pair(pair);
        }
        if self.restarting {
            // Where that fails, silence or the status of its next frame asks for it again.
            self.restarting = false;
            let _ = set_up(&mut self.spi, &self.settings);
        }
        let now = self.pace.now();
        let due = self.pace.due(now);
        // A pin that cannot be read is as good as one that never moves.
        if !self.data_ready.is_low().unwrap_or(false) {
            self.clear = now;
            return if due >= SILENT_PERIODS {
                self.give_up(due, now)
            } else {
                Reading::Waiting
            };
        }
        let unwatched = now.saturating_sub(self.clear);
        if unwatched * 2 < 3 * self.pace.period() {
            return self.take(self.clear, now);
        }
        // The converter keeps two conversions, and nobody knows how old the first one is: both go (data sheet 8.5.1.9.1,
        // from memory). The next one is seen as it comes, and tells how many were missed.
        let discarded = (0..2).all(|_| exchange(&mut self.spi, NOTHING, 0).is_ok());
        if discarded {
            self.clear = now;
        }
        if due >= SILENT_PERIODS {
            self.pace.count(due);
            return Reading::Dropped(due);
        }
        Reading::Waiting
    }
}

/// Checks that it is the right converter, writes its settings and reads them back.
fn set_up<S: SpiDevice>(spi: &mut S, settings: &Settings) -> Result<(), StartError<S::Error>> {
    let identity = register(spi, ID)?;
    if identity >> 8 != TWO_CHANNELS {
        return Err(StartError::Identity(identity));
    }
    for (address, wanted) in settings.registers() {
        exchange(spi, WRITE | u16::from(address) << 7, wanted).map_err(StartError::Bus)?;
        let found = register(spi, address)?;
        if found != wanted {
            return Err(StartError::Register { address, found });
        }
    }
    Ok(())
}

/// Reads a register: asked for in one frame, answered in the next.
fn register<S: SpiDevice>(spi: &mut S, address: u8) -> Result<u16, StartError<S::Error>> {
    exchange(spi, READ | u16::from(address) << 7, 0).map_err(StartError::Bus)?;
    let frame = exchange(spi, NOTHING, 0).map_err(StartError::Bus)?;
    opened(&frame)
        .map(|(answer, _)| answer)
        .ok_or(StartError::Checksum)
}

fn exchange<S: SpiDevice>(spi: &mut S, command: u16, data: u16) -> Result<[u8; FRAME], S::Error> {
    let ([c1, c0], [d1, d0]) = (command.to_be_bytes(), data.to_be_bytes());
    let mut frame = [c1, c0, 0, d1, d0, 0, 0, 0, 0, 0, 0, 0];
    spi.transfer_in_place(&mut frame)?;
    Ok(frame)
}

/// Answer and counts of a frame whose checksum holds.
fn opened(frame: &[u8; FRAME]) -> Option<(u16, RawPair)> {
    let &[a1, a0, _, v2, v1, v0, i2, i1, i0, c1, c0, _] = frame;
    let covered = frame.first_chunk::<COVERED>()?;
    (CRC.checksum(covered) == u16::from_be_bytes([c1, c0])).then(|| {
        // At the top of 32 bits and shifted down, so that the sign comes along.
        let count = |high, middle, low| i32::from_be_bytes([high, middle, low, 0]) >> 8;
        (
            u16::from_be_bytes([a1, a0]),
            RawPair::new(count(v2, v1, v0), count(i2, i1, i0)),
        )
    })
}
