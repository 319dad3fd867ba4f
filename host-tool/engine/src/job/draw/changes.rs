//! Applies `[change.N]` to the welds drawn, and finds which weld waits for which and when each clamp comes off.

use super::drawing::Drawing;
use crate::job::model::{Clamp, Weld, WeldKind};
use crate::job::read::welding::procedure_of;
use crate::procedure::model::Procedure;
use crate::reading::{QuantityKind, Reader, Span, Table, suggest};
use coldsquare_core::units::Millimetres;
use serde_spanned::Spanned;
use std::collections::{BTreeMap, HashMap};
use toml::de::DeValue;

/// A weld that waits for another, by index, and where the file says so.
struct Wait {
    weld: usize,
    after: usize,
    span: Span,
    list: &'static str,
}

/// The welds after and before which a clamp comes off, as they are written.
pub(super) struct Release<'a> {
    pub(super) after: Vec<&'a Spanned<DeValue<'a>>>,
    pub(super) before: Vec<&'a Spanned<DeValue<'a>>>,
}

/// Applies `[change.N]` tables, and finds the welds that clamps come off after and before.
pub(super) fn apply<'a>(
    changes: Option<Table<'_>>,
    releases: impl Iterator<Item = (&'a mut Clamp, Release<'a>)>,
    drawing: &mut Drawing,
    procedures: &[Procedure],
    reader: &Reader<'_>,
) {
    let names: HashMap<String, usize> = drawing
        .welds
        .iter()
        .enumerate()
        .map(|(k, weld)| (weld.name.clone(), k))
        .collect();
    let mut waits = change_welds(changes, drawing, &names, procedures, reader);
    for (clamp, release) in releases {
        waits.extend(release_clamp(
            clamp,
            release,
            &drawing.welds,
            &names,
            reader,
        ));
    }
    check_order(&waits, &drawing.welds, reader);
    for wait in &waits {
        let number = drawing.welds[wait.after].number;
        let after = &mut drawing.welds[wait.weld].after;
        if !after.contains(&number) {
            after.push(number);
        }
    }
}

/// Applies the changes; gives the waits in them.
fn change_welds(
    changes: Option<Table<'_>>,
    drawing: &mut Drawing,
    names: &HashMap<String, usize>,
    procedures: &[Procedure],
    reader: &Reader<'_>,
) -> Vec<Wait> {
    let mut waits = Vec::new();
    for (key, value) in changes.into_iter().flat_map(Table::named) {
        let Some(index) = find(key.get_ref(), &key.span(), &drawing.welds, names, reader) else {
            continue;
        };
        let Some(table) = value.get_ref().as_table() else {
            let hint = format!("write a line [change.{}] and its keys below it", index + 1);
            reader.error(&value.span(), "a change must be a table", hint);
            continue;
        };
        let title = format!("[change.{}]", key.get_ref());
        let table = Table::new(reader, table, value.span(), title);
        drawing.weld_spans[index] = value.span();
        let after = change(table, &mut drawing.welds[index], procedures);
        for value in after {
            if let Some(after) = find_written(value, &drawing.welds, names, reader) {
                waits.push(Wait {
                    weld: index,
                    after,
                    span: value.span(),
                    list: "an 'after'",
                });
            }
        }
    }
    waits
}

/// Finds the welds that a clamp comes off after and before; gives the waits that follow.
fn release_clamp(
    clamp: &mut Clamp,
    release: Release<'_>,
    welds: &[Weld],
    names: &HashMap<String, usize>,
    reader: &Reader<'_>,
) -> Vec<Wait> {
    let [after, before] = [release.after, release.before].map(|written| {
        let find = |value| {
            let found = find_written(value, welds, names, reader)?;
            Some((found, value.span()))
        };
        once_each(written.into_iter().filter_map(find), welds, reader)
    });
    let number = |&(weld, _): &(usize, Span)| welds[weld].number;
    clamp.release_after = after.iter().map(number).collect();
    clamp.release_before = before.iter().map(number).collect();
    let mut waits = Vec::new();
    for (weld, span) in &before {
        if let Some((_, span)) = after.iter().find(|(other, _)| other == weld) {
            let what = format!(
                "this clamp would have to be both on and off for weld {}",
                welds[*weld].number
            );
            let hint = "'release_after' names welds for which it is on, 'release_before' welds for which it is off";
            reader.error(span, what, hint);
            continue;
        }
        // Welds with the clamp off come after all those with it on.
        waits.extend(after.iter().map(|&(after, _)| Wait {
            weld: *weld,
            after,
            span: span.clone(),
            list: "a 'release_before'",
        }));
    }
    waits
}

/// Refuses a weld that a list names twice.
fn once_each(
    named: impl Iterator<Item = (usize, Span)>,
    welds: &[Weld],
    reader: &Reader<'_>,
) -> Vec<(usize, Span)> {
    let mut once: Vec<(usize, Span)> = Vec::new();
    for (weld, span) in named {
        if once.iter().any(|(other, _)| *other == weld) {
            let what = format!("weld {} is named twice here", welds[weld].number);
            reader.error(&span, what, "name each weld once");
        } else {
            once.push((weld, span));
        }
    }
    once
}

/// The weld that a value names by its number or its name.
fn find_written(
    value: &Spanned<DeValue<'_>>,
    welds: &[Weld],
    names: &HashMap<String, usize>,
    reader: &Reader<'_>,
) -> Option<usize> {
    let word = match value.get_ref() {
        DeValue::Integer(number) => number.as_str().to_string(),
        other => other.as_str().unwrap_or_default().to_string(),
    };
    find(&word, &value.span(), welds, names, reader)
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
            (0, _) => "this job has no weld".to_string(),
            (count, Some(_)) => {
                format!("welds are numbered 1 to {count}; `coldsquare check` lists them")
            }
            _ => suggest(word, &known),
        };
        reader.error(span, format!("there is no weld '{word}'"), hint);
    }
    found
}

/// Applies one change; gives the welds to wait for.
fn change<'a>(
    mut table: Table<'a>,
    weld: &mut Weld,
    procedures: &[Procedure],
) -> Vec<&'a Spanned<DeValue<'a>>> {
    let leg = table
        .positive("leg", QuantityKind::Length)
        .map(Spanned::into_inner);
    let throat = table
        .positive("throat", QuantityKind::Length)
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
        (Some(_), Some(_)) => table.reader().error(
            table.span(),
            "both 'leg' and 'throat' are given",
            "a fillet weld has a leg, a butt weld a throat; keep one",
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

/// Refuses welds that wait for each other in a circle.
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
                let hint = format!("take one of them out of {}", wait.list);
                reader.error(&wait.span, what, hint);
                return;
            }
            path.push((wait.after, 0));
        }
    }
}
