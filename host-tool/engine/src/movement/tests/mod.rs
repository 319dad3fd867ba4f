//! Small frames made by hand.

mod clamps;
mod laws;
mod refusals;
mod resolve;
mod turned;
mod weld_parts;
mod yardstick;

use super::model::MovementModel;
use super::outcome::Outcome;
use super::shrinkage::Shrinkage;
use super::simulate::SimulationOptions;
use crate::job::model::{Clamp, EndCut, Job, Joint, Member, Point, Station, Weld, WeldKind};
use crate::limits::Limits;
use crate::material::Material;
use crate::procedure::model::Procedure;
use crate::section::Section;
use crate::shop::factor::Factors;
use crate::units::Units;
use coldsquare_core::process::Process;
use coldsquare_core::units::{JoulesPerMillimetre, Millimetres, MillimetresPerSecond, Newtons};

fn p(x: f64, y: f64, z: f64) -> Point {
    Point::new(x, y, z)
}

/// A job with one procedure of 172 J/mm net heat and nothing else.
fn empty() -> Job {
    Job {
        name: "test".into(),
        units: Units::Metric,
        seen_from: Default::default(),
        material: Material::mild_steel(),
        members: Vec::new(),
        joints: Vec::new(),
        welds: Vec::new(),
        structural: crate::job::model::Structural::Nothing,
        procedures: vec![Procedure {
            name: "MAG".into(),
            process: Process::MagSolid,
            voltage: Limits::OPEN,
            current: Limits::OPEN,
            travel_speed: Limits::OPEN,
            heat_input: Limits::OPEN,
            interpass: None,
            planned_heat_input: JoulesPerMillimetre(172.0),
            planned_travel_speed: MillimetresPerSecond(9.2),
            sheet: Default::default(),
        }],
        opening: None,
        clamps: Vec::new(),
        fixture: Default::default(),
        ripped: Vec::new(),
        finish: Default::default(),
        machine: None,
        prices: None,
        goal: Default::default(),
        shop_file: None,
        recording: Default::default(),
        shop: None,
    }
}

fn member(
    job: &mut Job,
    name: &str,
    section: &str,
    from: Point,
    to: Point,
    depth_axis: Point,
) -> usize {
    job.members.push(Member {
        name: name.into(),
        section: Section::parse(section).expect("a section"),
        from,
        to,
        depth_axis,
        ends: [EndCut::Square; 2],
        cut_length: Millimetres((to - from).length()),
        centre_length: Millimetres((to - from).length()),
        past_ends: [Millimetres(0.0); 2],
        plate: None,
    });
    job.members.len() - 1
}

fn weld(
    job: &mut Job,
    joint: usize,
    members: [usize; 2],
    from: Point,
    to: Point,
    outward: Point,
) -> usize {
    let number = u16::try_from(job.welds.len() + 1).expect("few welds");
    job.welds.push(Weld {
        number,
        name: format!("weld {number}"),
        joint,
        members,
        kind: WeldKind::Fillet {
            leg: Millimetres(3.0),
        },
        from,
        to,
        outward,
        procedure: 0,
        runs: 1,
        after: Vec::new(),
    });
    number as usize - 1
}

/// A four-member frame, 1200 x 900 outside, 40x40x3, mitred, welded on front and back of each corner.
pub(super) fn gate() -> Job {
    let mut job = empty();
    let z = p(0.0, 0.0, 1.0);
    let c = [
        p(20.0, 20.0, 0.0),
        p(1180.0, 20.0, 0.0),
        p(1180.0, 880.0, 0.0),
        p(20.0, 880.0, 0.0),
    ];
    for (k, name) in ["bottom rail", "right upright", "top rail", "left upright"]
        .into_iter()
        .enumerate()
    {
        member(&mut job, name, "SHS 40x40x3", c[k], c[(k + 1) % 4], z);
    }
    for k in 0..4 {
        let (before, after) = ((k + 3) % 4, k);
        job.joints.push(Joint {
            name: format!("corner {k}"),
            at: c[k],
            members: vec![(before, Station::End), (after, Station::Start)],
            tacks: vec![c[k] + z * 20.0, c[k] - z * 20.0],
            sides: Vec::new(),
        });
        let middle = (c[0] + c[2]) * 0.5;
        let inward = p(
            (middle.x - c[k].x).signum(),
            (middle.y - c[k].y).signum(),
            0.0,
        ) * 20.0;
        for side in [1.0, -1.0] {
            let face = z * (20.0 * side);
            weld(
                &mut job,
                k,
                [before, after],
                c[k] - inward + face,
                c[k] + inward + face,
                z * side,
            );
        }
    }
    job
}

