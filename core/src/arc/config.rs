//! What counts as an arc: thresholds and times, in amperes and seconds for people, in counts and samples for the detector.

use crate::bead::Bead;
use crate::calibration::{Calibration, Channel, CountLimits};
use crate::process::Process;
use crate::samples::WindowSums;
use crate::units::{Amperes, Seconds};

/// Thresholds and times in amperes and seconds. Start from [`ArcSettings::for_process`].
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ArcSettings {
    /// At or above this magnitude the arc counts as struck. Greater than `burning`.
    pub striking: Amperes,
    /// At or above this magnitude a burning arc counts as still burning. Greater than 0.
    pub burning: Amperes,
    /// A current below `burning` for less than this is part of the arc (zero crossings, pulses). Greater than 0.
    pub longest_dip: Seconds,
    /// An arc that is struck again within this time continues the same bead. At least `longest_dip`.
    pub longest_gap: Seconds,
    /// A bead has at least this arc time; anything shorter counts as idle. 0 or more.
    pub shortest_bead: Seconds,
    /// A bead with no more arc time than this is a tack. 0 or more.
    pub longest_tack: Seconds,
    /// Length of a window while the arc burns. Greater than 0.
    pub arc_window: Seconds,
    /// Length of a window while the arc is off. Greater than 0.
    pub idle_window: Seconds,
}

impl ArcSettings {
    /// Settings for a process. Common practice, no source:
    ///
    /// | | striking | burning | longest gap | longest tack | why |
    /// | --- | --- | --- | --- | --- | --- |
    /// | TIG, plasma | 5 A | 3 A | 0.5 s | 2 s | arcs from about 10 A; a high-frequency start may need several tries |
    /// | MIG/MAG, cored wires, submerged arc | 20 A | 10 A | 0.4 s | 1 s | above the drift of an open-loop clamp, below the base current of a pulse |
    /// | stick | 15 A | 8 A | 0.5 s | 1.5 s | struck by tapping, which makes and breaks contact |
    ///
    /// The longest dip is always 25 ms: the zero crossing of 50 A sine-wave AC at 50 Hz stays below 10 A for 1.3 ms, while
    /// a welder who lifts off needs more than 100 ms to strike again. The shortest bead is 50 ms; a window is 0.1 s while
    /// the arc is on and 1 s while it is off.
    #[must_use]
    pub const fn for_process(process: Process) -> Self {
        let (striking, burning, longest_gap, longest_tack) = match process {
            Process::Tig | Process::Plasma => (5.0, 3.0, 0.5, 2.0),
            Process::ManualMetalArc => (15.0, 8.0, 0.5, 1.5),
            _ => (20.0, 10.0, 0.4, 1.0),
        };
        Self {
            striking: Amperes(striking),
            burning: Amperes(burning),
            longest_dip: Seconds(0.025),
            longest_gap: Seconds(longest_gap),
            shortest_bead: Seconds(0.05),
            longest_tack: Seconds(longest_tack),
            arc_window: Seconds(0.1),
            idle_window: Seconds(1.0),
        }
    }
}

/// Why settings cannot be used. Each names the field of [`ArcSettings`] or of the calibration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ArcConfigError {
    /// The quantity is infinite, not a number, or zero or negative where it must not be.
    Unusable(&'static str),
    /// The counts are too coarse to tell `striking` from `burning`, or `burning` from zero.
    TooCoarse,
    /// `longest_gap` must be at least `longest_dip`.
    GapShorterThanDip,
    /// At this sampling rate a window of this length has more than [`WindowSums::CAPACITY`] samples.
    WindowTooLong(&'static str),
}

impl core::fmt::Display for ArcConfigError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Unusable(what) => write!(f, "{what} is not a usable number; correct it"),
            Self::TooCoarse => write!(
                f,
                "the converter's counts are too coarse for these currents; raise the striking and burning current"
            ),
            Self::GapShorterThanDip => {
                write!(f, "longest gap must not be shorter than longest dip")
            }
            Self::WindowTooLong(what) => write!(
                f,
                "{what} has more than {} samples at this rate; make it shorter",
                WindowSums::CAPACITY
            ),
        }
    }
}

impl core::error::Error for ArcConfigError {}

/// How beads are found, in counts and samples: [`ArcSettings`] as the detector uses them and a log's header stores them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ArcCounts {
    /// Current count at which no current flows.
    pub zero: i32,
    /// At or above this distance from `zero` the arc counts as struck, counts.
    pub striking: u32,
    /// At or above this distance from `zero` a burning arc counts as still burning, counts.
    pub burning: u32,
    /// A current below `burning` for fewer samples than this is part of the arc.
    pub longest_dip: u32,
    /// An arc that is struck again within this many samples continues the same bead.
    pub longest_gap: u32,
    /// A bead has at least this many samples with the arc on.
    pub shortest_bead: u32,
    /// A bead with no more arc-on samples than this is a tack.
    pub longest_tack: u32,
    /// Longest window while the arc burns, samples.
    pub arc_window: u32,
    /// Longest window while the arc is off, samples.
    pub idle_window: u32,
}

