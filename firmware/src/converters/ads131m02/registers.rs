//! Registers, commands and frames of the converter.

use super::super::schedule::Time;
use coldsquare_core::samples::RawPair;
use embedded_hal::spi::SpiDevice;

/// Bytes of a frame: four words of 24 bits.
pub const FRAME: usize = 12;

/// Bytes of a frame that its checksum covers.
const COVERED: usize = 9;

/// Input at full scale with gain 1, V either way (data sheet 8.3.5; from memory).
pub const FULL_SCALE_VOLTS: f64 = 1.2;

/// CRC-16/IBM-3740, also called CCITT-FALSE: polynomial 1021, start FFFF.
const CRC: crc::Crc<u16> = crc::Crc::<u16>::new(&crc::CRC_16_IBM_3740);

const ID: u8 = 0x00;
const MODE: u8 = 0x02;
const CLOCK: u8 = 0x03;
const GAIN: u8 = 0x04;

pub(super) const NOTHING: u16 = 0x0000;
pub(super) const RESET: u16 = 0x0011;
const READ: u16 = 0xa000;
const WRITE: u16 = 0x6000;

/// Words of 24 bits, CCITT checksum, timeout for incomplete frames, reset flag cleared.
const MODE_SETTING: u16 = 0x0110;
/// Both channels on, high resolution.
const CLOCK_SETTING: u16 = 0x0302;
/// Status: the converter was reset since its mode was written and has lost its settings.
pub(super) const STATUS_RESET: u16 = 1 << 10;
/// Upper byte of the identity: two channels.
const TWO_CHANNELS: u16 = 0x22;

/// Modulator clocks per sample: more are slower and less noisy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u16)]
pub enum Oversampling {
    /// 16 000 pairs a second at 8.192 MHz.
    By256 = 1,
    /// 8 000 pairs a second at 8.192 MHz: the usual choice.
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

/// Gain before a channel: 1.2 V over its full scale.
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

/// Settings of the converter.
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
    pub(super) const fn period(&self) -> Time {
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
    /// The reply fails its checksum: no converter, a wiring fault, or the wrong SPI mode.
    Checksum,
    /// Another chip answers; this is its identity.
    Identity(u16),
    /// A register did not keep its setting.
    Register {
        /// Its address.
        address: u8,
        /// Its content.
        found: u16,
    },
}

/// Checks the identity, writes the settings and reads them back.
pub(super) fn set_up<S: SpiDevice>(
    spi: &mut S,
    settings: &Settings,
) -> Result<(), StartError<S::Error>> {
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

/// Reads a register: requested in one frame, answered in the next.
fn register<S: SpiDevice>(spi: &mut S, address: u8) -> Result<u16, StartError<S::Error>> {
    exchange(spi, READ | u16::from(address) << 7, 0).map_err(StartError::Bus)?;
    let frame = exchange(spi, NOTHING, 0).map_err(StartError::Bus)?;
    open(&frame)
        .map(|(answer, _)| answer)
        .ok_or(StartError::Checksum)
}

pub(super) fn exchange<S: SpiDevice>(
    spi: &mut S,
    command: u16,
    data: u16,
) -> Result<[u8; FRAME], S::Error> {
    let ([c1, c0], [d1, d0]) = (command.to_be_bytes(), data.to_be_bytes());
    let mut frame = [c1, c0, 0, d1, d0, 0, 0, 0, 0, 0, 0, 0];
    spi.transfer_in_place(&mut frame)?;
    Ok(frame)
}

/// Answer and counts of a frame with a valid checksum.
pub(super) fn open(frame: &[u8; FRAME]) -> Option<(u16, RawPair)> {
    let &[a1, a0, _, v2, v1, v0, i2, i1, i0, c1, c0, _] = frame;
    let covered = frame.first_chunk::<COVERED>()?;
    (CRC.checksum(covered) == u16::from_be_bytes([c1, c0])).then(|| {
        // Sign-extended by shifting down from the top of 32 bits.
        let count = |high, middle, low| i32::from_be_bytes([high, middle, low, 0]) >> 8;
        (
            u16::from_be_bytes([a1, a0]),
            RawPair::new(count(v2, v1, v0), count(i2, i1, i0)),
        )
    })
}
