//! Resolves a path to the module that defines the name at its end.

use crate::outline::{Section, Use};
use crate::workspace::{Module, Workspace};

/// Longest chain of re-exports that is followed.
const MAX_HOPS: usize = 16;

/// What a path resolves to.
pub enum End {
    /// An item of this module.
    Item(usize),
    /// This module.
    Module(usize),
    /// Something outside the workspace, by its full path.
    Outside(Vec<String>),
}

/// Resolves a path as written in a module, and lists the modules that re-export the name on the way.
///
/// The result is `None` for an endless chain of re-exports, or for more `super` than there are parents.
pub fn resolve(workspace: &Workspace, from: usize, path: &[String]) -> (Option<End>, Vec<usize>) {
    let mut walk = Walk {
        workspace,
        through: Vec::new(),
        hops: 0,
    };
    (walk.begin(from, path), walk.through)
}

struct Walk<'a> {
    workspace: &'a Workspace,
    through: Vec<usize>,
    hops: usize,
}

impl<'a> Walk<'a> {
    /// Resolves a path from its first segment.
    fn begin(&mut self, from: usize, path: &[String]) -> Option<End> {
        let (first, rest) = path.split_first()?;
        match first.as_str() {
            "crate" => return self.descend(self.workspace.root_of(from), rest),
            "self" => return self.descend(from, rest),
            "super" => return self.descend(self.module(from).parent?, rest),
            _ => {}
        }
        if let Some(&child) = self.module(from).children.get(first) {
            return self.descend(child, rest);
        }
        if self.section(from).items.contains(first) {
            return Some(End::Item(from));
        }
        if let Some(used) = self
            .import(from, first)
            .filter(|used| used.path != [first.clone()])
        {
            return self.expand(from, &used.path, rest);
        }
        if let Some(&library) = self.workspace.libraries.get(first) {
            return self.descend(library, rest);
        }
        if self.hops == 0
            && let Some(module) = self.by_glob(from, first)
        {
            return self.descend(module, path);
        }
        Some(End::Outside(path.to_vec()))
    }

    /// Resolves the rest of a path inside a module.
    fn descend(&mut self, module: usize, path: &[String]) -> Option<End> {
        let Some((first, rest)) = path.split_first() else {
            return Some(End::Module(module));
        };
        if first == "super" {
            return self.descend(self.module(module).parent?, rest);
        }
        if let Some(&child) = self.module(module).children.get(first) {
            return self.descend(child, rest);
        }
        if self.section(module).items.contains(first) {
            return Some(End::Item(module));
        }
        if let Some(used) = self.import(module, first) {
            self.through.push(module);
            return self.expand(module, &used.path, rest);
        }
        if let Some(origin) = self.by_glob(module, first) {
            self.through.push(module);
            return self.descend(origin, path);
        }
        Some(End::Item(module))
    }

    /// Replaces an imported name by its path, and resolves that.
    fn expand(&mut self, module: usize, replacement: &[String], rest: &[String]) -> Option<End> {
        self.hops += 1;
        let longer = [replacement, rest].concat();
        (self.hops <= MAX_HOPS).then(|| self.begin(module, &longer))?
    }

    /// The module from which a glob import brings in a name.
    fn by_glob(&mut self, module: usize, name: &String) -> Option<usize> {
        self.hops += 1;
        let mut globs = self
            .section(module)
            .uses
            .iter()
            .filter(|used| used.name.is_none());
        globs.find_map(|glob| {
            let mut walk = Walk {
                workspace: self.workspace,
                through: Vec::new(),
                hops: self.hops,
            };
            match walk.begin(module, &glob.path) {
                Some(End::Module(to)) if to != module && self.knows(to, name) => Some(to),
                _ => None,
            }
        })
    }

    fn knows(&self, module: usize, name: &String) -> bool {
        self.section(module).items.contains(name)
            || self.module(module).children.contains_key(name)
            || self.import(module, name).is_some()
    }

    fn module(&self, module: usize) -> &'a Module {
        &self.workspace.modules[module]
    }

    fn section(&self, module: usize) -> &'a Section {
        let (file, section) = self.workspace.modules[module].section;
        &self.workspace.files[file].outline.sections[section]
    }

    /// The import of a name into a module.
    fn import(&self, module: usize, name: &str) -> Option<&'a Use> {
        let mut uses = self.section(module).uses.iter();
        uses.find(|used| !used.local && used.name.as_deref() == Some(name))
    }
}
