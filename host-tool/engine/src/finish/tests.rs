//! Laws and published values of the finish.

use super::coat::mean_zinc_um;
use super::{Finishing, finishing, text};
use crate::example::GARDEN_GATE;
use crate::job::from_text;
use crate::job::model::Job;
use crate::movement::model::MovementModel;
use crate::movement::predict::{planned_net_heat, predict_for};

fn of(more: &str) -> (Job, Finishing) {
    let job = from_text("gate.toml", &format!("{GARDEN_GATE}\n{more}\n")).expect("a good job");
    let model = MovementModel::new(&job).expect("a model");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let prediction =
        predict_for(&job, &model, &order, &planned_net_heat(&job)).expect("a prediction");
    let finishing = finishing(&job, &model, &prediction, None);
    (job, finishing)
}

/// ISO 1461:2009, table 3: least mean thickness of articles that are not centrifuged.
#[test]
fn zinc_is_as_thick_as_the_standard_says() {
    for (steel_mm, um) in [
        (1.0, 45.0),
        (1.5, 55.0),
        (3.0, 55.0),
        (4.0, 70.0),
        (6.0, 70.0),
        (8.0, 85.0),
    ] {
        assert_eq!(mean_zinc_um(steel_mm), um);
    }
}

/// EN 572-1:2012: 9e-6/K; EN 1993-1-1:2005, 3.2.6: 12e-6/K. A metre of glass and of steel, 50 K warmer, differ by 0.15 mm.
#[test]
fn glass_moves_in_its_frame_by_the_difference_of_the_two() {
    let (_, finishing) =
        of("[[panel]]\nmaterial = \"glass\"\nthickness = 6\nrebate = 15\nopening = [1000, 800]");
    let panel = &finishing.panels[0];
    assert!(
        (panel.thermal_mm[0] - 0.075).abs() < 0.001,
        "half at each edge: {panel:?}"
    );
    assert!(panel.clearance_mm[0] >= 3.0, "glazing guides: {panel:?}");
    assert!(
        (panel.size_mm[0] - (panel.opening_mm[0] + 2.0 * (15.0 - panel.clearance_mm[0]))).abs()
            < 1e-9
    );
    let kg = panel.size_mm[0] * panel.size_mm[1] * 6.0 * 2.5e-6;
    assert!((panel.mass_kg - kg).abs() < 1e-6);
}

#[test]
fn an_acrylic_pane_needs_more_room_than_a_glass_one() {
    let (_, finishing) = of(
        "[[panel]]\nmaterial = \"glass\"\nthickness = 6\nrebate = 20\nopening = [1900, 800]\n\
         [[panel]]\nmaterial = \"acrylic\"\nthickness = 6\nrebate = 20\nopening = [1900, 800]",
    );
    assert!(finishing.panels[1].clearance_mm[0] > finishing.panels[0].clearance_mm[0]);
}

#[test]
fn a_rebate_that_is_too_shallow_is_told() {
    let (job, finishing) = of("[[panel]]\nmaterial = \"glass\"\nthickness = 4\nrebate = 8");
    assert!(text::panel(&finishing.panels[0], job.units).contains("Make the rebate deeper"));
}

#[test]
fn a_flush_weld_keeps_no_more_than_the_wall_and_a_fillet_nothing() {
    let (job, finishing) = of("[finish]\nflush = [\"front\"]\ncoating = \"powder\"");
    assert!(!finishing.dressed.is_empty());
    for weld in &finishing.dressed {
        assert!(weld.left_mm <= weld.wall_mm && weld.left_mm <= weld.asked_mm);
        assert_eq!(weld.fillet, weld.left_mm == 0.0);
        assert!(weld.heat_share > 0.1 && weld.heat_share < 3.0, "{weld:?}");
        assert!(
            job.welds[usize::from(weld.weld) - 1]
                .name
                .ends_with("front")
        );
    }
}

#[test]
fn a_structural_weld_is_never_ground_flush() {
    // Before the first table.
    let text = format!("structural = true\n{GARDEN_GATE}\n[finish]\nflush = [\"front\"]\n");
    let error = from_text("gate.toml", &text).expect_err("refused");
    assert!(error.to_string().contains("never ground flush"), "{error}");
    assert!(
        error.to_string().contains("[finish]"),
        "with its place: {error}"
    );
}

