//! Moment and curvature of a bar that yields, and what stays when it is let go.

use super::profile::{BENDING, Profile};
use coldsquare_core::formula::{Allowed, FormulaError};

/// The metal of a bar as bending needs it.
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
    /// Whether it is the same upwards and downwards, so that its neutral line stays where it is.
    symmetric: bool,
}

/// No bar in a shop is bent tighter than this many times its first yield.
const MOST_TIMES_YIELD: f64 = 1e4;

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

    /// Moment that bends it on and on if the metal does not harden, N·mm.
    #[must_use]
    pub const fn plastic_moment_n_mm(&self) -> f64 {
        self.plastic_moment
    }

    /// Moment at a curvature of the first bending, N·mm: M = ∫ σ z dA. Curvature in 1/mm; the sign goes through, what
    /// is not a number stays none, and beyond 10 000 times first yield it stays as there.
    #[must_use]
    pub fn moment_n_mm(&self, curvature_per_mm: f64) -> f64 {
        let most = MOST_TIMES_YIELD * self.first_yield.1;
        let curvature = libm::fabs(curvature_per_mm).min(most);
        let sign = if curvature_per_mm < 0.0 { -1.0 } else { 1.0 };
        if curvature <= self.first_yield.1 {
            return sign * self.stiffness * curvature;
        }
        // Half of the elastic core: nearer than this to the neutral line the metal has not yielded.
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

    /// Curvature that stays when the bar is let go, 1/mm: κ_res = κ − M/(E·I). Letting go is elastic as long as no
    /// fibre yields backwards, which holds for what stays below about twice the yield curvature of the shape factor.
    #[must_use]
    pub fn kept_per_mm(&self, curvature_per_mm: f64) -> f64 {
        curvature_per_mm - self.moment_n_mm(curvature_per_mm) / self.stiffness
    }

    /// Curvature to bend to so that this much stays, 1/mm.
    #[must_use]
    pub fn bend_to_per_mm(&self, kept_per_mm: f64) -> f64 {
        let wanted = libm::fabs(kept_per_mm);
        let sign = if kept_per_mm < 0.0 { -1.0 } else { 1.0 };
        sign * self.rising(wanted, |curvature| self.kept_per_mm(curvature))
    }

    /// Curvature at a moment of the first bending, 1/mm; the steepest there is when the bar cannot carry it.
    #[must_use]
    pub fn curvature_per_mm(&self, moment_n_mm: f64) -> f64 {
        let sign = if moment_n_mm < 0.0 { -1.0 } else { 1.0 };
        let moment = libm::fabs(moment_n_mm);
        if moment <= self.first_yield.0 {
            return moment_n_mm / self.stiffness;
        }
        sign * self.rising(moment, |curvature| self.moment_n_mm(curvature))
    }

    /// Strain of the farthest fibre at a curvature, of a bar that has not moved its neutral line much.
    #[must_use]
    pub fn strain(&self, curvature_per_mm: f64) -> f64 {
        let (low, high) = self.profile.edges_mm();
        let centre = self.profile.centroid_mm();
        libm::fabs(curvature_per_mm) * (high - centre).max(centre - low)
    }

    /// The curvature from first yield on at which something that rises with it reaches a value.
    fn rising(&self, wanted: f64, of: impl Fn(f64) -> f64) -> f64 {
        let (mut low, mut high) = (0.0, self.first_yield.1);
        while of(high) < wanted && high < MOST_TIMES_YIELD * self.first_yield.1 {
            low = high;
            high *= 2.0;
        }
        root(low, high, |curvature| of(curvature) - wanted)
    }
}

/// Where something that rises passes zero between two values: false position, with the end that stays halved (the
/// Illinois rule), so that it closes in from both sides. The nearer end when it does not pass zero.
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
