//! Tables of nodes and members, read and written: `node,NAME,x,y,z` and `member,NAME,FROM,TO,SECTION`, in any order.

use super::model::{DrawnLine, LineDrawing, MAX_COORDINATE, MAX_LINES};
use crate::file_error::{FileError, Source};
use crate::geometry::Point;
use crate::job::model::Job;
use crate::reading::{Span, suggest};
use std::collections::BTreeMap;

/// A row: its cells, where it stands, and its line.
struct Row {
    cells: Vec<String>,
    span: Span,
    line: usize,
}

impl Row {
    fn cell(&self, k: usize) -> &str {
        self.cells.get(k).map_or("", |cell| cell.trim())
    }
}

/// Reads the table.
pub(super) fn read(source: &Source) -> Result<LineDrawing, FileError> {
    let rows = rows(source)?;
    let mut drawing = LineDrawing::default();
    let mut nodes: BTreeMap<&str, Point> = BTreeMap::new();
    for row in &rows {
        match row.cell(0).to_lowercase().as_str() {
            "node" => {
                if nodes.insert(row.cell(1), node(row, source)?).is_some() {
                    let what = format!("two nodes are called '{}'", row.cell(1));
                    return Err(source
                        .error(row.span.clone(), what)
                        .hint("give each its own name"));
                }
            }
            "units" => {
                drawing.mm_per_unit = Some(unit(row, source)?);
            }
            "member" => {}
            // The first row may name the columns.
            _ if row.line == 1 => {}
            other => {
                let what = format!("'{other}' begins no row");
                return Err(source.error(row.span.clone(), what).hint(
                    "a row is units,mm or node,NAME,x,y,z or member,NAME,FROM,TO,SECTION; # begins a remark",
                ));
            }
        }
    }
    let members = rows
        .iter()
        .filter(|row| row.cell(0).eq_ignore_ascii_case("member"));
    for row in members {
        if drawing.lines.len() >= MAX_LINES {
            let what = format!("more than {MAX_LINES} members");
            return Err(source
                .error(row.span.clone(), what)
                .hint("make several jobs of it"));
        }
        drawing.lines.push(member(row, &nodes, source)?);
    }
    Ok(drawing)
}

fn rows(source: &Source) -> Result<Vec<Row>, FileError> {
    let text = source.text();
    let first = text.lines().find(|line| !line.trim().is_empty());
    let delimiter = if first.is_some_and(|line| line.contains(';')) {
        b';'
    } else {
        b','
    };
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| {
            let at = error.position().map_or(0, |position| position.byte());
            let at = usize::try_from(at).unwrap_or(0);
            source
                .error(at..at, "this row is no CSV")
                .hint("save the table anew as CSV, in UTF-8")
        })?;
        let (start, line) = record.position().map_or((0, 1), |p| (p.byte(), p.line()));
        let start = usize::try_from(start).unwrap_or(0);
        let length = text.get(start..).and_then(|rest| rest.find('\n'));
        let cells: Vec<String> = record
            .iter()
            .map(|cell| match delimiter {
                // Where semicolons part the cells, the comma is the decimal sign.
                b';' if cell.trim().parse::<f64>().is_err() && is_decimal_comma(cell) => {
                    cell.replace(',', ".")
                }
                _ => cell.to_owned(),
            })
            .collect();
        if cells.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        rows.push(Row {
            cells,
            span: start..length.map_or(text.len(), |n| start + n),
            line: usize::try_from(line).unwrap_or(1),
        });
    }
    Ok(rows)
}

fn is_decimal_comma(cell: &str) -> bool {
    cell.matches(',').count() == 1 && cell.replace(',', ".").trim().parse::<f64>().is_ok()
}

fn unit(row: &Row, source: &Source) -> Result<f64, FileError> {
    match row.cell(1) {
        "mm" => Ok(1.0),
        "cm" => Ok(10.0),
        "m" => Ok(1000.0),
        "in" | "inch" => Ok(25.4),
        "ft" => Ok(304.8),
        other => {
            let what = format!("'{other}' is no unit of length");
            Err(source
                .error(row.span.clone(), what)
                .hint("write mm, cm, m, in or ft"))
        }
    }
}

fn node(row: &Row, source: &Source) -> Result<Point, FileError> {
    let axis = |k: usize| {
        let number = row.cell(k).parse::<f64>().ok();
        number
            .filter(|number| number.is_finite() && number.abs() <= MAX_COORDINATE)
            .ok_or_else(|| {
                let what = format!(
                    "'{}' of node {} is not a coordinate",
                    row.cell(k),
                    row.cell(1)
                );
                source
                    .error(row.span.clone(), what)
                    .hint("write node,NAME,x,y,z with three numbers")
            })
    };
    Ok(Point::new(axis(2)?, axis(3)?, axis(4)?))
}

fn member(
    row: &Row,
    nodes: &BTreeMap<&str, Point>,
    source: &Source,
) -> Result<DrawnLine, FileError> {
    let at = |k: usize| {
        nodes.get(row.cell(k)).copied().ok_or_else(|| {
            let known: Vec<&str> = nodes.keys().copied().take(300).collect();
            let what = format!("there is no node '{}'", row.cell(k));
            source
                .error(row.span.clone(), what)
                .hint(suggest(row.cell(k), &known))
        })
    };
    let name = row.cell(1);
    Ok(DrawnLine {
        from: at(2)?,
        to: at(3)?,
        layer: row.cell(4).to_owned(),
        name: (!name.is_empty()).then(|| name.to_owned()),
        line: row.line,
    })
}

/// The centre lines of a job as a table, mm.
#[must_use]
pub fn table_of(job: &Job) -> String {
    let mut nodes: Vec<Point> = Vec::new();
    let mut members = Vec::new();
    for member in &job.members {
        let ends = [member.from, member.to].map(|end| {
            let known = nodes.iter().position(|node| (*node - end).length() < 0.01);
            let node = known.unwrap_or_else(|| {
                nodes.push(end);
                nodes.len() - 1
            });
            format!("N{}", node + 1)
        });
        members.push((&member.name, ends, member.section.designation()));
    }
    let mut writer = csv::WriterBuilder::new()
        .flexible(true)
        .from_writer(Vec::new());
    // Writing to memory does not fail.
    let _ = writer.write_record(["units", "mm"]);
    for (k, node) in nodes.iter().enumerate() {
        let axes = [node.x, node.y, node.z].map(|axis| format!("{:.3}", axis + 0.0));
        let _ = writer.write_record(["node", &format!("N{}", k + 1), &axes[0], &axes[1], &axes[2]]);
    }
    for (name, [from, to], section) in members {
        let _ = writer.write_record(["member", name, &from, &to, section]);
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}
