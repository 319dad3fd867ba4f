//! From readings to walls: least squares over all readings, each with its uncertainty, and a test for readings that
//! contradict the others.
//!
//! The unknowns are where each wall is at each height that was measured, and floor and top at each distance from the
//! left. Adjustment by least squares with a priori standard uncertainties: W. Niemeier, Ausgleichungsrechnung, 2008,
//! ch. 4; the test of single readings is that of W. Baarda, A testing procedure for use in geodetic networks, 1968
//! (value from memory: 3.29 for one false alarm in a thousand).

use super::model::{Kind, Reading, Readings, Side, Station, Walls};
use super::nodes::{Nodes, SAME_MM};
use crate::file_error::{FileError, FileErrors, Source};
use crate::format::Precision;
use crate::shop::matrix::{Matrix, cholesky, inverse, solve};

/// A reading further than so many of its standard deviations from what the others say contradicts them.
const CONTRADICTS: f64 = 3.29;
/// Standard deviation of a wall from a straight line between places that were measured, mm, and of lean and level at a
/// depth where none was read from those where it was. An assumption, no source; it counts only where nothing was
/// measured, and is told.
const STRAIGHT_MM: f64 = 3.0;
/// Standard deviation of what is set by choice: the origin.
const ORIGIN_MM: f64 = 1e-3;
/// Rounds of linearising the diagonals.
const ROUNDS: usize = 5;

/// An equation: these unknowns with these weights are so much, give or take.
struct Row {
    of: Vec<(usize, f64)>,
    mm: f64,
    standard_mm: f64,
    /// Index of the reading; `None` for an assumption.
    reading: Option<usize>,
}

fn less(mut of: Vec<(usize, f64)>, minus: &[(usize, f64)]) -> Vec<(usize, f64)> {
    of.extend(minus.iter().map(|&(unknown, weight)| (unknown, -weight)));
    of
}

fn value(of: &[(usize, f64)], x: &[f64]) -> f64 {
    of.iter()
        .map(|&(unknown, weight)| weight * x[unknown])
        .sum()
}

/// Works out the walls.
///
/// # Errors
/// Every reading that contradicts the others, with its place in the file.
pub fn adjust(readings: &Readings, source: &Source) -> Result<Walls, FileErrors> {
    let nodes = Nodes::new(readings);
    let mut assumed = Vec::new();
    let fixed = assumptions(readings, &nodes, &mut assumed);
    let mut x = first_guess(readings, &nodes);
    let mut solved = None;
    for _ in 0..ROUNDS {
        let mut rows: Vec<Row> = Vec::new();
        for (index, reading) in readings.readings.iter().enumerate() {
            let (of, mm) = equation(reading, &nodes, &x);
            if !of.is_empty() {
                rows.push(Row {
                    of,
                    mm,
                    standard_mm: reading.standard_mm,
                    reading: Some(index),
                });
            }
        }
        let (next, covariance) =
            least_squares(&rows, &fixed, nodes.all.len()).ok_or_else(|| {
                let hint = "measure widths, plumb and heights at the same depths";
                source
                    .error(0..0, "the readings leave a wall undetermined")
                    .hint(hint)
            })?;
        x = next;
        solved = Some((rows, covariance));
    }
    let (rows, covariance) = solved.unwrap_or_default();
    contradictions(readings, source, &rows, &x, &covariance)?;
    Ok(walls(readings, &nodes, &x, covariance, assumed))
}

/// Walls as wide and high apart as the first readings say.
fn first_guess(readings: &Readings, nodes: &Nodes) -> Vec<f64> {
    let first = |is: fn(&Kind) -> bool| {
        let found = readings.readings.iter().find(|one| is(&one.kind));
        found.map_or(0.0, |one| one.mm)
    };
    let width = first(|kind| matches!(kind, Kind::Width(_)));
    let height = first(|kind| matches!(kind, Kind::Height(_)));
    let one = |node: &(Side, usize, f64)| match node.0 {
        Side::Left | Side::Floor => 0.0,
        Side::Right => width,
        Side::Top => height,
    };
    nodes.all.iter().map(one).collect()
}

