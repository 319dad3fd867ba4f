//! What a user is told of the seals of a log, in a word, in a sentence and as JSON.

use super::*;
use serde_json::{Value, json};

fn key(of: u8) -> [u8; 32] {
    Secret::new([of; 32]).expect("chance").public()
}

fn name(of: u8) -> String {
    Fingerprint::of(&key(of)).to_string()
}

const fn records(first: u32, last: u32) -> Records {
    Records { first, last }
}

/// What one logger says.
fn seal(verdict: Verdict) -> Seal {
    Seal {
        keys: vec![key(1)],
        verdict,
        ..Seal::default()
    }
}

const UP_TO_40: Verdict = Verdict::UpTo {
    record: 40,
    rest: 0,
};

const fn broken(first: u32, last: u32, missing: bool) -> Verdict {
    let at = records(first, last);
    Verdict::Broken { at, missing }
}

#[test]
fn only_a_seal_that_lacks_nothing_is_called_sealed() {
    let whole = || seal(Verdict::Sealed);
    assert_eq!(whole().word(), "sealed");
    let between = Seal {
        between: vec![records(3, 4)],
        ..whole()
    };
    let made_room = Seal {
        made_room: 1,
        ..whole()
    };
    let lost = Seal {
        lost: Some((records(7, 7), 1)),
        ..whole()
    };
    for in_part in [between, made_room, lost, seal(UP_TO_40)] {
        assert_eq!(in_part.word(), "sealed in part", "{in_part:?}");
        assert!(in_part.is_in_doubt());
    }
    assert_eq!(seal(broken(1, 2, false)).word(), "broken");
    assert!(seal(broken(1, 2, false)).is_in_doubt());
    assert!(!whole().is_in_doubt());
    assert!(!Seal::default().is_in_doubt(), "it never had a seal");
    assert_eq!(Seal::default().word(), "not sealed");
}

#[test]
fn a_log_that_is_not_by_the_logger_that_was_named_is_in_doubt() {
    let named = |of, seal: Seal| Seal {
        named: Some(Fingerprint::of(&key(of))),
        ..seal
    };
    assert_eq!(named(1, seal(Verdict::Sealed)).word(), "sealed");
    for verdict in [Verdict::Sealed, UP_TO_40] {
        let by_another = named(2, seal(verdict));
        assert_eq!(by_another.word(), "sealed by another logger");
        assert!(by_another.is_in_doubt());
        let told = format!("; that is not the logger that was named, {}", name(2));
        assert!(by_another.sentence().ends_with(&told));
    }
    // One of two is another one.
    let both = Seal {
        keys: vec![key(1), key(2)],
        ..seal(Verdict::Sealed)
    };
    assert_eq!(named(1, both).word(), "sealed by another logger");
    assert_eq!(named(2, seal(broken(1, 2, true))).word(), "broken");
    let own = named(1, seal(Verdict::Sealed)).sentence();
    assert_eq!(own, format!("sealed by logger {}", name(1)));
    let none = named(1, Seal::default());
    assert_eq!(none.word(), "without its seal");
    assert!(none.is_in_doubt());
    let told = format!("not sealed: it is not by logger {}, or", name(1));
    assert!(none.sentence().starts_with(&told), "{}", none.sentence());
}

#[test]
fn the_sentence_says_up_to_where_a_log_is_sealed() {
    let says = |verdict| seal(verdict).sentence();
    let up_to = |rest| Verdict::UpTo { record: 40, rest };
    let begins = format!("sealed by logger {}", name(1));
    assert_eq!(says(Verdict::Sealed), begins);
    let begins = format!("{begins} up to record 40");
    assert_eq!(
        says(up_to(0)),
        format!("{begins}, the last one; the logger did not say that the log ends there")
    );
    let one = format!("{begins}; the 1 record after it is not");
    assert_eq!(says(up_to(1)), one);
    let two = format!("{begins}; the 2 records after it are not");
    assert_eq!(says(up_to(2)), two);
}

