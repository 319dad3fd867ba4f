//! The data of a planned weld.

/// What is known of a weld besides what the search needs.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Facts {
    pub number: u16,
    pub joint: u8,
    pub walls: u8,
    pub energy_j: f32,
    pub efficiency: f32,
    pub length_mm: f32,
    /// 0 for no limit.
    pub interpass_c: f32,
    pub wall_mm: f32,
    pub girth_mm: f32,
    /// Measured arc energy.
    pub measured_j: f32,
    /// When the arc went out, s since the logger started.
    pub ended_s: f32,
}
