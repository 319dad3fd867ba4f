//! Reads `material`: a name, or a table of what differs from a known metal.

use crate::material::Material;
use crate::reading::{QuantityKind, Reader, Span, Table, suggest};
use toml::de::DeValue;

pub(crate) fn read(top: &mut Table<'_>) -> Option<Material> {
    let reader = top.reader();
    let Some(value) = top.value("material") else {
        return Some(Material::mild_steel());
    };
    match value.get_ref() {
        DeValue::String(name) => known(name, &value.span(), reader),
        DeValue::Table(table) => described(Table::new(reader, table, value.span(), "[material]")),
        _ => {
            reader.error(
                &value.span(),
                "'material' must be a name or a table",
                "write material = \"steel\"",
            );
            None
        }
    }
}

fn known(name: &str, span: &Span, reader: &Reader<'_>) -> Option<Material> {
    let found = Material::by_name(name);
    if found.is_none() {
        let known: Vec<_> = Material::known_names().collect();
        reader.error(
            span,
            format!("unknown material '{name}'"),
            format!("{}; or describe it under [material]", suggest(name, &known)),
        );
    }
    found
}

fn described(mut table: Table<'_>) -> Option<Material> {
    let reader = table.reader();
    let like = match table.text("like") {
        Some(name) => known(name.get_ref(), &name.span(), reader),
        None => Some(Material::mild_steel()),
    };
    let mut material = like?;
    if let Some(name) = table.text("name") {
        material.name = name.into_inner();
    }
    for (key, field) in [
        ("density_kg_m3", &mut material.density_kg_m3),
        ("youngs_modulus_mpa", &mut material.youngs_modulus_mpa),
        ("poisson_ratio", &mut material.poisson_ratio),
        (
            "thermal_expansion_per_k",
            &mut material.thermal_expansion_per_k,
        ),
        ("yield_mpa", &mut material.yield_mpa),
        ("conductivity_w_mk", &mut material.conductivity_w_mk),
        (
            "volumetric_heat_j_mm3k",
            &mut material.volumetric_heat_j_mm3k,
        ),
    ] {
        if let Some(given) = table.positive(key, QuantityKind::Number) {
            *field = given.into_inner();
        }
    }
    let span = table.span().clone();
    table.finish();
    if let Err(error) = material.check() {
        let hint = "the unit is in the name of the key";
        reader.error(&span, error.to_string(), hint);
    }
    Some(material)
}
