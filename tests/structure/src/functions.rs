//! Functions by the number of their code lines.

use crate::house::House;

/// A function or method with a body, and its size.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Function {
    /// Its name.
    pub name: String,
    /// Where it begins, as `file:line`.
    pub place: String,
    /// Code lines from the first of its signature to its closing brace, those of functions within it too.
    pub lines: usize,
}

/// All functions of the product, the longest first. What a macro writes is not seen.
pub fn functions(house: &House) -> Vec<Function> {
    let mut functions = Vec::new();
    for file in &house.files {
        for function in &file.outline.functions {
            functions.push(Function {
                name: function.name.clone(),
                place: format!("{}:{}", file.source.path.display(), function.line),
                lines: file.source.lines_within(&function.range).len(),
            });
        }
    }
    functions.sort_by(|a, b| b.lines.cmp(&a.lines).then_with(|| a.place.cmp(&b.place)));
    functions
}
