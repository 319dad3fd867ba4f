//! What is welded, and what goes wrong.

use super::converter::Converter;
use super::machine::Transfer;
use crate::logger::{MAX_ORDER, Resume, Setup};
use crate::panel::Input;
use coldsquare_core::arc::{ArcConfig, ArcConfigError, ArcCounts, ArcSettings};
use coldsquare_core::calibration::Calibration;
use coldsquare_core::process::Process;
use heapless::{String, Vec as FixedVec};

/// Something that goes wrong with one bead.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mishap {
    /// The arc goes out this many times before it stays on; each try and each gap lasts 20 to 150 ms.
    Stutter {
        /// Failed tries.
        tries: u32,
    },
    /// In the middle the arc goes out and is struck again.
    Interruption {
        /// How long it is off, s.
        off_s: f64,
    },
    /// In the middle samples are lost.
    Lost {
        /// How many.
        samples: u32,
    },
}

/// One bead of a build.
#[derive(Clone, Debug, PartialEq)]
pub struct SimulatedBead {
    /// Metal transfer.
    pub transfer: Transfer,
    /// Arc voltage, V.
    pub volts: f64,
    /// Mean current, A.
    pub amps: f64,
    /// Arc time, s, without interruptions and failed tries.
    pub arc_s: f64,
    /// Time since the bead before, s.
    pub pause_s: f64,
    /// What goes wrong.
    pub mishap: Option<Mishap>,
    /// What the welder presses in the middle of the pause.
    pub press: Option<Input>,
}

impl SimulatedBead {
    /// A bead without mishaps, two seconds after the one before.
    #[must_use]
    pub const fn new(transfer: Transfer, volts: f64, amps: f64, arc_s: f64) -> Self {
        Self {
            transfer,
            volts,
            amps,
            arc_s,
            pause_s: 2.0,
            mishap: None,
            press: None,
        }
    }
}

/// A build from first bead to last, with the machine and the logger.
#[derive(Clone, Debug, PartialEq)]
pub struct Build {
    /// What is being built.
    pub title: std::string::String,
    /// The process that the logger uses.
    pub process: Process,
    /// Open-circuit voltage, V.
    pub open_circuit_volts: f64,
    /// The converter and its sensors as they are.
    pub converter: Converter,
    /// What the logger takes them for; `None` for the truth.
    pub believed: Option<Calibration>,
    /// How beads are told from the dark; `None` for the usual settings of the process with the believed calibration.
    pub arc: Option<ArcCounts>,
    /// The clamp is the wrong way round.
    pub reversed_clamp: bool,
    /// Wall-clock time at the start, milliseconds since 1970-01-01T00:00:00Z.
    pub started_unix_ms: u64,
    /// Numbers of the welds in planned order, at most 128; empty for none.
    pub order: Vec<u16>,
    /// The beads.
    pub beads: Vec<SimulatedBead>,
}

impl Build {
    /// A build with a 24-bit converter and nothing amiss.
    #[must_use]
    pub fn new(
        title: &str,
        process: Process,
        sample_rate_hz: f64,
        beads: Vec<SimulatedBead>,
    ) -> Self {
        Self {
            title: title.into(),
            process,
            open_circuit_volts: 65.0,
            converter: Converter::twenty_four_bit(sample_rate_hz),
            believed: None,
            arc: None,
            reversed_clamp: false,
            started_unix_ms: 1_750_000_000_000,
            order: Vec::new(),
            beads,
        }
    }

    /// The calibration that goes into the log.
    #[must_use]
    pub fn believed(&self) -> Calibration {
        self.believed.unwrap_or(self.converter.calibration)
    }

    pub(super) fn setup(&self) -> Result<Setup, ArcConfigError> {
        let calibration = self.believed();
        let settings = ArcSettings::for_process(self.process);
        let arc = match self.arc {
            Some(counts) => counts,
            None => ArcConfig::new(&settings, &calibration)?.counts(),
        };
        Ok(Setup {
            device: String::try_from("simulated logger").unwrap_or_default(),
            board: "simulated",
            title: cut_to_fit(&self.title),
            process: Some(self.process),
            calibration,
            calibrated_unix_s: self.started_unix_ms / 1000,
            arc,
            order: self
                .order
                .iter()
                .copied()
                .take(MAX_ORDER)
                .collect::<FixedVec<_, MAX_ORDER>>(),
            resume: Resume::default(),
        })
    }
}

fn cut_to_fit<const N: usize>(text: &str) -> String<N> {
    let mut fitted = String::new();
    for character in text.chars() {
        if fitted.push(character).is_err() {
            break;
        }
    }
    fitted
}