#[test]
fn the_sentence_says_where_the_seal_is_broken_and_whether_records_are_missing() {
    let says = |first, last, missing| seal(broken(first, last, missing)).sentence();
    let one = says(7, 7, true);
    let told = "the seal is broken at record 7: it is missing or damaged.";
    assert!(one.starts_with(told), "{one}");
    let more = says(7, 9, true);
    let told = "the seal is broken at records 7 to 9: they are missing or damaged.";
    assert!(more.starts_with(told), "{more}");
    let by = name(1);
    assert_eq!(
        says(7, 9, false),
        format!(
            "the seal is broken at records 7 to 9: something there was changed, taken out or put in after logger {by} wrote it"
        )
    );
}

#[test]
fn the_sentence_says_what_of_a_sealed_log_has_no_seal_or_is_missing() {
    let of = |seal: Seal| {
        let by = format!("sealed by logger {}", name(1));
        let said = seal.sentence();
        said.strip_prefix(&by).expect("it is sealed").to_owned()
    };
    let between = Seal {
        between: vec![records(3, 3), records(8, 9), records(12, 20)],
        ..seal(Verdict::Sealed)
    };
    let told = "; not sealed: record 3, records 8 to 9, records 12 to 20";
    assert_eq!(of(between), told);
    let lost = |all| Seal {
        lost: Some((records(7, 8), all)),
        ..seal(Verdict::Sealed)
    };
    let why = "power was cut, a place of the logger's store was lost, or somebody took them out";
    let told = format!("; 1 window is missing, records 7 to 8 first: {why}");
    assert_eq!(of(lost(1)), told);
    let told = format!("; 5 windows are missing, records 7 to 8 first: {why}");
    assert_eq!(of(lost(5)), told);
    let made_room = |made_room| Seal {
        made_room,
        ..seal(Verdict::Sealed)
    };
    let told = "; 1 window of its beginning is missing, as when it makes room for later ones";
    assert_eq!(of(made_room(1)), told);
    let told = "; 6 windows of its beginning are missing, as when they make room for later ones";
    assert_eq!(of(made_room(6)), told);
}

#[test]
fn every_logger_is_named_and_a_simulated_one_proves_nothing() {
    let two = Seal {
        keys: vec![key(1), key(2)],
        ..seal(Verdict::Sealed)
    };
    let told = format!("sealed by loggers {} and {}", name(1), name(2));
    assert_eq!(two.sentence(), told);
    assert!(!two.is_simulated());
    let simulated = Secret::new(SIMULATION).expect("chance").public();
    let simulated = Seal {
        keys: vec![key(1), simulated],
        ..seal(Verdict::Sealed)
    };
    assert!(simulated.is_simulated());
    let told = "(a simulated logger, whose key is public: it proves nothing)";
    assert!(simulated.sentence().ends_with(told));
}

#[test]
fn programs_are_told_the_same() {
    let said = |seal: &Seal| serde_json::to_value(Said::from(seal)).expect("JSON");
    let part = Seal {
        between: vec![records(3, 4)],
        made_room: 2,
        lost: Some((records(7, 8), 5)),
        named: Some(Fingerprint::of(&key(2))),
        ..seal(UP_TO_40)
    };
    assert_eq!(
        said(&part),
        json!({
            "state": "sealed by another logger",
            "says": part.sentence(),
            "keys": [name(1)],
            "named": name(2),
            "sealed_up_to": 40,
            "broken": null,
            "not_sealed": [{ "first": 3, "last": 4 }],
            "windows_missing": 7,
            "simulated": false,
        })
    );
    let broken = said(&seal(broken(7, 9, true)));
    assert_eq!(broken["broken"], json!({ "first": 7, "last": 9 }));
    assert_eq!(broken["sealed_up_to"], Value::Null);
    let whole = said(&seal(Verdict::Sealed));
    assert_eq!(whole["state"], "sealed");
    assert_eq!(whole["sealed_up_to"], Value::Null);
    assert_eq!(whole["broken"], Value::Null);
    assert_eq!(whole["windows_missing"], 0);
}
