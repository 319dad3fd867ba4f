//! Lengths in fractions of an inch, and what rounding to them costs.

use coldsquare_core::units::MILLIMETRES_PER_INCH;

/// Fractions of an inch: halves to sixty-fourths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fraction(u32);

/// A rounded length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rounded {
    /// The length, mm.
    pub mm: f64,
    /// What rounding added, mm; negative where it took something off.
    pub added_mm: f64,
}

impl Fraction {
    /// Parts of an inch: 2, 4, 8, 16, 32 or 64; `None` for others.
    #[must_use]
    pub const fn of(parts: u32) -> Option<Self> {
        match parts {
            2 | 4 | 8 | 16 | 32 | 64 => Some(Self(parts)),
            _ => None,
        }
    }

    /// The nearest length in these parts.
    #[must_use]
    pub fn round(self, mm: f64) -> Rounded {
        let part = MILLIMETRES_PER_INCH / f64::from(self.0);
        let rounded = (mm / part).round() * part;
        Rounded {
            mm: rounded,
            added_mm: rounded - mm,
        }
    }

    /// The nearest length in these parts, as on a tape: "47 3/16 in".
    #[must_use]
    pub fn text(self, mm: f64) -> String {
        let parts = (mm / MILLIMETRES_PER_INCH * f64::from(self.0)).round();
        let whole = (parts / f64::from(self.0)).floor();
        let (mut above, mut below) = (parts - whole * f64::from(self.0), self.0);
        while above > 0.0 && above % 2.0 == 0.0 {
            above /= 2.0;
            below /= 2;
        }
        match (whole, above) {
            (_, 0.0) => format!("{whole:.0} in"),
            (0.0, _) => format!("{above:.0}/{below} in"),
            _ => format!("{whole:.0} {above:.0}/{below} in"),
        }
    }
}
