//! Public items, and those that nobody in the product calls.

use crate::house::{File, House};
use crate::source::{Kind, Token};
use std::collections::BTreeMap;
use std::ops::Range;

/// Words after which a name is defined and not used.
const DEFINING: [&str; 8] = [
    "fn", "struct", "enum", "const", "static", "trait", "type", "mod",
];

/// A public item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PublicItem {
    /// `fn`, `struct` and so on, and its name.
    pub what: String,
    /// Where it stands, as `file:line`.
    pub place: String,
    /// False when its name is used nowhere in the product but in the item itself.
    ///
    /// Judged by the name alone: two items of one name have each other's callers. Neither a definition, nor `pub use`,
    /// nor a comment, nor a block `impl` of the item is a use; a name in the braces of a text is one.
    pub called: bool,
}

/// All items that are `pub` without a restriction, methods and constants of types too.
pub fn publics(house: &House) -> Vec<PublicItem> {
    let mut uses = BTreeMap::<String, Vec<(usize, usize)>>::new();
    for (index, file) in house.files.iter().enumerate() {
        note_uses(index, file, &mut uses);
    }
    let mut items = Vec::new();
    for (index, file) in house.files.iter().enumerate() {
        for item in &file.outline.publics {
            let own = own_ranges(house, index, item);
            let is_own = |(file, at): (usize, usize)| {
                own.iter()
                    .any(|(own_file, range)| *own_file == file && range.contains(&at))
            };
            let named = uses.get(&item.name).into_iter().flatten();
            items.push(PublicItem {
                what: format!("{} {}", item.kind, item.name),
                place: format!("{}:{}", file.source.path.display(), item.line),
                called: named.copied().any(|place| !is_own(place)),
            });
        }
    }
    items
}

/// The item itself, and its `impl` blocks in the same package when it is a type.
fn own_ranges(
    house: &House,
    index: usize,
    item: &crate::outline::Public,
) -> Vec<(usize, Range<usize>)> {
    let mut own = vec![(index, item.range.clone())];
    if matches!(item.kind, "struct" | "enum") {
        for (other, file) in house.files.iter().enumerate() {
            let same = file.package == house.files[index].package;
            let blocks = file
                .outline
                .blocks
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
                .push((index, token.at))
        };
        match token.kind {
            Kind::Name if !DEFINING.contains(&before) && !file.outline.is_handed_on(token.at) => {
                note(&token.text)
            }
            Kind::Literal => names_in_text(token).for_each(note),
            _ => {}
        }
        before = &token.text;
    }
}

/// Names in braces, as a text to be formatted has them.
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
