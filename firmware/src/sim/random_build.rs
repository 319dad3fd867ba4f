//! Random builds, for tests that need a thousand.

use super::build::{Build, Mishap, SimulatedBead};
use super::converter::Converter;
use super::machine::Transfer;
use super::random::Random;
use coldsquare_core::process::Process;

/// The processes of random builds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// 135, short circuits.
    ShortCircuit,
    /// 135, pulsed.
    Pulsed,
    /// 141, direct current.
    TigDirect,
    /// 141, alternating current.
    TigAlternating,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 4] = [
        Self::ShortCircuit,
        Self::Pulsed,
        Self::TigDirect,
        Self::TigAlternating,
    ];

    const fn process(self) -> Process {
        match self {
            Self::ShortCircuit | Self::Pulsed => Process::MagSolid,
            Self::TigDirect | Self::TigAlternating => Process::Tig,
        }
    }

    /// Transfer, arc voltage and current in the range for light frames.
    fn arc(self, random: &mut Random) -> (Transfer, f64, f64) {
        match self {
            Self::ShortCircuit => {
                let amps = random.between(60.0, 180.0);
                let shorts_hz = random.between(40.0, 120.0);
                // Common practice: 14 V + 0.05 V/A.
                (
                    Transfer::ShortCircuit { shorts_hz },
                    14.0 + 0.05 * amps,
                    amps,
                )
            }
            Self::Pulsed => {
                let pulses_hz = random.between(60.0, 180.0);
                let (volts, amps) = (random.between(21.0, 26.0), random.between(80.0, 180.0));
                (Transfer::Pulsed { pulses_hz }, volts, amps)
            }
            Self::TigDirect => {
                let amps = random.between(15.0, 180.0);
                // The conventional load voltage of TIG, 10 V + 0.04 V/A (IEC 60974-1:2012, 11.2.2; from memory).
                (Transfer::TigDirect, 10.0 + 0.04 * amps, amps)
            }
            Self::TigAlternating => {
                let amps = random.between(40.0, 200.0);
                let transfer = Transfer::TigAlternating {
                    cycles_hz: random.between(60.0, 150.0),
                    negative_share: random.between(0.5, 0.8),
                };
                (transfer, 10.0 + 0.04 * amps, amps)
            }
        }
    }
}

impl Build {
    /// A random build of two to six beads: tacks and welds, one in four with a mishap, on either converter. Pauses last 0.6 to
    /// 3 s; nothing clips.
    #[must_use]
    pub fn random(kind: Kind, sample_rate_hz: f64, seed: u64) -> Self {
        let mut random = Random::new(seed);
        let beads = (0..2 + random.below(5))
            .map(|_| random_bead(kind, &mut random))
            .collect();
        let mut build = Self::new("random", kind.process(), sample_rate_hz, beads);
        if random.below(2) == 0 {
            build.converter = Converter::twelve_bit(sample_rate_hz);
        }
        build.open_circuit_volts = random.between(40.0, 85.0);
        build.reversed_clamp = random.below(10) == 0;
        build
    }
}

fn random_bead(kind: Kind, random: &mut Random) -> SimulatedBead {
    let (transfer, volts, amps) = kind.arc(random);
    let arc_s = if random.below(3) == 0 {
        random.between(0.2, 0.8)
    } else {
        random.between(1.0, 4.0)
    };
    let mishap = match random.below(12) {
        0 => Some(Mishap::Stutter {
            tries: 1 + random.below(3),
        }),
        1 => Some(Mishap::Interruption {
            off_s: random.between(0.06, 0.35),
        }),
        2 => Some(Mishap::Lost {
            samples: 1 + random.below(200),
        }),
        _ => None,
    };
    SimulatedBead {
        pause_s: random.between(0.6, 3.0),
        mishap,
        ..SimulatedBead::new(transfer, volts, amps, arc_s)
    }
}
