//! The packages, modules and source files of a workspace, found through manifests and `mod` declarations.

mod read;

use crate::outline::Outline;
use crate::source::Source;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// All packages, and the modules and files of product code.
#[derive(Clone, Debug, Default)]
pub struct Workspace {
    /// All packages, ordered by folder; test packages included.
    pub packages: Vec<Package>,
    /// Files of product packages.
    pub files: Vec<File>,
    /// Modules of product packages.
    pub modules: Vec<Module>,
    /// Root module of each library, by the name used in `use`.
    pub libraries: BTreeMap<String, usize>,
}

/// A Cargo package.
#[derive(Clone, Debug)]
pub struct Package {
    /// Name in the manifest.
    pub name: String,
    /// Folder, relative to the workspace root.
    pub folder: PathBuf,
    /// Required dependencies and build dependencies; development dependencies are left out.
    pub dependencies: Vec<String>,
    /// Optional dependencies.
    pub optional_dependencies: Vec<String>,
    /// False for test packages.
    pub is_product: bool,
}

/// A source file.
#[derive(Clone, Debug)]
pub struct File {
    /// Index of its package.
    pub package: usize,
    /// Tokens of the file.
    pub source: Source,
    /// Declarations in the file.
    pub outline: Outline,
}

/// A module, either a file or an inline `mod x { ... }`.
#[derive(Clone, Debug)]
pub struct Module {
    /// Name; a crate root is called `lib`, `main` or after its binary.
    pub name: String,
    /// Parent module; `None` for a crate root.
    pub parent: Option<usize>,
    /// Child modules by name.
    pub children: BTreeMap<String, usize>,
    /// Index of its file, and of its section in the outline of that file.
    pub section: (usize, usize),
}

impl Workspace {
    /// The crate root that a module belongs to.
    pub fn root_of(&self, mut module: usize) -> usize {
        while let Some(parent) = self.modules[module].parent {
            module = parent;
        }
        module
    }

    /// The top-level module that a module belongs to; a crate root belongs to itself.
    pub fn top_of(&self, mut module: usize) -> usize {
        while let Some(parent) = self.modules[module].parent {
            if self.modules[parent].parent.is_none() {
                return module;
            }
            module = parent;
        }
        module
    }

    /// True when `module` is `ancestor` or inside it.
    pub fn is_within(&self, module: usize, ancestor: usize) -> bool {
        let mut parents =
            std::iter::successors(Some(module), |&module| self.modules[module].parent);
        parents.any(|parent| parent == ancestor)
    }

    /// Index of the package that a module belongs to.
    pub fn package_of(&self, module: usize) -> usize {
        self.files[self.modules[module].section.0].package
    }

    /// Path of a file relative to its package.
    pub fn path_in_package(&self, file: &File) -> String {
        let folder = &self.packages[file.package].folder;
        let path = &file.source.path;
        let inside = path.strip_prefix(folder).unwrap_or(path);
        inside.display().to_string()
    }

    /// The file that holds a module.
    pub fn file_of(&self, module: usize) -> &File {
        &self.files[self.modules[module].section.0]
    }
}
