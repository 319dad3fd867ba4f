//! Starting settings: the rows that other modules lean on, and laws that every row keeps.
//!
//! References of the tables, by their source in the code:
//! - `MagInstructions`: Panasonic, YD-350GL4 operating instructions, p. 52.
//! - `MagManual`: OTC, Welbee P400L manual, pp. 161-162.
//! - `GasHandbook`: Air Products, Welder's Handbook, pp. 40-41.
//! - `WeldingDictionary`: Welding Dictionary, vol. 1, ed. 2, p. 150, as a manual quotes it (manualshive 641651).
//! - `TigManual`: Panasonic, TIG manual, p. 54.
//! - `PipeSettings`: p. 167 of the manual that quotes the dictionary.

use coldsquare_core::process::Process;
use coldsquare_core::units::{Millimetres, MillimetresPerSecond};
use coldsquare_engine::formulas::metal::Metal;
use coldsquare_engine::formulas::starting_points::{Joint, POINTS, Source, StartingPoint, nearest};
use coldsquare_tests::assert_printed;

fn mag(joint: Joint, thickness: f64) -> &'static StartingPoint {
    nearest(
        Process::MagSolid,
        Metal::MildSteel,
        joint,
        Millimetres(thickness),
    )
    .expect("a row")
}

/// A range as tables print it: "100-110", or one number where both ends are the same.
fn printed(least: f64, greatest: f64) -> String {
    // Speeds go through mm/s and back; a tenth is finer than any table.
    let tidy = |value: f64| format!("{}", (value * 100.0).round() / 100.0);
    if least == greatest {
        tidy(least)
    } else {
        format!("{}-{}", tidy(least), tidy(greatest))
    }
}

fn line(row: &StartingPoint) -> String {
    let mut words = vec![row.metal.name().to_owned(), format!("{:?}", row.joint)];
    words.extend(row.thickness.map(|t| format!("t {}", t.0)));
    words.extend(
        row.leg
            .map(|z| format!("leg {}", printed(z.least.0, z.greatest.0))),
    );
    words.extend(
        row.electrode
            .map(|d| format!("electrode {}", printed(d.least.0, d.greatest.0))),
    );
    words.extend(row.rod.map(|d| format!("rod {}", d.0)));
    words.push(format!(
        "{} A",
        printed(row.current.least.0, row.current.greatest.0)
    ));
    words.extend(
        row.voltage
            .map(|u| format!("{} V", printed(u.least.0, u.greatest.0))),
    );
    words.extend(row.travel_speed.map(|v| {
        let cm_min = |v: MillimetresPerSecond| v.millimetres_per_minute() / 10.0;
        format!("{} cm/min", printed(cm_min(v.least), cm_min(v.greatest)))
    }));
    words.push(row.gas.to_owned());
    words.extend(
        row.gas_l_min
            .map(|q| format!("{} l/min", printed(q.least, q.greatest))),
    );
    words.join(", ")
}

fn assert_table(source: Source, table: &str) {
    let expected: Vec<&str> = table
        .lines()
        .map(str::trim)
        .filter(|l| !l.is_empty())
        .collect();
    let rows = POINTS.iter().filter(|row| row.source == source);
    assert_eq!(rows.map(line).collect::<Vec<_>>(), expected);
}

// Panasonic, YD-350GL4 operating instructions, p. 52: MAG, solid wire, 80 % Ar + 20 % CO2.
#[test]
fn mag_settings_of_the_operating_instructions() {
    assert_table(
        Source::MagInstructions,
        "
        mild steel, Fillet, t 1, leg 2-2.5, electrode 0.6-0.8, 85-90 A, 19 V, 50-60 cm/min, 80 % Ar + 20 % CO2, 10-15 l/min
        mild steel, Fillet, t 1.6, leg 3, electrode 0.6-0.8, 100-110 A, 18-19.5 V, 50-60 cm/min, 80 % Ar + 20 % CO2, 10-15 l/min
        mild steel, Fillet, t 2.4, leg 3.5, electrode 0.8-1, 115-125 A, 19.5-20 V, 50-60 cm/min, 80 % Ar + 20 % CO2, 10-15 l/min
        mild steel, Fillet, t 3.2, leg 4, electrode 0.8-1.2, 130-140 A, 19.5-21 V, 50-60 cm/min, 80 % Ar + 20 % CO2, 10-15 l/min
        mild steel, Butt, t 1.2, electrode 0.8-0.9, 60-70 A, 15-16 V, 30-50 cm/min, 80 % Ar + 20 % CO2, 10-15 l/min
        mild steel, Butt, t 1.6, electrode 0.8-0.9, 100-110 A, 16-17 V, 40-60 cm/min, 80 % Ar + 20 % CO2, 10-15 l/min
        mild steel, Butt, t 3.2, electrode 0.8-1.2, 120-140 A, 16-17 V, 25-30 cm/min, 80 % Ar + 20 % CO2, 10-15 l/min
        ",
    );
}

