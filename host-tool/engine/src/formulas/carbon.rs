//! Carbon equivalents: one number for how readily a steel hardens beside a weld.
//!
//! For un- and low-alloyed steels. A composition beyond the limits below is refused, because the fits are not valid there;
//! a leaner one is accepted, because every equivalent only gets smaller.
//!
//! ```
//! use coldsquare_engine::formulas::carbon::Composition;
//!
//! let s235 = Composition { carbon: 0.17, manganese: 1.2, ..Composition::default() };
//! assert!((s235.ce()? - 0.37).abs() < 1e-9);
//! # Ok::<(), coldsquare_core::formula::FormulaError>(())
//! ```

use coldsquare_core::formula::{Allowed, Formula, FormulaError};

const EQUIVALENT: Formula = Formula {
    name: "carbon equivalent",
    clause: "range of un- and low-alloyed steels as EN 1011-2:2001, Annex C, from memory",
};

/// Chemical composition, per cent by mass. Leave out an element that is zero.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Composition {
    /// Carbon, up to 0.32 %.
    pub carbon: f64,
    /// Silicon, up to 0.8 %.
    pub silicon: f64,
    /// Manganese, up to 1.9 %.
    pub manganese: f64,
    /// Chromium, up to 1.5 %.
    pub chromium: f64,
    /// Molybdenum, up to 0.75 %.
    pub molybdenum: f64,
    /// Vanadium, up to 0.2 %.
    pub vanadium: f64,
    /// Nickel, up to 2.5 %.
    pub nickel: f64,
    /// Copper, up to 1.0 %.
    pub copper: f64,
    /// Niobium, up to 0.06 %.
    pub niobium: f64,
    /// Boron, up to 0.005 %.
    pub boron: f64,
}

impl Composition {
    /// CE = C + Mn/6 + (Cr + Mo + V)/5 + (Ni + Cu)/15, per cent: the equivalent of the IIW.
    ///
    /// # Errors
    /// [`FormulaError`] when an element is out of its range.
    pub fn ce(&self) -> Result<f64, FormulaError> {
        let c = self.checked()?;
        Ok(c.carbon
            + c.manganese / 6.0
            + (c.chromium + c.molybdenum + c.vanadium) / 5.0
            + (c.nickel + c.copper) / 15.0)
    }

    /// CET = C + (Mn + Mo)/10 + (Cr + Cu)/20 + Ni/40, per cent: the equivalent of EN 1011-2 method B.
    ///
    /// # Errors
    /// [`FormulaError`] when an element is out of its range.
    pub fn cet(&self) -> Result<f64, FormulaError> {
        let c = self.checked()?;
        Ok(c.carbon
            + (c.manganese + c.molybdenum) / 10.0
            + (c.chromium + c.copper) / 20.0
            + c.nickel / 40.0)
    }

    /// Pcm = C + Si/30 + (Mn + Cu + Cr)/20 + Ni/60 + Mo/15 + V/10 + 5·B, per cent: for low-carbon steels.
    ///
    /// # Errors
    /// [`FormulaError`] when an element is out of its range.
    pub fn pcm(&self) -> Result<f64, FormulaError> {
        let c = self.checked()?;
        Ok(c.carbon
            + c.silicon / 30.0
            + (c.manganese + c.copper + c.chromium) / 20.0
            + c.nickel / 60.0
            + c.molybdenum / 15.0
            + c.vanadium / 10.0
            + 5.0 * c.boron)
    }

    /// CEN = C + A(C)·[Si/24 + Mn/6 + (Cu + Ni)/15 + (Cr + Mo + Nb + V)/5 + 5·B], per cent, with
    /// A(C) = 0.75 + 0.25·tanh[20·(C − 0.12)]: passes from Pcm to CE as carbon rises.
    ///
    /// # Errors
    /// [`FormulaError`] when an element is out of its range.
    pub fn cen(&self) -> Result<f64, FormulaError> {
        let c = self.checked()?;
        let accommodation = 0.75 + 0.25 * libm::tanh(20.0 * (c.carbon - 0.12));
        Ok(c.carbon
            + accommodation
                * (c.silicon / 24.0
                    + c.manganese / 6.0
                    + (c.copper + c.nickel) / 15.0
                    + (c.chromium + c.molybdenum + c.niobium + c.vanadium) / 5.0
                    + 5.0 * c.boron))
    }

    fn checked(&self) -> Result<&Self, FormulaError> {
        for (element, percent, most) in [
            ("carbon", self.carbon, 0.32),
            ("silicon", self.silicon, 0.8),
            ("manganese", self.manganese, 1.9),
            ("chromium", self.chromium, 1.5),
            ("molybdenum", self.molybdenum, 0.75),
            ("vanadium", self.vanadium, 0.2),
            ("nickel", self.nickel, 2.5),
            ("copper", self.copper, 1.0),
            ("niobium", self.niobium, 0.06),
            ("boron", self.boron, 0.005),
        ] {
            EQUIVALENT.require(element, percent, "%", Allowed::Between(0.0, most))?;
        }
        Ok(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::num::f64::ANY;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_composition_gives_a_sound_result_or_an_error(
            carbon in ANY, boron in ANY, nickel in 0.0..3.0f64,
        ) {
            let steel = Composition { carbon, boron, nickel, ..Composition::default() };
            for equivalent in [steel.ce(), steel.cet(), steel.pcm(), steel.cen()].into_iter().flatten() {
                prop_assert!((0.0..2.0).contains(&equivalent));
            }
        }
    }
}
