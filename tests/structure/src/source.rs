//! A source file as tokens, without comments, documentation and tests.

use proc_macro2::{Delimiter, LineColumn, Span, TokenStream, TokenTree};
use std::collections::BTreeSet;
use std::ops::Range;
use std::path::{Path, PathBuf};
use syn::spanned::Spanned;
use syn::visit_mut::{self, VisitMut};

/// Kind of token.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// An identifier.
    Name,
    /// A keyword.
    Keyword,
    /// A number, character or string.
    Literal,
    /// Anything else; `::` is a single token.
    Punctuation,
}

/// A token.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    /// Text as written.
    pub text: String,
    /// Kind.
    pub kind: Kind,
    /// First and last line, from 1.
    pub lines: (usize, usize),
    /// Byte offset in the file.
    pub offset: usize,
}

/// A source file.
#[derive(Clone, Debug)]
pub struct Source {
    /// Path relative to the workspace root.
    pub path: PathBuf,
    /// Tokens in order.
    pub tokens: Vec<Token>,
}

impl Source {
    /// Reads the file at `path` under `root`, as tokens and as a syntax tree.
    ///
    /// # Errors
    /// Which file is unreadable or not Rust, and why.
    pub fn read(root: &Path, path: PathBuf) -> Result<(Self, syn::File), String> {
        let message = |cause: String| format!("{}: {cause}", path.display());
        let text = std::fs::read_to_string(root.join(&path))
            .map_err(|cause| message(cause.to_string()))?;
        let (tokens, syntax) = product(&text).map_err(|cause| {
            let line = cause.span().start().line;
            message(format!("line {line} is not Rust: {cause}"))
        })?;
        Ok((Self { path, tokens }, syntax))
    }

    /// Code lines inside a byte range.
    pub fn lines_within(&self, range: &Range<usize>) -> BTreeSet<usize> {
        let inside = self
            .tokens
            .iter()
            .filter(|token| range.contains(&token.offset));
        inside
            .flat_map(|token| token.lines.0..=token.lines.1)
            .collect()
    }

    /// Code lines of the whole file.
    pub fn lines(&self) -> BTreeSet<usize> {
        self.lines_within(&(0..usize::MAX))
    }
}

fn product(text: &str) -> syn::Result<(Vec<Token>, syn::File)> {
    let mut syntax = syn::parse_file(text)?;
    let mut tests = Tests::default();
    tests.visit_file_mut(&mut syntax);
    let mut tokens = Vec::new();
    flatten(text.parse()?, &tests.removed, &mut tokens);
    Ok((tokens, syntax))
}

/// Removes test items and records their byte ranges.
#[derive(Default)]
struct Tests {
    removed: Vec<Range<usize>>,
}

impl Tests {
    fn keep(&mut self, attributes: &[syn::Attribute], span: Span) -> bool {
        let test = attributes.iter().any(is_test);
        if test {
            self.removed.push(span.byte_range());
        }
        !test
    }
}

impl VisitMut for Tests {
    fn visit_file_mut(&mut self, file: &mut syn::File) {
        file.items
            .retain(|item| self.keep(attributes(item), item.span()));
        visit_mut::visit_file_mut(self, file);
    }

    fn visit_item_mod_mut(&mut self, module: &mut syn::ItemMod) {
        if let Some((_, items)) = &mut module.content {
            items.retain(|item| self.keep(attributes(item), item.span()));
        }
        visit_mut::visit_item_mod_mut(self, module);
    }

    fn visit_item_impl_mut(&mut self, block: &mut syn::ItemImpl) {
        block.items.retain(|item| match item {
            syn::ImplItem::Fn(method) => self.keep(&method.attrs, method.span()),
            syn::ImplItem::Const(value) => self.keep(&value.attrs, value.span()),
            _ => true,
        });
        visit_mut::visit_item_impl_mut(self, block);
    }
}

fn attributes(item: &syn::Item) -> &[syn::Attribute] {
    match item {
        syn::Item::Const(item) => &item.attrs,
        syn::Item::Enum(item) => &item.attrs,
        syn::Item::ExternCrate(item) => &item.attrs,
        syn::Item::Fn(item) => &item.attrs,
        syn::Item::Impl(item) => &item.attrs,
        syn::Item::Macro(item) => &item.attrs,
        syn::Item::Mod(item) => &item.attrs,
        syn::Item::Static(item) => &item.attrs,
        syn::Item::Struct(item) => &item.attrs,
        syn::Item::Trait(item) => &item.attrs,
        syn::Item::Type(item) => &item.attrs,
        syn::Item::Use(item) => &item.attrs,
        _ => &[],
    }
}

