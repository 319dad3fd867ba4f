//! Each rule tells what breaks it, and keeps quiet about what does not.

use super::{house, shop};
use crate::house::House;
use crate::layers::Layers;
use crate::rules::broken;

const TWO_LAYERS: &str = r#"
[[package]]
name = "shop"
forbidden = ["std::fs", "std::time::Instant", "saw"]
[[package.layer]]
name = "stock"
modules = ["tube", "angle"]
[[package.layer]]
name = "frames"
modules = ["gate"]
"#;

fn told(house: &House, layers: &str) -> Vec<String> {
    broken(
        house,
        &Layers::from_text(layers).expect("the layers are right"),
    )
}

/// A shop whose modules `tube` and `gate` hold these texts.
fn tube_and_gate(tube: &str, gate: &str) -> House {
    shop(&[
        ("lib.rs", "mod angle; mod gate; mod tube;"),
        ("angle.rs", "pub struct Angle;"),
        ("tube.rs", tube),
        ("gate.rs", gate),
    ])
}

#[track_caller]
fn assert_told(told: &[String], parts: &[&str]) {
    let hit = told
        .iter()
        .any(|one| parts.iter().all(|part| one.contains(part)));
    assert!(hit, "none of these tells {parts:?}: {told:#?}");
}

#[test]
fn a_module_may_use_those_below_it_and_beside_it() {
    let house = tube_and_gate(
        "use crate::angle::Angle; pub struct Tube(Angle);",
        "use crate::tube::Tube; pub struct Gate(Tube);",
    );
    assert_eq!(told(&house, TWO_LAYERS), [""; 0]);
}

#[test]
fn a_module_that_reaches_up_is_told_with_file_line_and_both_layers() {
    let house = tube_and_gate("\nuse crate::gate::Gate;", "pub struct Gate;");
    let told = told(&house, TWO_LAYERS);
    assert_told(
        &told,
        &[
            "shop/src/tube.rs:2",
            "crate::gate::Gate",
            "\"stock\"",
            "\"frames\"",
        ],
    );
    assert_eq!(told.len(), 1, "{told:#?}");
}

#[test]
fn a_path_in_the_code_or_in_a_macro_reaches_up_too() {
    for tube in [
        "fn cut() { crate::gate::hang(); }",
        "fn cut() { println!(\"{}\", super::gate::hang()); }",
        "use super::*; fn cut() { gate::hang(); }",
        "use crate::gate; fn cut() { gate::hang(); }",
    ] {
        let house = tube_and_gate(tube, "pub fn hang() {}");
        assert_told(&told(&house, TWO_LAYERS), &["shop/src/tube.rs:1", "gate"]);
    }
}

#[test]
fn a_test_may_use_what_stands_above_it() {
    let house = tube_and_gate(
        "#[cfg(test)] mod tests { use crate::gate::Gate; }",
        "pub struct Gate;",
    );
    assert_eq!(told(&house, TWO_LAYERS), [""; 0]);
}

#[test]
fn a_name_handed_on_by_a_higher_module_still_reaches_up() {
    let house = tube_and_gate("use crate::gate::Angle;", "pub use crate::angle::Angle;");
    assert_told(
        &told(&house, TWO_LAYERS),
        &["shop/src/tube.rs:1", "crate::gate::Angle"],
    );
}

#[test]
fn a_use_against_the_order_is_allowed_with_its_reason_and_told_when_it_is_no_more() {
    let allowed = format!(
        "{TWO_LAYERS}\n[[against]]\npackage = \"shop\"\nfrom = \"tube\"\nto = \"gate\"\nreason = \"a hinge\""
    );
    let house = tube_and_gate("use crate::gate::Gate;", "pub struct Gate;");
    assert_eq!(told(&house, &allowed), [""; 0]);
    let house = tube_and_gate("", "");
    assert_told(&told(&house, &allowed), &["tube", "no longer knows gate"]);
}

#[test]
fn a_module_in_no_layer_is_told_and_so_is_a_layer_without_its_module() {
    let house = shop(&[
        ("lib.rs", "mod gate; mod tube; mod rack;"),
        ("gate.rs", ""),
        ("tube.rs", ""),
        ("rack.rs", ""),
    ]);
    let told = told(&house, TWO_LAYERS);
    assert_told(&told, &["shop/src/rack.rs", "rack", "no layer"]);
    assert_told(&told, &["shop has no module angle"]);
    assert_eq!(told.len(), 2, "{told:#?}");
}

#[test]
fn modules_of_one_layer_must_not_use_each_other_in_a_circle() {
    let house = shop(&[
        ("lib.rs", "mod angle; mod gate; mod tube;"),
        ("angle.rs", "use crate::tube::Tube; pub struct Angle;"),
        ("tube.rs", "use crate::angle::Angle; pub struct Tube;"),
        ("gate.rs", ""),
    ]);
    let told = told(&house, TWO_LAYERS);
    assert_told(
        &told,
        &["circle of modules", "angle, tube", "shop/src/tube.rs:1"],
    );
    assert_eq!(told.len(), 1, "{told:#?}");
}