impl ArcCounts {
    /// The same currents in the counts of another calibration of the current channel; times stay as they are.
    #[must_use]
    pub fn recalibrated(&self, from: &Channel, to: &Channel) -> Self {
        let ratio = (from.gain_per_count / to.gain_per_count).abs();
        // `as` saturates; a gain that is not a number gives 0, which `from_counts` refuses.
        let counts = |counts: u32| libm::round(f64::from(counts) * ratio) as u32;
        Self {
            zero: to.nearest_zero(),
            striking: counts(self.striking),
            burning: counts(self.burning),
            ..*self
        }
    }
}

/// The detector's configuration: immutable, with the limits of both channels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ArcConfig {
    pub(super) counts: ArcCounts,
    pub(super) voltage_limits: CountLimits,
    pub(super) current_limits: CountLimits,
}

impl ArcConfig {
    /// Settings in the counts and samples of this calibration.
    ///
    /// # Errors
    /// [`ArcConfigError`] when a number is not usable or does not fit the converter or the sample rate.
    pub fn new(settings: &ArcSettings, calibration: &Calibration) -> Result<Self, ArcConfigError> {
        let gain = calibration.current.gain_per_count.abs();
        positive("current gain", gain)?;
        let rate = positive("sample rate", calibration.sample_rate_hz)?;
        let counts = |name, level: Amperes| Ok(libm::round(positive(name, level.0)? / gain) as u32);
        // At least one sample, so that every time has an effect; `as` saturates.
        let samples =
            |name, time: Seconds| Ok(libm::round(positive(name, time.0)? * rate).max(1.0) as u32);
        let samples_or_none = |name, time: Seconds| {
            if time.0 == 0.0 {
                Ok(0)
            } else {
                samples(name, time)
            }
        };
        let found = ArcCounts {
            zero: calibration.current.nearest_zero(),
            striking: counts("striking current", settings.striking)?,
            burning: counts("burning current", settings.burning)?,
            longest_dip: samples("longest dip", settings.longest_dip)?,
            longest_gap: samples("longest gap", settings.longest_gap)?,
            shortest_bead: samples_or_none("shortest bead", settings.shortest_bead)?,
            longest_tack: samples_or_none("longest tack", settings.longest_tack)?,
            arc_window: samples("arc window", settings.arc_window)?,
            idle_window: samples("idle window", settings.idle_window)?,
        };
        Self::from_counts(found, calibration)
    }

    /// From the counts in a log's header, with the limits of the channels.
    ///
    /// # Errors
    /// [`ArcConfigError`] when the counts contradict each other.
    pub fn from_counts(
        counts: ArcCounts,
        calibration: &Calibration,
    ) -> Result<Self, ArcConfigError> {
        if counts.burning == 0 || counts.striking <= counts.burning {
            return Err(ArcConfigError::TooCoarse);
        }
        for (name, samples) in [
            ("longest dip", counts.longest_dip),
            ("arc window", counts.arc_window),
            ("idle window", counts.idle_window),
        ] {
            if samples == 0 {
                return Err(ArcConfigError::Unusable(name));
            }
        }
        if counts.longest_gap < counts.longest_dip {
            return Err(ArcConfigError::GapShorterThanDip);
        }
        // A dip is merged into an arc-on window that may be one sample short of full, or becomes an arc-off window.
        let capacity = u32::from(WindowSums::CAPACITY);
        if counts.arc_window.saturating_add(counts.longest_dip) > capacity {
            return Err(ArcConfigError::WindowTooLong("arc window and longest dip"));
        }
        if counts.idle_window > capacity {
            return Err(ArcConfigError::WindowTooLong("idle window"));
        }
        Ok(Self {
            counts,
            voltage_limits: calibration.voltage.limits(),
            current_limits: calibration.current.limits(),
        })
    }

    /// The counts, for the header of a log.
    #[must_use]
    pub const fn counts(&self) -> ArcCounts {
        self.counts
    }

    /// True if this current strikes the arc.
    #[inline]
    #[must_use]
    pub const fn strikes(&self, current: i32) -> bool {
        current.wrapping_sub(self.counts.zero).unsigned_abs() >= self.counts.striking
    }

    /// True if a burning arc still burns at this current.
    #[inline]
    #[must_use]
    pub const fn burns(&self, current: i32) -> bool {
        current.wrapping_sub(self.counts.zero).unsigned_abs() >= self.counts.burning
    }

    /// True for a bead too short to be a weld: a tack.
    #[must_use]
    pub const fn is_tack(&self, bead: &Bead) -> bool {
        bead.arc_samples <= self.counts.longest_tack as u64
    }
}

fn positive(name: &'static str, value: f64) -> Result<f64, ArcConfigError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(ArcConfigError::Unusable(name))
    }
}
