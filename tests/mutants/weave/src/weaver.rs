//! Puts the changes of one file into its syntax tree.

use proc_macro2::Span;
use std::collections::{BTreeSet, HashMap};
use syn::spanned::Spanned;
use syn::visit_mut::{self, VisitMut};
use syn::{BinOp, Block, Expr, parse_quote};

/// One change of a file.
pub struct Change {
    pub id: u32,
    pub genre: String,
    pub replacement: String,
    pub line: usize,
    pub column: usize,
}

/// Number and replacement of a change.
type Numbered = (u32, String);

pub struct Weaver<'a> {
    changes: HashMap<(String, usize, usize), Vec<Numbered>>,
    constant: &'a BTreeSet<String>,
    woven: Vec<u32>,
}

impl<'a> Weaver<'a> {
    pub fn new(list: Vec<Change>, constant: &'a BTreeSet<String>) -> Self {
        let mut changes: HashMap<_, Vec<Numbered>> = HashMap::new();
        for change in list {
            let place = (change.genre, change.line, change.column);
            changes
                .entry(place)
                .or_default()
                .push((change.id, change.replacement));
        }
        Self {
            changes,
            constant,
            woven: Vec::new(),
        }
    }

    /// Puts them in; returns the numbers of those that are.
    pub fn weave(mut self, file: &mut syn::File) -> Vec<u32> {
        self.visit_file_mut(file);
        self.woven
    }

    fn take(&mut self, genre: &str, span: Span) -> Vec<Numbered> {
        let start = span.start();
        let place = (genre.to_owned(), start.line, start.column);
        self.changes.remove(&place).unwrap_or_default()
    }

    fn note(&mut self, ids: impl IntoIterator<Item = u32>) {
        self.woven.extend(ids);
    }

