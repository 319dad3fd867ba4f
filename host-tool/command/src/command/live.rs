//! `coldsquare live PORT`: live readings from a logger.

use super::Io;
use crate::link::{Client, Whereabouts, open};
use coldsquare_core::link::{Advice, Live};
use coldsquare_core::trouble::Trouble;
use coldsquare_engine::failure::Failure;
use serde_json::{Value, json};
use std::time::Duration;

/// Arguments of `live`.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Serial port of the logger (/dev/ttyACM0, COM3), tcp:HOST:PORT, or sim: to try it without a logger
    #[arg(value_name = "PORT")]
    pub port: String,
    /// Print a line every so many seconds
    #[arg(long, default_value_t = 0.5, value_name = "SECONDS", value_parser = seconds)]
    pub every: f64,
    /// Stop after this many lines [default: run until Ctrl-C]
    #[arg(long, value_name = "LINES")]
    pub lines: Option<u64>,
    /// Print one JSON object per line
    #[arg(long)]
    pub json: bool,
}

fn seconds(text: &str) -> Result<f64, String> {
    text.parse::<f64>()
        .ok()
        .filter(|seconds| (0.05..=3600.0).contains(seconds))
        .ok_or_else(|| "give 0.05 to 3600 seconds".into())
}

/// Runs the command.
///
/// # Errors
/// [`Failure`] when there is no logger there, or it stops answering.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    let name = &arguments.port;
    let at = Whereabouts::of(name);
    let mut client = Client::new(open(&at, false)?);
    let identity = client.identify().map_err(|error| error.at(name))?;
    // Older loggers cannot say.
    let process = client.process(None).ok().flatten();
    // The simulated logger runs faster than the clock and would never end.
    let simulated = at == Whereabouts::Simulated;
    let lines = arguments
        .lines
        .unwrap_or(if simulated { 240 } else { u64::MAX });
    if !arguments.json {
        writeln!(
            io.out,
            "{} on {}, firmware {}{}. Heat is arc energy, before thermal efficiency.",
            identity.device,
            identity.board,
            identity.firmware,
            process.map_or(String::new(), |process| format!(
                ", set to {}",
                process.name()
            ))
        )?;
        writeln!(
            io.out,
            "  arc     V      A      kW    bead    bead heat   weld   what to do"
        )?;
    }
    for line in 0..lines {
        if line > 0 {
            client.rest(Duration::from_secs_f64(arguments.every));
        }
        let live = client.live().map_err(|error| error.at(name))?;
        // Older loggers cannot say.
        let trouble = client.trouble().ok().flatten();
        if arguments.json {
            writeln!(
                io.out,
                "{}",
                as_json(&live, trouble, identity.sample_rate_hz)
            )?;
        } else {
            writeln!(io.out, "{}", as_text(&live, trouble))?;
        }
        io.out.flush()?;
    }
    Ok(())
}

fn as_json(live: &Live, trouble: Option<Trouble>, sample_rate_hz: f64) -> Value {
    let (advice, wait) = match live.advice {
        Advice::NoPlan => ("no_plan", None),
        Advice::Go => ("go", None),
        Advice::Wait(seconds) => ("wait", Some(seconds)),
        Advice::Flip => ("turn_over", None),
        Advice::Replanning => ("replanning", None),
        Advice::Finished => ("finished", None),
    };
    let round = |value: f64, digits: i32| {
        let scale = 10f64.powi(digits);
        (value * scale).round() / scale
    };
    json!({
        "seconds": round(live.position as f64 / sample_rate_hz, 3),
        "arc": live.arc_on,
        "volts": round(live.voltage.0, 2),
        "amps": round(live.current.0, 1),
        "kilowatts": round(live.power.0 / 1000.0, 3),
        "bead": live.beads,
        "bead_joules": round(live.bead_energy.0, 0),
        "bead_arc_seconds": round(live.bead_arc_time.0, 2),
        "weld": live.weld,
        "weld_joules": round(live.weld_energy.0, 0),
        "planned_joules": round(live.planned_energy.0, 0),
        "next": live.next,
        "advice": advice,
        "wait_seconds": wait,
        "left": live.left,
        "alarm": live.last_alarm.map(|kind| format!("{kind:?}")),
        "lost_records": live.lost,
        "memory": trouble.map(|trouble| trouble.to_string()),
    })
}

fn as_text(live: &Live, trouble: Option<Trouble>) -> String {
    let weld = live.weld.map_or("-".into(), |weld| weld.to_string());
    let mut line = format!(
        "  {}  {:5.1}  {:5.0}  {:6.2}  {:5}  {:8.1} kJ  {weld:>5}   {}",
        if live.arc_on { "ON " } else { "out" },
        live.voltage.0,
        live.current.0,
        // Never print -0.00.
        (live.power.0 / 10.0).round() / 100.0 + 0.0,
        live.beads,
        live.bead_energy.0 / 1000.0,
        what_to_do(live)
    );
    if let Some(noticed) = live.last_alarm {
        line += &format!("   check: {}", crate::link::words::noticed(noticed));
    }
    if let Some(trouble) = trouble {
        let stores = if trouble.stores() {
            ""
        } else {
            "NOT STORING: "
        };
        line += &format!("   {stores}{trouble}");
    }
    if live.lost > 0 {
        line += &format!(
            "   {} lost",
            coldsquare_engine::format::count(live.lost as usize, "record")
        );
    }
    line
}

fn what_to_do(live: &Live) -> String {
    let next = live.next.map_or("-".into(), |next| next.to_string());
    match live.advice {
        Advice::NoPlan => "no plan".into(),
        Advice::Go => format!("go: weld {next}, {} left", live.left),
        Advice::Wait(seconds) => format!("wait {seconds} s, then weld {next}"),
        Advice::Flip => format!("flip the frame, then weld {next}"),
        Advice::Replanning => format!("weld {next}; looking for a better order"),
        Advice::Finished => "all welds done".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use coldsquare_core::units::{Amperes, Joules, Seconds, Volts, Watts};

    fn rests() -> Live {
        Live {
            position: 0,
            arc_on: false,
            voltage: Volts(0.0),
            current: Amperes(0.0),
            power: Watts(0.0),
            beads: 0,
            bead_energy: Joules(0.0),
            bead_arc_time: Seconds(0.0),
            weld_energy: Joules(0.0),
            planned_energy: Joules(0.0),
            weld: None,
            next: None,
            advice: Advice::NoPlan,
            left: 0,
            last_alarm: None,
            lost: 0,
        }
    }

    #[test]
    fn a_logger_that_stores_nothing_says_so_and_why() {
        let text = as_text(&rests(), Some(Trouble::NoCard));
        assert!(
            text.ends_with("NOT STORING: there is no card in the slot"),
            "{text}"
        );
        let text = as_text(&rests(), Some(Trouble::Slow));
        assert!(!text.contains("NOT STORING") && text.contains("takes long to write"));
        assert!(!as_text(&rests(), None).contains("card"));
        let json = as_json(&rests(), Some(Trouble::NoCard), 1000.0);
        assert_eq!(json["memory"], "there is no card in the slot");
        assert!(as_json(&rests(), None, 1000.0)["memory"].is_null());
    }
}
