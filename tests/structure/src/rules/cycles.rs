//! There are no cycles between modules, and none between files unless listed with a reason.

use super::facts::Facts;
use crate::cycles::{Cycle, between_files, between_modules};
use crate::layers::KnownCycle;

/// Cycles between modules that remain without the listed exceptions.
pub(super) fn module_cycles(facts: &Facts<'_>) -> Vec<String> {
    let mut uses = facts.uses.inside.clone();
    uses.retain(|used| {
        let (from, to) = (facts.top(used.from), facts.top(used.to));
        !facts.layers.allows(facts.package(used.from), from, to)
    });
    let cycles = between_modules(facts.workspace, &uses);
    cycles
        .iter()
        .map(|cycle| describe("modules", cycle))
        .collect()
}

/// Cycles between files that are not listed.
pub(super) fn file_cycles(facts: &Facts<'_>) -> Vec<String> {
    let cycles = between_files(facts.workspace, &facts.uses.inside);
    let unknown = cycles.iter().filter(|cycle| {
        let mut listed = facts.layers.cycles.iter();
        !listed.any(|known| is_same(known, cycle))
    });
    unknown.map(|cycle| describe("files", cycle)).collect()
}

/// Listed cycles that do not exist, or not with these members.
pub(super) fn stale_cycles(facts: &Facts<'_>) -> Vec<String> {
    let cycles = between_files(facts.workspace, &facts.uses.inside);
    let gone = facts.layers.cycles.iter().filter(|known| {
        let mut there = cycles.iter();
        !there.any(|cycle| is_same(known, cycle))
    });
    let messages = gone.map(|known| {
        let files = known.files.join(", ");
        format!(
            "layers.toml: {} has no cycle of the files {files}; remove the entry",
            known.package
        )
    });
    messages.collect()
}

fn is_same(known: &KnownCycle, cycle: &Cycle) -> bool {
    let mut files = known.files.clone();
    files.sort();
    known.package == cycle.package && files == cycle.members
}

fn describe(what: &str, cycle: &Cycle) -> String {
    let members = cycle.members.join(", ");
    let uses = cycle.uses.join("\n    ");
    format!("{}: cycle of {what}: {members}\n    {uses}", cycle.package)
}
