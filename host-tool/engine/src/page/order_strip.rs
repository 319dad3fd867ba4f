//! The order done beside the order planned: a weld in its planned place is one column, a moved one is two.

use super::html;
use crate::format;
use crate::map::model::{Order, WeldMap};
use maud::{Markup, html};

/// A place in one order or in both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Place {
    /// Done where it was planned.
    Kept(u16),
    /// Planned here and done elsewhere.
    MovedFrom(u16),
    /// Done here and planned elsewhere.
    MovedTo(u16),
    /// Planned and not done.
    Missing(u16),
}

fn aligned(order: &Order) -> Vec<Place> {
    let kept = |weld: &u16| {
        !order.out_of_order.contains(weld)
            && order.done.contains(weld)
            && order.planned.contains(weld)
    };
    let mut places = Vec::new();
    let mut done = order.done.iter().peekable();
    let mut done_until = |places: &mut Vec<Place>, next_kept: Option<u16>| {
        while let Some(weld) = done.next_if(|weld| !kept(weld)) {
            places.push(Place::MovedTo(*weld));
        }
        if let Some(weld) = next_kept {
            done.next();
            places.push(Place::Kept(weld));
        }
    };
    for weld in &order.planned {
        if order.missing.contains(weld) {
            places.push(Place::Missing(*weld));
        } else if kept(weld) {
            done_until(&mut places, Some(*weld));
        } else {
            places.push(Place::MovedFrom(*weld));
        }
    }
    done_until(&mut places, None);
    places
}

/// The panel; only a sentence where everything was done as planned.
pub(super) fn panel(map: &WeldMap) -> Markup {
    let places = aligned(&map.order);
    if map.order.done.is_empty() {
        return Markup::default();
    }
    let as_planned = places.iter().all(|place| matches!(place, Place::Kept(_)));
    html::panel(
        "order",
        "panel",
        "Order, planned and done",
        html! {
            p { (summary(&map.order, &places)) }
            @if !as_planned {
                p.how { "Upper number: planned. Lower number: done." }
                ol.order { @for place in places { (cell(place)) } }
            }
        },
    )
}

fn summary(order: &Order, places: &[Place]) -> String {
    let kept = places
        .iter()
        .filter(|place| matches!(place, Place::Kept(_)))
        .count();
    let mut text = match kept {
        1 => "1 weld in its planned place.".to_owned(),
        _ => format!("{kept} welds in their planned places."),
    };
    for (what, welds) in [
        ("Done elsewhere", &order.out_of_order),
        ("Not done", &order.missing),
    ] {
        if !welds.is_empty() {
            text += &format!(" {what}: {}.", format::list(welds));
        }
    }
    text
}

fn cell(place: Place) -> Markup {
    let (class, weld, [upper, lower], meaning) = match place {
        Place::Kept(weld) => ("kept", weld, [true, true], "as planned"),
        Place::MovedFrom(weld) => ("from", weld, [true, false], "planned here, done elsewhere"),
        Place::MovedTo(weld) => ("to", weld, [false, true], "done here, planned elsewhere"),
        Place::Missing(weld) => ("missing", weld, [true, false], "planned here, not done"),
    };
    html! {
        li class=(class) data-weld=(weld) {
            span.unseen { "weld " (weld) ": " (meaning) }
            @for shown in [upper, lower] {
                span aria-hidden="true" { @if shown { (weld) } @else { "–" } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_orders_can_be_read_off_the_strip_and_what_was_kept_stands_together() {
        let order = Order {
            planned: vec![3, 1, 4, 2, 5, 6],
            done: vec![3, 4, 6, 2, 1],
            missing: vec![5],
            out_of_order: vec![6, 1],
        };
        let places = aligned(&order);
        let read = |of: fn(&Place) -> Option<u16>| places.iter().filter_map(of).collect::<Vec<_>>();
        let planned = read(|place| match *place {
            Place::Kept(w) | Place::MovedFrom(w) | Place::Missing(w) => Some(w),
            Place::MovedTo(_) => None,
        });
        let done = read(|place| match *place {
            Place::Kept(w) | Place::MovedTo(w) => Some(w),
            Place::MovedFrom(_) | Place::Missing(_) => None,
        });
        assert_eq!((planned, done), (order.planned.clone(), order.done.clone()));
        assert_eq!(
            read(|place| match *place {
                Place::Kept(w) => Some(w),
                _ => None,
            }),
            [3, 4, 2]
        );
    }
}
