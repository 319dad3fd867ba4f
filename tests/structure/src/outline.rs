//! What a file declares: modules, items, functions, public items, and what it uses.

use std::ops::Range;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

/// A name that a `use` brings in; one for each leaf of a tree of uses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Use {
    /// The path as written, without `self` at its end.
    pub path: Vec<String>,
    /// The name it has here; `None` for `*`.
    pub name: Option<String>,
    /// True for `pub use` of any reach.
    pub handed_on: bool,
    /// True inside a function body.
    pub local: bool,
    /// Line of the leaf.
    pub line: usize,
}

/// A function or method with a body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Function {
    /// Its name.
    pub name: String,
    /// Line of its signature.
    pub line: usize,
    /// From the signature to the closing brace, in bytes.
    pub range: Range<usize>,
}

/// An item that is `pub` without a restriction.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Public {
    /// `fn`, `struct` and so on.
    pub kind: &'static str,
    /// Its name.
    pub name: String,
    /// Line of its name.
    pub line: usize,
    /// The item itself, in bytes.
    pub range: Range<usize>,
}

/// A module within a file: the file itself, or one in braces.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Part {
    /// Names of the modules in braces around it, outermost first.
    pub path: Vec<String>,
    /// Where it stands in the file, in bytes.
    pub range: Range<usize>,
    /// Modules declared with a file of their own.
    pub files: Vec<String>,
    /// Names of its items, modules left out.
    pub items: Vec<String>,
    /// What it uses.
    pub uses: Vec<Use>,
}

/// All of a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Outline {
    /// The file, then its modules in braces.
    pub parts: Vec<Part>,
    /// Functions in order.
    pub functions: Vec<Function>,
    /// Public items in order.
    pub publics: Vec<Public>,
    /// Blocks `impl`, with the name of their type.
    pub blocks: Vec<(String, Range<usize>)>,
    /// Where the uses stand, and whether they hand on what they name.
    pub use_ranges: Vec<(Range<usize>, bool)>,
    /// Attributes `cfg_attr`, which hold with a feature only.
    pub conditional: Vec<Range<usize>>,
    part: usize,
    bodies: usize,
}

/// Reads what a file declares.
pub fn outline(syntax: &syn::File) -> Outline {
    let mut outline = Outline::default();
    outline.parts.push(Part {
        range: 0..usize::MAX,
        ..Part::default()
    });
    outline.visit_file(syntax);
    outline
}

impl Outline {
    /// Index of the innermost part around a byte of the file.
    pub fn part_at(&self, at: usize) -> usize {
        let around = |part: &Part| part.range.contains(&at);
        self.parts.iter().rposition(around).unwrap_or(0)
    }

    /// True for a byte within a `use` item.
    pub fn is_use(&self, at: usize) -> bool {
        self.use_ranges.iter().any(|(range, _)| range.contains(&at))
    }

    /// True for a byte within a `use` item that hands on what it names.
    pub fn is_handed_on(&self, at: usize) -> bool {
        let mut ranges = self.use_ranges.iter();
        ranges.any(|(range, handed_on)| *handed_on && range.contains(&at))
    }

    /// True for a byte within an attribute `cfg_attr`.
    pub fn is_conditional(&self, at: usize) -> bool {
        self.conditional.iter().any(|range| range.contains(&at))
    }

    /// True for a byte within a function.
    pub fn is_function(&self, at: usize) -> bool {
        self.functions
            .iter()
            .any(|function| function.range.contains(&at))
    }

    fn declare(
        &mut self,
        kind: &'static str,
        visibility: &syn::Visibility,
        name: &syn::Ident,
        whole: Range<usize>,
    ) {
        if self.bodies == 0 {
            self.parts[self.part].items.push(name.to_string());
        }
        self.publish(kind, visibility, name, whole);
    }

    fn publish(
        &mut self,
        kind: &'static str,
        visibility: &syn::Visibility,
        name: &syn::Ident,
        range: Range<usize>,
    ) {
        if matches!(visibility, syn::Visibility::Public(_)) {
            self.publics.push(Public {
                kind,
                name: name.to_string(),
                line: name.span().start().line,
                range,
            });
        }
    }

    fn function(&mut self, signature: &syn::Signature, body: &syn::Block) {
        let start = signature.span();
        self.functions.push(Function {
            name: signature.ident.to_string(),
            line: start.start().line,
            range: start.byte_range().start..body.span().byte_range().end,
        });
    }

