//! The three metals of light frames, for whatever depends only on the name: wire, settings, density.
//!
//! ```
//! use coldsquare_engine::formulas::metal::Metal;
//!
//! assert_eq!(Metal::Aluminium.density_kg_m3(), 2700.0);
//! ```

/// A metal to weld.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Metal {
    /// Unalloyed carbon steel such as S235.
    MildSteel,
    /// Austenitic stainless steel such as 304 (1.4301).
    Stainless,
    /// Aluminium and its alloys.
    Aluminium,
}

impl Metal {
    /// The name a maker uses.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::MildSteel => "mild steel",
            Self::Stainless => "stainless steel",
            Self::Aluminium => "aluminium",
        }
    }

    /// Density, kg/m³.
    ///
    /// Source: steel 7850, EN 1991-1-1, table A.4; 1.4301 7900, EN 10088-1, and aluminium 2700, both from memory.
    #[must_use]
    pub const fn density_kg_m3(self) -> f64 {
        match self {
            Self::MildSteel => 7850.0,
            Self::Stainless => 7900.0,
            Self::Aluminium => 2700.0,
        }
    }
}
