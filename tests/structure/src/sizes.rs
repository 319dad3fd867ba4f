//! Code lines by package and by file.

use crate::workspace::Workspace;
use std::collections::BTreeMap;
use std::path::Path;

/// A file with more code lines than this probably has two purposes.
pub const MAX_FILE_LINES: usize = 400;

/// Sizes of each package, and of each folder of packages. The first entry is the whole workspace.
pub fn by_folder(workspace: &Workspace) -> Vec<(String, Sizes)> {
    let mut folders = BTreeMap::<&Path, Vec<usize>>::new();
    let products = workspace
        .packages
        .iter()
        .enumerate()
        .filter(|(_, package)| package.is_product);
    for (index, package) in products.clone() {
        let is_package = |folder: &Path| products.clone().any(|(_, other)| other.folder == folder);
        for folder in package.folder.ancestors() {
            if folder == package.folder || !is_package(folder) {
                folders.entry(folder).or_default().push(index);
            }
        }
    }
    let named = folders.into_iter().map(|(folder, packages)| {
        let whole = folder == Path::new("");
        let name = if whole {
            "workspace".to_owned()
        } else {
            folder.display().to_string()
        };
        (name, Sizes::of(workspace, &packages))
    });
    named.collect()
}

/// Code lines of a set of files.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sizes {
    /// Code lines and path of each file, longest first.
    pub files: Vec<(usize, String)>,
}

impl Sizes {
    /// Measures the files of these packages.
    pub fn of(workspace: &Workspace, packages: &[usize]) -> Self {
        let of_these = workspace
            .files
            .iter()
            .filter(|file| packages.contains(&file.package));
        let sources = of_these.map(|file| &file.source);
        let measured =
            sources.map(|source| (source.lines().len(), source.path.display().to_string()));
        let mut files = measured.collect::<Vec<_>>();
        files.sort_by(|a, b| b.cmp(a));
        Self { files }
    }

    /// Total code lines.
    pub fn lines(&self) -> usize {
        self.files.iter().map(|(lines, _)| lines).sum()
    }

    /// Code lines that this percentage of the files does not exceed; 0 without files.
    pub fn percentile(&self, percent: usize) -> usize {
        let nth = (self.files.len() * percent).div_ceil(100).max(1);
        let from_longest = self.files.len().checked_sub(nth);
        from_longest.map_or(0, |from_longest| self.files[from_longest].0)
    }

    /// Files over the limit, longest first.
    pub fn too_long(&self) -> impl Iterator<Item = &(usize, String)> {
        self.files
            .iter()
            .take_while(|(lines, _)| *lines > MAX_FILE_LINES)
    }
}