    fn leaves(&mut self, tree: &syn::UseTree, before: &[String], handed_on: bool) {
        let with = |name: &syn::Ident| {
            let own = (name != "self").then(|| name.to_string());
            before.iter().cloned().chain(own).collect::<Vec<_>>()
        };
        let (path, name) = match tree {
            syn::UseTree::Path(path) => {
                let first = before.is_empty().then(|| path.ident.to_string());
                let longer = first.map_or_else(|| with(&path.ident), |first| vec![first]);
                return self.leaves(&path.tree, &longer, handed_on);
            }
            syn::UseTree::Group(group) => {
                return group
                    .items
                    .iter()
                    .for_each(|tree| self.leaves(tree, before, handed_on));
            }
            syn::UseTree::Name(name) => {
                let path = with(&name.ident);
                let last = path.last().cloned();
                (path, last)
            }
            syn::UseTree::Rename(name) => (with(&name.ident), Some(name.rename.to_string())),
            syn::UseTree::Glob(_) => (before.to_vec(), None),
        };
        let local = self.bodies > 0;
        self.parts[self.part].uses.push(Use {
            path,
            name,
            handed_on,
            local,
            line: tree.span().start().line,
        });
    }
}

impl<'ast> Visit<'ast> for Outline {
    fn visit_attribute(&mut self, attribute: &'ast syn::Attribute) {
        if attribute.path().is_ident("cfg_attr") {
            self.conditional.push(attribute.span().byte_range());
        }
    }

    fn visit_item_mod(&mut self, module: &'ast syn::ItemMod) {
        let around = self.part;
        if module.content.is_none() {
            return self.parts[around].files.push(module.ident.to_string());
        }
        let mut path = self.parts[around].path.clone();
        path.push(module.ident.to_string());
        self.part = self.parts.len();
        self.parts.push(Part {
            path,
            range: module.span().byte_range(),
            ..Part::default()
        });
        visit::visit_item_mod(self, module);
        self.part = around;
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let handed_on = !matches!(item.vis, syn::Visibility::Inherited);
        self.use_ranges.push((item.span().byte_range(), handed_on));
        self.leaves(&item.tree, &[], handed_on);
    }

    fn visit_block(&mut self, block: &'ast syn::Block) {
        self.bodies += 1;
        visit::visit_block(self, block);
        self.bodies -= 1;
    }

    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        self.declare("fn", &item.vis, &item.sig.ident, item.span().byte_range());
        self.function(&item.sig, &item.block);
        visit::visit_item_fn(self, item);
    }

    fn visit_impl_item_fn(&mut self, item: &'ast syn::ImplItemFn) {
        self.publish("fn", &item.vis, &item.sig.ident, item.span().byte_range());
        self.function(&item.sig, &item.block);
        visit::visit_impl_item_fn(self, item);
    }

    fn visit_trait_item_fn(&mut self, item: &'ast syn::TraitItemFn) {
        if let Some(body) = &item.default {
            self.function(&item.sig, body);
        }
        visit::visit_trait_item_fn(self, item);
    }

    fn visit_impl_item_const(&mut self, item: &'ast syn::ImplItemConst) {
        self.publish("const", &item.vis, &item.ident, item.span().byte_range());
        visit::visit_impl_item_const(self, item);
    }

    fn visit_item_impl(&mut self, item: &'ast syn::ItemImpl) {
        if let syn::Type::Path(path) = &*item.self_ty
            && let Some(last) = path.path.segments.last()
        {
            let block = (last.ident.to_string(), item.span().byte_range());
            self.blocks.push(block);
        }
        visit::visit_item_impl(self, item);
    }

    fn visit_item_struct(&mut self, item: &'ast syn::ItemStruct) {
        self.declare("struct", &item.vis, &item.ident, item.span().byte_range());
        visit::visit_item_struct(self, item);
    }

    fn visit_item_enum(&mut self, item: &'ast syn::ItemEnum) {
        self.declare("enum", &item.vis, &item.ident, item.span().byte_range());
        visit::visit_item_enum(self, item);
    }

    fn visit_item_trait(&mut self, item: &'ast syn::ItemTrait) {
        self.declare("trait", &item.vis, &item.ident, item.span().byte_range());
        visit::visit_item_trait(self, item);
    }

    fn visit_item_type(&mut self, item: &'ast syn::ItemType) {
        self.declare("type", &item.vis, &item.ident, item.span().byte_range());
    }

    fn visit_item_const(&mut self, item: &'ast syn::ItemConst) {
        self.declare("const", &item.vis, &item.ident, item.span().byte_range());
        visit::visit_item_const(self, item);
    }

    fn visit_item_static(&mut self, item: &'ast syn::ItemStatic) {
        self.declare("static", &item.vis, &item.ident, item.span().byte_range());
        visit::visit_item_static(self, item);
    }
}
