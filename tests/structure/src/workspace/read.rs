//! Reads a workspace from disk.

use super::{File, Module, Package, Workspace};
use crate::outline::{Section, outline};
use crate::source::Source;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Packages in these folders are not product code.
const TEST_FOLDERS: [&str; 4] = ["tests", "benches", "examples", "fuzz"];

#[derive(Deserialize)]
struct Manifest {
    package: Option<Named>,
    #[serde(flatten)]
    dependencies: DependencyTables,
    #[serde(default)]
    target: BTreeMap<String, DependencyTables>,
}

#[derive(Deserialize)]
struct Named {
    name: String,
}

#[derive(Deserialize)]
struct DependencyTables {
    #[serde(default)]
    dependencies: BTreeMap<String, toml::Value>,
    #[serde(default, rename = "build-dependencies")]
    build: BTreeMap<String, toml::Value>,
}

impl Manifest {
    /// Names of optional and of required dependencies.
    fn dependencies(&self) -> (Vec<String>, Vec<String>) {
        let tables = std::iter::once(&self.dependencies).chain(self.target.values());
        let entries = tables.flat_map(|table| table.dependencies.iter().chain(&table.build));
        let optional =
            |value: &toml::Value| value.get("optional") == Some(&toml::Value::Boolean(true));
        let (some, all): (Vec<_>, Vec<_>) = entries.partition(|(_, value)| optional(value));
        let names = |entries: Vec<(&String, _)>| {
            entries.into_iter().map(|(name, _)| name.clone()).collect()
        };
        (names(some), names(all))
    }
}

impl Workspace {
    /// Reads every package under `root`.
    ///
    /// # Errors
    /// Which file could not be read, and why.
    pub fn read(root: &Path) -> Result<Self, String> {
        let mut workspace = Self::default();
        let mut manifests = Vec::new();
        find_manifests(root, Path::new(""), &mut manifests)?;
        manifests.sort();
        for folder in manifests {
            workspace.read_package(root, folder)?;
        }
        Ok(workspace)
    }

    fn read_package(&mut self, root: &Path, folder: PathBuf) -> Result<(), String> {
        let path = root.join(&folder).join("Cargo.toml");
        let message = |cause: String| format!("{}: {cause}", path.display());
        let text = std::fs::read_to_string(&path).map_err(|cause| message(cause.to_string()))?;
        let manifest: Manifest =
            toml::from_str(&text).map_err(|cause| message(cause.to_string()))?;
        let Some(Named { name }) = &manifest.package else {
            return Ok(());
        };
        let is_product = !folder
            .iter()
            .any(|part| TEST_FOLDERS.iter().any(|tests| part == *tests));
        let (optional_dependencies, dependencies) = manifest.dependencies();
        self.packages.push(Package {
            name: name.clone(),
            folder,
            dependencies,
            optional_dependencies,
            is_product,
        });
        if is_product {
            self.read_targets(root)
        } else {
            Ok(())
        }
    }

    /// Reads the library and binaries of the last package.
    fn read_targets(&mut self, root: &Path) -> Result<(), String> {
        let package = self.packages.len() - 1;
        let src = self.packages[package].folder.join("src");
        if root.join(&src).join("lib.rs").is_file() {
            let library = self.read_file(root, package, src.join("lib.rs"), "lib", None)?;
            let known_as = self.packages[package].name.replace('-', "_");
            self.libraries.insert(known_as, library);
        }
        if root.join(&src).join("main.rs").is_file() {
            self.read_file(root, package, src.join("main.rs"), "main", None)?;
        }
        let mut programs = entries(&root.join(&src).join("bin")).unwrap_or_default();
        programs.retain(|name| name.ends_with(".rs"));
        for program in programs {
            let name = program.trim_end_matches(".rs");
            self.read_file(root, package, src.join("bin").join(&program), name, None)?;
        }
        Ok(())
    }

    /// Reads a file and the modules it declares; returns the index of its module.
    fn read_file(
        &mut self,
        root: &Path,
        package: usize,
        path: PathBuf,
        name: &str,
        parent: Option<usize>,
    ) -> Result<usize, String> {
        let inner = match path.file_stem() {
            Some(stem) if parent.is_some() && stem != "mod" => path.with_extension(""),
            _ => path.parent().unwrap_or(Path::new("")).to_path_buf(),
        };
        let (source, syntax) = Source::read(root, path)?;
        let outline = outline(&syntax);
        let sections = outline.sections.clone();
        self.files.push(File {
            package,
            source,
            outline,
        });
        let first = self.modules.len();
        self.add_modules(name, parent, &sections);
        for (nth, section) in sections.iter().enumerate() {
            let inline = section.path.iter();
            let folder = inline.fold(inner.clone(), |folder, name| folder.join(name));
            for child in section.files.iter().filter(|child| *child != "tests") {
                let path = module_file(root, &folder, child)?;
                self.read_file(root, package, path, child, Some(first + nth))?;
            }
        }
        Ok(first)
    }

    /// Adds the module of the last file, and its inline modules.
    fn add_modules(&mut self, name: &str, parent: Option<usize>, sections: &[Section]) {
        let file = self.files.len() - 1;
        let first = self.modules.len();
        for (nth, section) in sections.iter().enumerate() {
            let (name, parent) = match section.path.split_last() {
                None => (name, parent),
                Some((last, outer)) => {
                    let outer = sections.iter().position(|section| section.path == outer);
                    (last.as_str(), outer.map(|outer| first + outer))
                }
            };
            if let Some(parent) = parent {
                let children = &mut self.modules[parent].children;
                children.insert(name.to_owned(), first + nth);
            }
            self.modules.push(Module {
                name: name.to_owned(),
                parent,
                children: BTreeMap::new(),
                section: (file, nth),
            });
        }
    }
}

/// Collects the folders under `folder` that hold a manifest.
fn find_manifests(root: &Path, folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), String> {
    let names =
        entries(&root.join(folder)).map_err(|cause| format!("{}: {cause}", folder.display()))?;
    for name in names {
        let path = folder.join(&name);
        if name == "Cargo.toml" {
            found.push(folder.to_path_buf());
        } else if !name.starts_with('.')
            && !matches!(name.as_str(), "target" | "node_modules" | "src")
            && root.join(&path).is_dir()
            && !root.join(&path).is_symlink()
        {
            find_manifests(root, &path, found)?;
        }
    }
    Ok(())
}

/// Names in a folder, sorted.
fn entries(folder: &Path) -> std::io::Result<Vec<String>> {
    let entries = std::fs::read_dir(folder)?;
    let names = entries.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()));
    let mut names = names.collect::<std::io::Result<Vec<_>>>()?;
    names.sort();
    Ok(names)
}

/// The file of a module declared with `mod name;`.
fn module_file(root: &Path, folder: &Path, name: &str) -> Result<PathBuf, String> {
    let candidates = [
        folder.join(format!("{name}.rs")),
        folder.join(name).join("mod.rs"),
    ];
    let there = candidates
        .into_iter()
        .find(|path| root.join(path).is_file());
    there.ok_or_else(|| format!("module `{name}` has no file in {}", folder.display()))
}
