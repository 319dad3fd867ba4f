//! Moment and curvature of a bar that yields, and its residual curvature after release.

use super::profile::{BENDING, Profile};
use coldsquare_core::formula::{Allowed, FormulaError};

/// The metal of a bar, for bending.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BarMetal {
    /// Young's modulus, MPa; 1 000 to 1 000 000.
    pub modulus_mpa: f64,
    /// Yield strength, MPa; 1 to 3000.
    pub yield_mpa: f64,
    /// Slope of the stress beyond yield over Young's modulus; 0 (none) to 0.2.
    pub hardening: f64,
}

/// A bar: section and metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    profile: Profile,
    metal: BarMetal,
    /// E·I, N·mm².
    stiffness: f64,
    /// Moment and curvature at first yield, N·mm and 1/mm.
    first_yield: (f64, f64),
    /// Moment with all metal at yield, N·mm.
    plastic_moment: f64,
    /// Whether it is symmetric up and down, so that its neutral line does not move.
    symmetric: bool,
}

/// The greatest curvature, as a multiple of that at first yield; no shop bends a bar tighter.
const MAX_TIMES_YIELD: f64 = 1e4;

impl Bar {
    /// A bar of this section and metal.
    ///
    /// # Errors
    /// [`FormulaError`] when a number of the metal is out of its range.
    pub fn new(profile: Profile, metal: BarMetal) -> Result<Self, FormulaError> {
        BENDING.require(
            "Young's modulus",
            metal.modulus_mpa,
            "MPa",
            Allowed::Between(1e3, 1e6),
        )?;
        BENDING.require(
            "yield",
            metal.yield_mpa,
            "MPa",
            Allowed::Between(1.0, 3000.0),
        )?;
        BENDING.require("hardening", metal.hardening, "", Allowed::Between(0.0, 0.2))?;
        let stiffness = metal.modulus_mpa * profile.second_moment_mm4();
        let moment = metal.yield_mpa * profile.elastic_modulus_mm3();
        let (low, high) = profile.edges_mm();
        let centre = profile.centroid_mm();
        Ok(Self {
            profile,
            metal,
            stiffness,
            first_yield: (moment, moment / stiffness),
            plastic_moment: metal.yield_mpa * profile.plastic_modulus_mm3(),
            symmetric: libm::fabs(high + low - 2.0 * centre) < 1e-9 * (high - low),
        })
    }

    /// Its section.
    #[must_use]
    pub const fn profile(&self) -> &Profile {
        &self.profile
    }

    /// Its metal.
    #[must_use]
    pub const fn metal(&self) -> BarMetal {
        self.metal
    }

    /// E·I, N·mm².
    #[must_use]
    pub const fn stiffness_n_mm2(&self) -> f64 {
        self.stiffness
    }

    /// Moment at which the first fibre yields, N·mm.
    #[must_use]
    pub const fn yield_moment_n_mm(&self) -> f64 {
        self.first_yield.0
    }

    /// Curvature at which the first fibre yields, 1/mm.
    #[must_use]
    pub const fn yield_curvature_per_mm(&self) -> f64 {
        self.first_yield.1
    }

    /// Plastic moment: at this moment a bar without hardening bends without limit, N·mm.
    #[must_use]
    pub const fn plastic_moment_n_mm(&self) -> f64 {
        self.plastic_moment
    }

    /// Moment at a curvature of the first bending, N·mm: M = ∫ σ z dA. The moment has the sign of the
    /// curvature (1/mm), NaN gives NaN, and beyond 10 000 times first yield it stays constant.
    #[must_use]
    pub fn moment_n_mm(&self, curvature_per_mm: f64) -> f64 {
        let most = MAX_TIMES_YIELD * self.first_yield.1;
        let curvature = libm::fabs(curvature_per_mm).min(most);
        let sign = if curvature_per_mm < 0.0 { -1.0 } else { 1.0 };
        if curvature <= self.first_yield.1 {
            return sign * self.stiffness * curvature;
        }
        // Half of the elastic core: the metal has not yielded nearer than this to the neutral line.
        let core = self.metal.yield_mpa / (self.metal.modulus_mpa * curvature);
        let stress = |z: f64, neutral: f64| {
            let strain = curvature * (z - neutral);
            let elastic = self.metal.modulus_mpa * strain;
            let perfect = elastic.clamp(-self.metal.yield_mpa, self.metal.yield_mpa);
            perfect + self.metal.hardening * (elastic - perfect)
        };
        let neutral = if self.symmetric {
            self.profile.centroid_mm()
        } else {
            self.profile
                .zero_of(|neutral| self.profile.integral(neutral, core, |z| stress(z, neutral)))
        };
        sign * self
            .profile
            .integral(neutral, core, |z| stress(z, neutral) * (z - neutral))
    }

    /// Curvature at a moment of the first bending, 1/mm; the greatest curvature if the bar cannot carry the moment.
    #[must_use]
    pub fn curvature_per_mm(&self, moment_n_mm: f64) -> f64 {
        let sign = if moment_n_mm < 0.0 { -1.0 } else { 1.0 };
        let moment = libm::fabs(moment_n_mm);
        if moment <= self.first_yield.0 {
            return moment_n_mm / self.stiffness;
        }
        sign * self.rising(moment, |curvature| self.moment_n_mm(curvature))
    }

    /// Strain of the outermost fibre at a curvature, for a bar whose neutral line has hardly moved.
    #[must_use]
    pub fn strain(&self, curvature_per_mm: f64) -> f64 {
        let (low, high) = self.profile.edges_mm();
        let centre = self.profile.centroid_mm();
        libm::fabs(curvature_per_mm) * (high - centre).max(centre - low)
    }

    /// The curvature at which a function that rises with it reaches a value.
    fn rising(&self, wanted: f64, of: impl Fn(f64) -> f64) -> f64 {
        let (mut low, mut high) = (0.0, self.first_yield.1);
        while of(high) < wanted && high < MAX_TIMES_YIELD * self.first_yield.1 {
            low = high;
            high *= 2.0;
        }
        root(low, high, |curvature| of(curvature) - wanted)
    }
}

/// Where a rising function passes zero between two values: false position with the Illinois rule (halving the retained
/// end), so that it converges from both sides. The nearer end if it does not pass zero.
pub(super) fn root(mut low: f64, mut high: f64, of: impl Fn(f64) -> f64) -> f64 {
    let (mut at_low, mut at_high) = (of(low), of(high));
    if at_low >= 0.0 || at_high <= 0.0 {
        return if at_low >= 0.0 { low } else { high };
    }
    let mut moved_high = None;
    for _ in 0..60 {
        let middle = (low * at_high - high * at_low) / (at_high - at_low);
        let value = of(middle);
        if value == 0.0 || high - low <= 1e-13 * high.abs() || middle <= low || middle >= high {
            return middle.clamp(low, high);
        }
        if value > 0.0 {
            (high, at_high) = (middle, value);
            if moved_high == Some(true) {
                at_low *= 0.5;
            }
        } else {
            (low, at_low) = (middle, value);
            if moved_high == Some(false) {
                at_high *= 0.5;
            }
        }
        moved_high = Some(value > 0.0);
        if value.abs() < 1e-12 * (at_high - at_low).abs() {
            return middle;
        }
    }
    f64::midpoint(low, high)
}
