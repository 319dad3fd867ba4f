//! A simulated logger on the demo's gate, to try everything without hardware.

use super::client::Client;
use super::plan::{portions, send};
use super::port::Port;
use crate::demo;
use coldsquare_core::units::Celsius;
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job;
use coldsquare_engine::plan::order::Effort;
use coldsquare_engine::plan::{Options, plan};
use coldsquare_firmware::sim::{ComputerEnd, Connected, cable};
use std::io::Result;
use std::time::Duration;

/// How much of the build it has logged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    /// Nothing yet.
    Begins,
    /// The whole build.
    Welded,
}

/// Loops of the logger that are enough for a response.
const TURNS: u64 = 64;

/// The logger and this end of its cable.
pub(super) struct Simulated {
    logger: Connected,
    cable: ComputerEnd,
}

impl Simulated {
    pub(super) fn start(state: State) -> std::result::Result<Self, Failure> {
        let job = job::from_text("garden-gate.toml", coldsquare_engine::example::GARDEN_GATE)
            .map_err(|errors| Failure::Input(errors.to_string()))?;
        // The welder follows the plan in the logger.
        let options = Options {
            effort: Effort {
                trials: 2000,
                seed: 1,
            },
            ..Options::default()
        };
        let plan = plan(&job, &options, &mut |_| true)
            .map_err(|error| Failure::Input(format!("the simulated welder: {error}")))?;
        let order = first_places(&plan.order());
        let list: Vec<String> = order
            .iter()
            .map(|weld| job.welds[*weld].number.to_string())
            .collect();
        let (logger_end, cable) = cable(4096);
        let mut logger = Connected::start_sealed(&demo::build(&job, &order), 1, logger_end)
            .map_err(|error| Failure::Input(format!("the simulated logger: {error}")))?;
        if state == State::Welded {
            logger.weld_all();
            return Ok(Self { logger, cable });
        }
        let mut here = Self { logger, cable };
        for part in portions(&job, &list.join(","), Celsius(20.0))?
            .iter()
            .take(1)
        {
            let mut client = Client::new(Box::new(&mut here));
            send(&mut client, part, &mut |_| {}).map_err(|error| error.at("sim:"))?;
        }
        Ok(here)
    }
}

/// Indices of the welds in order of their first parts.
fn first_places(numbers: &[u16]) -> Vec<usize> {
    let mut order = Vec::new();
    for number in numbers {
        let weld = usize::from(*number).saturating_sub(1);
        if !order.contains(&weld) {
            order.push(weld);
        }
    }
    order
}

impl Port for Simulated {
    fn send(&mut self, bytes: &[u8]) -> Result<()> {
        self.cable.send(bytes);
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], wait: Duration) -> Result<usize> {
        let most = (wait.as_secs_f64() * self.logger.rate_hz()) as u64 / TURNS + 1;
        for _ in 0..most {
            let came = self.cable.receive(into.len());
            if !came.is_empty() {
                into[..came.len()].copy_from_slice(&came);
                return Ok(came.len());
            }
            self.logger.turns(TURNS);
        }
        Ok(0)
    }

    /// Runs the build meanwhile instead of waiting.
    fn rest(&mut self, time: Duration) {
        let turns = (time.as_secs_f64() * self.logger.rate_hz()) as u64;
        self.logger.turns(turns);
    }
}

#[cfg(test)]
mod tests;
