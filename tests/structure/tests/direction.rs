//! Dependencies in the product point downwards, as `layers.toml` says.

use coldsquare_structure::layers::Layers;
use coldsquare_structure::rules::violations;
use coldsquare_structure::workspace::Workspace;
use std::path::Path;

#[test]
fn no_module_uses_a_layer_above_its_own() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let workspace = Workspace::read(&root).expect("the workspace is readable");
    let layers = Layers::from_text(include_str!("../layers.toml")).expect("layers.toml is valid");
    let violations = violations(&workspace, &layers);
    assert!(
        violations.is_empty(),
        "{} violation(s) of tests/structure/layers.toml:\n{}",
        violations.len(),
        violations.join("\n")
    );
}
