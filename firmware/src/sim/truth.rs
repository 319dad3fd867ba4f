//! What really happened, to compare the log with.

use super::converter::Converter;
use coldsquare_core::samples::{RawPair, Sums};

/// A bead as it was welded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrueBead {
    /// Position of the first sample of its first arc.
    pub start: u64,
    /// Position after the last sample of its last arc.
    pub end: u64,
    /// Samples with the arc on.
    pub arc_samples: u64,
    /// How often the arc was struck again.
    pub restarts: u16,
    /// The sum of v · i · dt over all of it, with the volts and amps at the converter, J; positive even with a reversed clamp.
    pub energy_j: f64,
}

/// A build as it happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// Its beads in order. An interruption is inside its bead, however long.
    pub beads: Vec<TrueBead>,
    /// Exact sums of the counts of every sample but the lost ones.
    pub sums: Sums,
    /// Samples lost.
    pub dropped: u64,
    /// Volts and amps at the converter at each position, lost samples included. They were rounded to `f32` before the
    /// converter, so these are exact.
    pub samples: Vec<(f32, f32)>,
    /// The converter.
    pub converter: Converter,
}

impl Truth {
    pub(super) const fn new(converter: Converter) -> Self {
        Self {
            beads: Vec::new(),
            sums: Sums {
                n: 0,
                v: 0,
                i: 0,
                vv: 0,
                ii: 0,
                vi: 0,
            },
            dropped: 0,
            samples: Vec::new(),
            converter,
        }
    }

    pub(super) fn count(&mut self, pair: RawPair) {
        let (v, i) = (i128::from(pair.voltage()), i128::from(pair.current()));
        self.sums.merge(&Sums {
            n: 1,
            v,
            i,
            vv: v * v,
            ii: i * i,
            vi: v * i,
        });
    }

    /// The sum of v · i · dt over these positions, J, with its sign, and the largest error that counting can cause while
    /// nothing clips.
    #[must_use]
    pub fn energy_between(&self, start: u64, end: u64) -> (f64, f64) {
        let index = |position: u64| {
            usize::try_from(position)
                .unwrap_or(usize::MAX)
                .min(self.samples.len())
        };
        let samples = self.samples.get(index(start)..index(end)).unwrap_or(&[]);
        let (mut energy, mut bound) = (0.0, 0.0);
        for &(volts, amps) in samples {
            let (volts, amps) = (f64::from(volts), f64::from(amps));
            energy += volts * amps;
            bound += self.converter.power_bound(volts, amps);
        }
        let rate = self.converter.calibration.sample_rate_hz;
        (energy / rate, bound / rate)
    }
}
