//! Dependencies in the product point downwards and public items are in use, as `layers.toml` says.

use coldsquare_structure::layers::Layers;
use coldsquare_structure::rules;
use coldsquare_structure::workspace::Workspace;
use std::path::Path;

#[test]
fn no_module_uses_a_layer_above_its_own() {
    assert_none(rules::violations);
}

#[test]
fn every_public_item_has_a_user_or_is_offered_for_a_reason() {
    assert_none(rules::offered::violations);
}

#[track_caller]
fn assert_none(check: impl Fn(&Workspace, &Layers) -> Vec<String>) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let workspace = Workspace::read(&root).expect("the workspace is readable");
    let layers = Layers::from_text(include_str!("../layers.toml")).expect("layers.toml is valid");
    let violations = check(&workspace, &layers);
    assert!(
        violations.is_empty(),
        "{} violation(s) of tests/structure/layers.toml:\n{}",
        violations.len(),
        violations.join("\n")
    );
}
