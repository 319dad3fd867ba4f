//! `coldsquare cost JOB [LOG]`: arc time, wire, gas, energy, duty cycle and money, as planned and as logged.

use super::Io;
use super::reading::ReadingArguments;
use super::recording::{KeepArguments, read_and_keep};
use super::table::Table;
use crate::disk::Disk;
use coldsquare_core::units::{Kilograms, Litres, Seconds};
use coldsquare_engine::cost::{
    BuildCost, Consumption, Cost, Money, WeldConsumption, cost, kilowatt_hours,
};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::map::{Settings, build};
use coldsquare_engine::sanitise;
use coldsquare_engine::units::Units;
use serde_json::{Value, json};
use std::path::PathBuf;

/// Name and version of what `cost --json` prints.
pub const FORMAT: &str = "coldsquare cost 1";

/// Arguments of `cost`.
#[derive(Debug, clap::Args)]
#[command(after_help = WHAT_IT_NEEDS)]
pub struct Arguments {
    /// Job file
    #[arg(value_name = "JOB")]
    pub job: PathBuf,
    /// Log of the build
    #[arg(value_name = "LOG")]
    pub log: Option<PathBuf>,
    /// Plan this many seconds from the end of a weld to the next arc
    #[arg(long, value_name = "SECONDS", default_value_t = 15.0)]
    pub pause: f64,
    /// Show every weld
    #[arg(long)]
    pub welds: bool,
    /// Give the planned order if it is not file order: "3,1,2" or a plan's JSON
    #[arg(long, value_name = "LIST|FILE")]
    pub order: Option<String>,
    /// Print JSON, with every weld, instead of text
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub reading: ReadingArguments,
    #[command(flatten)]
    #[allow(missing_docs)] // clap would print it
    pub keep: KeepArguments,
}

const WHAT_IT_NEEDS: &str = "\
Wire needs wire and wire_speed in the procedure (a planned fillet without them is estimated from its leg), gas needs \
gas_flow. [machine] in the job gives rated_current, rated_duty_cycle and efficiency; [prices] gives currency, wire_per_kg, \
gas_per_m3, energy_per_kwh and labour_per_hour. What is not given is shown as -, never guessed.";

/// Works it out and prints it.
///
/// # Errors
/// [`Failure`] when job or log have errors, or a value is out of the range of its formula.
pub fn run(arguments: &Arguments, io: &mut Io<'_>) -> Result<(), Failure> {
    if !(0.0..=86_400.0).contains(&arguments.pause) {
        return Err(Failure::Usage("--pause is 0 to 86400 seconds".into()));
    }
    let job = coldsquare_engine::job::load(&Disk, &arguments.job)?;
    let settings = Settings {
        order: super::reading::order(arguments.order.as_deref(), &job)?,
        ..Settings::default()
    };
    let log = match &arguments.log {
        Some(path) => {
            let how = (&arguments.reading, &arguments.keep);
            Some(read_and_keep(path, (&job, &arguments.job), how, io)?)
        }
        None => None,
    };
    let map = match &log {
        Some(log) => {
            Some(build(&job, log, &settings).map_err(|error| Failure::Input(error.to_string()))?)
        }
        None => None,
    };
    let cost = cost(
        &job,
        log.as_ref().zip(map.as_ref()),
        Seconds(arguments.pause),
    )
    .map_err(|error| Failure::Input(error.to_string()))?;
    if arguments.json {
        return io.print_json(&for_programs(&cost));
    }
    if arguments.welds {
        print_welds(&cost.welds, job.units, io)?;
    }
    print(&job, &cost.planned, cost.logged.as_ref(), io)
}

/// An unknown value is null, never zero. Masses in kg, gas in litres, times in s.
fn for_programs(cost: &Cost) -> Value {
    let used = |used: &Consumption| {
        json!({
            "arc_time_s": used.arc_time.0,
            "wire_kg": used.wire.map(|wire| wire.0),
            "gas_l": used.gas.map(|gas| gas.0),
            "arc_energy_j": used.arc_energy.map(|energy| energy.0),
            "mains_kwh": used.mains_kwh,
        })
    };
    let whole = |whole: &BuildCost| {
        json!({
            "used": used(&whole.used),
            "first_arc_to_last_s": whole.elapsed.0,
            "operating_factor": whole.operating_factor,
            "worst_ten_minutes": {
                "arc_fraction": whole.duty.arc_fraction,
                "share_of_rating": whole.duty.share_of_rating,
            },
            "money": whole.money.as_ref().map(|money| json!({
                "currency": money.currency,
                "wire": money.wire,
                "gas": money.gas,
                "energy": money.energy,
                "labour": money.labour,
                "known_total": money.known_total(),
            })),
        })
    };
    let weld = |weld: &WeldConsumption| {
        json!({
            "weld": weld.number,
            "planned": used(&weld.planned),
            "logged": weld.logged.as_ref().map(used),
        })
    };
    json!({
        "format": FORMAT,
        "planned": whole(&cost.planned),
        "logged": cost.logged.as_ref().map(whole),
        "welds": cost.welds.iter().map(weld).collect::<Vec<_>>(),
    })
}

