//! A plan as messages to a logger.

use crate::disk::Disk;
use crate::link::{Client, LinkError};
use coldsquare_core::link::{
    COMPONENTS, MAX_PLANNED, PlanHeader, PlannedWeld, Request, checksum_of_plan,
};
use coldsquare_core::sequence::Side;
use coldsquare_core::units::{Celsius, Joules, Millimetres};
use coldsquare_engine::failure::Failure;
use coldsquare_engine::job::model::Job;
use coldsquare_engine::order;
use coldsquare_engine::plan::joint_heat::tube;
use coldsquare_engine::plan::moments::whole_numbers;
use coldsquare_engine::plan::parts::seen;
use coldsquare_engine::plan::{Options, PlanningProblem};
use std::path::Path;

/// A part of a plan small enough for the logger.
#[derive(Clone, Debug, PartialEq)]
pub struct Portion {
    /// Settings of the whole part.
    pub head: PlanHeader,
    /// The welds in order.
    pub welds: Vec<PlannedWeld>,
}

/// The parts of a plan for a job, in order. `given` is a plan's JSON or a list of welds, as a file or written out;
/// `cold` is the temperature of the work before welding.
///
/// # Errors
/// [`Failure`] when the order cannot be read, is not one of this job's, or breaks the job's own rules.
pub fn portions(job: &Job, given: &str, cold: Celsius) -> Result<Vec<Portion>, Failure> {
    let heat = |weld: &coldsquare_engine::job::model::Weld| {
        job.procedures[weld.procedure].planned_heat_input.0 * f64::from(weld.runs)
    };
    let heat: Vec<f64> = job.welds.iter().map(heat).collect();
    let problem = PlanningProblem::new(job, &heat, &Options::default())
        .map_err(|error| Failure::Input(error.to_string()))?;
    let moments = whole_numbers(&problem.moments)
        .map_err(|_| Failure::Input("the heat of a weld is not a number".into()))?;
    let order = pieces_in_order(job, &problem, given)?;
    let mut place = vec![0; order.len()];
    for (at, &piece) in order.iter().enumerate() {
        place[piece] = at;
    }
    check_precedence(job, &problem, &order, &place)?;

    let (mut parts, mut before, mut back_up) = (Vec::new(), [0_i32; COMPONENTS], false);
    for (part, pieces) in order.chunks(MAX_PLANNED).enumerate() {
        let begins_back_up = back_up;
        let head = PlanHeader {
            title: fitted(&job.name),
            welds: pieces.len() as u8,
            max_flips: problem.max_flips().min(255) as u8,
            before,
            start: cold,
        };
        let mut welds = Vec::new();
        for (index, &piece) in pieces.iter().enumerate() {
            let item = &problem.items[piece];
            let first = part * MAX_PLANNED;
            let bits = (0..index)
                .filter(|k| item.before.contains(order[first + k] as u16))
                .fold(0_u64, |bits, k| bits | 1 << k);
            welds.push(PlannedWeld {
                index: index as u8,
                before: bits,
                side: seen(item.side, begins_back_up),
                at_mm: item.at_mm,
                moment: moments[piece],
                ..facts(job, &problem, piece)
            });
            back_up ^= item.side.needs_flip(back_up);
            for (sum, part) in before.iter_mut().zip(moments[piece]) {
                *sum = sum.saturating_add(part).clamp(-(1 << 28), 1 << 28);
            }
        }
        parts.push(Portion { head, welds });
    }
    Ok(parts)
}

/// Sends a part; `progress` gets the number of welds sent.
///
/// # Errors
/// [`LinkError`], also if the logger refuses; it then has no plan.
pub fn send(
    client: &mut Client<'_>,
    part: &Portion,
    progress: &mut dyn FnMut(usize),
) -> Result<(), LinkError> {
    client.tell(&Request::PlanBegins(part.head.clone()))?;
    let mut checksum = 0;
    for (sent, weld) in part.welds.iter().enumerate() {
        client.tell(&Request::PlanWeld(weld.clone()))?;
        checksum = checksum_of_plan(checksum, weld);
        progress(sent + 1);
    }
    client.tell(&Request::PlanEnds { checksum })
}

