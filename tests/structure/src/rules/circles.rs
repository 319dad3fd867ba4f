//! No circles: among modules none, among the files of a module only those listed with a reason.

use super::Facts;
use crate::circles::{Circle, between_files, between_modules};
use crate::layers::KnownCircle;

/// Circles of modules that go round without a use that is allowed against the order.
pub(super) fn of_modules(facts: &Facts<'_>) -> Vec<String> {
    let mut uses = facts.uses.inside.clone();
    uses.retain(|used| {
        let (from, to) = (facts.top(used.from), facts.top(used.to));
        !facts.layers.allows(facts.package(used.from), from, to)
    });
    let circles = between_modules(facts.house, &uses);
    circles
        .iter()
        .map(|circle| tell("modules", circle))
        .collect()
}

/// Circles of files that are not listed.
pub(super) fn of_files(facts: &Facts<'_>) -> Vec<String> {
    let circles = between_files(facts.house, &facts.uses.inside);
    let unknown = circles.iter().filter(|circle| {
        let mut listed = facts.layers.circles.iter();
        !listed.any(|known| is_same(known, circle))
    });
    unknown.map(|circle| tell("files", circle)).collect()
}

/// Listed circles that are no more, or not as listed.
pub(super) fn listed_in_vain(facts: &Facts<'_>) -> Vec<String> {
    let circles = between_files(facts.house, &facts.uses.inside);
    let gone = facts.layers.circles.iter().filter(|known| {
        let mut there = circles.iter();
        !there.any(|circle| is_same(known, circle))
    });
    let told = gone.map(|known| {
        let files = known.files.join(", ");
        format!(
            "layers.toml: no circle of {} is {files}; take it out",
            known.package
        )
    });
    told.collect()
}

fn is_same(known: &KnownCircle, circle: &Circle) -> bool {
    let mut files = known.files.clone();
    files.sort();
    known.package == circle.package && files == circle.members
}

fn tell(what: &str, circle: &Circle) -> String {
    let members = circle.members.join(", ");
    let uses = circle.uses.join("\n    ");
    format!(
        "{}: a circle of {what}: {members}\n    {uses}",
        circle.package
    )
}
