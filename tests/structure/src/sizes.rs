//! Code lines by package and by file.

use crate::house::House;
use std::collections::BTreeMap;
use std::path::Path;

/// A file may have this many code lines before one asks what it is two of.
pub const MOST_LINES_A_FILE: usize = 400;

/// Sizes of each package, and of each folder that holds packages without being one; the first is the whole.
pub fn by_folder(house: &House) -> Vec<(String, Sizes)> {
    let mut folders = BTreeMap::<&Path, Vec<usize>>::new();
    let products = house
        .packages
        .iter()
        .enumerate()
        .filter(|(_, package)| package.product);
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
            "in all".to_owned()
        } else {
            folder.display().to_string()
        };
        (name, Sizes::of(house, &packages))
    });
    named.collect()
}

/// Code lines of some files.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sizes {
    /// Lines and path of each file, the longest first.
    pub files: Vec<(usize, String)>,
}

impl Sizes {
    /// Of the files of some packages.
    pub fn of(house: &House, packages: &[usize]) -> Self {
        let of_these = house
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

    /// Lines in all.
    pub fn lines(&self) -> usize {
        self.files.iter().map(|(lines, _)| lines).sum()
    }

    /// Lines of the file that this percentage of files is no longer than; 0 without files.
    pub fn percentile(&self, percent: usize) -> usize {
        let nth = (self.files.len() * percent).div_ceil(100).max(1);
        let from_longest = self.files.len().checked_sub(nth);
        from_longest.map_or(0, |from_longest| self.files[from_longest].0)
    }

    /// Files that are too long.
    pub fn too_long(&self) -> impl Iterator<Item = &(usize, String)> {
        self.files
            .iter()
            .take_while(|(lines, _)| *lines > MOST_LINES_A_FILE)
    }
}
