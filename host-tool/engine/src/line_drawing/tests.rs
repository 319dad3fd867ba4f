use super::model::MAX_LINES;
use super::*;
use crate::drawing::frame_dxf;
use crate::geometry::Point;
use crate::job::from_text;
use crate::job::model::Job;

fn job_of(drawing: &LineDrawing, wanted: &Wanted<'_>) -> (Imported, Job) {
    let imported = import(drawing, wanted).expect("each layer has a section");
    let job = from_text("imported", &imported.job_file);
    let job = job.unwrap_or_else(|errors| panic!("{errors}\n{}", imported.job_file));
    (imported, job)
}

/// A drawing of these lines, all on one layer.
fn lines(of: &[[[f64; 3]; 2]]) -> LineDrawing {
    let point = |[x, y, z]: [f64; 3]| Point::new(x, y, z);
    LineDrawing {
        lines: of
            .iter()
            .map(|[from, to]| DrawnLine {
                from: point(*from),
                to: point(*to),
                layer: "SHS 40x40x2".into(),
                name: None,
                line: 1,
            })
            .collect(),
        joins_lines: true,
        ..LineDrawing::default()
    }
}

#[test]
fn the_garden_gate_goes_out_as_a_drawing_and_comes_back_as_the_same_frame() {
    let gate = from_text("gate", crate::example::GARDEN_GATE).expect("the example");
    let drawing = read("gate.dxf", frame_dxf(&gate).text().as_bytes()).expect("our own drawing");
    let (imported, back) = job_of(&drawing, &Wanted::default());
    assert!(imported.left_out.is_empty() && imported.notes.is_empty() && imported.unit_said);
    assert_eq!(back.members.len(), gate.members.len());
    for member in &gate.members {
        let same = |other: &&crate::job::model::Member| {
            let near = |a: Point, b: Point| (a - b).length() < 0.01;
            let ends = (near(member.from, other.from) && near(member.to, other.to))
                || (near(member.from, other.to) && near(member.to, other.from));
            ends && member.section == other.section
        };
        assert_eq!(
            back.members.iter().filter(same).count(),
            1,
            "{}",
            member.name
        );
    }
}

#[test]
fn a_table_keeps_the_names_and_comes_back_as_the_same_frame() {
    let gate = from_text("gate", crate::example::GARDEN_GATE).expect("the example");
    let drawing = read("gate.csv", table_of(&gate).as_bytes()).expect("our own table");
    let (_, back) = job_of(&drawing, &Wanted::default());
    let names = |job: &Job| {
        let mut names: Vec<_> = job
            .members
            .iter()
            .map(|member| (member.name.clone(), member.cut_length.0.round()))
            .collect();
        names.sort_by(|a, b| a.0.cmp(&b.0));
        names
    };
    assert_eq!(names(&back), names(&gate));
}

#[test]
fn a_leg_that_is_split_at_its_rails_is_one_member_and_goes_through() {
    let drawing = lines(&[
        [[0.0, 0.0, 0.0], [0.0, 0.0, 300.0]],
        [[0.0, 0.0, 300.0], [0.0, 0.0, 600.0]],
        [[0.0, 0.0, 300.0], [500.0, 0.0, 300.0]],
        [[0.0, 0.0, 600.0], [500.0, 0.0, 600.0]],
        [[500.0, 0.0, 0.0], [500.0, 0.0, 600.0]],
    ]);
    let (imported, job) = job_of(&drawing, &Wanted::default());
    assert_eq!((imported.joined, imported.members), (1, 4));
    let leg = job
        .members
        .iter()
        .find(|member| member.name == "leg 1")
        .expect("a leg");
    // As high as the upper face of the rail on it, and the rails fit between the legs.
    assert!((leg.cut_length.0 - 620.0).abs() < 1e-6);
    let rail = job
        .members
        .iter()
        .find(|member| member.name == "rail 1")
        .expect("a rail");
    assert!((rail.cut_length.0 - 460.0).abs() < 1e-6);
    assert_eq!(job.welds.len(), 16);
}

#[test]
fn ends_that_nearly_meet_are_put_together_and_it_is_said_how_far() {
    let drawing = lines(&[
        [[0.0, 0.0, 0.0], [0.0, 400.0, 0.0]],
        [[0.4, 399.7, 0.0], [600.0, 400.0, 0.0]],
    ]);
    let (imported, job) = job_of(&drawing, &Wanted::default());
    assert!((imported.moved_mm - 0.5).abs() < 1e-9);
    assert_eq!(job.joints.len(), 1);
    let apart = Wanted {
        tolerance_mm: 0.1,
        ..Wanted::default()
    };
    let imported = import(&drawing, &apart).expect("two members");
    assert!(
        from_text("apart", &imported.job_file).is_err(),
        "they touch and are not joined"
    );
}

#[test]
fn what_is_drawn_twice_or_crosses_is_told() {
    let drawing = lines(&[
        [[0.0, 0.0, 0.0], [600.0, 0.0, 0.0]],
        [[600.0, 0.0, 0.0], [0.0, 0.0, 0.0]],
        [[300.0, -200.0, 0.0], [300.0, 200.0, 0.0]],
    ]);
    let imported = import(&drawing, &Wanted::default()).expect("two members");
    assert_eq!(imported.left_out[0].why, "it is drawn twice");
    assert!(
        imported.notes[0].contains("cross at [300, 0, 0]"),
        "{:?}",
        imported.notes
    );
}

