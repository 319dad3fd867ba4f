//! A frame that is pushed until it yields, and let go.
//!
//! Each beam that may yield keeps a plastic curvature, constant along it, about one axis. A plastic curvature is an
//! initial strain of an elastic frame, so one factorisation serves every push:
//!
//! ```text
//! moment of beam i      M_i = m_i · P + Σ_j K_ij · κ_j       P the force, κ the plastic curvatures
//! travel                T   = t · P   + Σ_j t_j · κ_j
//! law of each beam      κ_i = c_i − M(c_i)/(E·I)             c_i the whole curvature at the moment M_i
//! let go                P = 0, the plastic curvatures stay
//! ```
//!
//! The law holds for one push from rest, or for several with the same blocks and presses, each deeper than the last: no
//! beam yields backwards. Axial force, shear and twist do not lower the moment at which a beam yields.

use super::beam::BeamStiffness;
use super::error::StructureError;
use super::probe::Probe;
use super::solve::Structure;
use crate::algebra::{Vector3, cross, from_to, norm};
use crate::formulas::bending::MomentCurve;

/// A beam that may yield in bending about its local y or z.
#[derive(Clone, Debug)]
pub struct YieldingBeam {
    /// Index of the beam.
    pub beam: usize,
    /// About local z; otherwise about local y.
    pub about_z: bool,
    /// Its moment over its curvature.
    pub law: MomentCurve,
}

/// A push: forces in balance, and what is read.
#[derive(Clone, Debug)]
pub struct Push {
    /// What the force does work on: the places pressed, less the places that hold against it.
    pub force: Probe,
    /// How far the press travels.
    pub travel: Probe,
    /// What is read under load and after release.
    pub readings: Vec<Probe>,
}

/// A frame pushed and let go.
#[derive(Clone, Debug, PartialEq)]
pub struct Pushed {
    /// The force, N.
    pub force_n: f64,
    /// The travel under load, mm.
    pub travel_mm: f64,
    /// The travel that stays, mm.
    pub kept_travel_mm: f64,
    /// The readings under load.
    pub loaded: Vec<f64>,
    /// The readings after release.
    pub kept: Vec<f64>,
    /// The whole curvature under load of each of the beams that may yield, 1/mm.
    pub curvatures_per_mm: Vec<f64>,
}

/// Beams whose moment under the push is less than this share of the greatest, both over their moment at first yield, are
/// taken as elastic.
const LEAST_SHARE: f64 = 0.3;
/// Limit of the number of beams that may yield at once.
const MAX_YIELDING: usize = 250;
/// Limits of the iterations; a push that does not converge ends the list.
const MAX_ITERATIONS: usize = 60;

impl Structure {
    /// Pushes to each of these multiples of the travel at first yield, ascending, and lets go each time. The list ends
    /// early where the frame carries no more; it is empty if nothing yields.
    ///
    /// # Errors
    /// [`StructureError`] for a beam or node that does not exist, or for too many.
    pub fn push(
        &self,
        push: &Push,
        yielding: &[YieldingBeam],
        times_first_yield: &[f64],
    ) -> Result<Vec<Pushed>, StructureError> {
        let probes = yielding
            .iter()
            .map(|one| self.bending(one.beam, one.about_z))
            .collect::<Result<Vec<_>, _>>()?;
        let all: Vec<Probe> = probes.iter().map(|probe| probe.along.clone()).collect();
        let under_unit = self.flexibility(std::slice::from_ref(&push.force), &all)?;
        let use_of = |k: usize| {
            let moment = under_unit[k] / probes[k].length_mm;
            moment.abs() / yielding[k].law.yield_moment_n_mm()
        };
        let greatest = (0..yielding.len()).map(use_of).fold(0.0, f64::max);
        let mut chosen: Vec<usize> = (0..yielding.len())
            .filter(|&k| greatest > 0.0 && use_of(k) > LEAST_SHARE * greatest)
            .collect();
        chosen.sort_by(|&a, &b| use_of(b).total_cmp(&use_of(a)));
        chosen.truncate(MAX_YIELDING);
        let Some(&first) = chosen.first() else {
            return Ok(Vec::new());
        };
        let part = Part::new(self, push, yielding, &probes, &chosen)?;
        let first_yield = part.travel / use_of(first);
        let mut states = Vec::new();
        let mut curvatures = vec![0.0; chosen.len()];
        for times in times_first_yield {
            let Some(force) = part.settle(times * first_yield, &mut curvatures) else {
                break;
            };
            let mut pushed = part.pushed(force, &curvatures);
            let moments = part.all_curvatures(&curvatures, force, &under_unit, &probes, yielding);
            pushed.curvatures_per_mm = moments;
            states.push(pushed);
        }
        Ok(states)
    }

