//! Volts and amps of a welding machine over time.
//!
//! Realistic enough for tests, but not a model of an arc: the numbers are common practice, no source.

use super::random::Random;

/// How metal and current cross the arc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Transfer {
    /// MIG/MAG with short circuits: voltage collapses and current climbs until the droplet's bridge breaks.
    ShortCircuit {
        /// Shorts a second, 40 to 120.
        shorts_hz: f64,
    },
    /// MIG/MAG with a pulse for each droplet.
    Pulsed {
        /// Pulses a second, 40 to 200.
        pulses_hz: f64,
    },
    /// TIG on direct current, electrode negative.
    TigDirect,
    /// TIG on square-wave alternating current.
    TigAlternating {
        /// Cycles a second, 60 to 150.
        cycles_hz: f64,
        /// Share of the time with the electrode negative, 0.5 to 0.8.
        negative_share: f64,
    },
}

/// What the machine is doing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Moment {
    /// Nothing: no voltage, no current.
    Rest,
    /// Trigger pulled, no arc yet.
    OpenCircuit {
        /// Open-circuit voltage, V.
        volts: f64,
    },
    /// The high-frequency start of a TIG machine: spikes on both leads for some hundred microseconds each.
    HighFrequency {
        /// Open-circuit voltage, V.
        volts: f64,
    },
    /// The arc burns.
    Arc {
        /// Transfer.
        transfer: Transfer,
        /// Arc voltage, V.
        volts: f64,
        /// Mean current, A.
        amps: f64,
    },
}

/// A welding machine with its arc, and its place in a pulse or short circuit.
#[derive(Clone, Debug)]
pub struct Machine {
    random: Random,
    step_s: f64,
    /// Share of the difference to its target that the current moves in one step: after a short, and at the edge of a pulse.
    settling: f64,
    edge: f64,
    current: f64,
    /// Time into the current cycle, and the length of the cycle and of its short or pulse, s.
    into_cycle_s: f64,
    cycle_s: f64,
    active_s: f64,
}

impl Machine {
    /// A machine at rest.
    #[must_use]
    pub fn new(sample_rate_hz: f64, random: Random) -> Self {
        let step_s = 1.0 / sample_rate_hz;
        // From libm: the standard library may differ between systems in the last bit, and logs must not.
        let share = |time_constant_s: f64| 1.0 - libm::exp(-step_s / time_constant_s);
        Self {
            random,
            step_s,
            settling: share(0.003),
            edge: share(0.0002),
            current: 0.0,
            into_cycle_s: 0.0,
            cycle_s: 0.0,
            active_s: 0.0,
        }
    }

    /// Volts and amps of the next sample, noise included. The electrode's voltage against the work, and the current
    /// into the electrode: both positive with the electrode positive.
    pub fn next(&mut self, moment: &Moment) -> (f64, f64) {
        let (volts, amps) = match *moment {
            Moment::Rest => self.arc_off(0.0),
            Moment::OpenCircuit { volts } => self.arc_off(volts),
            Moment::HighFrequency { volts } => self.high_frequency(volts),
            Moment::Arc {
                transfer,
                volts,
                amps,
            } => self.arc(transfer, volts, amps),
        };
        (
            volts + 0.05 * self.random.normal(),
            amps + 0.2 * self.random.normal(),
        )
    }

    fn arc_off(&mut self, volts: f64) -> (f64, f64) {
        self.current = 0.0;
        self.cycle_s = 0.0;
        self.into_cycle_s = 0.0;
        (volts, 0.0)
    }

    fn high_frequency(&mut self, volts: f64) -> (f64, f64) {
        let (_, _) = self.arc_off(volts);
        if self.random.fraction() < 0.3 {
            (
                volts + self.random.between(-8.0, 8.0),
                self.random.between(-2.0, 2.0),
            )
        } else {
            (volts, 0.0)
        }
    }

    fn arc(&mut self, transfer: Transfer, volts: f64, amps: f64) -> (f64, f64) {
        match transfer {
            Transfer::ShortCircuit { shorts_hz } => self.short_circuit(shorts_hz, volts, amps),
            Transfer::Pulsed { pulses_hz } => self.pulsed(pulses_hz, volts, amps),
            Transfer::TigDirect => self.tig(-1.0, volts, amps),
            Transfer::TigAlternating {
                cycles_hz,
                negative_share,
            } => {
                self.begin_cycle(1.0 / cycles_hz, negative_share / cycles_hz);
                let side = if self.into_cycle_s < self.active_s {
                    -1.0
                } else {
                    1.0
                };
                self.pass();
                self.tig(side, volts, amps)
            }
        }
    }

    /// The arc length varies by a few per cent; the machine keeps the current constant.
    fn tig(&mut self, side: f64, volts: f64, amps: f64) -> (f64, f64) {
        let arc = volts * (1.0 + 0.02 * self.random.normal());
        (
            side * arc,
            side * amps * (1.0 + 0.005 * self.random.normal()),
        )
    }

    fn short_circuit(&mut self, shorts_hz: f64, volts: f64, amps: f64) -> (f64, f64) {
        let (cycle, short) = (
            self.random.between(0.7, 1.3),
            self.random.between(0.0015, 0.004),
        );
        self.begin_cycle(cycle / shorts_hz, short);
        let shorted =
            self.into_cycle_s >= self.cycle_s - self.active_s && self.cycle_s > self.active_s;
        self.pass();
        // With the inductance of the machine the current of a short climbs by 60 A/ms and falls again in about 3 ms.
        if shorted {
            self.current = (self.current + 60_000.0 * self.step_s).min(2.5 * amps);
            (
                0.015 * self.current + 0.3 * self.random.normal(),
                self.current,
            )
        } else {
            let settled = 0.85 * amps;
            self.current = if self.current == 0.0 {
                amps
            } else {
                self.current + (settled - self.current) * self.settling
            };
            let arc = volts * (1.0 + 0.03 * self.random.normal());
            (arc + 0.02 * (self.current - settled), self.current)
        }
    }

    fn pulsed(&mut self, pulses_hz: f64, volts: f64, amps: f64) -> (f64, f64) {
        self.begin_cycle(1.0 / pulses_hz, 0.002);
        let (base, share) = (0.3 * amps, (0.002 * pulses_hz).min(0.9));
        // Machines are limited to about 450 A, so slow pulses do not reach a high mean.
        let peak = (base + (amps - base) / share).min(450.0);
        let target = if self.into_cycle_s < self.active_s {
            peak
        } else {
            base
        };
        self.pass();
        // Edges of about 0.2 ms.
        self.current += (target - self.current) * self.edge;
        let arc = volts + 0.03 * (self.current - amps);
        (arc * (1.0 + 0.02 * self.random.normal()), self.current)
    }

    /// Begins the next cycle when the current one is over.
    fn begin_cycle(&mut self, cycle_s: f64, active_s: f64) {
        if self.into_cycle_s >= self.cycle_s {
            self.into_cycle_s -= self.cycle_s;
            self.cycle_s = cycle_s;
            self.active_s = active_s;
        }
    }

    fn pass(&mut self) {
        self.into_cycle_s += self.step_s;
    }
}
