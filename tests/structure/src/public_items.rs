//! Public items, and which of them product code does not use.

use crate::source::{Kind, Token};
use crate::workspace::{File, Workspace};
use std::collections::BTreeMap;
use std::ops::Range;

/// Keywords before a name that is being defined.
const DEFINING: [&str; 8] = [
    "fn", "struct", "enum", "const", "static", "trait", "type", "mod",
];

/// A public item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PublicItem {
    /// Keyword and name, such as `fn heat_input`.
    pub what: String,
    /// Location, as `file:line`.
    pub location: String,
    /// Package it belongs to.
    pub package: String,
    /// Path of its file relative to the package.
    pub file: String,
    /// True when the name occurs anywhere else in product code.
    ///
    /// Judged by name alone, so two items with the same name count as users of each other. Definitions, re-exports,
    /// comments, and the body and `impl` blocks of the item itself do not count; names in format strings do.
    pub is_used: bool,
}

/// All items that are `pub` without restriction, including methods and associated constants.
pub fn public_items(workspace: &Workspace) -> Vec<PublicItem> {
    let mut uses = BTreeMap::<String, Vec<(usize, usize)>>::new();
    for (index, file) in workspace.files.iter().enumerate() {
        note_uses(index, file, &mut uses);
    }
    let mut items = Vec::new();
    for (index, file) in workspace.files.iter().enumerate() {
        for item in &file.outline.public_items {
            let own = own_ranges(workspace, index, item);
            let is_own = |(file, at): (usize, usize)| {
                own.iter()
                    .any(|(own_file, range)| *own_file == file && range.contains(&at))
            };
            let named = uses.get(&item.name).into_iter().flatten();
            items.push(PublicItem {
                what: format!("{} {}", item.kind, item.name),
                location: format!("{}:{}", file.source.path.display(), item.line),
                package: workspace.packages[file.package].name.clone(),
                file: workspace.path_in_package(file),
                is_used: named.copied().any(|place| !is_own(place)),
            });
        }
    }
    items
}

/// File and byte range of the item, and of its `impl` blocks in the same package when it is a type.
fn own_ranges(
    workspace: &Workspace,
    index: usize,
    item: &crate::outline::Public,
) -> Vec<(usize, Range<usize>)> {
    let mut own = vec![(index, item.range.clone())];
    if matches!(item.kind, "struct" | "enum") {
        for (other, file) in workspace.files.iter().enumerate() {
            let same = file.package == workspace.files[index].package;
            let blocks = file
                .outline
                .impls
                .iter()
                .filter(|(name, _)| same && *name == item.name);
            own.extend(blocks.map(|(_, range)| (other, range.clone())));
        }
    }
    own
}

fn note_uses(index: usize, file: &File, uses: &mut BTreeMap<String, Vec<(usize, usize)>>) {
    let mut before = "";
    for token in &file.source.tokens {
        let mut note = |name: &str| {
            uses.entry(name.to_owned())
                .or_default()
                .push((index, token.offset))
        };
        match token.kind {
            Kind::Name
                if !DEFINING.contains(&before) && !file.outline.is_reexport(token.offset) =>
            {
                note(&token.text)
            }
            Kind::Literal => names_in_text(token).for_each(note),
            _ => {}
        }
        before = &token.text;
    }
}

/// Names in braces, as in a format string.
fn names_in_text(token: &Token) -> impl Iterator<Item = &str> {
    let pieces = token
        .text
        .starts_with(['"', 'r'])
        .then(|| token.text.split('{').skip(1));
    pieces.into_iter().flatten().map(|piece| {
        let end = piece.find(|letter: char| letter != '_' && !letter.is_alphanumeric());
        end.map_or(piece, |end| &piece[..end])
    })
}
