//! Machine and money: what a job uses up as planned and as logged, whether the power source stands it, what it costs.
//!
//! Where a procedure or the job does not say what is needed (wire, gas flow, prices), the figure is missing, never
//! guessed. All arithmetic is core's; this gathers what goes into it.

use crate::job::model::{Job, Machine, Prices, Weld, WeldKind};
use crate::log::Log;
use crate::map::model::WeldMap;
use crate::material::Material;
use crate::procedure::model::Procedure;
use crate::formulas::consumables::{
    self, Transfer, filler_needed, fillet_area, gas_used, mains_energy_kwh, operating_factor,
    weld_metal, wire_mass,
};
use crate::formulas::duty::DutyWindow;
use coldsquare_core::formula::FormulaError;
use crate::formulas::metal::Metal;
use coldsquare_core::process::Process;
use coldsquare_core::units::{Amperes, Joules, Kilograms, Litres, Millimetres, Seconds};

/// What is used up. `None` is not known, never zero.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Use {
    /// Arc time.
    pub arc_time: Seconds,
    /// Wire or rod fed, spatter and stubs included.
    pub wire: Option<Kilograms>,
    /// Shielding gas while the arc burns; pre- and post-flow come on top.
    pub gas: Option<Litres>,
    /// Energy at the arc.
    pub arc_energy: Option<Joules>,
    /// Energy from the socket, kWh.
    pub mains_kwh: Option<f64>,
}

/// What a weld uses up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WeldUse {
    /// Number of the weld.
    pub number: u16,
    /// As planned.
    pub planned: Use,
    /// As logged; `None` when not measured.
    pub logged: Option<Use>,
}

/// How hard the power source is worked in the worst ten minutes (EN IEC 60974-1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duty {
    /// Greatest share of ten minutes in which the arc burned, 0 to 1.
    pub arc_fraction: f64,
    /// Greatest Σ I²·t of ten minutes over what the rating allows; above 1 the source gets too hot. `None` without a
    /// rating.
    pub share_of_rating: Option<f64>,
}

/// A build, planned or logged, as a whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Whole {
    /// What all of it uses up; a quantity that one weld lacks is missing here.
    pub used: Use,
    /// From the first arc to the last.
    pub elapsed: Seconds,
    /// Arc time over that time, 0 to 1.
    pub operating_factor: Option<f64>,
    /// How hard the power source is worked.
    pub duty: Duty,
    /// What it costs, where prices are given.
    pub money: Option<Money>,
}

/// What it costs, in the currency of the job.
#[derive(Clone, Debug, PartialEq)]
pub struct Money {
    /// Name or sign of the currency.
    pub currency: String,
    /// Wire or rod.
    pub wire: Option<f64>,
    /// Gas.
    pub gas: Option<f64>,
    /// Energy.
    pub energy: Option<f64>,
    /// Working time from the first arc to the last.
    pub labour: Option<f64>,
}

impl Money {
    /// Sum of what is known.
    #[must_use]
    pub fn known_total(&self) -> f64 {
        [self.wire, self.gas, self.energy, self.labour]
            .iter()
            .flatten()
            .sum()
    }
}

/// Machine and money of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct Cost {
    /// One entry a weld, in order of number.
    pub welds: Vec<WeldUse>,
    /// The build as planned.
    pub planned: Whole,
    /// The build as logged.
    pub logged: Option<Whole>,
}

