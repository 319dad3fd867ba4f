//! A logger in this process, in front of the demo's gate, so that everything can be tried without one.

use super::client::Client;
use super::plan::{parts, send};
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

/// How much of the build is behind it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    /// Nothing: the first tack is about to be made.
    Begins,
    /// All of it.
    Welded,
}

/// Turns of the logger's loop in which it certainly gets on with an answer.
const TURNS: u64 = 64;

/// The logger and our end of its cable.
pub(super) struct Simulated {
    logger: Connected,
    cable: ComputerEnd,
}

impl Simulated {
    pub(super) fn start(state: State) -> std::result::Result<Self, Failure> {
        let job = job::from_text("garden-gate.toml", coldsquare_engine::example::GARDEN_GATE)
            .map_err(|mistakes| Failure::Input(mistakes.to_string()))?;
        // The maker goes by the plan that the logger has.
        let options = Options {
            most_turns: None,
            effort: Effort {
                trials: 2000,
                seed: 1,
            },
            ..Options::default()
        };
        let plan = plan(&job, &options, &mut |_| true)
            .map_err(|error| Failure::Input(format!("the simulated maker: {error}")))?;
        let order = first_places(&plan.order());
        let list: Vec<String> = order
            .iter()
            .map(|weld| job.welds[*weld].number.to_string())
            .collect();
        let (logger_end, cable) = cable(4096);
        let mut logger = Connected::start(&demo::build(&job, &order), 1, logger_end)
            .map_err(|error| Failure::Input(format!("the simulated logger: {error}")))?;
        if state == State::Welded {
            logger.weld_all();
            return Ok(Self { logger, cable });
        }
        let mut here = Self { logger, cable };
        for part in parts(&job, &list.join(","), Celsius(20.0))?.iter().take(1) {
            let mut client = Client::new(Box::new(&mut here));
            send(&mut client, part, &mut |_| {}).map_err(|error| error.at("sim:"))?;
        }
        Ok(here)
    }
}

/// Indices of the welds, each where it stands first.
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

    /// The build goes on meanwhile, without anybody having to wait.
    fn rest(&mut self, time: Duration) {
        let turns = (time.as_secs_f64() * self.logger.rate_hz()) as u64;
        self.logger.turns(turns);
    }
}