/// The gate with `bars` bars of 20x20x2 between the rails, each welded on front and back at both ends.
pub(super) fn gate_with_bars(bars: usize) -> Job {
    let mut job = gate();
    let z = p(0.0, 0.0, 1.0);
    for k in 0..bars {
        let x = 40.0 + 1120.0 * (k as f64 + 1.0) / (bars as f64 + 1.0);
        let bar = member(
            &mut job,
            &format!("bar {}", k + 1),
            "SHS 20x20x2",
            p(x, 20.0, 0.0),
            p(x, 880.0, 0.0),
            z,
        );
        for (rail, y, along, station) in [
            (0, 40.0, x - 20.0, Station::Start),
            (2, 860.0, 1180.0 - x, Station::End),
        ] {
            job.joints.push(Joint {
                name: format!("bar {} {}", k + 1, if rail == 0 { "bottom" } else { "top" }),
                at: p(x, y, 0.0),
                members: vec![(rail, Station::Along(Millimetres(along))), (bar, station)],
                tacks: vec![p(x, y, 10.0), p(x, y, -10.0)],
                sides: Vec::new(),
            });
            let joint = job.joints.len() - 1;
            for side in [1.0, -1.0] {
                let (from, to) = (p(x - 10.0, y, 10.0 * side), p(x + 10.0, y, 10.0 * side));
                weld(&mut job, joint, [rail, bar], from, to, z * side);
            }
        }
    }
    job
}

/// The measures of an order with the starting factors and 172 J/mm in every weld.
fn measures_after(job: &Job, order: &[usize]) -> Vec<(String, f64)> {
    let model = MovementModel::new(job).expect("it stands");
    let shrinkage = model
        .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
        .expect("in range");
    let outcome = model.simulate(
        &model.whole_welds(order),
        &shrinkage,
        &SimulationOptions::default(),
    );
    model
        .measures()
        .iter()
        .map(|m| m.name.clone())
        .zip(outcome.released_mm)
        .collect()
}

/// The worst bow out of the plane of the frame.
fn worst_bow(job: &Job, order: &[usize]) -> f64 {
    let bows = measures_after(job, order)
        .into_iter()
        .filter(|(name, _)| name.starts_with("bow") && name.ends_with("towards the front"));
    bows.map(|(_, mm)| mm.abs()).fold(0.0, f64::max)
}

/// The order of a gate with bars: all fronts, or all backs.
fn faces(job: &Job, first: usize) -> Vec<usize> {
    (first..job.welds.len()).step_by(2).collect()
}

fn clamp(job: &mut Job, member: usize, at: Point) {
    job.clamps.push(Clamp::firm(member, at));
}

/// A tube of length `length` with a flat bar on its front and one on its back, each welded along its middle by welds
/// of `weld_length` mm at a pitch of `pitch` mm. Welds on the front come first, from left to right.
fn stiffened_tube(length: f64, weld_length: f64, pitch: f64) -> Job {
    let mut job = empty();
    let (x, z) = (p(1.0, 0.0, 0.0), p(0.0, 0.0, 1.0));
    let tube = member(
        &mut job,
        "tube",
        "SHS 40x40x3",
        p(0.0, 0.0, 0.0),
        x * length,
        z,
    );
    for side in [1.0, -1.0] {
        let level = z * (22.0 * side);
        let bar = member(&mut job, "bar", "FL 20x4", level, x * length + level, z);
        let welds = (length / pitch).round() as usize;
        let face = z * (20.0 * side);
        let tacks = [0.0, 0.25, 0.5, 0.75, 1.0].map(|share| x * (share * length) + face);
        job.joints.push(Joint {
            name: format!("bar {bar}"),
            at: face,
            members: vec![(tube, Station::Start), (bar, Station::Start)],
            tacks: tacks.to_vec(),
            sides: Vec::new(),
        });
        let joint = job.joints.len() - 1;
        for k in 0..welds {
            let start = x * (k as f64 * pitch) + face;
            weld(
                &mut job,
                joint,
                [tube, bar],
                start,
                start + x * weld_length,
                z * side,
            );
        }
    }
    job
}

fn bow_of_tube(job: &Job, order: &[usize], heat: f64) -> f64 {
    let model = MovementModel::new(job).expect("it stands");
    let shrinkage = model
        .shrinkage(&vec![heat; job.welds.len()], &Factors::starting())
        .expect("in range");
    let outcome = model.simulate(
        &model.whole_welds(order),
        &shrinkage,
        &SimulationOptions::default(),
    );
    let at = model
        .measures()
        .iter()
        .position(|m| m.name == "bow of tube, towards the front")
        .expect("slender");
    outcome.released_mm[at]
}

/// The welds of the front bar, from left to right; those of the back follow in the job.
fn front_of(job: &Job) -> Vec<usize> {
    (0..job.welds.len() / 2).collect()
}

const HEAT: f64 = 172.0;

/// The shrinkage of an model with the starting factors and this net heat in every weld, J/mm.
fn shrinkage(model: &MovementModel, heat: f64) -> Shrinkage {
    model
        .shrinkage(&vec![heat; model.welds()], &Factors::starting())
        .expect("in range")
}

/// An order simulated weld by weld with the starting factors and 172 J/mm in every weld.
fn simulated(job: &Job, order: &[usize]) -> Outcome {
    let model = MovementModel::new(job).expect("it stands");
    model.simulate(
        &model.whole_welds(order),
        &shrinkage(&model, HEAT),
        &SimulationOptions::after_each_part(),
    )
}

fn assert_near(all: &[f64], others: &[f64]) {
    assert_eq!(all.len(), others.len());
    for (one, other) in all.iter().zip(others) {
        assert!(
            (one - other).abs() < 1e-9 * other.abs().max(1.0),
            "{one} against {other}"
        );
    }
}
