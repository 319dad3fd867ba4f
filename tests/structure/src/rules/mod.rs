//! The rules that keep dependencies pointing downwards, and public items in use.

mod cycles;
mod direction;
mod facts;
pub mod offered;
mod packages;

use crate::dependencies::dependencies;
use crate::layers::Layers;
use crate::workspace::Workspace;
use facts::Facts;

/// Checks all rules of dependencies; each violation is a message that says where it is and what is wrong.
pub fn violations(workspace: &Workspace, layers: &Layers) -> Vec<String> {
    let uses = dependencies(workspace);
    let facts = Facts {
        workspace,
        layers,
        uses,
    };
    let rules = [
        packages::forbidden_dependencies,
        packages::restricted_modules,
        packages::forbidden_paths,
        direction::upward_uses,
        direction::modules_without_layer,
        direction::stale_entries,
        cycles::module_cycles,
        cycles::file_cycles,
        cycles::stale_cycles,
    ];
    let mut violations = rules
        .iter()
        .flat_map(|rule| rule(&facts))
        .collect::<Vec<_>>();
    violations.dedup();
    violations
}
