//! The layers of packages and modules, as given in `layers.toml`.

use crate::public_items::PublicItem;
use serde::Deserialize;
use std::collections::BTreeMap;

/// Contents of `layers.toml`.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Layers {
    /// Product packages.
    #[serde(default, rename = "package")]
    pub packages: Vec<PackageLayers>,
    /// Upward uses that are allowed.
    #[serde(default, rename = "exception")]
    pub exceptions: Vec<Exception>,
    /// Cycles between files that are allowed.
    #[serde(default, rename = "cycle")]
    pub cycles: Vec<KnownCycle>,
    /// Public items that are there for others than product code.
    #[serde(default)]
    pub offered: Vec<Offered>,
}

/// What a package may use, and the layers of its modules.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct PackageLayers {
    /// Name in the manifest.
    pub name: String,
    /// Workspace packages it may depend on.
    #[serde(default)]
    pub uses: Vec<String>,
    /// For some of these, the only modules it may use.
    #[serde(default)]
    pub only: BTreeMap<String, Vec<String>>,
    /// Paths it must not use; as package names, required dependencies it must not have.
    #[serde(default)]
    pub forbidden: Vec<String>,
    /// Layers, lowest first. A crate root that is not listed is above all layers.
    #[serde(default, rename = "layer")]
    pub layers: Vec<Layer>,
}

/// A layer of modules. A module may use its own layer and the layers below.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Layer {
    /// Name for people.
    pub name: String,
    /// Top-level modules.
    pub modules: Vec<String>,
}

/// An upward use that is allowed.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Exception {
    /// Package of both modules.
    pub package: String,
    /// Module that contains the use.
    pub from: String,
    /// Module that is used.
    pub to: String,
    /// Why it is allowed.
    pub reason: String,
}

/// A cycle between files that is allowed.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct KnownCycle {
    /// Package of the files.
    pub package: String,
    /// Paths relative to the package.
    pub files: Vec<String>,
    /// Why it is allowed.
    pub reason: String,
}

/// Public items of a file that product code does not use: they are for whoever builds on the package, or for the tests
/// of other packages.
#[derive(Clone, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(deny_unknown_fields)]
pub struct Offered {
    /// Package of the file.
    pub package: String,
    /// Path relative to the package.
    pub file: String,
    /// Keyword and name of each, such as `fn heat_input`.
    pub items: Vec<String>,
    /// Whom they are for.
    pub reason: String,
}

impl Layers {
    /// Parses `layers.toml`.
    ///
    /// # Errors
    /// What is wrong, and where.
    pub fn from_text(text: &str) -> Result<Self, String> {
        toml::from_str(text).map_err(|cause| cause.to_string())
    }

    /// The entry of a package.
    pub fn package(&self, name: &str) -> Option<&PackageLayers> {
        self.packages.iter().find(|package| package.name == name)
    }

    /// True when an upward use is listed as an exception.
    pub fn allows(&self, package: &str, from: &str, to: &str) -> bool {
        let known = |one: &Exception| one.package == package && one.from == from && one.to == to;
        self.exceptions.iter().any(known)
    }

    /// True when a public item is listed as offered.
    pub fn offers(&self, item: &PublicItem) -> bool {
        let listed = |one: &Offered| {
            one.package == item.package && one.file == item.file && one.items.contains(&item.what)
        };
        self.offered.iter().any(listed)
    }
}

impl PackageLayers {
    /// Index of the layer of a module, from the lowest, and its name.
    pub fn layer_of(&self, module: &str) -> Option<(usize, &str)> {
        let layers = self.layers.iter().enumerate();
        let mut with_it =
            layers.filter(|(_, layer)| layer.modules.iter().any(|name| name == module));
        with_it
            .next()
            .map(|(nth, layer)| (nth, layer.name.as_str()))
    }
}
