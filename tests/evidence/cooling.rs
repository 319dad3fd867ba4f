//! Cooling time t8/5 and carbon equivalents.

use coldsquare_core::units::{Celsius, JoulesPerMillimetre, Millimetres};
use coldsquare_engine::formulas::carbon::Composition;
use coldsquare_engine::formulas::cooling::{Cooling, HeatFlow, JointRun, ShapeFactors};
use coldsquare_tests::{assert_close, assert_printed};

const BEAD_ON_PLATE: ShapeFactors = ShapeFactors {
    thin: 1.0,
    thick: 1.0,
};

fn plate(preheat_c: f64) -> Cooling {
    Cooling::new(Celsius(preheat_c), BEAD_ON_PLATE).expect("in range")
}

fn kj_mm(value: f64) -> JoulesPerMillimetre {
    JoulesPerMillimetre::from_kilojoules_per_millimetre(value)
}

// Formulas: SSAB, Welding Handbook, 2nd ed., p. 17, 3.1 (two-dimensional) and 3.2 (three-dimensional), which
// are those of EN 1011-2:2001, Annex D. No worked number was found in print; these are our own arithmetic, kept
// against change.
#[test]
fn cooling_times_of_the_handbook_formulas() {
    for (heat, thickness, preheat, thin, thick, transition, governs) in [
        (
            1.0,
            10.0,
            20.0,
            "11.364",
            "5.288",
            "14.659",
            HeatFlow::ThinPlate,
        ),
        (
            1.0,
            15.0,
            20.0,
            "5.050",
            "5.288",
            "14.659",
            HeatFlow::ThickPlate,
        ),
        (
            1.0,
            10.0,
            100.0,
            "16.290",
            "6.643",
            "15.659",
            HeatFlow::ThinPlate,
        ),
        (
            0.5,
            5.0,
            20.0,
            "11.364",
            "2.644",
            "10.365",
            HeatFlow::ThinPlate,
        ),
        (
            0.25,
            3.0,
            20.0,
            "7.891",
            "1.322",
            "7.329",
            HeatFlow::ThinPlate,
        ),
        (
            0.17,
            2.0,
            20.0,
            "8.210",
            "0.899",
            "6.044",
            HeatFlow::ThinPlate,
        ),
    ] {
        let (cooling, heat, d) = (plate(preheat), kj_mm(heat), Millimetres(thickness));
        assert_printed(cooling.thin_plate_time(heat, d).unwrap().0, thin);
        assert_printed(cooling.thick_plate_time(heat).unwrap().0, thick);
        assert_printed(cooling.transition_thickness(heat).unwrap().0, transition);
        assert_eq!(cooling.time(heat, d).unwrap().1, governs);
    }
    assert_printed(
        plate(20.0).thick_plate_time(kj_mm(2.0)).unwrap().0,
        "10.577",
    );
    assert_printed(
        plate(20.0).transition_thickness(kj_mm(2.0)).unwrap().0,
        "20.730",
    );
}

// SSAB, Welding Handbook, 2nd ed., fig. 3.9 (a chart): at 1 kJ/mm and 20 °C the line of thick plate reads about
// 5 s.
#[test]
fn the_handbook_chart_reads_about_five_seconds() {
    assert_close(
        plate(20.0).thick_plate_time(kj_mm(1.0)).unwrap().0,
        5.0,
        0.5,
        0.0,
    );
}

// "Verbindungen im Stahl- und Verbundbau" (after SEW 088 Beiblatt 2): over 18 mm, three-dimensional, as a rule
// of thumb. It holds for the usual heat of structural welds, up to 1.5 kJ/mm.
#[test]
fn over_eighteen_millimetres_the_plate_is_thick() {
    let (_, flow) = plate(20.0).time(kj_mm(1.5), Millimetres(18.1)).unwrap();
    assert_eq!(flow, HeatFlow::ThickPlate);
}

// Identity: at the transition thickness both formulas give one time, whatever heat, preheat and shape.
#[test]
fn both_heat_flows_agree_at_the_transition_thickness() {
    assert_printed(
        plate(20.0).thick_plate_time(kj_mm(1.0)).unwrap().0,
        "5.28846",
    );
    for joint in JointRun::ALL {
        for shape in joint.shape_factors() {
            for (heat, preheat) in [(0.1, -20.0), (0.172, 20.0), (1.0, 100.0), (5.0, 300.0)] {
                let cooling = Cooling::new(Celsius(preheat), shape).unwrap();
                let transition = cooling.transition_thickness(kj_mm(heat)).unwrap();
                assert_close(
                    cooling.thin_plate_time(kj_mm(heat), transition).unwrap().0,
                    cooling.thick_plate_time(kj_mm(heat)).unwrap().0,
                    0.0,
                    1e-12,
                );
            }
        }
    }
}

