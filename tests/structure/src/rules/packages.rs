//! Which packages and outside paths a package may use.

use super::facts::Facts;

/// Dependencies in manifests that `layers.toml` does not allow.
pub(super) fn forbidden_dependencies(facts: &Facts<'_>) -> Vec<String> {
    let mut violations = Vec::new();
    for package in facts
        .workspace
        .packages
        .iter()
        .filter(|package| package.is_product)
    {
        let manifest = package.folder.join("Cargo.toml");
        let message = |what: String| format!("{}: {} {what}", manifest.display(), package.name);
        let Some(rules) = facts.layers.package(&package.name) else {
            violations.push(message("is missing from layers.toml; add it".to_owned()));
            continue;
        };
        let is_ours = |name: &String| {
            facts
                .workspace
                .packages
                .iter()
                .any(|ours| ours.name == *name)
        };
        let all = package
            .dependencies
            .iter()
            .chain(&package.optional_dependencies);
        let ours = all.filter(|name| is_ours(name) && !rules.uses.contains(name));
        violations.extend(ours.map(|name| message(format!("must not depend on {name}"))));
        let forbidden = package
            .dependencies
            .iter()
            .filter(|name| rules.forbidden.contains(name));
        violations.extend(
            forbidden
                .map(|name| message(format!("must not depend on {name}, unless it is optional"))),
        );
    }
    violations
}

/// Uses of another package beyond the modules listed in `only`.
pub(super) fn restricted_modules(facts: &Facts<'_>) -> Vec<String> {
    let beyond = facts.uses.inside.iter().filter_map(|used| {
        let (user, package) = (facts.package(used.from), facts.package(used.to));
        let only = facts.layers.package(user)?.only.get(package)?;
        let module = facts.top(used.to);
        let allowed = only.iter().any(|name| name == module);
        (!allowed).then(|| {
            let location = facts.location(used.from, used.line);
            let only = only.join(", ");
            format!(
                "{location}: `{}`: {user} may use only {only} of {package}, not {module}",
                used.path
            )
        })
    });
    beyond.collect()
}

/// Uses of forbidden paths.
pub(super) fn forbidden_paths(facts: &Facts<'_>) -> Vec<String> {
    let named = facts.uses.outside.iter().filter_map(|used| {
        let package = facts.package(used.from);
        let forbidden = &facts.layers.package(package)?.forbidden;
        let hit = forbidden
            .iter()
            .find(|forbidden| is_forbidden(&used.path, forbidden))?;
        let location = facts.location(used.from, used.line);
        let path = used.path.join("::");
        Some(format!(
            "{location}: `{path}`: {package} must not use {hit}"
        ))
    });
    named.collect()
}

/// True when a path is forbidden or inside something forbidden; `std::time::*` includes all of `std::time`.
fn is_forbidden(path: &[String], forbidden: &str) -> bool {
    let forbidden = forbidden.split("::").collect::<Vec<_>>();
    let (path, rest) = match path.split_last() {
        Some((last, before)) if last == "*" => (before, true),
        _ => (path, false),
    };
    let same = path.iter().zip(&forbidden).all(|(a, b)| a == b);
    same && (path.len() >= forbidden.len() || rest)
}