// OTC, Welbee P400L manual, pp. 161-162: lap fillet under CO2, short-arc butt under Ar + CO2, flux-cored fillets by leg.
#[test]
fn mag_settings_of_the_manual() {
    assert_table(
        Source::MagManual,
        "
        mild steel, Lap, t 1.2, 80-100 A, 18-19 V, 45-55 cm/min, CO2, 10-15 l/min
        mild steel, Lap, t 1.6, 100-120 A, 18-20 V, 45-55 cm/min, CO2, 10-15 l/min
        mild steel, Lap, t 2, 100-130 A, 18-20 V, 45-55 cm/min, CO2, 15-20 l/min
        mild steel, Lap, t 2.3, 120-140 A, 19-21 V, 45-50 cm/min, CO2, 15-20 l/min
        mild steel, Lap, t 3.2, 130-160 A, 19-22 V, 45-50 cm/min, CO2, 15-20 l/min
        mild steel, Butt, t 1, 50-55 A, 13-15 V, 40-55 cm/min, Ar + CO2
        mild steel, Butt, t 1.2, 60-70 A, 14-16 V, 30-50 cm/min, Ar + CO2
        mild steel, Butt, t 1.6, 100-110 A, 16-17 V, 40-60 cm/min, Ar + CO2
        mild steel, Butt, t 2.3, 110-120 A, 17-18 V, 30-40 cm/min, Ar + CO2
        mild steel, Butt, t 3.2, 120-140 A, 17-19 V, 25-30 cm/min, Ar + CO2
        mild steel, Fillet, leg 4, electrode 1.2, 250 A, 27 V, 50 cm/min, CO2
        mild steel, Fillet, leg 5, electrode 1.2, 270 A, 29 V, 50 cm/min, CO2
        mild steel, Fillet, leg 6, electrode 1.2, 270 A, 29 V, 45 cm/min, CO2
        mild steel, Fillet, leg 8, electrode 1.2, 300 A, 31 V, 30 cm/min, CO2
        ",
    );
}

// Air Products, Welder's Handbook, pp. 40-41: TIG, DC electrode negative for the steels, AC for aluminium. The gas is argon
// in its tables (from memory of the trade; the readable part gives litres only).
#[test]
fn tig_settings_of_the_handbook() {
    assert_table(
        Source::GasHandbook,
        "
        mild steel, Butt, t 1.6, electrode 1.6, rod 1.6, 60-70 A, Ar, 5 l/min
        mild steel, Fillet, t 1.6, electrode 1.6, rod 1.6, 50-70 A, Ar, 5 l/min
        mild steel, Butt, t 3.2, electrode 2.4, rod 2.4, 75-95 A, Ar, 6 l/min
        mild steel, Fillet, t 3.2, electrode 2.4, rod 2.4, 90-120 A, Ar, 5 l/min
        mild steel, Butt, t 4.8, electrode 2.4, rod 3.2, 110-130 A, Ar, 7 l/min
        mild steel, Fillet, t 4.8, electrode 2.4, rod 3.2, 135-175 A, Ar, 6 l/min
        stainless steel, Butt, t 1.6, electrode 1.6, rod 1.6, 60-70 A, Ar, 5 l/min
        stainless steel, Fillet, t 1.6, electrode 1.6, rod 1.6, 50-70 A, Ar, 5 l/min
        stainless steel, Butt, t 3.2, electrode 2.4, rod 2.4, 70-95 A, Ar, 6 l/min
        stainless steel, Fillet, t 3.2, electrode 2.4, rod 2.4, 85-105 A, Ar, 5 l/min
        aluminium, Butt, t 1.6, electrode 2.4, rod 1.6, 60-80 A, Ar, 6 l/min
        aluminium, Fillet, t 1.6, electrode 2.4, rod 1.6, 60-80 A, Ar, 5 l/min
        aluminium, Butt, t 3.2, electrode 3.2, rod 2.4, 125-145 A, Ar, 7 l/min
        aluminium, Fillet, t 3.2, electrode 3.2, rod 2.4, 125-145 A, Ar, 6 l/min
        ",
    );
}