// The inverse forms as printed in a German text on t8/5 (mirror 7788ok.com), with arc energy E and efficiency η:
// E = t/{(6700−5T0)·η·[1/(500−T0) − 1/(800−T0)]·F3} and its two-dimensional sister.
#[test]
fn the_printed_heat_gives_the_wanted_cooling_time() {
    let (time, preheat, efficiency): (f64, f64, f64) = (8.0, 50.0, 0.8);
    let (cool, hot) = (1.0 / (500.0 - preheat), 1.0 / (800.0 - preheat));
    let shape = ShapeFactors {
        thin: 0.6,
        thick: 0.67,
    };
    let cooling = Cooling::new(Celsius(preheat), shape).unwrap();
    let thick = time / ((6700.0 - 5.0 * preheat) * efficiency * (cool - hot) * shape.thick);
    let (in_thick, _) = cooling
        .time(kj_mm(thick * efficiency), Millimetres(40.0))
        .unwrap();
    assert_close(in_thick.0, time, 0.0, 1e-12);
    let thickness = 6.0;
    let thin = (time * thickness * thickness
        / ((4300.0 - 4.3 * preheat)
            * 1e5
            * efficiency.powi(2)
            * (cool.powi(2) - hot.powi(2))
            * shape.thin))
        .sqrt();
    let (in_thin, _) = cooling
        .time(kj_mm(thin * efficiency), Millimetres(thickness))
        .unwrap();
    assert_close(in_thin.0, time, 0.0, 1e-12);
}

// SEW 088 Beiblatt 2 / EN 1011-2 Table D.1, as in a mirror of the German table (coolstartupbro.com). Left out:
// the values that are from memory (bead on plate, F3 of corner and lap fillets and of a double-V root, F2 of
// other butt runs).
#[test]
fn shape_factors_of_the_table() {
    let range = |joint: JointRun| {
        let [least, most] = joint.shape_factors();
        ([least.thin, most.thin], [least.thick, most.thick])
    };
    assert_eq!(range(JointRun::TeeFillet), ([0.45, 0.67], [0.67, 0.67]));
    assert_eq!(
        range(JointRun::CruciformFillet),
        ([0.30, 0.67], [0.67, 0.67])
    );
    assert_eq!(range(JointRun::CornerFillet).0, [0.9, 0.9]);
    assert_eq!(range(JointRun::LapFillet).0, [0.7, 0.7]);
    assert_eq!(range(JointRun::VRoot), ([1.0, 1.0], [1.0, 1.2]));
    assert_eq!(range(JointRun::Fill).1, [0.8, 1.0]);
    assert_eq!(range(JointRun::Cap).1, [0.9, 1.0]);
}

#[test]
fn a_cooling_time_out_of_range_names_range_and_clause() {
    let error = plate(20.0).time(kj_mm(9.0), Millimetres(10.0)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "cooling time t8/5: heat input is 9 kJ/mm; give 0.05 to 5 kJ/mm (EN 1011-2:2001, Annex D)"
    );
    assert!(Cooling::new(Celsius(500.0), BEAD_ON_PLATE).is_err());
}

// Formulas: vmvcm.com/Tools/8.html (CE of the IIW, CET, Pcm, CEN). The numbers are our own arithmetic.
#[test]
fn carbon_equivalents() {
    let structural = Composition {
        carbon: 0.15,
        silicon: 0.25,
        manganese: 1.20,
        chromium: 0.05,
        molybdenum: 0.02,
        nickel: 0.05,
        copper: 0.05,
        ..Composition::default()
    };
    let stronger = Composition {
        carbon: 0.20,
        silicon: 0.50,
        manganese: 1.60,
        chromium: 0.30,
        molybdenum: 0.08,
        vanadium: 0.02,
        nickel: 0.30,
        copper: 0.30,
        ..Composition::default()
    };
    for (steel, ce, cet, pcm) in [
        (structural, "0.37067", "0.27825", "0.22550"),
        (stronger, "0.58667", "0.40550", "0.33900"),
    ] {
        assert_printed(steel.ce().unwrap(), ce);
        assert_printed(steel.cet().unwrap(), cet);
        assert_printed(steel.pcm().unwrap(), pcm);
    }
    // CEN passes from 0.5 to 1.0 of the alloy term as carbon rises through 0.12 %; at 0.12 % it is 0.75.
    let half_way = Composition {
        carbon: 0.12,
        manganese: 1.2,
        boron: 0.001,
        niobium: 0.02,
        ..Composition::default()
    };
    assert_close(
        half_way.cen().unwrap(),
        0.12 + 0.75 * (0.2 + 0.004 + 0.005),
        0.0,
        1e-12,
    );
    // Boron weighs five times in Pcm: 10 ppm are worth half a hundredth of carbon.
    assert_close(half_way.pcm().unwrap(), 0.12 + 0.06 + 0.005, 0.0, 1e-12);
    let error = Composition {
        carbon: 0.45,
        ..structural
    }
    .ce()
    .unwrap_err();
    assert!(
        error
            .to_string()
            .contains("carbon is 0.45 %; give 0 to 0.32 %"),
        "{error}"
    );
}
