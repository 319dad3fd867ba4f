use super::*;
use crate::material::Material;
use crate::section::Section;

mod closed_forms;
mod laws;
mod refusals;

/// Cut lengths and load sizes of a light frame, in SHS 40x40x3 unless it says otherwise.
fn stiffness(designation: &str) -> BeamStiffness {
    BeamStiffness::of(
        &Section::parse(designation).unwrap(),
        &Material::mild_steel(),
    )
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
