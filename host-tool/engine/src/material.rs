//! Materials: the properties that stiffness, shrinkage and mass need.
//!
//! Values are for room temperature unless the field says otherwise. Grades differ and mills vary, so a job file may
//! state its own; the only assumption is that the metal is isotropic. A further known metal is a row of `NAMES`.
//!
//! ```
//! use coldsquare_engine::material::Material;
//!
//! let steel = Material::by_name("S235").expect("known");
//! assert_eq!(steel.youngs_modulus_mpa, 210_000.0);
//! ```

/// A metal. All fields must be positive and finite; [`Material::check`] says which one is not.
#[derive(Clone, Debug, PartialEq)]
pub struct Material {
    /// Name as printed ("mild steel S235").
    pub name: String,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Young's modulus E, MPa.
    pub youngs_modulus_mpa: f64,
    /// Poisson's ratio ν, between 0 and 0.5.
    pub poisson_ratio: f64,
    /// Mean coefficient of thermal expansion α near room temperature, 1/K.
    pub thermal_expansion_per_k: f64,
    /// Yield strength (or 0.2 % proof stress) of the parent metal, MPa.
    pub yield_mpa: f64,
    /// Thermal conductivity λ, W/(m·K): a mean for heat flow under an arc, not the room-temperature value.
    pub conductivity_w_mk: f64,
    /// Heat capacity per volume ρc, J/(mm³·K): a mean for heat flow under an arc.
    pub volumetric_heat_j_mm3k: f64,
    /// Shrinkage beyond what α, ρc and E explain, relative to mild steel.
    pub shrinkage_ratio: f64,
}

/// A field of a [`Material`] that is out of range for a metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MaterialError {
    /// The field, in words.
    pub field: &'static str,
    /// The value found, in the unit of the field.
    pub value: f64,
    /// Lowest and highest value allowed.
    pub allowed: (f64, f64),
}

impl std::fmt::Display for MaterialError {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (low, high) = self.allowed;
        write!(
            out,
            "{} of {} is not that of a metal: {low} to {high} is allowed",
            self.field, self.value
        )
    }
}

impl std::error::Error for MaterialError {}

/// The names of a material, and the material.
type Known = (&'static [&'static str], fn() -> Material);

/// The materials that [`Material::by_name`] knows; the first name of each row is the usual one.
const NAMES: [Known; 3] = [
    (
        &["steel", "mild steel", "mild", "s235", "mild steel s235"],
        Material::mild_steel,
    ),
    (
        &["304", "stainless", "stainless 304", "1.4301"],
        Material::stainless_304,
    ),
    (
        &[
            "6061",
            "aluminium",
            "aluminum",
            "6061-t6",
            "aluminium 6061-t6",
        ],
        Material::aluminium_6061_t6,
    ),
];

impl Material {
    /// Mild steel S235.
    ///
    /// E, ν, α: EN 1993-1-1:2005, 3.2.6. Density: EN 1991-1-1, table A.4. Yield: EN 10025-2, thickness up to 16 mm.
    /// λ and ρc are the means that Grong, *Metallurgical Modelling of Welding* (2nd ed. 1997), table 1.1 uses for
    /// carbon steel. Values from memory.
    #[must_use]
    pub fn mild_steel() -> Self {
        Self {
            name: "mild steel S235".into(),
            density_kg_m3: 7850.0,
            youngs_modulus_mpa: 210_000.0,
            poisson_ratio: 0.3,
            thermal_expansion_per_k: 12e-6,
            yield_mpa: 235.0,
            conductivity_w_mk: 40.0,
            volumetric_heat_j_mm3k: 5.0e-3,
            shrinkage_ratio: 1.0,
        }
    }

    /// Austenitic stainless steel 304 (1.4301), annealed.
    ///
    /// E, α, density: EN 10088-1, tables for 1.4301 (α 20 to 100 °C). Yield: EN 10088-2, 230 MPa for cold rolled
    /// strip and 210 for hot rolled; this is the lower. λ and ρc: Grong 1997, table 1.1. Values from memory.
    #[must_use]
    pub fn stainless_304() -> Self {
        Self {
            name: "stainless 304".into(),
            density_kg_m3: 7900.0,
            youngs_modulus_mpa: 200_000.0,
            poisson_ratio: 0.3,
            thermal_expansion_per_k: 16e-6,
            yield_mpa: 210.0,
            conductivity_w_mk: 20.0,
            volumetric_heat_j_mm3k: 5.0e-3,
            shrinkage_ratio: 2.25,
        }
    }