/// The equation of a reading about the walls as they are so far.
fn equation(reading: &Reading, nodes: &Nodes, x: &[f64]) -> (Vec<(usize, f64)>, f64) {
    let depth = reading.depth;
    let at = |side, place| nodes.at(side, depth, place);
    match reading.kind {
        Kind::Width(h) => (less(at(Side::Right, h), &at(Side::Left, h)), reading.mm),
        Kind::Height(p) => (less(at(Side::Top, p), &at(Side::Floor, p)), reading.mm),
        Kind::Off(side, from, to) => (less(at(side, to), &at(side, from)), reading.mm),
        Kind::Bow(side, from, to) => {
            let ends: Vec<_> = at(side, from)
                .into_iter()
                .chain(at(side, to))
                .map(|(u, w)| (u, w / 2.0))
                .collect();
            (less(at(side, f64::midpoint(from, to)), &ends), reading.mm)
        }
        Kind::FromFront(side) => {
            let lowest = |depth| nodes.on(side, depth).first().map(|&node| nodes.all[node].2);
            let Some(place) = lowest(depth) else {
                return (Vec::new(), 0.0);
            };
            (less(at(side, place), &nodes.at(side, 0, place)), reading.mm)
        }
        Kind::Diagonal { rising } => {
            let (low, high) = if rising {
                (Side::Left, Side::Right)
            } else {
                (Side::Right, Side::Left)
            };
            let width = value(&at(Side::Right, 0.0), x);
            let place = |side| if side == Side::Left { 0.0 } else { width };
            let (floor, top) = (at(Side::Floor, place(low)), at(Side::Top, place(high)));
            if floor.is_empty() || top.is_empty() {
                return (Vec::new(), 0.0);
            }
            let across = less(at(high, value(&top, x)), &at(low, value(&floor, x)));
            let up = less(top, &floor);
            let (dx, dy) = (value(&across, x), value(&up, x));
            let length = dx.hypot(dy).max(1.0);
            let of: Vec<_> = across
                .iter()
                .map(|&(u, w)| (u, w * dx / length))
                .chain(up.iter().map(|&(u, w)| (u, w * dy / length)))
                .collect();
            let mm = reading.mm - length + value(&of, x);
            (of, mm)
        }
    }
}

/// What is set by choice, or assumed where nothing was measured.
fn assumptions(readings: &Readings, nodes: &Nodes, assumed: &mut Vec<String>) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut row = |of: Vec<(usize, f64)>, standard_mm| {
        rows.push(Row {
            of,
            mm: 0.0,
            standard_mm,
            reading: None,
        });
    };
    let lowest = |side, depth| {
        nodes
            .on(side, depth)
            .first()
            .map_or(0.0, |&node| nodes.all[node].2)
    };
    let has = |depth: usize, test: &dyn Fn(&Kind) -> bool| {
        readings
            .readings
            .iter()
            .any(|one| one.depth == depth && test(&one.kind))
    };
    for (depth, (_, name)) in readings.depths.iter().enumerate() {
        for (low, high, lean) in [
            (Side::Left, Side::Right, "lean"),
            (Side::Floor, Side::Top, "run"),
        ] {
            if nodes.on(low, depth).is_empty() {
                continue;
            }
            let place = lowest(low, depth);
            let from_front = has(
                depth,
                &|kind| matches!(kind, Kind::FromFront(side) if *side == low || *side == high),
            );
            if depth == 0 {
                row(nodes.at(low, 0, place), ORIGIN_MM);
            } else if !from_front {
                if low == Side::Left {
                    let middle = |depth| -> Vec<(usize, f64)> {
                        let both =
                            [Side::Left, Side::Right].map(|side| nodes.at(side, depth, place));
                        both.concat()
                            .into_iter()
                            .map(|(u, w)| (u, w / 2.0))
                            .collect()
                    };
                    row(less(middle(depth), &middle(0)), ORIGIN_MM);
                    assumed.push(format!("Nobody measured which wall comes in towards the {name}; both are taken to come in alike."));
                } else {
                    row(
                        less(nodes.at(low, depth, place), &nodes.at(low, 0, place)),
                        ORIGIN_MM,
                    );
                    assumed.push(format!(
                        "The floor at the {name} is taken to be as high as at the front."
                    ));
                }
            }
            let directed =
                |kind: &Kind| matches!(kind, Kind::Off(side, ..) if *side == low || *side == high);
            if !has(depth, &directed) {
                let other = (0..readings.depths.len()).find(|&other| has(other, &directed));
                if let Some(other) = other {
                    let far = nodes
                        .on(low, depth)
                        .last()
                        .map_or(0.0, |&node| nodes.all[node].2);
                    let run = |depth| less(nodes.at(low, depth, far), &nodes.at(low, depth, place));
                    row(less(run(depth), &run(other)), STRAIGHT_MM);
                    assumed.push(format!("No level was held to {} at the {name}; it is taken to {lean} as at the {}.", if low == Side::Left { "a wall" } else { "the floor" }, readings.depths[other].1));
                }
            }
        }
        for side in Side::ALL {
            for three in nodes.on(side, depth).windows(3) {
                let [a, b, c] = [three[0], three[1], three[2]].map(|node| nodes.all[node].2);
                let share = (b - a) / (c - a);
                row(
                    vec![(three[1], 1.0), (three[0], share - 1.0), (three[2], -share)],
                    STRAIGHT_MM,
                );
            }
        }
    }
    rows
}

