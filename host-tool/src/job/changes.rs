//! What the file changes in welds that are drawn already, and which weld must wait for which.

use super::drawing::Drawing;
use super::file::procedure_of;
use super::model::{Procedure, Weld, WeldKind};
use super::quantity::Kind;
use super::reader::{Reader, Span, Table, advice};
use coldsquare_core::units::Millimetres;
use serde_spanned::Spanned;
use std::collections::{BTreeMap, HashMap};
use toml::de::DeValue;

/// One "this weld after that one", by index, and where the file says so.
struct Wait {
    weld: usize,
    after: usize,
    span: Span,
}

/// Applies `[change.N]` tables.
pub(super) fn apply(changes: Table<'_>, drawing: &mut Drawing, procedures: &[Procedure]) {
    let reader = changes.reader();
    let names: HashMap<String, usize> = drawing
        .welds
        .iter()
        .enumerate()
        .map(|(k, weld)| (weld.name.clone(), k))
        .collect();
    let mut waits = Vec::new();
    for (key, value) in changes.named() {
        let Some(index) = find(key.get_ref(), &key.span(), &drawing.welds, &names, reader) else {
            continue;
        };
        let Some(table) = value.get_ref().as_table() else {
            let hint = format!("write a line [change.{}] and the settings below", index + 1);
            reader.wrong(&value.span(), "a change is a table", hint);
            continue;
        };
        let table = Table::new(
            reader,
            table,
            value.span(),
            format!("[change.{}]", key.get_ref()),
        );
        drawing.weld_spans[index] = value.span();
        let after = change(table, &mut drawing.welds[index], procedures);
        for value in after {
            let other = match value.get_ref() {
                DeValue::Integer(number) => number.as_str().to_string(),
                other => other.as_str().unwrap_or_default().to_string(),
            };
            if let Some(after) = find(&other, &value.span(), &drawing.welds, &names, reader) {
                waits.push(Wait {
                    weld: index,
                    after,
                    span: value.span(),
                });
            }
        }
    }
    check_order(&waits, &drawing.welds, reader);
    for wait in &waits {
        let number = drawing.welds[wait.after].number;
        drawing.welds[wait.weld].after.push(number);
    }
}

/// The weld with this number or name.
fn find(
    word: &str,
    span: &Span,
    welds: &[Weld],
    names: &HashMap<String, usize>,
    reader: &Reader<'_>,
) -> Option<usize> {
    let numbered = word
        .parse::<usize>()
        .ok()
        .and_then(|number| number.checked_sub(1));
    let found = numbered
        .filter(|index| *index < welds.len())
        .or_else(|| names.get(word).copied());
    if found.is_none() {
        let known: Vec<_> = welds
            .iter()
            .take(200)
            .map(|weld| weld.name.as_str())
            .collect();
        let hint = match (welds.len(), numbered) {
            (0, _) => "nothing is welded in this job".to_string(),
            (count, Some(_)) => {
                format!("welds are numbered 1 to {count}; `coldsquare check` lists them")
            }
            _ => advice(word, &known),
        };
        reader.wrong(span, format!("there is no weld '{word}'"), hint);
    }
    found
}

/// Applies one change, and gives what the weld must wait for.
fn change<'a>(
    mut table: Table<'a>,
    weld: &mut Weld,
    procedures: &[Procedure],
) -> Vec<&'a Spanned<DeValue<'a>>> {
    let leg = table.positive("leg", Kind::Length).map(Spanned::into_inner);
    let throat = table
        .positive("throat", Kind::Length)
        .map(Spanned::into_inner);
    match (leg, throat) {
        (Some(leg), None) => {
            weld.kind = WeldKind::Fillet {
                leg: Millimetres(leg),
            };
        }
        (None, Some(throat)) => {
            weld.kind = WeldKind::Butt {
                throat: Millimetres(throat),
            };
        }
        (Some(_), Some(_)) => table.reader().wrong(
            table.span(),
            "both 'leg' and 'throat' are given",
            "a fillet has a leg, a butt weld a throat; keep one",
        ),
        (None, None) => {}
    }
    if let Some(procedure) = procedure_of(&mut table, procedures) {
        weld.procedure = procedure;
    }
    if let Some(runs) = table.whole("runs", 1, 99) {
        weld.runs = u8::try_from(runs.into_inner()).unwrap_or(u8::MAX);
    }
    if let Some(reversed) = table.choice("direction", &[("as drawn", false), ("reversed", true)])
        && reversed.into_inner()
    {
        std::mem::swap(&mut weld.from, &mut weld.to);
    }
    let after = table.list("after");
    table.finish();
    after
}

/// Finds a circle of welds that wait for each other.
fn check_order(waits: &[Wait], welds: &[Weld], reader: &Reader<'_>) {
    let mut before: BTreeMap<usize, Vec<&Wait>> = BTreeMap::new();
    for wait in waits {
        before.entry(wait.weld).or_default().push(wait);
    }
    // Walks back from each weld without recursion: a chain may be as long as the job.
    let mut done = vec![false; welds.len()];
    for start in before.keys().copied() {
        let mut path: Vec<(usize, usize)> = vec![(start, 0)];
        while let Some((weld, next)) = path.last_mut() {
            let weld = *weld;
            let wait = before
                .get(&weld)
                .filter(|_| !done[weld])
                .and_then(|all| all.get(*next).copied());
            *next += 1;
            let Some(wait) = wait else {
                done[weld] = true;
                path.pop();
                continue;
            };
            if let Some(at) = path.iter().position(|(other, _)| *other == wait.after) {
                let circle = path[at..].iter().chain(&path[at..=at]);
                let circle: Vec<_> = circle.map(|(k, _)| welds[*k].number.to_string()).collect();
                let what = format!(
                    "these welds wait for each other: {}",
                    circle.join(" after ")
                );
                reader.wrong(&wait.span, what, "take one of them out of an 'after'");
                return;
            }
            path.push((wait.after, 0));
        }
    }
}
