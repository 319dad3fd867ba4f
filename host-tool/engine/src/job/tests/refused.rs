//! What a job file must not say: every error is told, with what is wrong, and where.

use super::*;

#[test]
fn every_error_is_reported_at_once() {
    let text = GATE
        .replace("width = 1200", "width = -1200")
        .replace("height = 900", "hieght = 900")
        .replace("count = 9", "count = \"nine\"")
        .replace("[17, 20]", "[20, 17]")
        .replace("135 ", "136000 ")
        .replace("SHS 20x20x2", "SHS 20x20x12");
    let found = errors(&text);
    for what in [
        "negative",
        "'hieght'",
        "'count'",
        "'volts'",
        "process",
        "SHS 20x20x12",
        "'height'",
    ] {
        assert!(
            found.iter().any(|one| one.contains(what)),
            "{what} in {found:#?}"
        );
    }
    assert_eq!(found.len(), 7, "{found:#?}");
}

#[test]
fn a_clamp_that_cannot_come_off_as_written_is_pointed_at() {
    for (release, line, what) in [
        ("release_after = [3, 99]", 1, "there is no weld '99'"),
        (
            "release_after = \"bar 1 tip\"",
            1,
            "there is no weld 'bar 1 tip'",
        ),
        ("release_before = [4, 5, 4]", 1, "weld 4 is named twice"),
        (
            "release_after = [4]\nrelease_before = [5, 4]",
            1,
            "on and off for weld 4",
        ),
        (
            "release_after = [4]\nrelease_before = [5]\n[change.4]\nafter = [5]",
            2,
            "wait for each other",
        ),
    ] {
        let before = format!("{GATE}\n[[clamp]]\nat = \"top rail at 600\"\n");
        let found = from_text("job.toml", &format!("{before}{release}\n")).expect_err("an error");
        assert_eq!(found.count(), 1, "{found}");
        let one = found.iter().next().expect("one");
        assert!(one.what().contains(what), "{found}");
        assert_eq!(
            one.line_and_column().0,
            before.lines().count() + line,
            "{found}"
        );
    }
}

#[test]
fn each_error_says_what_is_wrong() {
    let frame = "[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 40x40x3\"\n";
    for (rest, what) in [
        ("", "no member"),
        (
            "[frame]\nwidth = 60\nheight = 400\nsection = \"SHS 40x40x3\"\n",
            "leaves nothing",
        ),
        (
            "[frame]\nwidth = nan\nheight = 400\nsection = \"SHS 40x40x3\"\n",
            "ordinary number",
        ),
        (
            "[frame]\nwidth = inf\nheight = 400\nsection = \"SHS 40x40x3\"\n",
            "ordinary number",
        ),
        (
            "[frame]\nwidth = 0\nheight = 400\nsection = \"SHS 40x40x3\"\n",
            "zero",
        ),
        (
            "[frame]\nwidth = 1e9\nheight = 400\nsection = \"SHS 40x40x3\"\n",
            "100 m",
        ),
        (
            "[frame.bars]\ncount = 40\nsection = \"SHS 20x20x2\"\n",
            "will not fit",
        ),
        (
            "[frame.bars]\ncount = 4\nsection = \"SHS 60x60x3\"\n",
            "overhangs",
        ),
        (
            "[[member]]\nsection = \"SQ 20\"\nfrom = [0, 0, 0]\nto = [0, 0, 0]\n",
            "no length",
        ),
        (
            "[[member]]\nname = \"top rail\"\nsection = \"SQ 20\"\nfrom = [0, 0, 90]\nto = [90, 0, 90]\n",
            "two members",
        ),
        (
            "[[member]]\nsection = \"SQ 20\"\nfrom = \"tpo rail at 3\"\nto = [90, 0, 90]\n",
            "no place",
        ),
        (
            "[[weld]]\nmembers = [\"top rail\", \"botom rail\"]\n",
            "no member 'botom rail'",
        ),
        (
            "[[weld]]\nmembers = [\"top rail\", \"top rail\"]\n",
            "itself",
        ),
        (
            "[[weld]]\nmembers = [\"top rail\", \"bottom rail\"]\n",
            "ends on a face",
        ),
        (
            "[[weld]]\nmembers = [\"top rail\", \"left upright\"]\nfrom = [300, 300, 0]\nto = [320, 300, 0]\n",
            "does not touch",
        ),
        (
            "[[weld]]\nmembers = [\"top rail\", \"left upright\"]\nfrom = [0, 400, 0]\nto = [0, 400, 0]\n",
            "no length",
        ),
        ("[change.99]\nleg = 3\n", "no weld '99'"),
        (
            "[change.1]\nafter = [2]\n[change.2]\nafter = [3]\n[change.3]\nafter = [1]\n",
            "wait for each other",
        ),
        ("[change.4]\nleg = 7\n", "too large for a wall"),
        (
            "[opening]\nwidth = 600\nclearance = 5\n",
            "does not fit an opening",
        ),
        ("[[clamp]]\nat = [900, 900, 0]\n", "holds no member"),
        (
            "[[procedure]]\nprocess = 141\ntravel_speed = [1, 2]\nheat_input = [0.1, 0.2]\n",
            "",
        ),
    ] {
        let text = match rest {
            rest if rest.is_empty() || rest.starts_with("[frame]") => with_procedure(rest),
            rest => with_procedure(&format!("{frame}{rest}")),
        };
        let found = errors(&text);
        assert!(
            found.iter().any(|one| one.contains(what)),
            "{what} in {found:#?}"
        );
        assert_eq!(found.len(), 1, "{found:#?}");
    }
}

