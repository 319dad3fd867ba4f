//! Which module uses which: paths of `use` items and paths in the code, followed to where the name is defined.

use crate::house::{File, House};
use crate::outline::Use;
use crate::source::{Kind, Token};

/// Chains of names handed on are followed this far.
const MOST_HOPS: usize = 16;

/// One module uses a name of another.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Dependency {
    /// The module that uses.
    pub from: usize,
    /// Line of the use in its file.
    pub line: usize,
    /// The module that defines what is used, or hands it on.
    pub to: usize,
    /// True when `to` only hands the name on.
    pub handed_on: bool,
    /// The path as written.
    pub path: String,
}

/// A module uses a name from outside the workspace.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Outside {
    /// The module that uses.
    pub from: usize,
    /// Line of the use in its file.
    pub line: usize,
    /// The whole path, with names that a `use` shortened written out; a `*` stays at its end.
    pub path: Vec<String>,
}

/// All uses, in order, each once.
#[derive(Clone, Debug, Default)]
pub struct Dependencies {
    /// Of modules of the workspace.
    pub inside: Vec<Dependency>,
    /// Of anything else.
    pub outside: Vec<Outside>,
}

/// Where a path ends.
enum End {
    /// At an item of this module.
    Item(usize),
    /// At this module itself.
    Module(usize),
    /// Outside the workspace.
    Outside(Vec<String>),
}

/// Finds what every module uses.
///
/// A path counts where its last name is defined, names that other modules hand on being followed there; each module
/// that hands on counts too. A module that hands on what its own modules define does not use them by that, and a
/// `use` of a module counts by what is then taken from it.
pub fn dependencies(house: &House) -> Dependencies {
    let mut found = Dependencies::default();
    for (module, place) in house.modules.iter().map(|module| module.place).enumerate() {
        let file = &house.files[place.0];
        for used in &file.outline.parts[place.1].uses {
            found.add_use(house, module, used);
        }
        for (path, line) in paths(file, place.1) {
            found.add(house, module, &path, line, false);
        }
    }
    found.inside.sort();
    found.inside.dedup();
    found.outside.sort();
    found.outside.dedup();
    found
}

impl Dependencies {
    fn add_use(&mut self, house: &House, module: usize, used: &Use) {
        let glob = used.name.is_none();
        let ends_within = match resolve(house, module, &used.path, &mut Vec::new(), 0) {
            Some(End::Item(to) | End::Module(to)) => house.is_within(to, module),
            _ => false,
        };
        if !(used.handed_on && ends_within) {
            self.add(house, module, &used.path, used.line, glob);
        }
    }

    fn add(&mut self, house: &House, from: usize, path: &[String], line: usize, glob: bool) {
        let mut through = Vec::new();
        let to = match resolve(house, from, path, &mut through, 0) {
            Some(End::Item(to)) => to,
            Some(End::Module(to)) if glob => to,
            Some(End::Outside(mut path)) => {
                path.extend(glob.then(|| "*".to_owned()));
                return self.outside.push(Outside { from, line, path });
            }
            _ => return,
        };
        let through = through.into_iter().map(|module| (module, true));
        for (to, handed_on) in through.chain([(to, false)]).filter(|(to, _)| *to != from) {
            self.inside.push(Dependency {
                from,
                line,
                to,
                handed_on,
                path: path.join("::"),
            });
        }
    }
}

/// Follows a path from a module; modules that hand a name on are noted in `through`.
fn resolve(
    house: &House,
    from: usize,
    path: &[String],
    through: &mut Vec<usize>,
    hops: usize,
) -> Option<End> {
    let (first, rest) = path.split_first()?;
    if hops > MOST_HOPS {
        return None;
    }
    let module = &house.modules[from];
    match first.as_str() {
        "crate" | "$crate" => return step(house, house.root_of(from), rest, through, hops),
        "self" => return step(house, from, rest, through, hops),
        "super" => return step(house, module.parent?, rest, through, hops),
        _ => {}
    }
    if let Some(&child) = module.children.get(first) {
        return step(house, child, rest, through, hops);
    }
    if let Some(used) = brought_in(house, from, first).filter(|used| used.path != [first.clone()]) {
        let longer = [&used.path, rest].concat();
        return resolve(house, from, &longer, through, hops + 1);
    }
    if let Some(&library) = house.libraries.get(first) {
        return step(house, library, rest, through, hops);
    }
    if part(house, from).items.contains(first) {
        return Some(End::Item(from));
    }
    Some(End::Outside(path.to_vec()))
}

/// Follows the rest of a path that has come to a module.
fn step(
    house: &House,
    module: usize,
    path: &[String],
    through: &mut Vec<usize>,
    hops: usize,
) -> Option<End> {
    let Some((first, rest)) = path.split_first() else {
        return Some(End::Module(module));
    };
    if first == "super" {
        return step(house, house.modules[module].parent?, rest, through, hops);
    }
    if let Some(&child) = house.modules[module].children.get(first) {
        return step(house, child, rest, through, hops);
    }
    if part(house, module).items.contains(first) {
        return Some(End::Item(module));
    }
    if let Some(used) = brought_in(house, module, first) {
        through.push(module);
        let longer = [&used.path, rest].concat();
        return resolve(house, module, &longer, through, hops + 1);
    }
    for glob in part(house, module)
        .uses
        .iter()
        .filter(|used| used.name.is_none())
    {
        if let Some(End::Module(to)) = resolve(house, module, &glob.path, &mut Vec::new(), hops + 1)
            && knows(house, to, first)
        {
            through.push(module);
            return step(house, to, path, through, hops + 1);
        }
    }
    Some(End::Item(module))
}

fn part(house: &House, module: usize) -> &crate::outline::Part {
    let (file, part) = house.modules[module].place;
    &house.files[file].outline.parts[part]
}

fn brought_in<'a>(house: &'a House, module: usize, name: &str) -> Option<&'a Use> {
    let mut uses = part(house, module).uses.iter();
    uses.find(|used| !used.local && used.name.as_deref() == Some(name))
}

fn knows(house: &House, module: usize, name: &String) -> bool {
    part(house, module).items.contains(name)
        || house.modules[module].children.contains_key(name)
        || brought_in(house, module, name).is_some()
}

/// Paths of two names or more in a part of a file, in macros too, outside `use` items.
fn paths(file: &File, part: usize) -> Vec<(Vec<String>, usize)> {
    let tokens = &file.source.tokens;
    let mut found = Vec::new();
    let mut next = 0;
    while next < tokens.len() {
        let path = path_at(tokens, next);
        let token = &tokens[next];
        if path.len() > 1
            && !file.outline.is_use(token.at)
            && file.outline.part_at(token.at) == part
        {
            found.push((
                path.iter().map(|token| token.text.clone()).collect(),
                token.lines.0,
            ));
        }
        next += (path.len() * 2).saturating_sub(1).max(1);
    }
    found
}

/// The names of the path that begins at a token.
fn path_at(tokens: &[Token], first: usize) -> Vec<&Token> {
    let is_name = |token: &&Token| {
        token.kind == Kind::Name || matches!(token.text.as_str(), "crate" | "self" | "super")
    };
    let mut path = Vec::new();
    let mut next = first;
    while let Some(token) = tokens.get(next).filter(is_name) {
        path.push(token);
        if tokens.get(next + 1).is_none_or(|token| token.text != "::") {
            break;
        }
        next += 2;
    }
    path
}
