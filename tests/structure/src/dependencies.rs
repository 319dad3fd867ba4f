//! Which module uses which: paths of `use` items and paths in the code, followed to where the name is defined.

use crate::house::{File, House};
use crate::names::{End, follow};
use crate::outline::Use;
use crate::source::{Kind, Token};

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
        let (end, _) = follow(house, module, &used.path);
        let ends_within = match end {
            Some(End::Item(to) | End::Module(to)) => house.is_within(to, module),
            _ => false,
        };
        if !(used.handed_on && ends_within) {
            self.add(house, module, &used.path, used.line, glob);
        }
    }

    fn add(&mut self, house: &House, from: usize, path: &[String], line: usize, glob: bool) {
        let (end, through) = follow(house, from, path);
        let to = match end {
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

/// Paths of two names or more in a part of a file, in macros too; outside `use` items and what holds with a feature only.
fn paths(file: &File, part: usize) -> Vec<(Vec<String>, usize)> {
    let tokens = &file.source.tokens;
    let mut found = Vec::new();
    let mut next = 0;
    while next < tokens.len() {
        let path = path_at(tokens, next);
        let token = &tokens[next];
        if path.len() > 1
            && !file.outline.is_use(token.at)
            && !file.outline.is_conditional(token.at)
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
