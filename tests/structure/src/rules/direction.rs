//! A module uses only its own layer and the layers below.

use super::facts::Facts;
use crate::dependencies::Dependency;
use crate::layers::PackageLayers;
use std::collections::BTreeSet;

/// Uses of a module in a higher layer.
pub(super) fn upward_uses(facts: &Facts<'_>) -> Vec<String> {
    let uses = facts.uses.inside.iter();
    uses.filter_map(|used| upward_use(facts, used)).collect()
}

fn upward_use(facts: &Facts<'_>, used: &Dependency) -> Option<String> {
    let package = facts.package(used.from);
    let rules = facts.layers.package(package)?;
    let (from, to) = (facts.top(used.from), facts.top(used.to));
    if package != facts.package(used.to) || from == to || facts.layers.allows(package, from, to) {
        return None;
    }
    let (own, own_name) = layer(facts, rules, used.from)?;
    let (other, other_name) = layer(facts, rules, used.to)?;
    let location = facts.location(used.from, used.line);
    (own < other).then(|| {
        format!(
            "{location}: `{}`: {from} in layer \"{own_name}\" must not use {to} in layer \"{other_name}\"",
            used.path
        )
    })
}

/// Layer of a top-level module; a crate root that is not listed is above all layers.
fn layer<'a>(
    facts: &Facts<'_>,
    rules: &'a PackageLayers,
    module: usize,
) -> Option<(usize, &'a str)> {
    let top = facts.workspace.top_of(module);
    let is_root = facts.workspace.modules[top].parent.is_none();
    let above = is_root.then_some((rules.layers.len(), "crate root"));
    rules.layer_of(&facts.workspace.modules[top].name).or(above)
}

/// Top-level modules missing from `layers.toml`.
pub(super) fn modules_without_layer(facts: &Facts<'_>) -> Vec<String> {
    let tops = (0..facts.workspace.modules.len())
        .filter(|&module| facts.workspace.top_of(module) == module);
    let without = tops.filter_map(|module| {
        let package = facts.package(module);
        let rules = facts.layers.package(package)?;
        let missing = layer(facts, rules, module).is_none();
        let path = facts.workspace.file_of(module).source.path.display();
        let name = &facts.workspace.modules[module].name;
        missing.then(|| {
            format!("{path}: the module {name} of {package} is in no layer of layers.toml; add it")
        })
    });
    without.collect()
}

/// Modules and exceptions in `layers.toml` that no longer exist.
pub(super) fn stale_entries(facts: &Facts<'_>) -> Vec<String> {
    let modules = 0..facts.workspace.modules.len();
    let there = modules
        .map(|module| (facts.package(module), facts.top(module)))
        .collect::<BTreeSet<_>>();
    let mut violations = Vec::new();
    for package in &facts.layers.packages {
        let listed = package.layers.iter().flat_map(|layer| &layer.modules);
        let gone = listed.filter(|name| !there.contains(&(package.name.as_str(), name.as_str())));
        violations.extend(gone.map(|name| {
            format!(
                "layers.toml: {} has no module {name}; remove it",
                package.name
            )
        }));
    }
    let uses = facts.uses.inside.iter();
    let edges = uses.map(|used| {
        (
            facts.package(used.from),
            facts.top(used.from),
            facts.top(used.to),
        )
    });
    let edges = edges.collect::<BTreeSet<_>>();
    let exceptions = facts.layers.exceptions.iter();
    let gone = exceptions.filter(|one| !edges.contains(&(&one.package, &one.from, &one.to)));
    violations.extend(gone.map(|one| {
        format!(
            "layers.toml: {} of {} no longer uses {}; remove the exception",
            one.from, one.package, one.to
        )
    }));
    violations
}
