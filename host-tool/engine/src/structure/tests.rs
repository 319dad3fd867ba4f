use super::*;
use crate::material::Material;
use crate::section::Section;

mod closed_forms;
mod laws;
mod refusals;
mod yielding;

/// Cut lengths and load sizes of a light frame, in SHS 40x40x3 unless it says otherwise.
fn stiffness(designation: &str) -> BeamStiffness {
    BeamStiffness::of(
        &Section::parse(designation).unwrap(),
        &Material::mild_steel(),
    )
}

/// The same stiffness without shear deformation (Euler–Bernoulli beam).
fn without_shear(stiffness: BeamStiffness) -> BeamStiffness {
    BeamStiffness {
        shear_1_n: f64::INFINITY,
        shear_2_n: f64::INFINITY,
        ..stiffness
    }
}

/// A node that can turn but not move.
fn pinned(node: usize) -> Support {
    use Fixity::{Fixed, Free};
    Support {
        node,
        fixity: [Fixed, Fixed, Fixed, Free, Free, Free],
    }
}

/// Forces and moments on the ends of a beam (N, N·mm) in its local axes, at the ends of its arms.
fn end_forces(frame: &Frame, shape: &Shape, case: &LoadCase, beam: usize) -> [[f64; 6]; 2] {
    let element = &frame.beams[beam];
    let strain = case
        .strains
        .iter()
        .filter(|(b, _)| *b == beam)
        .fold(InitialStrain::default(), |sum, (_, s)| sum.plus(1.0, *s));
    let mut load = [0.0; 3];
    for (_, q) in case.beam_loads.iter().filter(|(b, _)| *b == beam) {
        load.iter_mut().zip(q).for_each(|(sum, v)| *sum += v);
    }
    let placed = element.place(&frame.nodes).unwrap();
    let (k, p) = element.condensed(&placed, strain, load).unwrap();
    let moved = element.nodes.map(|n| shape.nodes[n]);
    let local = [0, 1].map(|end| placed.arm(element.offsets[end]).times_vector(&moved[end]));
    let force = |i: usize| -> f64 {
        let u = local.as_flattened();
        k[i].iter().zip(u).map(|(k, u)| k * u).sum::<f64>() - p[i]
    };
    [0, 1].map(|end| std::array::from_fn(|i| force(6 * end + i)))
}

fn beam(nodes: [usize; 2], stiffness: BeamStiffness) -> Beam {
    Beam::new(nodes[0], nodes, [0.0, 0.0, 1.0], stiffness)
}

#[track_caller]
fn close(found: f64, expected: f64, relative: f64) {
    assert!(
        (found - expected).abs() <= relative * expected.abs(),
        "found {found:e}, expected {expected:e}"
    );
}

/// Pseudo-random numbers between −1 and 1 (splitmix64), the same on every machine.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }

    fn below(&mut self, count: usize) -> usize {
        (((self.roll() + 1.0) / 2.0 * count as f64) as usize).min(count - 1)
    }
}
