//! The main job end to end, and the checks against published evidence: one binary, one link.
