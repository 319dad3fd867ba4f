//! What is measured, and what is left out.

use super::shop;
use crate::duplicates::duplicates;
use crate::functions::functions;
use crate::public_items::public_items;
use crate::sizes::Sizes;

#[test]
fn blank_lines_comments_documentation_and_tests_do_not_count() {
    let workspace = shop(&[
        (
            "lib.rs",
            "//! A shop.\n\n/// Cuts.\npub fn cut() {\n    // by hand\n    saw(); /* slowly */\n}\n\n#[cfg(test)]\nmod tests;\n#[cfg(test)]\nmod cuts {\n    fn cut() {}\n}\n",
        ),
        ("tests.rs", "fn cut() {}"),
    ]);
    assert_eq!(
        Sizes::of(&workspace, &[0]).files,
        [(3, "shop/src/lib.rs".to_owned())]
    );
}

#[test]
fn half_of_the_files_are_no_longer_than_the_median() {
    let sizes = Sizes {
        files: [40, 30, 20, 10]
            .map(|lines| (lines, String::new()))
            .to_vec(),
    };
    assert_eq!(
        [50, 90, 100].map(|percent| sizes.percentile(percent)),
        [20, 40, 40]
    );
    assert_eq!(Sizes::default().percentile(50), 0);
}

#[test]
fn a_function_runs_from_its_signature_to_its_closing_brace() {
    let workspace = shop(&[(
        "lib.rs",
        "#[must_use]\nfn cut(\n    tube: u8,\n) -> u8 {\n    // half\n\n    tube / 2\n}\nstruct Saw;\nimpl Saw {\n    fn stop(&self) {}\n}\n",
    )]);
    let measured = functions(&workspace)
        .into_iter()
        .map(|one| (one.name, one.location, one.lines));
    let expected = [
        ("cut", "shop/src/lib.rs:2", 5),
        ("stop", "shop/src/lib.rs:11", 1),
    ];
    assert_eq!(
        measured.collect::<Vec<_>>(),
        expected.map(|(name, place, lines)| (name.to_owned(), place.to_owned(), lines))
    );
}

/// Eight different lines of code about a variable of this name.
fn passage(name: &str) -> String {
    format!(
        "let {name} = open();\nfor one in {name} {{\n{name}.push(one);\nif one > 3 {{ break; }}\nwhile one < 7 {{ one += 1; }}\n}}\nlet sum = {name}.len() + 1;\n{name}.close(sum, 4);\nassert!(sum == 5);"
    )
}

#[test]
fn a_duplicate_counts_once_either_as_identical_or_as_same_shape() {
    let cut = |name: &str| format!("use std::fs;\nfn cut() {{\n{}\n}}\n", passage(name));
    for (second, identical, same_shape) in [("tube", 1, 0), ("angle", 0, 1)] {
        let workspace = shop(&[
            ("lib.rs", "mod one;\nmod two;\n"),
            ("one.rs", &cut("tube")),
            ("two.rs", &cut(second)),
        ]);
        let found = duplicates(&workspace);
        assert_eq!(
            (found.identical.len(), found.same_shape.len()),
            (identical, same_shape)
        );
        let first = found
            .identical
            .iter()
            .chain(&found.same_shape)
            .next()
            .expect("one");
        assert_eq!(
            first.locations,
            ["shop/src/one.rs:2-11", "shop/src/two.rs:2-11"]
        );
    }
}

#[test]
fn the_rows_of_a_table_are_not_duplicates() {
    let rows = "    row(1, 2.0);\n".repeat(40);
    let workspace = shop(&[("lib.rs", &format!("fn table() {{\n{rows}}}\n"))]);
    let found = duplicates(&workspace);
    assert_eq!((found.identical.len(), found.same_shape.len()), (0, 0));
}

#[test]
fn a_public_item_needs_a_user_other_than_itself_and_tests() {
    let workspace = shop(&[
        (
            "lib.rs",
            "mod saw;\npub use saw::Unused;\nfn main() { saw::cut(); println!(\"{KERF}\"); }\n#[cfg(test)] mod tests { fn all() { only_in_tests(); } }\n",
        ),
        (
            "saw.rs",
            "pub fn cut() {}\npub fn again() { again(); }\npub fn only_in_tests() {}\npub struct Unused;\nimpl Unused {}\npub const KERF: u8 = 2;\npub(crate) fn inner() {}\n",
        ),
    ]);
    let items = public_items(&workspace);
    let unused = items
        .iter()
        .filter(|item| !item.is_used)
        .map(|item| item.what.as_str());
    assert_eq!(items.len(), 5);
    assert_eq!(
        unused.collect::<Vec<_>>(),
        ["fn again", "fn only_in_tests", "struct Unused"]
    );
}