/// Indices of the parts of welds in the given order: part by part if the plan says so, otherwise weld by weld.
fn pieces_in_order(
    job: &Job,
    problem: &PlanningProblem<'_>,
    given: &str,
) -> Result<Vec<usize>, Failure> {
    let (welds, _) = order::given(&Disk, given, job)?;
    let by_weld = || {
        let of =
            |weld: usize| (0..problem.parts.len()).filter(move |k| problem.parts[*k].weld == weld);
        welds.iter().flat_map(|weld| of(*weld)).collect()
    };
    let by_piece = std::fs::read_to_string(Path::new(given))
        .ok()
        .and_then(|text| steps(job, problem, &text));
    Ok(by_piece.unwrap_or_else(by_weld))
}

/// The weld steps of a plan's JSON as indices of pieces; `None` when they are not all pieces of the job once.
fn steps(job: &Job, problem: &PlanningProblem<'_>, text: &str) -> Option<Vec<usize>> {
    let plan: serde_json::Value = serde_json::from_str(text).ok()?;
    let mut order = Vec::new();
    for step in plan.get("steps")?.as_array()? {
        let what = step.get("what")?;
        if what.get("kind")? != "weld" {
            continue;
        }
        let number = what.get("weld")?.as_u64()?;
        let piece = match what.get("part") {
            Some(piece) if !piece.is_null() => piece.get("number")?.as_u64()?.checked_sub(1)?,
            _ => 0,
        };
        let is_it = |k: &usize| {
            let of = &problem.parts[*k];
            u64::from(job.welds[of.weld].number) == number && u64::from(of.number.0) == piece
        };
        order.push((0..problem.parts.len()).find(is_it)?);
    }
    let mut sorted = order.clone();
    sorted.sort_unstable();
    sorted
        .into_iter()
        .eq(0..problem.parts.len())
        .then_some(order)
}

fn check_precedence(
    job: &Job,
    problem: &PlanningProblem<'_>,
    order: &[usize],
    place: &[usize],
) -> Result<(), Failure> {
    for &piece in order {
        let late = (0..order.len()).find(|other| {
            problem.items[piece].before.contains(*other as u16) && place[*other] > place[piece]
        });
        if let Some(late) = late {
            let number = |piece: usize| job.welds[problem.parts[piece].weld].number;
            return Err(Failure::Input(format!(
                "the job wants weld {} after weld {}, but the order has it before; plan again, or change the order",
                number(piece),
                number(late)
            )));
        }
    }
    Ok(())
}

/// The job's data for a part of a weld; the caller fills in index, side, place and moment.
fn facts(job: &Job, problem: &PlanningProblem<'_>, piece: usize) -> PlannedWeld {
    let of = &problem.parts[piece];
    let weld = &job.welds[of.weld];
    let procedure = &job.procedures[weld.procedure];
    let efficiency = procedure.process.thermal_efficiency();
    let length = of.length_mm().max(1.0);
    let net = procedure.planned_heat_input.0 * f64::from(weld.runs) * length;
    // The header of the plan carries the temperature of the frame.
    let tube = tube(job, weld, Celsius::default());
    PlannedWeld {
        index: 0,
        number: weld.number,
        joint: (weld.joint % 256) as u8,
        side: Side::Either,
        before: 0,
        at_mm: [0; 3],
        moment: [0; COMPONENTS],
        energy: Joules((net / efficiency).max(1.0)),
        efficiency: efficiency as f32,
        length: Millimetres(length),
        interpass: procedure.interpass,
        wall: tube.wall,
        girth: tube.girth,
        walls: tube.walls,
    }
}

fn fitted<const N: usize>(text: &str) -> heapless::String<N> {
    let mut fitted = heapless::String::new();
    let _ = text.chars().try_for_each(|c| fitted.push(c));
    fitted
}

#[cfg(test)]
mod tests;
