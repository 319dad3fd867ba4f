//! Dependencies between modules, from `use` lines and from paths in the code.

use crate::outline::Use;
use crate::resolve::{End, resolve};
use crate::source::{Kind, Token};
use crate::workspace::{File, Workspace};

/// A use of one module by another.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Dependency {
    /// The module that contains the use.
    pub from: usize,
    /// Line number of the use.
    pub line: usize,
    /// The module that defines the name, or re-exports it.
    pub to: usize,
    /// True when `to` only re-exports the name.
    pub reexported: bool,
    /// Path as written.
    pub path: String,
}

/// A use of something outside the workspace.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Outside {
    /// The module that contains the use.
    pub from: usize,
    /// Line number of the use.
    pub line: usize,
    /// Full path, with imported names expanded; a glob ends in `*`.
    pub path: Vec<String>,
}

/// All dependencies, sorted, without duplicates.
#[derive(Clone, Debug, Default)]
pub struct Dependencies {
    /// On modules of the workspace.
    pub inside: Vec<Dependency>,
    /// On anything else.
    pub outside: Vec<Outside>,
}

/// Collects the dependencies of every module.
///
/// A path is a dependency on the module that defines the name at its end, and on every module that re-exports the name
/// on the way. A module does not depend on its children by re-exporting what they define. Importing a module is no
/// dependency by itself; using something from it is.
pub fn dependencies(workspace: &Workspace) -> Dependencies {
    let mut found = Dependencies::default();
    for (module, section) in workspace
        .modules
        .iter()
        .map(|module| module.section)
        .enumerate()
    {
        let file = &workspace.files[section.0];
        for used in &file.outline.sections[section.1].uses {
            found.add_use(workspace, module, used);
        }
        for (path, line) in paths(file, section.1) {
            found.add(workspace, module, &path, line, false);
        }
    }
    found.inside.sort();
    found.inside.dedup();
    found.outside.sort();
    found.outside.dedup();
    found
}

impl Dependencies {
    fn add_use(&mut self, workspace: &Workspace, module: usize, used: &Use) {
        let glob = used.name.is_none();
        let (end, _) = resolve(workspace, module, &used.path);
        let ends_within = match end {
            Some(End::Item(to) | End::Module(to)) => workspace.is_within(to, module),
            _ => false,
        };
        if !(used.reexported && ends_within) {
            self.add(workspace, module, &used.path, used.line, glob);
        }
    }

    fn add(
        &mut self,
        workspace: &Workspace,
        from: usize,
        path: &[String],
        line: usize,
        glob: bool,
    ) {
        let (end, through) = resolve(workspace, from, path);
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
        for (to, reexported) in through.chain([(to, false)]).filter(|(to, _)| *to != from) {
            self.inside.push(Dependency {
                from,
                line,
                to,
                reexported,
                path: path.join("::"),
            });
        }
    }
}

/// Paths of two or more segments in a section of a file, macros included; `use` items and `cfg_attr` are left out.
fn paths(file: &File, section: usize) -> Vec<(Vec<String>, usize)> {
    let tokens = &file.source.tokens;
    let mut found = Vec::new();
    let mut next = 0;
    while next < tokens.len() {
        let path = path_at(tokens, next);
        let token = &tokens[next];
        if path.len() > 1
            && !file.outline.is_use(token.offset)
            && !file.outline.is_cfg_attr(token.offset)
            && file.outline.section_at(token.offset) == section
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

/// Segments of the path that starts at a token.
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
