//! The order done beside the order planned: what was kept stands one over the other, what was moved stands alone.

use crate::map::model::{Order, WeldMap};
use crate::format;
use std::fmt::Write;

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

// Writing to a string cannot fail.
macro_rules! put {
    ($out:expr, $($text:tt)*) => { let _ = writeln!($out, $($text)*); };
}

/// The panel; only a sentence where everything was done as planned.
pub(super) fn panel(out: &mut String, map: &WeldMap) {
    let order = &map.order;
    if order.done.is_empty() {
        return;
    }
    put!(
        out,
        "<section class=\"panel\" aria-labelledby=\"order-title\"><h2 id=\"order-title\">Order, planned and done</h2>"
    );
    let places = aligned(order);
    let kept = places
        .iter()
        .filter(|place| matches!(place, Place::Kept(_)));
    let mut said = format!("{} welds in their planned places.", kept.count());
    if !order.out_of_order.is_empty() {
        let _ = write!(
            said,
            " Done elsewhere: {}.",
            format::list(&order.out_of_order)
        );
    }
    if !order.missing.is_empty() {
        let _ = write!(said, " Not done: {}.", format::list(&order.missing));
    }
    put!(out, "<p>{said}</p>");
    if places.iter().any(|place| !matches!(place, Place::Kept(_))) {
        put!(
            out,
            "<p class=\"how\">Upper number: planned. Lower number: done.</p><ol class=\"order\">"
        );
        for place in places {
            cell(out, place);
        }
        put!(out, "</ol>");
    }
    put!(out, "</section>");
}

fn cell(out: &mut String, place: Place) {
    let (class, weld, upper, lower, said) = match place {
        Place::Kept(weld) => ("kept", weld, true, true, "as planned"),
        Place::MovedFrom(weld) => ("from", weld, true, false, "planned here, done elsewhere"),
        Place::MovedTo(weld) => ("to", weld, false, true, "done here, planned elsewhere"),
        Place::Missing(weld) => ("missing", weld, true, false, "planned here, not done"),
    };
    let number = |shown: bool| match shown {
        true => weld.to_string(),
        false => "–".into(),
    };
    put!(
        out,
        "<li class=\"{class}\" data-weld=\"{weld}\"><span class=\"unseen\">weld {weld}: {said}</span><span aria-hidden=\"true\">{}</span>\
         <span aria-hidden=\"true\">{}</span></li>",
        number(upper),
        number(lower)
    );
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
