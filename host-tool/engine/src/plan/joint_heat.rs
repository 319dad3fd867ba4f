//! The tube at a weld as heat sees it, and the distance that heat travels to it from another joint.

use crate::job::model::{Job, Member, Station, Weld};
use coldsquare_core::interpass::{Conduction, STILL_AIR_W_M2K, TubeJoint};
use coldsquare_core::units::{Celsius, Millimetres};

/// The tube that a weld heats; `start` is its temperature before welding. Sizes outside the formula's range are
/// clamped to it.
#[must_use]
pub fn tube(job: &Job, weld: &Weld, start: Celsius) -> TubeJoint {
    let section = |k: usize| &job.members[weld.members[k]].section;
    let wall = section(0)
        .shape()
        .thinnest_wall_mm()
        .min(section(1).shape().thinnest_wall_mm());
    let (width, depth) = section(0).shape().outer_mm();
    // A member that runs through the joint conducts heat to both sides, and the one that ends there to a third.
    let runs_through = job.joints[weld.joint]
        .members
        .iter()
        .any(|(_, station)| matches!(station, Station::Along(_)));
    TubeJoint {
        metal: Conduction {
            conductivity_w_mk: job.material.conductivity_w_mk,
            volumetric_heat_j_mm3k: job.material.volumetric_heat_j_mm3k,
        },
        wall: Millimetres(wall.clamp(0.5, 20.0)),
        girth: Millimetres((2.0 * (width + depth)).clamp(10.0, 2000.0)),
        walls: if runs_through { 3 } else { 2 },
        start,
        loss_w_m2k: STILL_AIR_W_M2K,
    }
}

/// Distance along a member that two joints share, mm, by joint and joint; none where they share none.
pub(super) struct HeatPaths {
    joints: usize,
    mm: Vec<Option<f64>>,
}

impl HeatPaths {
    pub(super) fn new(job: &Job) -> Self {
        let joints = job.joints.len();
        let mut mm = vec![None; joints * joints];
        let mut on: Vec<Vec<(usize, f64)>> = vec![Vec::new(); job.members.len()];
        for (joint, described) in job.joints.iter().enumerate() {
            for &(member, station) in &described.members {
                on[member].push((joint, along(&job.members[member], station)));
            }
        }
        for joints_of_member in &on {
            for &(a, at_a) in joints_of_member {
                for &(b, at_b) in joints_of_member {
                    let path: &mut Option<f64> = &mut mm[a * joints + b];
                    let this = (at_a - at_b).abs();
                    *path = Some(path.map_or(this, |known| known.min(this)));
                }
            }
        }
        Self { joints, mm }
    }

    pub(super) fn between(&self, a: usize, b: usize) -> Option<f64> {
        self.mm[a * self.joints + b]
    }
}

fn along(member: &Member, station: Station) -> f64 {
    match station {
        Station::Start => 0.0,
        Station::End => (member.to - member.from).length(),
        Station::Along(mm) => mm.0,
    }
}
