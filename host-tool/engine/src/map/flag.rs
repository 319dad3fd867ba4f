//! What to look at on a bead or a weld.

/// Something to look at. Never a defect: the log sees volts and amps, not metal.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Flag {
    /// Voltage reached the limit of its sensor: energy may be higher than stated.
    VoltageClipped {
        /// Share of the samples, 0 to 1.
        share: f64,
    },
    /// Current reached the limit of its sensor: energy may be higher than stated.
    CurrentClipped {
        /// Share of the samples, 0 to 1.
        share: f64,
    },
    /// Samples are missing; their energy is taken as the mean of the others.
    SamplesDropped {
        /// Share of the samples due, 0 to 1.
        share: f64,
    },
    /// A part of it is lost in a hole of the log.
    NotWhole {
        /// Its start is lost.
        start: bool,
        /// Its end is lost.
        end: bool,
    },
    /// The recording begins or ends while its arc burns.
    AtTheEdge,
    /// The volts stood still as those of no arc do.
    VoltageStuck {
        /// Share of its time, 0 to 1.
        share: f64,
    },
    /// The amps stood still as those of no arc do.
    CurrentStuck {
        /// Share of its time, 0 to 1.
        share: f64,
    },
    /// The zero of the clamp had drifted; it was taken off.
    ZeroDrifted {
        /// By how much, A.
        amps: f64,
    },
    /// Its volts are those of no arc: another unit, or another column of a recording.
    NoArcVoltage,
    /// Records are lost right before, between or after its beads: more of it may be missing.
    BesideAHole,
    /// It has no bead, but records are lost: it may have been welded.
    MayBeLost,
    /// Power flows backwards: one sensor is the wrong way round.
    Reversed,
    /// Current changes sign: an AC arc, volts and amps are RMS.
    Alternating,
    /// The arc went out and came back.
    Restarted {
        /// How often.
        times: u32,
    },
    /// It is not certain that its beads belong to it.
    UncertainMatch,
    /// Fewer runs than planned were found.
    RunsMissing {
        /// Runs found.
        found: u8,
        /// Runs planned.
        planned: u8,
    },
    /// It was welded again; only the last time counts.
    Redone {
        /// How many beads no longer count.
        beads: usize,
    },
    /// The welder passed it over.
    Skipped,
    /// Not in its planned place.
    OutOfOrder,
    /// Arc time far from the expected one: perhaps not the whole length, or not this weld.
    UnusualArcTime {
        /// Arc time over the one planned, greater than 0.
        ratio: f64,
    },
    /// The user assigned its beads.
    AssignedByHand,
}

impl Flag {
    /// True if what was measured is no measure of the weld.
    pub(super) const fn forbids_a_verdict(&self) -> bool {
        matches!(
            self,
            Self::NoArcVoltage | Self::VoltageStuck { .. } | Self::CurrentStuck { .. }
        )
    }
}

impl std::fmt::Display for Flag {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::VoltageClipped { share } => {
                write!(out, "voltage at the sensor's limit in {}", percent(*share))
            }
            Self::CurrentClipped { share } => {
                write!(out, "current at the sensor's limit in {}", percent(*share))
            }
            Self::SamplesDropped { share } => {
                write!(out, "{} of the samples missing", percent(*share))
            }
            Self::NotWhole { start, end } => {
                let what = match (start, end) {
                    (true, true) => "start and end",
                    (true, false) => "start",
                    _ => "end",
                };
                write!(out, "not whole: its {what} is lost, so it is not judged")
            }
            Self::NoArcVoltage => write!(out, "its volts are those of no arc, so it is not judged"),
            Self::VoltageStuck { share } => write!(
                out,
                "volts stood still for {} of it, so it is not judged",
                percent(*share)
            ),
            Self::CurrentStuck { share } => write!(
                out,
                "amps stood still for {} of it, so it is not judged",
                percent(*share)
            ),
            Self::ZeroDrifted { amps } => write!(
                out,
                "the zero of the clamp had drifted by {amps:.1} A; taken off"
            ),
            Self::AtTheEdge => write!(out, "the recording begins or ends while its arc burns"),
            Self::BesideAHole => {
                write!(out, "records are lost beside it: part of it may be missing")
            }
            Self::MayBeLost => write!(
                out,
                "no bead, but records are lost: it may have been welded"
            ),
            Self::Reversed => write!(out, "a sensor is reversed"),
            Self::Alternating => write!(out, "AC; volts and amps are RMS"),
            Self::Restarted { times: count } => write!(out, "arc re-struck {}", times(*count)),
            Self::UncertainMatch => write!(out, "bead may belong elsewhere"),
            Self::RunsMissing { found, planned } => write!(out, "{found} of {planned} runs found"),
            Self::Redone { beads: 1 } => write!(out, "redone, 1 bead replaced"),
            Self::Redone { beads } => write!(out, "redone, {beads} beads replaced"),
            Self::Skipped => write!(out, "skipped by the welder"),
            Self::OutOfOrder => write!(out, "out of the planned order"),
            Self::UnusualArcTime { ratio } => {
                write!(out, "arc time {ratio:.1} × planned")
            }
            Self::AssignedByHand => write!(out, "beads assigned by hand"),
        }
    }
}

fn times(count: u32) -> String {
    match count {
        1 => "once".into(),
        2 => "twice".into(),
        count => format!("{count} times"),
    }
}

fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent > 0.0 && percent < 0.1 {
        "less than 0.1 %".into()
    } else {
        format!("{percent:.1} %")
    }
}
