//! The rules that keep dependencies pointing downwards.

mod cycles;
mod direction;
mod packages;

use crate::dependencies::{Dependencies, dependencies};
use crate::layers::Layers;
use crate::workspace::Workspace;

/// What the rules look at.
struct Facts<'a> {
    workspace: &'a Workspace,
    layers: &'a Layers,
    uses: Dependencies,
}

/// Checks all rules; each violation is a message that says where it is and what is wrong.
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

impl Facts<'_> {
    fn package(&self, module: usize) -> &str {
        &self.workspace.packages[self.workspace.package_of(module)].name
    }

    /// Name of the top-level module that a module belongs to.
    fn top(&self, module: usize) -> &str {
        &self.workspace.modules[self.workspace.top_of(module)].name
    }

    /// Location of a use, as `file:line`.
    fn location(&self, module: usize, line: usize) -> String {
        let path = self.workspace.file_of(module).source.path.display();
        format!("{path}:{line}")
    }
}