#[test]
fn an_old_key_is_answered_with_its_new_name_and_its_place() {
    let frame = "[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 40x40x3\"\n";
    for (rest, line, column, what) in [
        (
            "seen = \"width\"\n",
            9,
            1,
            "'seen' is now called 'front_face'",
        ),
        (
            "corners = \"stiles through\"\n",
            9,
            11,
            "'stiles through' is now called 'uprights through'",
        ),
        (
            "[[weld]]\nmembers = [\"top rail\", \"left stile\"]\n",
            10,
            24,
            "'left stile' is now called 'left upright'",
        ),
        (
            "[[member]]\nsection = \"SQ 20\"\nfrom = \"right stile at 90\"\nto = [300, 90, 0]\n",
            11,
            8,
            "'right stile' is now called 'right upright'",
        ),
        (
            "[machine]\nrated_current = 200\nrated_duty = 35\n",
            11,
            1,
            "'rated_duty' is now called 'rated_duty_cycle'",
        ),
    ] {
        let found = from_text("job.toml", &with_procedure(&format!("{frame}{rest}")));
        let found = found.expect_err("an old name");
        assert_eq!(found.count(), 1, "{found}");
        let one = found.iter().next().expect("one");
        assert_eq!(one.what(), what);
        let new = what.rsplit('\'').nth(1).expect("a new name");
        assert!(
            one.advice().is_some_and(|advice| advice.contains(new)),
            "{found}"
        );
        assert_eq!(one.line_and_column(), (line, column), "{found}");
    }
    let old = "shop = \"ours.toml\"\nshop_revision = 2\n";
    assert_eq!(
        errors(&format!("{old}{PROCEDURE}{frame}")),
        [
            "'shop' is now called 'shop_factors'",
            "'shop_revision' is now called 'shop_factors_revision'"
        ]
    );
}

#[test]
fn a_wall_too_thin_for_the_process_is_found_before_it_is_burnt_through() {
    let text = with_procedure("[frame]\nwidth = 600\nheight = 400\nsection = \"SHS 20x20x0.6\"\n");
    assert!(errors(&text)[0].contains("thinner than MAG"));
    assert!(from_text("job.toml", &text.replace("\"mag\"", "\"tig\"")).is_ok());
}
