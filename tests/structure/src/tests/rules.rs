//! Each rule reports what breaks it, and nothing else.

use super::{shop, workspace};
use crate::layers::Layers;
use crate::rules::violations;
use crate::workspace::Workspace;

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

fn check(workspace: &Workspace, layers: &str) -> Vec<String> {
    violations(
        workspace,
        &Layers::from_text(layers).expect("the layers are right"),
    )
}

/// A package with these texts as its modules `tube` and `gate`.
fn tube_and_gate(tube: &str, gate: &str) -> Workspace {
    shop(&[
        ("lib.rs", "mod angle; mod gate; mod tube;"),
        ("angle.rs", "pub struct Angle;"),
        ("tube.rs", tube),
        ("gate.rs", gate),
    ])
}

#[track_caller]
fn assert_reports(messages: &[String], parts: &[&str]) {
    let hit = messages
        .iter()
        .any(|one| parts.iter().all(|part| one.contains(part)));
    assert!(hit, "no message contains {parts:?}: {messages:#?}");
}

#[test]
fn a_module_may_use_its_own_layer_and_the_layers_below() {
    let workspace = tube_and_gate(
        "use crate::angle::Angle; pub struct Tube(Angle);",
        "use crate::tube::Tube; pub struct Gate(Tube);",
    );
    assert_eq!(check(&workspace, TWO_LAYERS), [""; 0]);
}

#[test]
fn an_upward_use_is_reported_with_file_line_and_both_layers() {
    let workspace = tube_and_gate("\nuse crate::gate::Gate;", "pub struct Gate;");
    let messages = check(&workspace, TWO_LAYERS);
    assert_reports(
        &messages,
        &[
            "shop/src/tube.rs:2",
            "crate::gate::Gate",
            "\"stock\"",
            "\"frames\"",
        ],
    );
    assert_eq!(messages.len(), 1, "{messages:#?}");
}

#[test]
fn a_path_in_code_or_in_a_macro_counts_as_a_use() {
    for tube in [
        "fn cut() { crate::gate::hang(); }",
        "fn cut() { println!(\"{}\", super::gate::hang()); }",
        "use super::*; fn cut() { gate::hang(); }",
        "use crate::gate; fn cut() { gate::hang(); }",
    ] {
        let workspace = tube_and_gate(tube, "pub fn hang() {}");
        assert_reports(
            &check(&workspace, TWO_LAYERS),
            &["shop/src/tube.rs:1", "gate"],
        );
    }
}

#[test]
fn a_test_may_use_a_higher_layer() {
    let workspace = tube_and_gate(
        "#[cfg(test)] mod tests { use crate::gate::Gate; }",
        "pub struct Gate;",
    );
    assert_eq!(check(&workspace, TWO_LAYERS), [""; 0]);
}

#[test]
fn a_name_reexported_by_a_higher_module_counts_as_a_use_of_that_module() {
    let workspace = tube_and_gate("use crate::gate::Angle;", "pub use crate::angle::Angle;");
    assert_reports(
        &check(&workspace, TWO_LAYERS),
        &["shop/src/tube.rs:1", "crate::gate::Angle"],
    );
}

#[test]
fn an_exception_is_allowed_and_reported_once_it_is_no_longer_needed() {
    let allowed = format!(
        "{TWO_LAYERS}\n[[exception]]\npackage = \"shop\"\nfrom = \"tube\"\nto = \"gate\"\nreason = \"a hinge\""
    );
    let workspace = tube_and_gate("use crate::gate::Gate;", "pub struct Gate;");
    assert_eq!(check(&workspace, &allowed), [""; 0]);
    let workspace = tube_and_gate("", "");
    assert_reports(
        &check(&workspace, &allowed),
        &["tube", "no longer uses gate"],
    );
}

#[test]
fn a_module_without_a_layer_is_reported_and_so_is_a_listed_module_that_does_not_exist() {
    let workspace = shop(&[
        ("lib.rs", "mod gate; mod tube; mod rack;"),
        ("gate.rs", ""),
        ("tube.rs", ""),
        ("rack.rs", ""),
    ]);
    let messages = check(&workspace, TWO_LAYERS);
    assert_reports(&messages, &["shop/src/rack.rs", "rack", "no layer"]);
    assert_reports(&messages, &["shop has no module angle"]);
    assert_eq!(messages.len(), 2, "{messages:#?}");
}

#[test]
fn modules_of_one_layer_must_not_form_a_cycle() {
    let workspace = shop(&[
        ("lib.rs", "mod angle; mod gate; mod tube;"),
        ("angle.rs", "use crate::tube::Tube; pub struct Angle;"),
        ("tube.rs", "use crate::angle::Angle; pub struct Tube;"),
        ("gate.rs", ""),
    ]);
    let messages = check(&workspace, TWO_LAYERS);
    assert_reports(
        &messages,
        &["cycle of modules", "angle, tube", "shop/src/tube.rs:1"],
    );
    assert_eq!(messages.len(), 1, "{messages:#?}");
}