#[test]
fn outlines_are_told_from_centre_lines() {
    let drawing = lines(&[
        [[0.0, 0.0, 0.0], [600.0, 0.0, 0.0]],
        [[0.0, 40.0, 0.0], [600.0, 40.0, 0.0]],
        [[0.0, 90.0, 0.0], [600.0, 90.0, 0.0]],
    ]);
    let imported = import(&drawing, &Wanted::default()).expect("three members");
    let told: Vec<&String> = imported
        .notes
        .iter()
        .filter(|note| note.contains("outline"))
        .collect();
    assert!(
        told.len() == 1 && told[0].contains("40 mm apart"),
        "{told:?}"
    );
}

#[test]
fn a_layer_without_a_section_and_a_layer_that_is_not_there_are_named() {
    let mut drawing = lines(&[[[0.0; 3], [600.0, 0.0, 0.0]]]);
    drawing.lines[0].layer = "LEGS".into();
    let missing = import(&drawing, &Wanted::default()).expect_err("no section");
    assert_eq!(missing, NoImport::NoSection(vec![("LEGS".into(), 1)]));
    let sections = [("LEG".to_owned(), "SHS 30x30x2".to_owned())];
    let wanted = Wanted {
        sections: &sections,
        ..Wanted::default()
    };
    let error = import(&drawing, &wanted).expect_err("no such layer");
    assert!(
        error.to_string().contains("did you mean 'LEGS'?"),
        "{error}"
    );
}

#[test]
fn what_is_broken_is_refused_with_the_entity_and_its_line() {
    let line = |x: &str| {
        format!(
            "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\nRAILS\n10\n{x}\n20\n0\n11\n5\n21\n0\n0\nENDSEC\n0\nEOF\n"
        )
    };
    let refused = |text: &str| {
        read("frame.dxf", text.as_bytes())
            .expect_err("broken")
            .to_string()
    };
    for x in ["nan", "1e300", "-", "inf"] {
        let error = refused(&line(x));
        assert!(
            error.contains("LINE on layer RAILS") && error.contains("frame.dxf:10"),
            "{error}"
        );
    }
    let cut_off = line("0").replace("0\nEOF\n", "");
    assert!(refused(&cut_off).contains("no end"));
    let no_end = line("0").replace("11\n5\n21\n0\n", "");
    assert!(refused(&no_end).contains("no group 11 or 21"));
    assert!(refused("AC\0\0").contains("not text"));
    assert!(refused("").contains("empty"));
    let many = "0\nLINE\n8\nRAILS\n10\n0\n20\n0\n11\n5\n21\n0\n".repeat(MAX_LINES + 1);
    let huge = format!("0\nSECTION\n2\nENTITIES\n{many}0\nENDSEC\n0\nEOF\n");
    assert!(refused(&huge).contains("more than 10000 lines"));
}

#[test]
fn a_polyline_on_an_upright_plane_stands_where_it_was_drawn() {
    // Its normal is -y, so that its x is along x and its y is up.
    let text = "0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n8\n0\n90\n2\n70\n0\n38\n-40\n210\n0\n220\n-1\n230\n0\n10\n10\n20\n20\n10\n10\n20\n90\n0\nENDSEC\n0\nEOF\n";
    let drawing = read("upright.dxf", text.as_bytes()).expect("whole");
    let line = &drawing.lines[0];
    assert_eq!(<[f64; 3]>::from(line.from), [10.0, 40.0, 20.0]);
    assert_eq!(<[f64; 3]>::from(line.to), [10.0, 40.0, 90.0]);
}

proptest::proptest! {
    /// Whatever arrives, it is read or refused.
    #[test]
    fn no_file_can_harm_the_reader(at in 0_usize..4000, byte: u8, cut in 0_usize..4000, other: u16) {
        let gate = from_text("gate", crate::example::GARDEN_GATE).expect("the example");
        let mut bytes = frame_dxf(&gate).text().into_bytes();
        let places = [at % bytes.len(), usize::from(other) % bytes.len()];
        places.iter().for_each(|&place| bytes[place] = byte);
        bytes.truncate(bytes.len() - cut.min(100));
        let wanted = Wanted { section: Some("SHS 20x20x2"), ..Wanted::default() };
        let imported = read("any.dxf", &bytes).map(|drawing| import(&drawing, &wanted));
        if let Ok(Ok(imported)) = imported {
            let _ = from_text("any", &imported.job_file);
        }
    }

    /// A frame moved as a whole is the same frame.
    #[test]
    fn where_the_drawing_stands_does_not_matter(x in -5000.0..5000.0_f64, y in -5000.0..5000.0_f64) {
        let corners = [[0.0, 0.0], [800.0, 0.0], [800.0, 500.0], [0.0, 500.0]];
        let side = |k: usize, x: f64, y: f64| {
            let at = |[a, b]: [f64; 2]| [a + x, b + y, 0.0];
            [at(corners[k]), at(corners[(k + 1) % 4])]
        };
        let file = |x: f64, y: f64| {
            let sides: Vec<_> = (0..4).map(|k| side(k, x, y)).collect();
            import(&lines(&sides), &Wanted::default()).expect("a frame").job_file
        };
        proptest::prop_assert_eq!(file(x, y), file(0.0, 0.0));
    }
}
