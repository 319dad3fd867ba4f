//! By how much welds shrink more or less than the published rules say.

/// A multiplier of a published rule, with its relative standard uncertainty (k = 1). 1 is the rule itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factor {
    /// The value.
    pub value: f64,
    /// Relative standard uncertainty.
    pub relative_uncertainty: f64,
}

/// How welds shrink against the published rules: one factor for each kind of shrinkage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Factors {
    /// Longitudinal shrinkage: the shrinkage force along a member.
    pub longitudinal: Factor,
    /// Transverse strip shrinkage: the shrinkage of a wall that the weld crosses.
    pub transverse_strip: Factor,
    /// Transverse shrinkage: it closes the joint.
    pub transverse: Factor,
    /// Angular distortion of an open wall.
    pub angular: Factor,
    /// The yield stress that limits a weld's shrinkage force, over the minimum that the material is sold with.
    pub yield_stress: Factor,
    /// Scatter between the welds of one shop (fit-up, speed, position): relative standard uncertainty of one weld.
    pub weld_to_weld: f64,
}

impl Factors {
    /// The published factors: those of a shop that has measured nothing yet.
    ///
    /// Relative standard uncertainties: `longitudinal` 20 %, because published tendon forces lie between 0.15 and
    /// 0.30 kN per J/mm; `transverse` 30 %, because the rules in use differ by a factor of two; `transverse_strip` and
    /// `angular` 40 %, `yield_stress` 20 % (steel is delivered with up to 40 % more than its minimum yield stress) and
    /// the scatter between welds 15 %: common practice, no source.
    #[must_use]
    pub const fn starting() -> Self {
        const fn one(relative_uncertainty: f64) -> Factor {
            Factor {
                value: 1.0,
                relative_uncertainty,
            }
        }
        Self {
            longitudinal: one(0.20),
            transverse_strip: one(0.40),
            transverse: one(0.30),
            angular: one(0.40),
            yield_stress: one(0.20),
            weld_to_weld: 0.15,
        }
    }

    /// The factors with each of them in turn changed by its standard uncertainty.
    #[must_use]
    pub fn each_changed(&self) -> [Self; 5] {
        let changed = |factor: Factor| Factor {
            value: factor.value * (1.0 + factor.relative_uncertainty),
            ..factor
        };
        [
            Self {
                longitudinal: changed(self.longitudinal),
                ..*self
            },
            Self {
                transverse_strip: changed(self.transverse_strip),
                ..*self
            },
            Self {
                transverse: changed(self.transverse),
                ..*self
            },
            Self {
                angular: changed(self.angular),
                ..*self
            },
            Self {
                yield_stress: changed(self.yield_stress),
                ..*self
            },
        ]
    }
}
