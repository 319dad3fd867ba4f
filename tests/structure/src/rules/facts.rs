//! What the rules look at.

use crate::dependencies::Dependencies;
use crate::layers::Layers;
use crate::workspace::Workspace;

/// A workspace, its layers and its dependencies.
pub(super) struct Facts<'a> {
    pub workspace: &'a Workspace,
    pub layers: &'a Layers,
    pub uses: Dependencies,
}

impl Facts<'_> {
    /// Name of the package that a module belongs to.
    pub fn package(&self, module: usize) -> &str {
        &self.workspace.packages[self.workspace.package_of(module)].name
    }

    /// Name of the top-level module that a module belongs to.
    pub fn top(&self, module: usize) -> &str {
        &self.workspace.modules[self.workspace.top_of(module)].name
    }

    /// Location of a use, as `file:line`.
    pub fn location(&self, module: usize, line: usize) -> String {
        let path = self.workspace.file_of(module).source.path.display();
        format!("{path}:{line}")
    }
}
