//! The command as a person meets it: arguments in, printed text and exit code out.

/// What a run of the command left.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ran {
    /// Exit code.
    pub code: u8,
    /// What it printed as its result.
    pub out: String,
    /// What it said beside it.
    pub err: String,
}

/// Runs `coldsquare` with these arguments, in this process.
///
/// # Panics
/// When what is printed is not text.
pub fn coldsquare<'a>(arguments: impl IntoIterator<Item = &'a str>) -> Ran {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let mut io = coldsquare::command::Io {
        out: &mut out,
        err: &mut err,
        interactive: false,
    };
    let arguments = std::iter::once("coldsquare").chain(arguments);
    let code = coldsquare::run::run(arguments, &mut io);
    let text = |bytes| String::from_utf8(bytes).expect("text is printed");
    Ran {
        code,
        out: text(out),
        err: text(err),
    }
}
