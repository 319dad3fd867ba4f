//! `coldsquare metal`: everyday questions answered with units, or refused with range and clause.
//! The figures themselves are checked against publications in `evidence`.

use coldsquare_tests::assert_close;
use coldsquare_tests::command::{Ran, coldsquare};

fn metal(arguments: &[&str]) -> Ran {
    coldsquare(["metal"].into_iter().chain(arguments.iter().copied()))
}

/// The number at the beginning of a row's value.
fn number(ran: &Ran, row: &str) -> f64 {
    let line = ran
        .out
        .lines()
        .find(|line| line.trim_start().starts_with(row))
        .unwrap_or_else(|| panic!("{row}: {ran:?}"));
    let rest = line.trim_start().trim_start_matches(row).trim_start();
    let word = rest.split_whitespace().next().expect("a value");
    word.parse().unwrap_or_else(|_| panic!("{line}"))
}

/// CE, CET, Pcm and CEN by hand from their definitions.
#[test]
fn equivalents_of_a_certificate_are_printed() {
    let ran = metal(&[
        "--composition",
        "C 0.17, Si 0.3, Mn=1.2, Cu: 0.2 % Ni 0.1, P 0.02",
    ]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert_close(
        number(&ran, "CE (IIW)"),
        0.17 + 1.2 / 6.0 + 0.3 / 15.0,
        5e-4,
        0.0,
    );
    assert_close(
        number(&ran, "CET (EN 1011-2)"),
        0.17 + 0.12 + 0.01 + 0.1 / 40.0,
        5.1e-4,
        0.0,
    );
    assert_close(
        number(&ran, "Pcm"),
        0.17 + 0.01 + 1.4 / 20.0 + 0.1 / 60.0,
        5.1e-4,
        0.0,
    );
}

#[test]
fn thin_mild_steel_is_told_that_preheat_does_not_matter() {
    for thickness in ["2", "3", "5", "10"] {
        let ran = metal(&[
            "--grade",
            "S235",
            "--thickness",
            thickness,
            "--heat-input",
            "0.25",
        ]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(
            ran.out.contains("preheat") && ran.out.contains("not needed"),
            "{}",
            ran.out
        );
    }
}

/// 697·0.4 + 160·tanh(40/35) + 62·5^0.35 + (53·0.4 − 32)·1 − 328 = 181 °C.
#[test]
fn thick_hard_steel_is_told_how_warm_in_either_unit() {
    let case = [
        "--composition",
        "C 0.25, Mn 1.5",
        "--thickness",
        "40",
        "--heat-input",
        "1",
    ];
    let ran = metal(&case);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let by_hand = 697.0 * 0.4
        + 160.0 * (40.0f64 / 35.0).tanh()
        + 62.0 * 5.0f64.powf(0.35)
        + (53.0 * 0.4 - 32.0)
        - 328.0;
    assert_close(number(&ran, "preheat"), by_hand, 0.51, 0.0);
    let inch = metal(&[&case[..], &["--units", "inch"]].concat());
    assert!(
        inch.out.contains("°F before every run") && !inch.out.contains("°C"),
        "{}",
        inch.out
    );
    assert_close(number(&inch, "preheat"), 1.8 * by_hand + 32.0, 0.51, 0.0);
}

#[test]
fn cooling_time_gives_both_heat_flows_and_where_they_meet() {
    let ran = metal(&["--thickness", "3", "--heat-input", "0.25", "--joint", "tee"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out.contains("two-dimensional heat flow governs"),
        "{}",
        ran.out
    );
    let transition = metal(&["--thickness", "3", "--heat-input", "0.25"]);
    let at = number(&transition, "transition thickness");
    assert!(transition.out.contains(" mm\n"), "{}", transition.out);
    // Just at the transition both are the same.
    let there = metal(&["--thickness", &at.to_string(), "--heat-input", "0.25"]);
    assert_close(
        number(&there, "two-dimensional"),
        number(&there, "three-dimensional"),
        0.011,
        0.0,
    );
}

#[test]
fn the_wait_grows_with_heat_and_shrinks_with_patience() {
    let wait = |heat: &str, limit: &str| {
        let ran = metal(&[
            "--thickness",
            "3",
            "--heat-input",
            heat,
            "--interpass",
            limit,
            "--girth",
            "160",
            "--length",
            "40",
        ]);
        assert_eq!(ran.code, 0, "{}", ran.err);
        let (_, after) = ran.out.split_once("°C: ").expect("a wait");
        after
            .split_whitespace()
            .next()
            .and_then(|s| s.parse::<f64>().ok())
            .expect("seconds")
    };
    assert!(wait("0.30", "100") > wait("0.20", "100"));
    assert!(wait("0.30", "80") > wait("0.30", "150"));
}

#[test]
fn out_of_range_is_a_refusal_that_names_range_and_clause() {
    for (arguments, range, clause) in [
        (
            &["--composition", "C 0.6"][..],
            "give 0 to 0.32 %",
            "EN 1011-2:2001, Annex C",
        ),
        (
            &[
                "--composition",
                "C 0.25, Mn 1.5",
                "--thickness",
                "3",
                "--heat-input",
                "0.25",
            ],
            "give 10 to 90 mm",
            "EN 1011-2:2001, C.3, equation C.8",
        ),
        (
            &["--thickness", "3", "--heat-input", "9"],
            "give 0.05 to 5 kJ/mm",
            "EN 1011-2:2001, Annex D",
        ),
    ] {
        let ran = metal(arguments);
        assert_eq!(ran.code, 1, "{}", ran.out);
        assert!(
            ran.err.contains(range) && ran.err.contains(clause),
            "{}",
            ran.err
        );
    }
    assert_eq!(metal(&[]).code, 2);
    assert_eq!(metal(&["--composition", "C"]).code, 2);
    assert_eq!(metal(&["--composition", "Xx 1"]).code, 2);
}

#[test]
fn programs_are_answered_the_same_and_always_in_metric() {
    let case = [
        "--grade",
        "S355",
        "--thickness",
        "4",
        "--heat-input",
        "0.2",
        "--interpass",
        "150",
        "--girth",
        "160",
        "--length",
        "40",
        "--units",
        "inch",
    ];
    let said = metal(&case);
    let ran = metal(&[&case[..], &["--json"]].concat());
    // 4 mm is thinner than the preheat formula goes: said as a refusal, and the rest is answered.
    assert_eq!((ran.code, said.code), (1, 1));
    let json: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    assert_eq!(json["format"], "coldsquare metal 1");
    let answers = &json["answers"];
    assert_close(
        answers["ce_percent"].as_f64().expect("a number"),
        number(&said, "CE (IIW)"),
        5e-4,
        0.0,
    );
    let inches = number(&said, "transition thickness");
    let millimetres = answers["transition_thickness_mm"][0].as_f64().expect("mm");
    assert_close(millimetres / 25.4, inches, 5.1e-3, 0.0);
    assert_eq!(answers["t85"]["heat_flow_dimensions"], 2);
    assert!(answers["wait"]["seconds"].as_f64().expect("s") > 0.0);
    assert_eq!(answers["wait"]["until_below_c"], 150.0);
    assert!(answers["preheat"].is_null());
    let refused = json["refused"][0].as_str().expect("a refusal");
    assert!(refused.contains("EN 1011-2"), "{refused}");
}