/// A gate whose parts know each other, and its folder's facade that only hands them on.
fn gate_of_two_files() -> House {
    shop(&[
        ("lib.rs", "mod angle; mod gate; mod tube;"),
        ("angle.rs", ""),
        ("tube.rs", ""),
        (
            "gate/mod.rs",
            "mod hinge; mod leaf; pub use hinge::Hinge; pub use leaf::Leaf;",
        ),
        ("gate/hinge.rs", "use super::Leaf; pub struct Hinge(Leaf);"),
        (
            "gate/leaf.rs",
            "use super::hinge::Hinge; pub struct Leaf(Hinge);",
        ),
    ])
}

#[test]
fn a_circle_of_files_is_told_without_the_facade_that_hands_them_on() {
    let told = told(&gate_of_two_files(), TWO_LAYERS);
    assert_told(
        &told,
        &["circle of files: src/gate/hinge.rs, src/gate/leaf.rs\n"],
    );
    assert_eq!(told.len(), 1, "{told:#?}");
}

#[test]
fn a_listed_circle_may_stay_and_is_told_when_it_is_no_more() {
    let listed = format!(
        "{TWO_LAYERS}\n[[circle]]\npackage = \"shop\"\nfiles = [\"src/gate/leaf.rs\", \"src/gate/hinge.rs\"]\nreason = \"one swings on the other\""
    );
    assert_eq!(told(&gate_of_two_files(), &listed), [""; 0]);
    let house = tube_and_gate("", "");
    assert_told(
        &told(&house, &listed),
        &["no circle of shop", "src/gate/hinge.rs"],
    );
}

#[test]
fn a_forbidden_path_is_told_however_it_is_named() {
    for tube in [
        "use std::fs::File;",
        "use std::{fmt, fs};",
        "fn cut() { std::fs::read(\"log\"); }",
        "use std::time; fn cut() { time::Instant::now(); }",
        "use std::time::*;",
    ] {
        let house = tube_and_gate(tube, "");
        assert_told(
            &told(&house, TWO_LAYERS),
            &["shop/src/tube.rs:1", "shop must not use std::"],
        );
    }
    let house = tube_and_gate("use std::fmt; use std::time::Duration;", "");
    assert_eq!(told(&house, TWO_LAYERS), [""; 0]);
}

/// A shop that needs this, beside a yard that needs nothing, and tests that need all.
fn shop_and_yard(needs: &str, lib: &str) -> House {
    let manifest = format!("[package]\nname = \"shop\"\n[dependencies]\n{needs}");
    house(&[
        ("shop/Cargo.toml", &manifest),
        ("shop/src/lib.rs", lib),
        ("yard/Cargo.toml", "[package]\nname = \"yard\""),
        ("yard/src/lib.rs", "pub mod crane; pub mod gantry;"),
        ("yard/src/crane.rs", "pub fn lift() {}"),
        ("yard/src/gantry.rs", "pub fn lift() {}"),
        (
            "tests/Cargo.toml",
            "[package]\nname = \"tests\"\n[dependencies]\nshop = \"1\"\nyard = \"1\"",
        ),
    ])
}

const SHOP_ALONE: &str = "[[package]]\nname = \"shop\"\nforbidden = [\"saw\"]\n[[package]]\nname = \"yard\"\n\
    [[package.layer]]\nname = \"lifting\"\nmodules = [\"crane\", \"gantry\"]";

#[test]
fn a_package_must_not_need_one_that_it_may_not_know() {
    assert_eq!(
        told(&shop_and_yard("serde = \"1\"", ""), SHOP_ALONE),
        [""; 0]
    );
    let house = shop_and_yard("yard = \"1\"", "");
    assert_told(
        &told(&house, SHOP_ALONE),
        &["shop/Cargo.toml", "must not know yard"],
    );
    let knows = SHOP_ALONE.replacen("forbidden", "uses = [\"yard\"]\nforbidden", 1);
    assert_eq!(told(&house, &knows), [""; 0]);
}

#[test]
fn a_forbidden_package_is_told_unless_it_is_for_a_feature() {
    let always = shop_and_yard("saw = \"1\"", "");
    assert_told(
        &told(&always, SHOP_ALONE),
        &["shop/Cargo.toml", "must not need saw"],
    );
    let for_a_feature = shop_and_yard(
        "saw = { version = \"1\", optional = true }",
        "#[cfg_attr(feature = \"saw\", derive(saw::Cut))] pub struct Tube;",
    );
    assert_eq!(told(&for_a_feature, SHOP_ALONE), [""; 0]);
}

#[test]
fn of_a_package_only_the_modules_named_may_be_used() {
    let only_crane = SHOP_ALONE.replacen(
        "forbidden",
        "uses = [\"yard\"]\nonly = { yard = [\"crane\"] }\nforbidden",
        1,
    );
    let crane = shop_and_yard("yard = \"1\"", "fn load() { yard::crane::lift(); }");
    assert_eq!(told(&crane, &only_crane), [""; 0]);
    let gantry = shop_and_yard("yard = \"1\"", "use yard::gantry::lift;");
    assert_told(
        &told(&gantry, &only_crane),
        &["shop/src/lib.rs:1", "only crane of yard, not gantry"],
    );
}
