//! Consumption and cost: what a job uses up as planned and as logged, the load of the power source, the money.
//!
//! The formulas are in [`crate::formulas`]; what goes into them is gathered in `consumption` and `duty`. If a procedure or
//! the job does not give what a figure needs (wire, gas flow, prices), the figure is missing, never guessed.

mod consumption;
mod duty;
mod model;

pub use model::{BuildCost, Consumption, Cost, Duty, Money, WeldConsumption};

use crate::formulas::consumables::{JOULES_PER_KILOWATT_HOUR, operating_factor};
use crate::job::model::{Job, Prices};
use crate::log::Log;
use crate::map::model::{Role, WeldMap};
use coldsquare_core::formula::FormulaError;
use coldsquare_core::units::{Amperes, Joules, Seconds};
use consumption::{planned, sum, used};
use duty::DutyMeter;

/// Consumption, load and cost of a job, with its log and map if there are any. `pause` is the planned time from weld to
/// weld.
///
/// ```
/// # use coldsquare_engine::{example::GARDEN_GATE, job::from_text};
/// use coldsquare_core::units::Seconds;
/// use coldsquare_engine::cost::cost;
///
/// # let job = from_text("gate.toml", GARDEN_GATE).unwrap();
/// let cost = cost(&job, None, Seconds(15.0))?;
/// assert_eq!(cost.welds.len(), job.welds.len());
/// assert!(cost.planned.elapsed.0 > cost.planned.used.arc_time.0);
/// # Ok::<(), coldsquare_core::formula::FormulaError>(())
/// ```
///
/// # Errors
/// [`FormulaError`] when a wire, a flow or a current is out of the range of its formula.
pub fn cost(
    job: &Job,
    logged: Option<(&Log, &WeldMap)>,
    pause: Seconds,
) -> Result<Cost, FormulaError> {
    let mut welds = Vec::new();
    for (index, weld) in job.welds.iter().enumerate() {
        let procedure = &job.procedures[weld.procedure];
        let mapped = logged.and_then(|(_, map)| map.welds.get(index));
        let measured = mapped.filter(|weld| weld.start.is_some());
        let logged = measured
            .map(|mapped| {
                used(
                    job,
                    procedure,
                    mapped.arc_time,
                    mapped.energy.map(|energy| energy.value),
                    None,
                )
            })
            .transpose()?;
        welds.push(WeldConsumption {
            number: weld.number,
            planned: planned(job, weld, procedure)?,
            logged,
        });
    }
    Ok(Cost {
        planned: planned_whole(job, &welds, pause)?,
        logged: logged
            .map(|(log, map)| logged_whole(job, log, map))
            .transpose()?,
        welds,
    })
}

fn planned_whole(
    job: &Job,
    welds: &[WeldConsumption],
    pause: Seconds,
) -> Result<BuildCost, FormulaError> {
    let used = sum(welds.iter().map(|weld| weld.planned));
    let mut duty = DutyMeter::new(job.machine.as_ref());
    for (index, weld) in job.welds.iter().enumerate() {
        if index > 0 {
            duty.rest(pause);
        }
        let procedure = &job.procedures[weld.procedure];
        // Without a range of amps the heat stays unknown, the arc time does not.
        let amps = procedure.current.map(|amps| amps.0).middle().map(Amperes);
        duty.weld(weld.planned_arc_time(procedure), amps)?;
    }
    let pauses = job.welds.len().saturating_sub(1) as f64;
    whole(
        job,
        used,
        Seconds(used.arc_time.0 + pauses * pause.0),
        duty.worst(),
    )
}

fn logged_whole(job: &Job, log: &Log, map: &WeldMap) -> Result<BuildCost, FormulaError> {
    let mut duty = DutyMeter::new(job.machine.as_ref());
    let mut until = log.beads.first().map_or(Seconds(0.0), |bead| bead.start);
    let mut parts = Vec::new();
    for (logged, mapped) in log.beads.iter().zip(&map.beads) {
        duty.rest(logged.start - until);
        until = logged.start + logged.duration;
        let arc_time = Seconds(logged.arc_time.value);
        duty.weld(
            arc_time,
            logged
                .measured
                .as_ref()
                .ok()
                .map(|measured| measured.rms_current),
        )?;
        duty.rest(logged.duration - arc_time);
        let procedure = match mapped.role {
            Role::Weld { weld, .. } | Role::Replaced { weld } => job
                .welds
                .get(usize::from(weld).saturating_sub(1))
                .map_or(0, |weld| weld.procedure),
            _ => 0,
        };
        parts.push(used(
            job,
            &job.procedures[procedure],
            arc_time,
            mapped.energy.map(|energy| energy.value),
            None,
        )?);
    }
    whole(
        job,
        sum(parts.into_iter()),
        map.totals.elapsed,
        duty.worst(),
    )
}

fn whole(
    job: &Job,
    used: Consumption,
    elapsed: Seconds,
    duty: Duty,
) -> Result<BuildCost, FormulaError> {
    let factor = (elapsed.0 > 0.0)
        .then(|| operating_factor(used.arc_time, Seconds(elapsed.0.max(used.arc_time.0))));
    Ok(BuildCost {
        used,
        elapsed,
        operating_factor: factor.transpose()?,
        duty,
        money: job
            .prices
            .as_ref()
            .map(|prices| money(prices, &used, elapsed)),
    })
}

fn money(prices: &Prices, used: &Consumption, elapsed: Seconds) -> Money {
    let times = |price: Option<f64>, amount: Option<f64>| Some(price? * amount?);
    Money {
        currency: prices.currency.clone(),
        wire: times(prices.wire_per_kg, used.wire.map(|wire| wire.0)),
        gas: times(prices.gas_per_m3, used.gas.map(|gas| gas.0 / 1000.0)),
        energy: times(prices.energy_per_kwh, used.mains_kwh),
        labour: times(prices.labour_per_hour, Some(elapsed.0 / 3600.0)),
    }
}

/// Joules as kilowatt-hours.
#[must_use]
pub fn kilowatt_hours(energy: Joules) -> f64 {
    energy.0 / JOULES_PER_KILOWATT_HOUR
}