#[test]
fn a_hole_is_drilled_larger_by_its_coating_and_stays_where_it_is_from_the_middle() {
    let hole = "[[hole]]\nname = \"top left\"\nat = \"top rail at 100\"\ndiameter = 8\n";
    let (_, bare) = of(hole);
    let (_, coated) = of(&format!("[finish]\ncoating = \"powder\"\n{hole}"));
    assert_eq!(bare.holes[0].drill_mm, [8.0]);
    assert_eq!(
        coated.holes[0].drill_mm,
        [8.3],
        "0.12 mm on each side, to the next tenth"
    );
    assert_eq!(bare.holes[0].from_middle_mm, coated.holes[0].from_middle_mm);
    let hole = &bare.holes[0];
    assert!(
        (hole.from_edge_drawn_mm[0] - 100.0).abs() < 1e-6,
        "{hole:?}"
    );
    assert_eq!(
        hole.from_edge_mm, hole.from_edge_drawn_mm,
        "nothing is measured yet"
    );
}

/// A coat of 55 µm takes 4 times as much off the pitch diameter of a 60° thread.
#[test]
fn a_galvanised_thread_is_cleared() {
    let (_, finishing) =
        of("[finish]\ncoating = \"galvanised\"\n[[hole]]\nat = \"top rail at 100\"\nthread = 8");
    let hole = &finishing.holes[0];
    assert_eq!(hole.drill_mm, [6.75]);
    assert!(
        hole.what.contains("plug it before coating"),
        "{}",
        hole.what
    );
    assert!(hole.what.contains("0.22 mm"), "{}", hole.what);
}

#[test]
fn every_coated_stock_and_glass_has_its_caution() {
    for (more, word) in [
        ("[finish]\nstock = \"galvanised\"", "zinc"),
        ("[finish]\nstock = \"painted\"", "lead"),
        ("[finish]\nstock = \"plated\"", "cadmium"),
        ("[finish]\ncoating = \"galvanised\"", "bursts"),
        ("[finish]\ncoating = \"paint\"", "phosgene"),
        ("[finish]\nflush = [1]", "sparks"),
        (
            "[[panel]]\nmaterial = \"glass\"\nthickness = 4\nrebate = 15",
            "gloves",
        ),
    ] {
        let (_, finishing) = of(more);
        assert!(
            finishing
                .cautions
                .iter()
                .any(|one| one.starts_with("Caution") && one.contains(word)),
            "{more}"
        );
    }
}

#[test]
fn slips_in_the_finish_are_errors_with_their_place() {
    for (more, told) in [
        ("[finish]\ncoating = \"chrome\"", "unknown value 'chrome'"),
        ("[finish]\nflush = [\"frnot\"]", "is no face of the frame"),
        ("[finish]\nflush = [999]", "there is no such weld"),
        ("[[hole]]\nat = \"top rail at 100\"", "needs one size"),
        (
            "[[hole]]\nat = \"top rail at 100\"\ndiameter = 8\nthread = 8",
            "needs one size",
        ),
        ("[[panel]]\nthickness = 4\nrebate = 8", "has no 'material'"),
    ] {
        let error = from_text("gate.toml", &format!("{GARDEN_GATE}\n{more}\n")).expect_err(more);
        assert!(error.to_string().contains(told), "{more}: {error}");
    }
}

/// Marked from the middle, a hole is nearer to an edge by half of what the frame is smaller.
#[test]
fn on_a_measured_frame_the_edges_have_come_in_and_the_panel_is_smaller() {
    let more = "[[hole]]\nat = \"top rail at 100\"\ndiameter = 8\n[[panel]]\nmaterial = \"glass\"\nthickness = 4\nrebate = 15";
    let (job, before) = of(more);
    let model = MovementModel::new(&job).expect("a model");
    let order: Vec<usize> = (0..job.welds.len()).collect();
    let prediction =
        predict_for(&job, &model, &order, &planned_net_heat(&job)).expect("a prediction");
    let text = "[[measurement]]\non = \"2026-11-28\"\nstate = \"unclamped\"\n[[measurement.reading]]\nof = \"width at the top\"\n\
                values = [1198.0]\nunit = \"mm\"\nplus_minus = 1.0\n";
    let source = crate::file_error::Source::new("gate-measured.toml", text);
    let measured = crate::measured::read(&source, &job, model.measures()).expect("measurements");
    let after = finishing(&job, &model, &prediction, measured.last());
    assert!(after.measured && !before.measured);
    assert!(
        (after.holes[0].from_edge_mm[0] - 99.0).abs() < 1e-9,
        "{:?}",
        after.holes[0]
    );
    assert!((before.panels[0].opening_mm[0] - after.panels[0].opening_mm[0] - 2.0).abs() < 1e-9);
}