/// The unknowns that fit all equations best, and their covariance; `None` if some are left undetermined.
fn least_squares(rows: &[Row], fixed: &[Row], count: usize) -> Option<(Vec<f64>, Matrix)> {
    let mut normal = vec![vec![0.0; count]; count];
    let mut right = vec![0.0; count];
    for row in rows.iter().chain(fixed) {
        let weight = 1.0 / (row.standard_mm * row.standard_mm);
        for &(i, a) in &row.of {
            right[i] += weight * a * row.mm;
            for &(j, b) in &row.of {
                normal[i][j] += weight * a * b;
            }
        }
    }
    let lower = cholesky(&normal)?;
    // An unknown that only rounding holds.
    let loose = (0..count).any(|i| lower[i][i] * lower[i][i] < 1e-9 * normal[i][i]);
    (!loose).then(|| (solve(&lower, &right), inverse(&lower)))
}

/// The readings that contradict the others most.
fn contradictions(
    readings: &Readings,
    source: &Source,
    rows: &[Row],
    x: &[f64],
    covariance: &Matrix,
) -> Result<(), FileErrors> {
    let test = |row: &Row| {
        let explained: f64 = row
            .of
            .iter()
            .map(|&(i, a)| {
                a * row
                    .of
                    .iter()
                    .map(|&(j, b)| covariance[i][j] * b)
                    .sum::<f64>()
            })
            .sum();
        let free = row.standard_mm * row.standard_mm - explained;
        // A reading that nothing checks has no residual.
        (free > 0.05 * row.standard_mm * row.standard_mm)
            .then(|| (row.mm - value(&row.of, x)).abs() / free.sqrt())
    };
    let tested: Vec<(usize, f64, f64)> = rows
        .iter()
        .filter_map(|row| Some((row.reading?, test(row)?, row.mm - value(&row.of, x))))
        .collect();
    let worst = tested.iter().map(|one| one.1).fold(0.0, f64::max);
    if worst <= CONTRADICTS {
        return Ok(());
    }
    let units = readings.units;
    let errors: Vec<FileError> = tested.iter().filter(|one| one.1 > 0.9 * worst).map(|&(index, _, off)| {
        let reading = &readings.readings[index];
        let off = units.length_with_unit(off.abs(), Precision::Drawn);
        source.error(reading.span.clone(), format!("this reading contradicts the others: it is {off} off what they say"))
            .hint("read it again; then read again those that are compared with it: the widths, the plumb of both walls, the diagonals")
    }).collect();
    FileErrors::none_of(errors)
}

/// Every place that was measured, the ends of each side, and the edge of each skirting.
fn walls(
    readings: &Readings,
    nodes: &Nodes,
    x: &[f64],
    covariance: Matrix,
    assumed: Vec<String>,
) -> Walls {
    let mut stations = Vec::new();
    for depth in 0..readings.depths.len() {
        let far = |side: Side| -> f64 {
            let at = nodes.on(side, depth).into_iter().map(|node| x[node]);
            at.fold(0.0, f64::max)
        };
        let (width, height) = (far(Side::Right), far(Side::Top));
        for side in Side::ALL {
            let on = nodes.on(side, depth);
            let mut places: Vec<f64> = on.iter().map(|&node| nodes.all[node].2).collect();
            let ends = match side {
                Side::Left | Side::Right if height > 0.0 => [0.0, height],
                Side::Floor | Side::Top if width > 0.0 && !on.is_empty() => [0.0, width],
                _ => [f64::NAN; 2],
            };
            places.extend(ends.iter().filter(|end| end.is_finite()));
            places.sort_by(f64::total_cmp);
            places.dedup_by(|a, b| (*a - *b).abs() < SAME_MM);
            for along_mm in places {
                let of = nodes.at(side, depth, along_mm);
                let at_mm = value(&of, x);
                stations.push(Station {
                    side,
                    depth,
                    along_mm,
                    at_mm,
                    of,
                    proud: false,
                });
            }
            for skirting in readings.skirtings.iter().filter(|one| one.side == side) {
                let out = if side == Side::Left {
                    skirting.thickness_mm
                } else {
                    -skirting.thickness_mm
                };
                for along_mm in [0.0, skirting.height_mm] {
                    let of = nodes.at(side, depth, along_mm);
                    stations.push(Station {
                        side,
                        depth,
                        along_mm,
                        at_mm: value(&of, x) + out,
                        of,
                        proud: true,
                    });
                }
            }
        }
    }
    Walls {
        units: readings.units,
        depths: readings.depths.clone(),
        stations,
        covariance,
        assumed,
    }
}
