//! Which package may use which, and what of the outside none of its modules may name.

use super::Facts;

/// Needs of a package, of ours and of others, that `layers.toml` does not let it have.
pub(super) fn needs_what_it_must_not(facts: &Facts<'_>) -> Vec<String> {
    let mut broken = Vec::new();
    for package in facts
        .house
        .packages
        .iter()
        .filter(|package| package.product)
    {
        let manifest = package.folder.join("Cargo.toml");
        let told = |what: String| format!("{}: {} {what}", manifest.display(), package.name);
        let Some(rules) = facts.layers.package(&package.name) else {
            broken.push(told("stands nowhere in layers.toml".to_owned()));
            continue;
        };
        let is_ours = |need: &String| facts.house.packages.iter().any(|ours| ours.name == *need);
        let all = package.needs.iter().chain(&package.needs_for_features);
        let ours = all.filter(|need| is_ours(need) && !rules.uses.contains(need));
        broken.extend(ours.map(|need| told(format!("must not know {need}"))));
        let forbidden = package
            .needs
            .iter()
            .filter(|need| rules.forbidden.contains(need));
        broken.extend(
            forbidden.map(|need| told(format!("must not need {need}, unless for a feature"))),
        );
    }
    broken
}

/// Uses of a package of ours beyond the modules of it that are allowed.
pub(super) fn uses_more_than_it_may(facts: &Facts<'_>) -> Vec<String> {
    let beyond = facts.uses.inside.iter().filter_map(|used| {
        let (user, package) = (facts.package(used.from), facts.package(used.to));
        let only = facts.layers.package(user)?.only.get(package)?;
        let module = facts.top(used.to);
        let allowed = only.iter().any(|name| name == module);
        (!allowed).then(|| {
            let place = facts.place(used.from, used.line);
            let only = only.join(", ");
            format!(
                "{place}: `{}`: {user} may use only {only} of {package}, not {module}",
                used.path
            )
        })
    });
    beyond.collect()
}

/// Paths that a package must not name.
pub(super) fn names_what_is_forbidden(facts: &Facts<'_>) -> Vec<String> {
    let named = facts.uses.outside.iter().filter_map(|used| {
        let package = facts.package(used.from);
        let forbidden = &facts.layers.package(package)?.forbidden;
        let hit = forbidden
            .iter()
            .find(|forbidden| names(&used.path, forbidden))?;
        let place = facts.place(used.from, used.line);
        let path = used.path.join("::");
        Some(format!("{place}: `{path}`: {package} must not use {hit}"))
    });
    named.collect()
}

/// True when a path names something forbidden or something in it; `std::time::*` names all that is in `std::time`.
fn names(path: &[String], forbidden: &str) -> bool {
    let forbidden = forbidden.split("::").collect::<Vec<_>>();
    let (path, rest) = match path.split_last() {
        Some((last, before)) if last == "*" => (before, true),
        _ => (path, false),
    };
    let same = path.iter().zip(&forbidden).all(|(a, b)| a == b);
    same && (path.len() >= forbidden.len() || rest)
}