/// Reckons a job, with its log and map where there are any. `pause` is the planned time from weld to weld.
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
        welds.push(WeldUse {
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

fn planned(job: &Job, weld: &Weld, procedure: &Procedure) -> Result<Use, FormulaError> {
    let arc_time = weld.planned_arc_time(procedure);
    let per_run =
        procedure.planned_heat_input.0 / procedure.process.thermal_efficiency() * weld.length().0;
    used(
        job,
        procedure,
        arc_time,
        Some(Joules(per_run * f64::from(weld.runs))),
        Some(weld),
    )
}

/// What an arc time uses up under a procedure; the wire from its speed, else from the fillet it has to fill.
fn used(
    job: &Job,
    procedure: &Procedure,
    arc_time: Seconds,
    arc_energy: Option<Joules>,
    fill: Option<&Weld>,
) -> Result<Use, FormulaError> {
    let metal = metal(&job.material);
    let sheet = &procedure.sheet;
    let fed = match (sheet.wire_speed.map(|speed| speed.0).middle(), sheet.wire) {
        (Some(speed), Some(wire)) => Some(wire_mass(wire, Millimetres(speed * arc_time.0), metal)?),
        _ => fill
            .map(|weld| filled(weld, procedure.process, metal))
            .transpose()?
            .flatten(),
    };
    let gas = sheet.gas_flow_l_min.middle()
        .map(|flow| gas_used(flow, arc_time))
        .transpose()?;
    let efficiency = job.machine.and_then(|machine| machine.efficiency);
    let mains_kwh = match (arc_energy, efficiency) {
        (Some(energy), Some(efficiency)) => Some(mains_energy_kwh(energy, efficiency)?),
        _ => None,
    };
    Ok(Use {
        arc_time,
        wire: fed,
        gas,
        arc_energy,
        mains_kwh,
    })
}

/// Wire for a flat fillet of its leg. A butt weld's fill depends on gap and bevel, which no job says.
fn filled(weld: &Weld, process: Process, metal: Metal) -> Result<Option<Kilograms>, FormulaError> {
    let WeldKind::Fillet { leg } = weld.kind else {
        return Ok(None);
    };
    let Some(transfer) = transfer(process) else {
        return Ok(None);
    };
    let (least, most) = transfer.deposition_efficiency();
    let deposit = weld_metal(fillet_area(leg)?, weld.length(), metal)?;
    filler_needed(deposit, (least + most) / 2.0).map(Some)
}

/// How metal crosses the arc in thin work; nothing for TIG, where no metal crosses it.
const fn transfer(process: Process) -> Option<Transfer> {
    Some(match process {
        Process::MagSolid | Process::MigSolid => Transfer::ShortCircuit,
        Process::MagFluxCored | Process::MigFluxCored => Transfer::FluxCored,
        Process::MagMetalCored | Process::MigMetalCored => Transfer::MetalCored,
        Process::SelfShieldedCored => Transfer::SelfShielded,
        Process::SubmergedArc => Transfer::SubmergedArc,
        Process::ManualMetalArc => Transfer::Covered,
        Process::Tig | Process::Plasma => return None,
    })
}

fn metal(material: &Material) -> Metal {
    if material.density_kg_m3 < 4000.0 {
        Metal::Aluminium
    } else if material.shrinkage_ratio > 1.5 {
        Metal::Stainless
    } else {
        Metal::MildSteel
    }
}

/// Adds what every part knows.
fn sum(parts: impl Iterator<Item = Use>) -> Use {
    fn both<T: std::ops::Add<Output = T>>(a: Option<T>, b: Option<T>) -> Option<T> {
        Some(a? + b?)
    }
    parts
        .reduce(|a, b| Use {
            arc_time: a.arc_time + b.arc_time,
            wire: both(a.wire, b.wire),
            gas: both(a.gas, b.gas),
            arc_energy: both(a.arc_energy, b.arc_energy),
            mains_kwh: both(a.mains_kwh, b.mains_kwh),
        })
        .unwrap_or_default()
}

fn planned_whole(job: &Job, welds: &[WeldUse], pause: Seconds) -> Result<Whole, FormulaError> {
    let used = sum(welds.iter().map(|weld| weld.planned));
    let mut duty = Worked::new(job.machine.as_ref());
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

fn logged_whole(job: &Job, log: &Log, map: &WeldMap) -> Result<Whole, FormulaError> {
    let mut duty = Worked::new(job.machine.as_ref());
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
            crate::map::model::Role::Weld { weld, .. }
            | crate::map::model::Role::Replaced { weld } => job
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

fn whole(job: &Job, used: Use, elapsed: Seconds, duty: Duty) -> Result<Whole, FormulaError> {
    let factor = (elapsed.0 > 0.0)
        .then(|| operating_factor(used.arc_time, Seconds(elapsed.0.max(used.arc_time.0))));
    Ok(Whole {
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

fn money(prices: &Prices, used: &Use, elapsed: Seconds) -> Money {
    let times = |price: Option<f64>, amount: Option<f64>| Some(price? * amount?);
    Money {
        currency: prices.currency.clone(),
        wire: times(prices.wire_per_kg, used.wire.map(|wire| wire.0)),
        gas: times(prices.gas_per_m3, used.gas.map(|gas| gas.0 / 1000.0)),
        energy: times(prices.energy_per_kwh, used.mains_kwh),
        labour: times(prices.labour_per_hour, Some(elapsed.0 / 3600.0)),
    }
}

/// The moving ten minutes, and its worst moment.
struct Worked<'a> {
    window: DutyWindow,
    machine: Option<&'a Machine>,
    arc_fraction: f64,
    share: Option<f64>,
}

impl<'a> Worked<'a> {
    fn new(machine: Option<&'a Machine>) -> Self {
        Self {
            window: DutyWindow::default(),
            machine,
            arc_fraction: 0.0,
            share: machine.map(|_| 0.0),
        }
    }

    fn rest(&mut self, time: Seconds) {
        self.window.rest(milliseconds(time));
    }

    /// With the arc burning it can only get worse, so its end is the worst moment of a weld.
    fn weld(&mut self, time: Seconds, rms: Option<Amperes>) -> Result<(), FormulaError> {
        let amps = rms.map_or(Amperes(0.0), |amps| Amperes(amps.0.abs()));
        self.window.weld(milliseconds(time), amps)?;
        self.arc_fraction = self.arc_fraction.max(self.window.arc_fraction());
        self.share = match (self.share, self.machine, rms) {
            (Some(share), Some(machine), Some(_)) => {
                Some(share.max(self.window.share_of(machine.rating)))
            }
            _ => None,
        };
        Ok(())
    }

    fn worst(&self) -> Duty {
        Duty {
            arc_fraction: self.arc_fraction,
            share_of_rating: self.share,
        }
    }
}

fn milliseconds(time: Seconds) -> u64 {
    // Negative and no number become zero.
    (time.0 * 1000.0).round() as u64
}

/// Joules as kilowatt-hours.
#[must_use]
pub fn kilowatt_hours(energy: Joules) -> f64 {
    energy.0 / consumables::JOULES_PER_KILOWATT_HOUR
}