    /// Aluminium 6061-T6. The yield strength is that of the parent metal: beside a weld it falls to about half
    /// (EN 1999-1-1, table 3.2b: ρo,haz 0.48).
    ///
    /// E, ν, α, density: EN 1999-1-1, 3.2.5 rounded to the usual handbook values of the alloy (68.9 GPa, 0.33,
    /// 23.6e-6/K, 2700 kg/m³). Yield: *Aluminum Standards and Data*, 40 ksi. λ and ρc: Grong 1997, table 1.1.
    /// Values from memory.
    #[must_use]
    pub fn aluminium_6061_t6() -> Self {
        Self {
            name: "aluminium 6061-T6".into(),
            density_kg_m3: 2700.0,
            youngs_modulus_mpa: 68_900.0,
            poisson_ratio: 0.33,
            thermal_expansion_per_k: 23.6e-6,
            yield_mpa: 276.0,
            conductivity_w_mk: 167.0,
            volumetric_heat_j_mm3k: 2.7e-3,
            shrinkage_ratio: 1.0,
        }
    }

    /// The material with this name, upper or lower case: "steel", "S235", "304", "stainless", "6061", "aluminium" …
    #[must_use]
    pub fn by_name(name: &str) -> Option<Self> {
        let wanted = name.trim().to_lowercase();
        NAMES
            .iter()
            .find(|(names, _)| names.contains(&wanted.as_str()))
            .map(|(_, make)| make())
    }

    /// The usual name of each material that [`Material::by_name`] knows, for messages.
    pub fn known_names() -> impl Iterator<Item = &'static str> {
        NAMES.iter().filter_map(|(names, _)| names.first().copied())
    }

    /// Shear modulus G = E / (2 (1 + ν)), MPa.
    #[must_use]
    pub fn shear_modulus_mpa(&self) -> f64 {
        self.youngs_modulus_mpa / (2.0 * (1.0 + self.poisson_ratio))
    }

    /// Thermal diffusivity a = λ / ρc, mm²/s.
    #[must_use]
    pub fn diffusivity_mm2_s(&self) -> f64 {
        self.conductivity_w_mk * 1e-3 / self.volumetric_heat_j_mm3k
    }

    /// Refuses values out of range for a metal, so that a slip of the decimal point is found where it was made.
    ///
    /// # Errors
    /// The first field out of its range.
    pub fn check(&self) -> Result<(), MaterialError> {
        let fields = [
            ("density (kg/m³)", self.density_kg_m3, (1000.0, 25_000.0)),
            (
                "Young's modulus (MPa)",
                self.youngs_modulus_mpa,
                (10_000.0, 500_000.0),
            ),
            ("Poisson's ratio", self.poisson_ratio, (0.0, 0.49)),
            (
                "thermal expansion (1/K)",
                self.thermal_expansion_per_k,
                (1e-6, 50e-6),
            ),
            ("yield strength (MPa)", self.yield_mpa, (10.0, 3000.0)),
            (
                "thermal conductivity (W/mK)",
                self.conductivity_w_mk,
                (1.0, 500.0),
            ),
            (
                "heat capacity per volume (J/mm³K)",
                self.volumetric_heat_j_mm3k,
                (0.5e-3, 10e-3),
            ),
            ("shrinkage ratio", self.shrinkage_ratio, (0.1, 10.0)),
        ];
        for (field, value, allowed) in fields {
            if !(allowed.0..=allowed.1).contains(&value) {
                return Err(MaterialError {
                    field,
                    value,
                    allowed,
                });
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_known_name_gives_a_possible_metal() {
        assert_eq!(Material::known_names().count(), 3);
        for name in Material::known_names() {
            Material::by_name(name).unwrap().check().unwrap();
        }
        assert_eq!(Material::by_name(" S235 "), Some(Material::mild_steel()));
        assert_eq!(Material::by_name("mithril"), None);
    }

    #[test]
    fn diffusivities_are_those_of_grongs_table() {
        // Grong, Metallurgical Modelling of Welding, 2nd ed. 1997, table 1.1: 8, 4 and 62 mm²/s. From memory.
        let table = [
            (Material::mild_steel(), 8.0),
            (Material::stainless_304(), 4.0),
            (Material::aluminium_6061_t6(), 62.0),
        ];
        for (metal, printed) in table {
            assert!(
                (metal.diffusivity_mm2_s() - printed).abs() <= 0.5,
                "{}",
                metal.name
            );
        }
    }

    #[test]
    fn a_slipped_decimal_point_is_found() {
        let slipped = Material {
            youngs_modulus_mpa: 210.0,
            ..Material::mild_steel()
        };
        assert_eq!(slipped.check().unwrap_err().field, "Young's modulus (MPa)");
        let unknown = Material {
            yield_mpa: f64::NAN,
            ..Material::mild_steel()
        };
        assert_eq!(unknown.check().unwrap_err().field, "yield strength (MPa)");
    }
}
