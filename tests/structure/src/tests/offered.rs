//! A public item without a user is reported, unless it is offered to others.

use super::shop;
use crate::layers::Layers;
use crate::rules::offered::violations;

const FOR_HIRE: &str = r#"
[[offered]]
package = "shop"
file = "src/lib.rs"
items = ["fn hire"]
reason = "for hirers"
"#;

/// The violations of a package whose library has this text.
fn check(lib: &str, layers: &str) -> Vec<String> {
    let layers = Layers::from_text(layers).expect("the layers are right");
    violations(&shop(&[("lib.rs", lib)]), &layers)
}

#[test]
fn a_public_item_without_a_user_is_reported_unless_it_is_offered() {
    let messages = check("pub fn hire() {}", "");
    assert_eq!(
        messages,
        [
            "shop/src/lib.rs:1: nothing uses the public `fn hire`; remove it, or list it as offered in layers.toml"
        ]
    );
    assert_eq!(check("pub fn hire() {}", FOR_HIRE), [""; 0]);
    let used = "pub fn hire() {} fn day() { hire(); }";
    assert_eq!(check(used, ""), [""; 0]);
}

#[test]
fn an_offered_item_is_reported_once_it_is_gone_or_has_a_user() {
    for (lib, fault) in [
        ("", "is gone, or not public"),
        ("fn hire() {}", "is gone, or not public"),
        ("pub fn hire() {} fn day() { hire(); }", "has a user"),
    ] {
        let expected = format!(
            "layers.toml: `fn hire` in src/lib.rs of shop {fault}; remove it from the offered items"
        );
        assert_eq!(check(lib, FOR_HIRE), [expected]);
    }
}

#[test]
fn an_item_is_offered_in_its_own_file_only() {
    let elsewhere = FOR_HIRE.replace("lib.rs", "yard.rs");
    let messages = check("pub fn hire() {}", &elsewhere);
    assert!(messages[0].contains("nothing uses"), "{messages:?}");
    assert!(
        messages[1].contains("src/yard.rs of shop is gone"),
        "{messages:?}"
    );
    assert_eq!(messages.len(), 2);
}
