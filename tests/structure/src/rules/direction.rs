//! A module knows its own layer and those below it.

use super::Facts;
use crate::dependencies::Dependency;
use crate::layers::PackageLayers;
use std::collections::BTreeSet;

/// Uses of a module that stands in a higher layer.
pub(super) fn reaches_up(facts: &Facts<'_>) -> Vec<String> {
    let uses = facts.uses.inside.iter();
    uses.filter_map(|used| reach(facts, used)).collect()
}

fn reach(facts: &Facts<'_>, used: &Dependency) -> Option<String> {
    let package = facts.package(used.from);
    let rules = facts.layers.package(package)?;
    let (from, to) = (facts.top(used.from), facts.top(used.to));
    if package != facts.package(used.to) || from == to || facts.layers.allows(package, from, to) {
        return None;
    }
    let (own, own_name) = layer(facts, rules, used.from)?;
    let (other, other_name) = layer(facts, rules, used.to)?;
    let place = facts.place(used.from, used.line);
    (own < other).then(|| {
        format!(
            "{place}: `{}`: {from} stands in the layer \"{own_name}\" and must not know {to} of the layer \"{other_name}\"",
            used.path
        )
    })
}

/// The layer of the module right under the root; a root that is not named stands above all layers.
fn layer<'a>(
    facts: &Facts<'_>,
    rules: &'a PackageLayers,
    module: usize,
) -> Option<(usize, &'a str)> {
    let top = facts.house.top_of(module);
    let is_root = facts.house.modules[top].parent.is_none();
    let above = is_root.then_some((rules.layers.len(), "the root"));
    rules.layer_of(&facts.house.modules[top].name).or(above)
}

/// Modules right under a root that `layers.toml` does not name.
pub(super) fn stands_in_no_layer(facts: &Facts<'_>) -> Vec<String> {
    let tops =
        (0..facts.house.modules.len()).filter(|&module| facts.house.top_of(module) == module);
    let without = tops.filter_map(|module| {
        let package = facts.package(module);
        let rules = facts.layers.package(package)?;
        let homeless = layer(facts, rules, module).is_none();
        let path = facts.house.file_of(module).source.path.display();
        let name = &facts.house.modules[module].name;
        homeless.then(|| {
            format!("{path}: the module {name} of {package} stands in no layer of layers.toml")
        })
    });
    without.collect()
}

/// Names in `layers.toml` that nothing bears, and uses against the order that are no more.
pub(super) fn is_listed_in_vain(facts: &Facts<'_>) -> Vec<String> {
    let modules = 0..facts.house.modules.len();
    let there = modules
        .map(|module| (facts.package(module), facts.top(module)))
        .collect::<BTreeSet<_>>();
    let mut broken = Vec::new();
    for package in &facts.layers.packages {
        let listed = package.layers.iter().flat_map(|layer| &layer.modules);
        let gone = listed.filter(|name| !there.contains(&(package.name.as_str(), name.as_str())));
        broken.extend(gone.map(|name| {
            format!(
                "layers.toml: {} has no module {name}; take it out",
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
    let against = facts.layers.against.iter();
    let gone = against.filter(|one| !edges.contains(&(&one.package, &one.from, &one.to)));
    broken.extend(gone.map(|one| {
        format!(
            "layers.toml: {} of {} no longer knows {}; take it out",
            one.from, one.package, one.to
        )
    }));
    broken
}
