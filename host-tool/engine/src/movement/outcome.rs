//! What a sequence of welds does to the frame.

/// The result of a simulation. Measures are in the order of [`MovementModel::measures`].
///
/// [`MovementModel::measures`]: super::model::MovementModel::measures
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Outcome {
    /// Each measure when the last weld is cold and the clamps are off, mm.
    pub released_mm: Vec<f64>,
    /// Each measure when the last weld is cold and the clamps that stay to the end are still on, mm.
    pub clamped_mm: Vec<f64>,
    /// Force in each clamp just before it is released, N: x, y, z.
    pub clamp_forces_n: Vec<[f64; 3]>,
    /// How far each clamp has slipped by then, mm.
    pub clamp_slips_mm: Vec<f64>,
    /// Gap of each weld's joint just before it is welded, mm; negative where the sides press on each other.
    pub gaps_mm: Vec<f64>,
    /// Each measure after each part of the sequence and the clamps then released, mm; empty unless the options ask for
    /// it.
    pub steps_mm: Vec<Vec<f64>>,
}