fn print_welds(welds: &[WeldConsumption], units: Units, io: &mut Io<'_>) -> Result<(), Failure> {
    let mut table = Table::new(">>>>>>>");
    table.row([
        "weld",
        "arc planned",
        "logged",
        "wire planned",
        "logged",
        "gas planned",
        "logged",
    ]);
    for weld in welds {
        let logged =
            |text: &dyn Fn(&Consumption) -> String| weld.logged.as_ref().map_or("-".into(), text);
        table.row([
            weld.number.to_string(),
            seconds(weld.planned.arc_time),
            logged(&|used| seconds(used.arc_time)),
            wire(weld.planned.wire, units, true),
            logged(&|used| wire(used.wire, units, true)),
            gas(weld.planned.gas, units),
            logged(&|used| gas(used.gas, units)),
        ]);
    }
    table.print(io.out)?;
    Ok(writeln!(io.out)?)
}

fn print(
    job: &Job,
    planned: &BuildCost,
    logged: Option<&BuildCost>,
    io: &mut Io<'_>,
) -> Result<(), Failure> {
    let mut table = Table::new("<>>");
    table.row(["", "planned", "logged"]);
    let mut row = |name: &str, text: &dyn Fn(&BuildCost) -> String| {
        table.row([
            name.to_string(),
            text(planned),
            logged.map_or("-".into(), text),
        ]);
    };
    row("arc time", &|whole| seconds(whole.used.arc_time));
    row("first arc to last", &|whole| minutes(whole.elapsed));
    row("operating factor", &|whole| percent(whole.operating_factor));
    row("worst 10 min: arc on", &|whole| {
        percent(Some(whole.duty.arc_fraction))
    });
    row("worst 10 min: % of rated duty cycle", &|whole| {
        percent(whole.duty.share_of_rating)
    });
    row("wire", &|whole| wire(whole.used.wire, job.units, false));
    row("gas during arc time", &|whole| {
        gas(whole.used.gas, job.units)
    });
    row("arc energy", &|whole| {
        energy(whole.used.arc_energy.map(kilowatt_hours))
    });
    row("energy from the mains", &|whole| {
        energy(whole.used.mains_kwh)
    });
    if job.prices.is_some() {
        let parts: [(&str, CostPart); 5] = [
            ("cost of wire", |money| money.wire),
            ("cost of gas", |money| money.gas),
            ("cost of energy", |money| money.energy),
            ("cost of labour, first arc to last", |money| money.labour),
            ("total of known costs", |money| Some(money.known_total())),
        ];
        for (name, part) in parts {
            row(name, &|whole| money(whole.money.as_ref(), part));
        }
    }
    table.print(io.out)?;
    if is_over_rating([Some(planned), logged]) {
        writeln!(
            io.out,
            "\nThis is more than the rated duty cycle of the machine (EN IEC 60974-1): pause longer, or it will stop to cool."
        )?;
    }
    Ok(())
}

/// Whether a build asks more of the machine than its rated duty cycle.
fn is_over_rating(builds: [Option<&BuildCost>; 2]) -> bool {
    let shares = builds.into_iter().flatten();
    shares
        .filter_map(|build| build.duty.share_of_rating)
        .any(|share| share > 1.0)
}

/// One part of a cost; `None` if it is unknown.
type CostPart = fn(&Money) -> Option<f64>;

/// "12.30 EUR", or a dash.
fn money(money: Option<&Money>, part: CostPart) -> String {
    let amount = money.and_then(|money| Some((part(money)?, &money.currency)));
    amount.map_or("-".into(), |(amount, currency)| {
        let text = format!("{amount:.2} {}", sanitise::short(currency, 12));
        text.trim_end().to_owned()
    })
}

fn minutes(time: Seconds) -> String {
    format!("{:.1} min", time.0 / 60.0)
}

fn seconds(time: Seconds) -> String {
    format!("{:.1} s", time.0)
}

fn percent(share: Option<f64>) -> String {
    share.map_or("-".into(), |share| format!("{:.0} %", 100.0 * share))
}

fn energy(kwh: Option<f64>) -> String {
    kwh.map_or("-".into(), |kwh| format!("{kwh:.3} kWh"))
}

fn wire(mass: Option<Kilograms>, units: Units, small: bool) -> String {
    let text = |mass| {
        if small {
            units.weld_wire(mass)
        } else {
            units.total_wire(mass)
        }
    };
    mass.map_or("-".into(), text)
}

fn gas(gas: Option<Litres>, units: Units) -> String {
    gas.map_or("-".into(), |gas| units.gas(gas))
}
