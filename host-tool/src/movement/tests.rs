//! Frames made by hand, small enough to reason about.

use super::effect::Factors;
use super::engine::Engine;
use crate::job::model::{
    Clamp, EndCut, Job, Joint, Limits, Member, Point, Procedure, Station, Units, Weld, WeldKind,
};
use crate::material::Material;
use crate::section::Section;
use coldsquare_core::process::Process;
use coldsquare_core::units::{JoulesPerMillimetre, Millimetres, MillimetresPerSecond};

fn p(x: f64, y: f64, z: f64) -> Point {
    Point::new(x, y, z)
}

/// A job with one procedure of 172 J/mm net heat and nothing else.
fn empty() -> Job {
    Job {
        name: "test".into(),
        units: Units::Metric,
        material: Material::mild_steel(),
        members: Vec::new(),
        joints: Vec::new(),
        welds: Vec::new(),
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
        }],
        opening: None,
        clamps: Vec::new(),
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
    for (k, name) in ["bottom rail", "right stile", "top rail", "left stile"]
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
                name: format!("bar {} end", k + 1),
                at: p(x, y, 0.0),
                members: vec![(rail, Station::Along(Millimetres(along))), (bar, station)],
                tacks: vec![p(x, y, 10.0), p(x, y, -10.0)],
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
fn lay(job: &Job, order: &[usize]) -> Vec<(String, f64)> {
    let engine = Engine::new(job).expect("it stands");
    let shrinkage = engine
        .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
        .expect("in range");
    let outcome = engine.lay(order, &shrinkage);
    engine
        .measures()
        .iter()
        .map(|m| m.name.clone())
        .zip(outcome.released_mm)
        .collect()
}

fn worst_bow(job: &Job, order: &[usize]) -> f64 {
    let bows = lay(job, order)
        .into_iter()
        .filter(|(name, _)| name.starts_with("bow"));
    bows.map(|(_, mm)| mm.abs()).fold(0.0, f64::max)
}

/// The order of a gate with bars: all fronts, or all backs.
fn faces(job: &Job, first: usize) -> Vec<usize> {
    (first..job.welds.len()).step_by(2).collect()
}

fn clamp(job: &mut Job, member: usize, at: Point) {
    job.clamps.push(Clamp {
        at,
        member,
        force: None,
    });
}

#[test]
fn one_face_only_bows_the_rails_and_the_other_face_brings_them_back() {
    let job = gate_with_bars(9);
    let front = worst_bow(&job, &faces(&job, 0));
    let both = worst_bow(&job, &[faces(&job, 0), faces(&job, 1)].concat());
    assert!((0.2..1.0).contains(&front), "{front}");
    assert!(both < front / 5.0, "{both} against {front}");
}

#[test]
fn the_shape_kept_for_drawing_gives_the_measures_of_the_fast_walk() {
    let mut job = gate_with_bars(3);
    for (member, at) in [
        (0, p(100.0, 20.0, 0.0)),
        (0, p(1100.0, 20.0, 0.0)),
        (2, p(600.0, 880.0, 0.0)),
    ] {
        clamp(&mut job, member, at);
    }
    let engine = Engine::new(&job).expect("it stands");
    let shrinkage = engine
        .shrinkage(&vec![172.0; job.welds.len()], &Factors::starting())
        .expect("in range");
    let order: Vec<usize> = (0..job.welds.len()).rev().collect();
    let (fast, history) = (
        engine.lay_step_by_step(&order, &shrinkage),
        engine.history(&order, &shrinkage),
    );
    let steps = fast
        .steps_mm
        .iter()
        .chain([&fast.released_mm])
        .zip(history.steps.iter().chain([&history.released]));
    for (step, (measured, nodes)) in steps.enumerate() {
        for (measure, fast) in engine.measures().iter().zip(measured) {
            let drawn: f64 = measure
                .terms
                .iter()
                .map(|term| term.direction.dot(nodes[term.node]))
                .sum();
            assert!(
                (drawn - fast).abs() < 1e-9,
                "step {step}, {}: {drawn} against {fast}",
                measure.name
            );
        }
    }
}
