//! What a weld uses up: wire, gas and energy.

use super::model::Consumption;
use crate::formulas::consumables::{
    Transfer, filler_needed, fillet_area, gas_used, mains_energy_kwh, weld_metal, wire_mass,
};
use crate::formulas::metal::Metal;
use crate::job::model::{Job, Weld, WeldKind};
use crate::material::Material;
use crate::procedure::model::Procedure;
use coldsquare_core::formula::FormulaError;
use coldsquare_core::process::Process;
use coldsquare_core::units::{Joules, Kilograms, Millimetres, Seconds};

/// What a weld uses up as planned.
pub(super) fn planned(
    job: &Job,
    weld: &Weld,
    procedure: &Procedure,
) -> Result<Consumption, FormulaError> {
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

/// What an arc time uses up under a procedure. The wire comes from the wire speed, or else from the fillet to be filled.
pub(super) fn used(
    job: &Job,
    procedure: &Procedure,
    arc_time: Seconds,
    arc_energy: Option<Joules>,
    fill: Option<&Weld>,
) -> Result<Consumption, FormulaError> {
    let metal = metal(&job.material);
    let sheet = &procedure.sheet;
    let fed = match (sheet.wire_speed.map(|speed| speed.0).middle(), sheet.wire) {
        (Some(speed), Some(wire)) => Some(wire_mass(wire, Millimetres(speed * arc_time.0), metal)?),
        _ => fill
            .map(|weld| filled(weld, procedure.process, metal))
            .transpose()?
            .flatten(),
    };
    let gas = sheet
        .gas_flow_l_min
        .middle()
        .map(|flow| gas_used(flow, arc_time))
        .transpose()?;
    let efficiency = job.machine.and_then(|machine| machine.efficiency);
    let mains_kwh = match (arc_energy, efficiency) {
        (Some(energy), Some(efficiency)) => Some(mains_energy_kwh(energy, efficiency)?),
        _ => None,
    };
    Ok(Consumption {
        arc_time,
        wire: fed,
        gas,
        arc_energy,
        mains_kwh,
    })
}

/// Wire for a flat fillet of this leg. The fill of a butt weld depends on its gap and bevel, which the job does not have.
fn filled(weld: &Weld, process: Process, metal: Metal) -> Result<Option<Kilograms>, FormulaError> {
    let WeldKind::Fillet { leg } = weld.kind else {
        return Ok(None);
    };
    let Some(transfer) = transfer(process) else {
        return Ok(None);
    };
    let (low, high) = transfer.deposition_efficiency();
    let deposit = weld_metal(fillet_area(leg)?, weld.length(), metal)?;
    filler_needed(deposit, (low + high) / 2.0).map(Some)
}

/// How metal crosses the arc in thin work; `None` for TIG, in which none does.
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

/// Sum of the quantities that every part knows.
pub(super) fn sum(parts: impl Iterator<Item = Consumption>) -> Consumption {
    fn both<T: std::ops::Add<Output = T>>(a: Option<T>, b: Option<T>) -> Option<T> {
        Some(a? + b?)
    }
    parts
        .reduce(|a, b| Consumption {
            arc_time: a.arc_time + b.arc_time,
            wire: both(a.wire, b.wire),
            gas: both(a.gas, b.gas),
            arc_energy: both(a.arc_energy, b.arc_energy),
            mains_kwh: both(a.mains_kwh, b.mains_kwh),
        })
        .unwrap_or_default()
}
