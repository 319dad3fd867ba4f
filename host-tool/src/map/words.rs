//! Words shared by the tables.

/// "1, 2 and 3"; "none" when there are none.
#[must_use]
pub fn numbers<T: std::fmt::Display>(numbers: &[T]) -> String {
    match numbers {
        [] => "none".into(),
        [one] => one.to_string(),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(ToString::to_string).collect();
            format!("{} and {last}", first.join(", "))
        }
    }
}