    /// A function's body, and whether anything in it has a switch now.
    fn function(&mut self, sig: &mut syn::Signature, block: &mut Block) {
        let is_constant = sig.constness.is_some();
        if is_constant && self.constant.contains(&sig.ident.to_string()) {
            return;
        }
        let before = self.woven.len();
        let first = block.stmts.first().map(Spanned::span);
        visit_mut::visit_block_mut(self, block);
        let values = first.map_or_else(Vec::new, |span| self.take("FnValue", span));
        for (id, value) in values.into_iter().rev() {
            if let Ok(value) = syn::parse_str::<Expr>(&value) {
                block.stmts.insert(
                    0,
                    parse_quote! { if crate::mutant_switch::on(#id) { return #value; } },
                );
                self.note([id]);
            }
        }
        if is_constant && self.woven.len() > before {
            sig.constness = None;
        }
    }

    fn binary(&mut self, expression: &mut Expr) {
        let Expr::Binary(binary) = &*expression else {
            return;
        };
        let options = self.take("BinaryOperator", binary.op.span());
        if options.is_empty() {
            return;
        }
        let (left, right, op) = (&binary.left, &binary.right, binary.op);
        let others: Vec<(u32, BinOp)> = options
            .into_iter()
            .filter_map(|(id, op)| Some((id, syn::parse_str(&op).ok()?)))
            .collect();
        let new: Expr = match op {
            BinOp::And(_) | BinOp::Or(_) => {
                if has_let(left) || has_let(right) {
                    return;
                }
                let lazy = |op: &BinOp| matches!(op, BinOp::And(_) | BinOp::Or(_));
                let Some(&(id, _)) = others.iter().find(|(_, other)| lazy(other)) else {
                    return;
                };
                self.note([id]);
                let (yes, no): (Expr, Expr) = if matches!(op, BinOp::And(_)) {
                    (parse_quote!(#right), parse_quote!(the_left))
                } else {
                    (parse_quote!(the_left), parse_quote!(#right))
                };
                *expression = parse_quote! {
                    ({ let the_left: bool = #left; if the_left != crate::mutant_switch::on(#id) { #yes } else { #no } })
                };
                return;
            }
            _ if is_assigning(&op) => {
                let mut new: Expr = parse_quote!({ #left #op #right });
                for (id, other) in &others {
                    new = parse_quote! { if crate::mutant_switch::on(#id) { #left #other #right } else #new };
                }
                parse_quote!({ #new })
            }
            _ if is_comparing(&op) => {
                let mut new: Expr = parse_quote!({ *the_left #op *the_right });
                for (id, other) in &others {
                    new = parse_quote! { if crate::mutant_switch::on(#id) { *the_left #other *the_right } else #new };
                }
                parse_quote!((match (&(#left), &(#right)) { (the_left, the_right) => #new }))
            }
            _ => {
                let mut new: Expr = parse_quote!({ the_left #op the_right });
                for (id, other) in &others {
                    new = parse_quote! { if crate::mutant_switch::on(#id) { the_left #other the_right } else #new };
                }
                parse_quote!((match (#left, #right) { (the_left, the_right) => #new }))
            }
        };
        self.note(others.iter().map(|&(id, _)| id));
        *expression = new;
    }

    fn unary(&mut self, expression: &mut Expr) {
        let Expr::Unary(unary) = &*expression else {
            return;
        };
        let options = self.take("UnaryOperator", unary.op.span());
        let Some((id, _)) = options.into_iter().next() else {
            return;
        };
        let (op, inner) = (unary.op, &unary.expr);
        self.note([id]);
        *expression = parse_quote! {
            (match (#inner) { the_value => if crate::mutant_switch::on(#id) { the_value } else { #op the_value } })
        };
    }

    fn fields(&mut self, expression: &mut Expr) {
        let Expr::Struct(built) = &mut *expression else {
            return;
        };
        let Some(base) = built.rest.clone() else {
            return;
        };
        let mut any = false;
        for field in &mut built.fields {
            let options = self.take("StructField", field.span());
            if let Some((id, _)) = options.into_iter().next() {
                let (member, value) = (field.member.clone(), field.expr.clone());
                field.colon_token = Some(Default::default());
                field.expr = parse_quote!(if crate::mutant_switch::on(#id) { the_base.#member } else { #value });
                self.note([id]);
                any = true;
            }
        }
        if any {
            built.rest = Some(parse_quote!(the_base));
            let new = built.clone();
            *expression = parse_quote!(({ let the_base = #base; #new }));
        }
    }
}

impl VisitMut for Weaver<'_> {
    fn visit_item_fn_mut(&mut self, item: &mut syn::ItemFn) {
        self.function(&mut item.sig, &mut item.block);
    }

    fn visit_impl_item_fn_mut(&mut self, item: &mut syn::ImplItemFn) {
        self.function(&mut item.sig, &mut item.block);
    }

    fn visit_trait_item_fn_mut(&mut self, item: &mut syn::TraitItemFn) {
        if let Some(block) = &mut item.default {
            self.function(&mut item.sig, block);
        }
    }

    // What is computed while the code is compiled has no switch.
    fn visit_item_const_mut(&mut self, _: &mut syn::ItemConst) {}
    fn visit_item_static_mut(&mut self, _: &mut syn::ItemStatic) {}
    fn visit_impl_item_const_mut(&mut self, _: &mut syn::ImplItemConst) {}
    fn visit_trait_item_const_mut(&mut self, _: &mut syn::TraitItemConst) {}
    fn visit_expr_const_mut(&mut self, _: &mut syn::ExprConst) {}
    fn visit_type_mut(&mut self, _: &mut syn::Type) {}
    fn visit_pat_mut(&mut self, _: &mut syn::Pat) {}

    fn visit_expr_repeat_mut(&mut self, repeat: &mut syn::ExprRepeat) {
        self.visit_expr_mut(&mut repeat.expr);
    }

    fn visit_arm_mut(&mut self, arm: &mut syn::Arm) {
        let place = arm.span();
        let of_guard = arm.guard.as_ref().map(|(_, guard)| guard.span());
        visit_mut::visit_arm_mut(self, arm);
        for (id, _) in self.take("MatchArm", place) {
            let guard: Expr = match &arm.guard {
                Some((_, guard)) if has_let(guard) => continue,
                Some((_, guard)) => parse_quote!(!crate::mutant_switch::on(#id) && (#guard)),
                None => parse_quote!(!crate::mutant_switch::on(#id)),
            };
            arm.guard = Some((Default::default(), Box::new(guard)));
            self.note([id]);
        }
        let Some(place) = of_guard else { return };
        for (id, value) in self.take("MatchArmGuard", place) {
            let Some((_, guard)) = &mut arm.guard else {
                continue;
            };
            if has_let(guard) {
                continue;
            }
            **guard = if value == "true" {
                parse_quote!(crate::mutant_switch::on(#id) || (#guard))
            } else {
                parse_quote!(!crate::mutant_switch::on(#id) && (#guard))
            };
            self.note([id]);
        }
    }

    fn visit_expr_mut(&mut self, expression: &mut Expr) {
        visit_mut::visit_expr_mut(self, expression);
        self.binary(expression);
        self.unary(expression);
        self.fields(expression);
    }
}

/// Whether a condition binds something.
fn has_let(expression: &Expr) -> bool {
    match expression {
        Expr::Let(_) => true,
        Expr::Binary(binary) => has_let(&binary.left) || has_let(&binary.right),
        _ => false,
    }
}

const fn is_comparing(op: &BinOp) -> bool {
    matches!(
        op,
        BinOp::Eq(_) | BinOp::Ne(_) | BinOp::Lt(_) | BinOp::Le(_) | BinOp::Gt(_) | BinOp::Ge(_)
    )
}

const fn is_assigning(op: &BinOp) -> bool {
    use BinOp::*;
    matches!(
        op,
        AddAssign(_)
            | SubAssign(_)
            | MulAssign(_)
            | DivAssign(_)
            | RemAssign(_)
            | BitXorAssign(_)
            | BitAndAssign(_)
            | BitOrAssign(_)
            | ShlAssign(_)
            | ShrAssign(_)
    )
}