    /// The probe along which a permanent kink of one radian in a beam, about its local y or z, is a unit force.
    ///
    /// # Errors
    /// [`StructureError`] for a beam that does not exist.
    pub fn kink(&self, beam: usize, about_z: bool) -> Result<Probe, StructureError> {
        let bending = self.bending(beam, about_z)?;
        Ok(Probe::default().plus(1.0 / bending.length_mm, &bending.along))
    }

    /// The probe along which a plastic curvature of a beam acts, times E·I.
    fn bending(&self, beam: usize, about_z: bool) -> Result<Bending, StructureError> {
        let frame = self.frame();
        let beam = frame.beams.get(beam).ok_or(StructureError::NoSuchItem {
            what: "beam",
            index: beam,
        })?;
        let [from, to] = beam.nodes.map(|node| frame.nodes[node]);
        let along = from_to(from, to);
        let length_mm = norm(along);
        let y = unit(cross(beam.depth_axis, along));
        let z = unit(cross(along, y));
        let [own, other] = stiffness_about(&beam.stiffness, about_z);
        let (axis, beside) = if about_z { (z, y) } else { (y, z) };
        let turn = [0, 1, 2].map(|k| own * axis[k] + other * beside[k]);
        Ok(Bending {
            along: Probe::relative_rotation(beam.nodes[0], beam.nodes[1], turn),
            length_mm,
            stiffness: own,
        })
    }
}

/// How a beam bends: the moment is the reading over the length, less the stiffness times the plastic curvature.
struct Bending {
    along: Probe,
    length_mm: f64,
    stiffness: f64,
}

fn unit(a: Vector3) -> Vector3 {
    let size = norm(a).max(1e-12);
    a.map(|c| c / size)
}

/// E·I about local z or y, and the product that couples it with the other axis, N·mm².
fn stiffness_about(stiffness: &BeamStiffness, about_z: bool) -> [f64; 2] {
    let (sin, cos) = stiffness.principal_angle_rad.sin_cos();
    let (one, two) = (stiffness.bending_1_n_mm2, stiffness.bending_2_n_mm2);
    let own = if about_z {
        one * sin * sin + two * cos * cos
    } else {
        one * cos * cos + two * sin * sin
    };
    [own, (one - two) * sin * cos]
}

/// The influence of the force and of the plastic curvatures on each other.
struct Part<'a> {
    laws: Vec<&'a MomentCurve>,
    chosen: &'a [usize],
    /// Moment of each for the unit force, and for the plastic curvature of each.
    moment: Vec<f64>,
    moments: Vec<Vec<f64>>,
    /// Travel for the unit force, and for the plastic curvature of each.
    travel: f64,
    travels: Vec<f64>,
    /// The same for the readings.
    reading: Vec<f64>,
    readings: Vec<Vec<f64>>,
}

impl<'a> Part<'a> {
    fn new(
        structure: &Structure,
        push: &Push,
        yielding: &'a [YieldingBeam],
        probes: &[Bending],
        chosen: &'a [usize],
    ) -> Result<Self, StructureError> {
        let own: Vec<Probe> = chosen.iter().map(|&k| probes[k].along.clone()).collect();
        let forces: Vec<Probe> = std::iter::once(push.force.clone())
            .chain(own.iter().cloned())
            .collect();
        let read: Vec<Probe> = own
            .into_iter()
            .chain([push.travel.clone()])
            .chain(push.readings.iter().cloned())
            .collect();
        let rows = structure.flexibility(&forces, &read)?;
        let row = |k: usize| &rows[k * read.len()..(k + 1) * read.len()];
        let n = chosen.len();
        let moment_in = |i: usize, row: &[f64]| row[i] / probes[chosen[i]].length_mm;
        let moments = (0..n).map(|i| {
            let one = |j: usize| {
                let own = if i == j {
                    probes[chosen[i]].stiffness
                } else {
                    0.0
                };
                moment_in(i, row(1 + j)) - own
            };
            (0..n).map(one).collect()
        });
        Ok(Self {
            laws: chosen.iter().map(|&k| &yielding[k].law).collect(),
            chosen,
            moment: (0..n).map(|i| moment_in(i, row(0))).collect(),
            moments: moments.collect(),
            travel: row(0)[n],
            travels: (0..n).map(|j| row(1 + j)[n]).collect(),
            reading: row(0)[n + 1..].to_vec(),
            readings: (0..n).map(|j| row(1 + j)[n + 1..].to_vec()).collect(),
        })
    }

    fn kept(&self, curvatures: &[f64]) -> Vec<f64> {
        let kept = |(law, c): (&&MomentCurve, &f64)| law.kept(*c)[0];
        self.laws.iter().zip(curvatures).map(kept).collect()
    }

    fn force(&self, travel: f64, kept: &[f64]) -> f64 {
        let plastic: f64 = self.travels.iter().zip(kept).map(|(t, k)| t * k).sum();
        (travel - plastic) / self.travel
    }

