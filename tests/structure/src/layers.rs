//! The order of packages and modules as `layers.toml` tells it.

use serde::Deserialize;
use std::collections::BTreeMap;

/// All that `layers.toml` says.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Layers {
    /// Packages of the product.
    #[serde(default, rename = "package")]
    pub packages: Vec<PackageLayers>,
    /// Uses that go against the order, each with its reason.
    #[serde(default, rename = "against")]
    pub against: Vec<Against>,
    /// Circles of files that may stay, each with its reason.
    #[serde(default, rename = "circle")]
    pub circles: Vec<KnownCircle>,
}

/// A package: what it may use, and the order of its modules.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct PackageLayers {
    /// As its manifest names it.
    pub name: String,
    /// Packages of the workspace that it may use.
    #[serde(default)]
    pub uses: Vec<String>,
    /// Of some of them, the only modules that it may use.
    #[serde(default)]
    pub only: BTreeMap<String, Vec<String>>,
    /// Paths that it must not name, and packages that it must not need unless for a feature.
    #[serde(default)]
    pub forbidden: Vec<String>,
    /// Groups of its modules, lowest first. A root of a target that is not named stands above them all.
    #[serde(default, rename = "layer")]
    pub layers: Vec<Layer>,
}

/// A group of modules. A module may use those of its own layer and of lower ones.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// What the group is.
    pub name: String,
    /// Modules right under the root of the target.
    pub modules: Vec<String>,
}

/// A module may use a higher one.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Against {
    /// The package of both.
    pub package: String,
    /// The module that uses.
    pub from: String,
    /// The module that is used.
    pub to: String,
    /// Why.
    pub reason: String,
}

/// Files that know each other.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct KnownCircle {
    /// Their package.
    pub package: String,
    /// Their paths from the folder of the package.
    pub files: Vec<String>,
    /// Why.
    pub reason: String,
}

impl Layers {
    /// Reads the text of `layers.toml`.
    ///
    /// # Errors
    /// What is wrong with the text, and where.
    pub fn from_text(text: &str) -> Result<Self, String> {
        toml::from_str(text).map_err(|cause| cause.to_string())
    }

    /// What is said of a package.
    pub fn package(&self, name: &str) -> Option<&PackageLayers> {
        self.packages.iter().find(|package| package.name == name)
    }

    /// True when a use against the order is known and has its reason.
    pub fn allows(&self, package: &str, from: &str, to: &str) -> bool {
        let known = |one: &Against| one.package == package && one.from == from && one.to == to;
        self.against.iter().any(known)
    }
}

impl PackageLayers {
    /// The layer of a module, from the lowest, and its name.
    pub fn layer_of(&self, module: &str) -> Option<(usize, &str)> {
        let layers = self.layers.iter().enumerate();
        let mut with_it =
            layers.filter(|(_, layer)| layer.modules.iter().any(|name| name == module));
        with_it
            .next()
            .map(|(nth, layer)| (nth, layer.name.as_str()))
    }
}
