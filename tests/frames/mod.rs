//! Ten frames of a small shop, as job files: what orders of welding are compared on.

/// Name and job file of each.
pub const FRAMES: [(&str, &str); 10] = [
    ("gate", include_str!("gate.toml")),
    ("rack, rails on one side", include_str!("rack.toml")),
    ("trolley", include_str!("trolley.toml")),
    ("ring of twelve", include_str!("ring.toml")),
    ("table base", include_str!("table-base.toml")),
    ("ladder", include_str!("ladder.toml")),
    ("stair stringer", include_str!("stair-stringer.toml")),
    ("shelf", include_str!("shelf.toml")),
    ("bench", include_str!("bench.toml")),
    ("stand", include_str!("stand.toml")),
];