    /// Moment of one under a force and with these plastic curvatures.
    fn moment_of(&self, i: usize, force: f64, kept: &[f64]) -> f64 {
        let plastic: f64 = self.moments[i].iter().zip(kept).map(|(m, k)| m * k).sum();
        self.moment[i] * force + plastic
    }

    /// Finds the curvatures at this travel from those of a smaller one (Newton); the force, or `None` without an answer.
    fn settle(&self, travel: f64, curvatures: &mut [f64]) -> Option<f64> {
        for _ in 0..MAX_ITERATIONS {
            let kept = self.kept(curvatures);
            let force = self.force(travel, &kept);
            // Elastic ones follow at once; only those beyond yield need the equations.
            for (i, curvature) in curvatures.iter_mut().enumerate() {
                let elastic = self.moment_of(i, force, &kept) / self.laws[i].stiffness_n_mm2();
                let yields = self.laws[i].yield_moment_n_mm() / self.laws[i].stiffness_n_mm2();
                if curvature.abs() <= yields {
                    *curvature = elastic;
                }
            }
            let kept = self.kept(curvatures);
            let force = self.force(travel, &kept);
            let beyond: Vec<usize> = (0..curvatures.len())
                .filter(|&i| self.laws[i].kept(curvatures[i])[1] > 0.0)
                .collect();
            let off =
                |i: usize| self.laws[i].at(curvatures[i])[0] - self.moment_of(i, force, &kept);
            let worst = (0..curvatures.len())
                .map(|i| off(i).abs() / self.laws[i].yield_moment_n_mm())
                .fold(0.0, f64::max);
            if worst < 1e-9 {
                return Some(force);
            }
            let mut matrix: Vec<Vec<f64>> = beyond
                .iter()
                .map(|&i| {
                    let entry = |&j: &usize| {
                        let reach =
                            self.moments[i][j] - self.moment[i] * self.travels[j] / self.travel;
                        let own = if i == j {
                            self.laws[i].at(curvatures[i])[1]
                        } else {
                            0.0
                        };
                        own - reach * self.laws[j].kept(curvatures[j])[1]
                    };
                    beyond.iter().map(entry).collect()
                })
                .collect();
            let mut right: Vec<f64> = beyond.iter().map(|&i| -off(i)).collect();
            solve(&mut matrix, &mut right)?;
            for (&i, change) in beyond.iter().zip(&right) {
                curvatures[i] += change;
            }
        }
        None
    }

    fn pushed(&self, force_n: f64, curvatures: &[f64]) -> Pushed {
        let kept = self.kept(curvatures);
        let stays: Vec<f64> = (0..self.reading.len())
            .map(|r| {
                self.readings
                    .iter()
                    .zip(&kept)
                    .map(|(row, k)| row[r] * k)
                    .sum()
            })
            .collect();
        let kept_travel_mm = self.travels.iter().zip(&kept).map(|(t, k)| t * k).sum();
        Pushed {
            force_n,
            travel_mm: self.travel * force_n + kept_travel_mm,
            kept_travel_mm,
            loaded: stays
                .iter()
                .zip(&self.reading)
                .map(|(stays, reading)| stays + reading * force_n)
                .collect(),
            kept: stays,
            curvatures_per_mm: Vec::new(),
        }
    }

    /// The curvatures of all beams: of those that may yield as found, of the others for the force alone.
    fn all_curvatures(
        &self,
        curvatures: &[f64],
        force_n: f64,
        under_unit: &[f64],
        probes: &[Bending],
        yielding: &[YieldingBeam],
    ) -> Vec<f64> {
        let mut all: Vec<f64> = (0..yielding.len())
            .map(|k| force_n * under_unit[k] / probes[k].length_mm / probes[k].stiffness)
            .collect();
        for (&k, curvature) in self.chosen.iter().zip(curvatures) {
            all[k] = *curvature;
        }
        all
    }
}

/// Gauss elimination with the greatest pivot of each column; `None` if the matrix is singular. The answer is left in
/// `right`.
fn solve(matrix: &mut [Vec<f64>], right: &mut [f64]) -> Option<()> {
    let n = right.len();
    for column in 0..n {
        let pivot = (column..n)
            .max_by(|&a, &b| matrix[a][column].abs().total_cmp(&matrix[b][column].abs()))?;
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        let own = matrix[column][column];
        if !(own.abs() > 0.0 && own.is_finite()) {
            return None;
        }
        let (above, below) = matrix.split_at_mut(column + 1);
        let top = &above[column];
        for (k, row) in below.iter_mut().enumerate() {
            let factor = row[column] / own;
            if factor != 0.0 {
                row[column..]
                    .iter_mut()
                    .zip(&top[column..])
                    .for_each(|(entry, top)| *entry -= factor * top);
                right[column + 1 + k] -= factor * right[column];
            }
        }
    }
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|k| matrix[row][k] * right[k]).sum();
        right[row] = (right[row] - known) / matrix[row][row];
    }
    Some(())
}
