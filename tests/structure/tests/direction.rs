//! The direction of the house: no module and no package knows what stands above it.

use coldsquare_structure::house::House;
use coldsquare_structure::layers::Layers;
use coldsquare_structure::rules::broken;
use std::path::Path;

#[test]
fn no_module_knows_what_stands_above_it() {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let house = House::read(&here.join("../..")).expect("the workspace can be read");
    let text = include_str!("../layers.toml");
    let layers = Layers::from_text(text).expect("layers.toml can be read");
    let broken = broken(&house, &layers);
    assert!(
        broken.is_empty(),
        "{} place(s) break the order of tests/structure/layers.toml:\n{}",
        broken.len(),
        broken.join("\n")
    );
}