fn is_test(attribute: &syn::Attribute) -> bool {
    match &attribute.meta {
        syn::Meta::Path(path) => path.is_ident("test"),
        syn::Meta::List(list) if list.path.is_ident("cfg") => list
            .parse_args()
            .is_ok_and(|condition| only_in_tests(&condition)),
        _ => false,
    }
}

/// True for a condition that holds in test builds only.
fn only_in_tests(condition: &syn::Meta) -> bool {
    let inner = |list: &syn::MetaList| {
        list.parse_args_with(
            syn::punctuated::Punctuated::<syn::Meta, syn::Token![,]>::parse_terminated,
        )
        .unwrap_or_default()
    };
    match condition {
        syn::Meta::Path(path) => path.is_ident("test"),
        syn::Meta::List(list) if list.path.is_ident("all") => inner(list).iter().any(only_in_tests),
        syn::Meta::List(list) if list.path.is_ident("any") => inner(list).iter().all(only_in_tests),
        _ => false,
    }
}

fn flatten(stream: TokenStream, removed: &[Range<usize>], tokens: &mut Vec<Token>) {
    let mut trees = stream.into_iter().peekable();
    while let Some(tree) = trees.next() {
        let at = tree.span().byte_range().start;
        if removed.iter().any(|range| range.contains(&at)) {
            continue;
        }
        match tree {
            TokenTree::Group(group) => {
                let (open, close) = delimiters(group.delimiter());
                push(tokens, open, Kind::Punctuation, group.span_open());
                flatten(group.stream(), removed, tokens);
                push(tokens, close, Kind::Punctuation, group.span_close());
            }
            TokenTree::Punct(punct) if punct.as_char() == '#' => {
                if matches!(trees.peek(), Some(TokenTree::Punct(next)) if next.as_char() == '!') {
                    trees.next();
                }
                if trees.next_if(is_documentation).is_none() {
                    push(tokens, "#", Kind::Punctuation, punct.span());
                }
            }
            TokenTree::Punct(punct) => push_punctuation(tokens, &punct),
            TokenTree::Ident(word) => push_word(tokens, &word),
            TokenTree::Literal(literal) => {
                push(tokens, &literal.to_string(), Kind::Literal, literal.span());
            }
        }
    }
}

fn is_documentation(tree: &TokenTree) -> bool {
    let TokenTree::Group(group) = tree else {
        return false;
    };
    let first = group.stream().into_iter().next();
    matches!(first, Some(TokenTree::Ident(word)) if word == "doc")
}

fn delimiters(delimiter: Delimiter) -> (&'static str, &'static str) {
    match delimiter {
        Delimiter::Parenthesis => ("(", ")"),
        Delimiter::Brace => ("{", "}"),
        Delimiter::Bracket => ("[", "]"),
        Delimiter::None => ("", ""),
    }
}

fn push_word(tokens: &mut Vec<Token>, word: &proc_macro2::Ident) {
    let text = word.to_string();
    let path_word = matches!(text.as_str(), "crate" | "self" | "super" | "Self");
    let keyword = path_word || syn::parse_str::<syn::Ident>(&text).is_err();
    let kind = if keyword { Kind::Keyword } else { Kind::Name };
    push(tokens, &text, kind, word.span());
}

fn push_punctuation(tokens: &mut Vec<Token>, punct: &proc_macro2::Punct) {
    let at = punct.span().byte_range().start;
    match tokens.last_mut() {
        Some(last) if punct.as_char() == ':' && last.text == ":" && last.offset + 1 == at => {
            last.text.push(':')
        }
        _ => push(
            tokens,
            &punct.as_char().to_string(),
            Kind::Punctuation,
            punct.span(),
        ),
    }
}

fn push(tokens: &mut Vec<Token>, text: &str, kind: Kind, span: Span) {
    let line = |place: LineColumn| place.line;
    tokens.push(Token {
        text: text.to_owned(),
        kind,
        lines: (line(span.start()), line(span.end())),
        offset: span.byte_range().start,
    });
}
