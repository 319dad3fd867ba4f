//! The workspace: its packages, their modules and files, found from manifests and `mod` declarations.

use crate::outline::{Outline, outline};
use crate::source::Source;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Folders whose packages are no product.
const APART: [&str; 4] = ["tests", "benches", "examples", "fuzz"];

/// All code of the product.
#[derive(Clone, Debug, Default)]
pub struct House {
    /// Packages in the order of their folders, those of tests too.
    pub packages: Vec<Package>,
    /// Files of all packages that are product.
    pub files: Vec<File>,
    /// Modules of all packages that are product.
    pub modules: Vec<Module>,
    /// Root modules of the libraries, by the name that `use` knows.
    pub libraries: BTreeMap<String, usize>,
}

/// A package.
#[derive(Clone, Debug)]
pub struct Package {
    /// As its manifest names it.
    pub name: String,
    /// Folder from the root of the workspace.
    pub folder: PathBuf,
    /// Packages it is always built from, ours and others; what only its tests need is left out.
    pub needs: Vec<String>,
    /// Packages it is built from when a feature is asked for.
    pub needs_for_features: Vec<String>,
    /// False for a package of tests.
    pub product: bool,
}

/// A file of the product.
#[derive(Clone, Debug)]
pub struct File {
    /// Its package.
    pub package: usize,
    /// Its tokens and items.
    pub source: Source,
    /// What it declares.
    pub outline: Outline,
}

/// A module, in a file of its own or in braces.
#[derive(Clone, Debug)]
pub struct Module {
    /// Its name; that of a root is `lib`, `main` or the name of the program.
    pub name: String,
    /// The module around it; `None` for a root.
    pub parent: Option<usize>,
    /// Modules in it.
    pub children: BTreeMap<String, usize>,
    /// Its file and the part of it.
    pub place: (usize, usize),
}

#[derive(Deserialize)]
struct Manifest {
    package: Option<Named>,
    #[serde(flatten)]
    needs: Needs,
    #[serde(default)]
    target: BTreeMap<String, Needs>,
}

#[derive(Deserialize)]
struct Named {
    name: String,
}

#[derive(Deserialize)]
struct Needs {
    #[serde(default)]
    dependencies: BTreeMap<String, toml::Value>,
    #[serde(default, rename = "build-dependencies")]
    build: BTreeMap<String, toml::Value>,
}

impl Manifest {
    /// Names of what it needs, for features only and always.
    fn needs(&self) -> (Vec<String>, Vec<String>) {
        let tables = std::iter::once(&self.needs).chain(self.target.values());
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

impl House {
    /// Reads every package under `root`; the error names the file that could not be read.
    pub fn read(root: &Path) -> Result<Self, String> {
        let mut house = Self::default();
        let mut manifests = Vec::new();
        find_manifests(root, Path::new(""), &mut manifests)?;
        manifests.sort();
        for folder in manifests {
            house.read_package(root, folder)?;
        }
        Ok(house)
    }

    fn read_package(&mut self, root: &Path, folder: PathBuf) -> Result<(), String> {
        let path = root.join(&folder).join("Cargo.toml");
        let told = |cause: String| format!("{}: {cause}", path.display());
        let text = std::fs::read_to_string(&path).map_err(|cause| told(cause.to_string()))?;
        let manifest: Manifest = toml::from_str(&text).map_err(|cause| told(cause.to_string()))?;
        let Some(Named { name }) = &manifest.package else {
            return Ok(());
        };
        let product = !folder
            .iter()
            .any(|part| APART.iter().any(|apart| part == *apart));
        let (needs_for_features, needs) = manifest.needs();
        self.packages.push(Package {
            name: name.clone(),
            folder,
            needs,
            needs_for_features,
            product,
        });
        if product {
            self.read_targets(root)
        } else {
            Ok(())
        }
    }

    /// Reads library and programs of the last package.
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

    /// Reads a file and those of the modules that it declares; gives the module of the file.
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
        let parts = outline.parts.clone();
        let file = self.files.len();
        self.files.push(File {
            package,
            source,
            outline,
        });
        let first = self.modules.len();
        for (place, part) in parts.iter().enumerate() {
            let (name, parent) = match part.path.split_last() {
                None => (name, parent),
                Some((last, around)) => {
                    let around = parts.iter().position(|part| part.path == around);
                    (last.as_str(), around.map(|around| first + around))
                }
            };
            self.add_module(name, parent, (file, place));
        }
        for (place, part) in parts.iter().enumerate() {
            let folder = part
                .path
                .iter()
                .fold(inner.clone(), |folder, name| folder.join(name));
            for child in part.files.iter().filter(|child| *child != "tests") {
                let path = declared(root, &folder, child)?;
                self.read_file(root, package, path, child, Some(first + place))?;
            }
        }
        Ok(first)
    }

    fn add_module(&mut self, name: &str, parent: Option<usize>, place: (usize, usize)) {
        let index = self.modules.len();
        self.modules.push(Module {
            name: name.to_owned(),
            parent,
            children: BTreeMap::new(),
            place,
        });
        if let Some(parent) = parent {
            self.modules[parent].children.insert(name.to_owned(), index);
        }
    }

    /// The root of a module's target.
    pub fn root_of(&self, mut module: usize) -> usize {
        while let Some(parent) = self.modules[module].parent {
            module = parent;
        }
        module
    }

    /// The module around a module that stands right under its root; the root itself for a root.
    pub fn top_of(&self, mut module: usize) -> usize {
        while let Some(parent) = self.modules[module].parent {
            if self.modules[parent].parent.is_none() {
                return module;
            }
            module = parent;
        }
        module
    }

    /// True when `module` stands somewhere within `around`.
    pub fn is_within(&self, module: usize, around: usize) -> bool {
        let mut parents =
            std::iter::successors(Some(module), |&module| self.modules[module].parent);
        parents.any(|parent| parent == around)
    }

    /// The package of a module.
    pub fn package_of(&self, module: usize) -> usize {
        self.files[self.modules[module].place.0].package
    }

    /// The file of a module.
    pub fn file_of(&self, module: usize) -> &File {
        &self.files[self.modules[module].place.0]
    }
}

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

fn entries(folder: &Path) -> std::io::Result<Vec<String>> {
    let entries = std::fs::read_dir(folder)?;
    let names = entries.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()));
    let mut names = names.collect::<std::io::Result<Vec<_>>>()?;
    names.sort();
    Ok(names)
}

fn declared(root: &Path, folder: &Path, name: &str) -> Result<PathBuf, String> {
    let candidates = [
        folder.join(format!("{name}.rs")),
        folder.join(name).join("mod.rs"),
    ];
    let there = candidates
        .into_iter()
        .find(|path| root.join(path).is_file());
    there.ok_or_else(|| format!("module `{name}` has no file in {}", folder.display()))
}
