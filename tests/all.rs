//! The main job end to end, and the checks against published evidence: one binary, one link.

/// Checks against published values, one file a subject.
mod evidence {
    mod uncertainty;
}