/// A module whose two files use each other, through a parent that only re-exports them.
fn gate_of_two_files() -> Workspace {
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
fn a_cycle_of_files_is_reported_without_the_parent_that_reexports_them() {
    let messages = check(&gate_of_two_files(), TWO_LAYERS);
    assert_reports(
        &messages,
        &["cycle of files: src/gate/hinge.rs, src/gate/leaf.rs\n"],
    );
    assert_eq!(messages.len(), 1, "{messages:#?}");
}

#[test]
fn a_listed_cycle_is_allowed_and_reported_once_it_is_gone() {
    let listed = format!(
        "{TWO_LAYERS}\n[[cycle]]\npackage = \"shop\"\nfiles = [\"src/gate/leaf.rs\", \"src/gate/hinge.rs\"]\nreason = \"one swings on the other\""
    );
    assert_eq!(check(&gate_of_two_files(), &listed), [""; 0]);
    let workspace = tube_and_gate("", "");
    assert_reports(
        &check(&workspace, &listed),
        &["shop has no cycle", "src/gate/hinge.rs"],
    );
}

#[test]
fn a_forbidden_path_is_reported_however_it_is_written() {
    for tube in [
        "use std::fs::File;",
        "use std::{fmt, fs};",
        "fn cut() { std::fs::read(\"log\"); }",
        "use std::time; fn cut() { time::Instant::now(); }",
        "use std::time::*;",
    ] {
        let workspace = tube_and_gate(tube, "");
        assert_reports(
            &check(&workspace, TWO_LAYERS),
            &["shop/src/tube.rs:1", "shop must not use std::"],
        );
    }
    let workspace = tube_and_gate("use std::fmt; use std::time::Duration;", "");
    assert_eq!(check(&workspace, TWO_LAYERS), [""; 0]);
}

/// Package `shop` with these dependencies and this library, package `yard` without any, and tests that use both.
fn shop_and_yard(dependencies: &str, lib: &str) -> Workspace {
    let manifest = format!("[package]\nname = \"shop\"\n[dependencies]\n{dependencies}");
    workspace(&[
        ("shop/Cargo.toml", &manifest),
        ("shop/src/lib.rs", lib),
        ("yard/Cargo.toml", "[package]\nname = \"yard\""),
        ("yard/src/lib.rs", "pub mod crane; pub mod gantry;"),
        ("yard/src/crane.rs", "pub fn lift() {}"),
        ("yard/src/gantry.rs", "pub fn lift() {}"),
        (
            "tests/Cargo.toml",
            "[package]\nname = \"tests\"\n[dependencies]\nshop_factors = \"1\"\nyard = \"1\"",
        ),
    ])
}

const SHOP_ALONE: &str = "[[package]]\nname = \"shop\"\nforbidden = [\"saw\"]\n[[package]]\nname = \"yard\"\n\
    [[package.layer]]\nname = \"lifting\"\nmodules = [\"crane\", \"gantry\"]";

#[test]
fn a_package_must_not_depend_on_one_that_is_not_listed() {
    assert_eq!(
        check(&shop_and_yard("serde = \"1\"", ""), SHOP_ALONE),
        [""; 0]
    );
    let workspace = shop_and_yard("yard = \"1\"", "");
    assert_reports(
        &check(&workspace, SHOP_ALONE),
        &["shop/Cargo.toml", "must not depend on yard"],
    );
    let knows = SHOP_ALONE.replacen("forbidden", "uses = [\"yard\"]\nforbidden", 1);
    assert_eq!(check(&workspace, &knows), [""; 0]);
}

#[test]
fn a_forbidden_package_is_reported_unless_it_is_optional() {
    let always = shop_and_yard("saw = \"1\"", "");
    assert_reports(
        &check(&always, SHOP_ALONE),
        &["shop/Cargo.toml", "must not depend on saw"],
    );
    let for_a_feature = shop_and_yard(
        "saw = { version = \"1\", optional = true }",
        "#[cfg_attr(feature = \"saw\", derive(saw::Cut))] pub struct Tube;",
    );
    assert_eq!(check(&for_a_feature, SHOP_ALONE), [""; 0]);
}

#[test]
fn only_the_listed_modules_of_a_package_may_be_used() {
    let only_crane = SHOP_ALONE.replacen(
        "forbidden",
        "uses = [\"yard\"]\nonly = { yard = [\"crane\"] }\nforbidden",
        1,
    );
    let crane = shop_and_yard("yard = \"1\"", "fn load() { yard::crane::lift(); }");
    assert_eq!(check(&crane, &only_crane), [""; 0]);
    let gantry = shop_and_yard("yard = \"1\"", "use yard::gantry::lift;");
    assert_reports(
        &check(&gantry, &only_crane),
        &["shop/src/lib.rs:1", "only crane of yard, not gantry"],
    );
}
