//! The declarations in a source file: modules, items, functions and `use` lines.

use std::ops::Range;
use syn::spanned::Spanned;
use syn::visit::{self, Visit};

/// One import: a leaf of a `use` tree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Use {
    /// Path as written, without a trailing `self`.
    pub path: Vec<String>,
    /// Local name; `None` for a glob.
    pub name: Option<String>,
    /// True for a re-export: `pub use`, `pub(crate) use` and so on.
    pub reexported: bool,
    /// True inside a function body.
    pub local: bool,
    /// Line number.
    pub line: usize,
}

/// A function or method with a body.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Function {
    /// Name.
    pub name: String,
    /// Line of the signature.
    pub line: usize,
    /// Byte range from the signature to the closing brace.
    pub range: Range<usize>,
}

/// An item that is `pub` without restriction.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Public {
    /// Keyword: `fn`, `struct` and so on.
    pub kind: &'static str,
    /// Name.
    pub name: String,
    /// Line of the name.
    pub line: usize,
    /// Byte range of the whole item.
    pub range: Range<usize>,
}

/// A module in a file: the file itself, or an inline module.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Section {
    /// Names of the enclosing inline modules and its own, outermost first; empty for the file.
    pub path: Vec<String>,
    /// Byte range.
    pub range: Range<usize>,
    /// Modules declared with `mod x;`.
    pub files: Vec<String>,
    /// Names of the items it defines, except modules.
    pub items: Vec<String>,
    /// Its imports.
    pub uses: Vec<Use>,
}

/// The declarations in a file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Outline {
    /// The file, then its inline modules.
    pub sections: Vec<Section>,
    /// Functions and methods with a body.
    pub functions: Vec<Function>,
    /// Public items.
    pub public_items: Vec<Public>,
    /// Name of the type and byte range of each `impl` block.
    pub impls: Vec<(String, Range<usize>)>,
    /// Byte range of each `use` item, and whether it is a re-export.
    pub use_ranges: Vec<(Range<usize>, bool)>,
    /// Byte ranges of `cfg_attr` attributes.
    pub cfg_attrs: Vec<Range<usize>>,
    current: usize,
    block_depth: usize,
}

/// Collects the declarations in a file.
pub fn outline(syntax: &syn::File) -> Outline {
    let mut outline = Outline::default();
    outline.sections.push(Section {
        range: 0..usize::MAX,
        ..Section::default()
    });
    outline.visit_file(syntax);
    outline
}

impl Outline {
    /// Index of the innermost section at a byte offset.
    pub fn section_at(&self, at: usize) -> usize {
        let contains = |section: &Section| section.range.contains(&at);
        self.sections.iter().rposition(contains).unwrap_or(0)
    }

    /// True for a byte offset inside a `use` item.
    pub fn is_use(&self, at: usize) -> bool {
        self.use_ranges.iter().any(|(range, _)| range.contains(&at))
    }

    /// True for a byte offset inside a re-export.
    pub fn is_reexport(&self, at: usize) -> bool {
        let mut ranges = self.use_ranges.iter();
        ranges.any(|(range, reexported)| *reexported && range.contains(&at))
    }

    /// True for a byte offset inside a `cfg_attr` attribute.
    pub fn is_cfg_attr(&self, at: usize) -> bool {
        self.cfg_attrs.iter().any(|range| range.contains(&at))
    }

    /// True for a byte offset inside a function.
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
        if self.block_depth == 0 {
            self.sections[self.current].items.push(name.to_string());
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
            self.public_items.push(Public {
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

    fn imports(&mut self, tree: &syn::UseTree, before: &[String], reexported: bool) {
        let with = |name: &syn::Ident| {
            let segment = (name != "self" || before.is_empty()).then(|| name.to_string());
            before.iter().cloned().chain(segment).collect::<Vec<_>>()
        };
        let (path, name) = match tree {
            syn::UseTree::Path(path) => {
                return self.imports(&path.tree, &with(&path.ident), reexported);
            }
            syn::UseTree::Group(group) => {
                let trees = group.items.iter();
                return trees.for_each(|tree| self.imports(tree, before, reexported));
            }
            syn::UseTree::Name(name) => {
                let path = with(&name.ident);
                let last = path.last().cloned();
                (path, last)
            }
            syn::UseTree::Rename(name) => (with(&name.ident), Some(name.rename.to_string())),
            syn::UseTree::Glob(_) => (before.to_vec(), None),
        };
        self.sections[self.current].uses.push(Use {
            path,
            name,
            reexported,
            local: self.block_depth > 0,
            line: tree.span().start().line,
        });
    }
}

impl<'ast> Visit<'ast> for Outline {
    fn visit_attribute(&mut self, attribute: &'ast syn::Attribute) {
        if attribute.path().is_ident("cfg_attr") {
            self.cfg_attrs.push(attribute.span().byte_range());
        }
    }

    fn visit_item_mod(&mut self, module: &'ast syn::ItemMod) {
        let outer = self.current;
        if module.content.is_none() {
            return self.sections[outer].files.push(module.ident.to_string());
        }
        let mut path = self.sections[outer].path.clone();
        path.push(module.ident.to_string());
        self.current = self.sections.len();
        self.sections.push(Section {
            path,
            range: module.span().byte_range(),
            ..Section::default()
        });
        visit::visit_item_mod(self, module);
        self.current = outer;
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        let reexported = !matches!(item.vis, syn::Visibility::Inherited);
        self.use_ranges.push((item.span().byte_range(), reexported));
        self.imports(&item.tree, &[], reexported);
    }

    fn visit_block(&mut self, block: &'ast syn::Block) {
        self.block_depth += 1;
        visit::visit_block(self, block);
        self.block_depth -= 1;
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
            self.impls.push(block);
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
