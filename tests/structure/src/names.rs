//! Follows a path through the modules of the workspace to where its last name is defined.

use crate::house::{House, Module};
use crate::outline::{Part, Use};

/// Chains of names handed on are followed this far.
const MOST_HOPS: usize = 16;

/// Where a path ends.
pub enum End {
    /// At an item of this module.
    Item(usize),
    /// At this module itself.
    Module(usize),
    /// Outside the workspace, with this path.
    Outside(Vec<String>),
}

/// Follows a path from a module: where it ends, and the modules that handed a name on. `None` if it goes round, or out of
/// the package at the top.
pub fn follow(house: &House, from: usize, path: &[String]) -> (Option<End>, Vec<usize>) {
    let mut walk = Walk {
        house,
        through: Vec::new(),
        hops: 0,
    };
    (walk.begin(from, path), walk.through)
}

struct Walk<'a> {
    house: &'a House,
    through: Vec<usize>,
    hops: usize,
}

impl<'a> Walk<'a> {
    /// Follows a path as it is written in a module.
    fn begin(&mut self, from: usize, path: &[String]) -> Option<End> {
        let (first, rest) = path.split_first()?;
        match first.as_str() {
            "crate" => return self.go_on(self.house.root_of(from), rest),
            "self" => return self.go_on(from, rest),
            "super" => return self.go_on(self.module(from).parent?, rest),
            _ => {}
        }
        if let Some(&child) = self.module(from).children.get(first) {
            return self.go_on(child, rest);
        }
        if self.part(from).items.contains(first) {
            return Some(End::Item(from));
        }
        if let Some(used) = self
            .named(from, first)
            .filter(|used| used.path != [first.clone()])
        {
            return self.hop(from, &used.path, rest);
        }
        if let Some(&library) = self.house.libraries.get(first) {
            return self.go_on(library, rest);
        }
        if self.hops == 0
            && let Some(module) = self.by_glob(from, first)
        {
            return self.go_on(module, path);
        }
        Some(End::Outside(path.to_vec()))
    }

    /// Follows the rest of a path that has come to a module.
    fn go_on(&mut self, module: usize, path: &[String]) -> Option<End> {
        let Some((first, rest)) = path.split_first() else {
            return Some(End::Module(module));
        };
        if first == "super" {
            return self.go_on(self.module(module).parent?, rest);
        }
        if let Some(&child) = self.module(module).children.get(first) {
            return self.go_on(child, rest);
        }
        if self.part(module).items.contains(first) {
            return Some(End::Item(module));
        }
        if let Some(used) = self.named(module, first) {
            self.through.push(module);
            return self.hop(module, &used.path, rest);
        }
        if let Some(behind) = self.by_glob(module, first) {
            self.through.push(module);
            return self.go_on(behind, path);
        }
        Some(End::Item(module))
    }

    /// Goes on with what a name stands for.
    fn hop(&mut self, module: usize, stands_for: &[String], rest: &[String]) -> Option<End> {
        self.hops += 1;
        let longer = [stands_for, rest].concat();
        (self.hops <= MOST_HOPS).then(|| self.begin(module, &longer))?
    }

    /// The module from which `use ...::*` brings a name in.
    fn by_glob(&mut self, module: usize, name: &String) -> Option<usize> {
        self.hops += 1;
        let mut globs = self
            .part(module)
            .uses
            .iter()
            .filter(|used| used.name.is_none());
        globs.find_map(|glob| {
            let mut walk = Walk {
                house: self.house,
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
        self.part(module).items.contains(name)
            || self.module(module).children.contains_key(name)
            || self.named(module, name).is_some()
    }

    fn module(&self, module: usize) -> &'a Module {
        &self.house.modules[module]
    }

    fn part(&self, module: usize) -> &'a Part {
        let (file, part) = self.house.modules[module].place;
        &self.house.files[file].outline.parts[part]
    }

    /// The `use` that brings a name into a module.
    fn named(&self, module: usize, name: &str) -> Option<&'a Use> {
        let mut uses = self.part(module).uses.iter();
        uses.find(|used| !used.local && used.name.as_deref() == Some(name))
    }
}