// Welding Dictionary, vol. 1, ed. 2, p. 150, as a manual quotes it (manualshive 641651); Panasonic, TIG manual, p. 54; and
// small mild-steel tube of 38 to 42 mm, p. 167 of the quoting manual.
#[test]
fn tig_settings_with_travel_speed() {
    assert_table(
        Source::WeldingDictionary,
        "
        stainless steel, Butt, t 1, 50-80 A, 56 cm/min, Ar, 5 l/min
        stainless steel, Butt, t 1.5, 65-105 A, 30 cm/min, Ar
        stainless steel, Corner, t 1.5, 75-125 A, 25 cm/min, Ar
        stainless steel, Butt, t 2.4, 85-125 A, 30 cm/min, Ar
        stainless steel, Corner, t 2.4, 95-135 A, 25 cm/min, Ar
        stainless steel, Butt, t 3.2, 100-135 A, 30 cm/min, Ar
        stainless steel, Corner, t 3.2, 115-145 A, 25 cm/min, Ar, 7 l/min
        ",
    );
    assert_table(
        Source::TigManual,
        "
        stainless steel, Butt, t 1.5, 60-100 A, 15-30 cm/min, Ar
        stainless steel, Butt, t 3, 120-140 A, 30 cm/min, Ar
        stainless steel, Fillet, t 3, 120-140 A, 30 cm/min, Ar
        ",
    );
    assert_table(
        Source::PipeSettings,
        "mild steel, TubeRoot, 75-95 A, 11-13 V, 4-5 cm/min, Ar, 6-8 l/min",
    );
}

// Arc energy at the middle of each range: our own arithmetic from the MAG table, which the shrinkage rules are set
// beside. The fillet of 1.6 mm at k = 0.8 is the 172 J/mm that other checks use.
#[test]
fn arc_energy_of_the_mag_table() {
    for (joint, thickness, kilojoules) in [
        (Joint::Fillet, 1.0, "0.18"),
        (Joint::Fillet, 1.6, "0.2148"),
        (Joint::Fillet, 2.4, "0.2585"),
        (Joint::Fillet, 3.2, "0.298"),
        (Joint::Butt, 1.2, "0.151"),
        (Joint::Butt, 1.6, "0.208"),
        (Joint::Butt, 3.2, "0.468"),
    ] {
        let energy = mag(joint, thickness)
            .arc_energy()
            .expect("a full row")
            .expect("in order");
        assert_printed(energy.kilojoules_per_millimetre(), kilojoules);
    }
    let fillet = mag(Joint::Fillet, 1.6).arc_energy().unwrap().unwrap();
    assert_printed(0.8 * fillet.kilojoules_per_millimetre(), "0.1718");
}

// A slip of a unit would put a row far outside what an arc by hand can do. The tube root by TIG creeps at 4 to 5 cm/min,
// 1.36 kJ/mm; the cored fillet of 8 mm has 1.86.
#[test]
fn every_full_row_has_the_arc_energy_of_hand_welding() {
    let energies: Vec<f64> = POINTS
        .iter()
        .filter_map(StartingPoint::arc_energy)
        .map(|energy| energy.expect("in order").kilojoules_per_millimetre())
        .collect();
    assert_eq!(energies.len(), 22, "rows with volts and speed");
    for energy in energies {
        assert!((0.05..2.0).contains(&energy), "{energy}");
    }
}

// Thicker metal of one table takes more current: true of every table printed here.
#[test]
fn thicker_metal_takes_more_current() {
    for a in &POINTS {
        for b in &POINTS {
            let alike =
                (a.source, a.process, a.metal, a.joint) == (b.source, b.process, b.metal, b.joint);
            if let (true, Some(thin), Some(thick)) = (alike, a.thickness, b.thickness)
                && thin < thick
            {
                assert!(a.current.middle() < b.current.middle(), "{a:?} {b:?}");
            }
        }
    }
}

#[test]
fn the_nearest_row_is_near_or_there_is_none() {
    assert_eq!(mag(Joint::Fillet, 1.5).thickness, Some(Millimetres(1.6)));
    assert_eq!(mag(Joint::Lap, 2.1).thickness, Some(Millimetres(2.0)));
    let steel = |thickness| {
        nearest(
            Process::MagSolid,
            Metal::MildSteel,
            Joint::Fillet,
            Millimetres(thickness),
        )
    };
    for absent in [0.0, 0.5, 6.0, -1.6, f64::NAN, f64::INFINITY] {
        assert!(steel(absent).is_none(), "{absent}");
    }
    let mig_aluminium = nearest(
        Process::MigSolid,
        Metal::Aluminium,
        Joint::Fillet,
        Millimetres(3.2),
    );
    assert!(
        mig_aluminium.is_none(),
        "no published row, so no invented one"
    );
}
