//! Every public item has a user in product code, unless it is listed as offered to others with a reason.

use crate::layers::{Layers, Offered};
use crate::public_items::{PublicItem, public_items};
use crate::workspace::Workspace;

/// Checks the rule; each violation is a message that says where it is and what is wrong.
pub fn violations(workspace: &Workspace, layers: &Layers) -> Vec<String> {
    let items = public_items(workspace);
    let mut violations = unused_items(&items, layers);
    violations.extend(stale_offers(&items, layers));
    violations
}

/// Public items without a user that are not listed.
fn unused_items(items: &[PublicItem], layers: &Layers) -> Vec<String> {
    let unused = items
        .iter()
        .filter(|item| !item.is_used && !layers.offers(item));
    let messages = unused.map(|item| {
        format!(
            "{}: nothing uses the public `{}`; remove it, or list it as offered in layers.toml",
            item.location, item.what
        )
    });
    messages.collect()
}

/// Listed items that do not exist, or have a user after all.
fn stale_offers(items: &[PublicItem], layers: &Layers) -> Vec<String> {
    let offers = layers.offered.iter();
    let listed = offers.flat_map(|offer| offer.items.iter().map(move |what| (offer, what)));
    let stale = listed.filter_map(|(offer, what)| {
        let fault = fault(items, offer, what)?;
        Some(format!(
            "layers.toml: `{what}` in {} of {} {fault}; remove it from the offered items",
            offer.file, offer.package
        ))
    });
    stale.collect()
}

fn fault(items: &[PublicItem], offer: &Offered, what: &str) -> Option<&'static str> {
    let is_listed = |item: &&PublicItem| {
        item.package == offer.package && item.file == offer.file && item.what == what
    };
    let mut found = items.iter().filter(is_listed).peekable();
    if found.peek().is_none() {
        return Some("is gone, or not public");
    }
    found.all(|item| item.is_used).then_some("has a user")
}
