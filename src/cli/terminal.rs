//! Standard output and standard error: what they show, and how to write to them.

use std::env;
use std::io::{self, IsTerminal as _, Write as _};

use crate::diagnostic::{rows, visible, why};
use crate::report::{Detail, Style};

use super::exit::Exit;

/// How text on standard output may look: plain when piped or with `NO_COLOR`; ASCII where the locale is not UTF-8.
pub(super) fn output_style() -> Style {
    let terminal = io::stdout().is_terminal();
    Style {
        colour: terminal && colours_wanted(),
        unicode: locale_is_unicode(),
        width: width(terminal),
    }
}

/// How much is shown.
pub(super) fn detail(full: bool) -> Detail {
    if full { Detail::Full } else { Detail::Short }
}

/// May messages on standard error be coloured?
pub(super) fn error_colour() -> bool {
    io::stderr().is_terminal() && colours_wanted()
}

fn colours_wanted() -> bool {
    let set = |name| env::var_os(name).is_some_and(|value| !value.is_empty());
    !set("NO_COLOR") && env::var("TERM").map_or(true, |term| term != "dumb")
}

/// The first of `LC_ALL`, `LC_CTYPE`, `LANG` that is set decides, as in POSIX.
fn locale_is_unicode() -> bool {
    let first = ["LC_ALL", "LC_CTYPE", "LANG"]
        .iter()
        .find_map(|name| env::var(name).ok().filter(|v| !v.is_empty()));
    match first {
        Some(locale) => {
            let locale = locale.to_ascii_lowercase();
            locale.contains("utf-8") || locale.contains("utf8")
        }
        None => cfg!(windows),
    }
}

/// Narrowest and widest screen that is written for.
const WIDTHS: (usize, usize) = (40, 200);

/// The terminal's, else what `COLUMNS` says, else that of a file.
fn width(terminal: bool) -> usize {
    let own = terminal_size::terminal_size().filter(|_| terminal);
    let said = || env::var("COLUMNS").ok()?.trim().parse().ok();
    let columns = own.map(|(terminal_size::Width(columns), _)| usize::from(columns)).or_else(said);
    columns
        .filter(|columns| *columns > 0)
        .map_or(Style::PLAIN.width, |columns| columns.clamp(WIDTHS.0, WIDTHS.1))
}

/// Writes `text` to standard output; a reader that has gone away is no error, anything else is.
pub(super) fn print(text: &str, then: Exit) -> Exit {
    print_by(then, |out| out.write_all(text.as_bytes()))
}

/// The same piece by piece.
pub(super) fn print_by(
    then: Exit,
    write: impl FnOnce(&mut dyn io::Write) -> io::Result<()>,
) -> Exit {
    let mut out = io::BufWriter::new(io::stdout().lock());
    match write(&mut out).and_then(|()| out.flush()) {
        Ok(()) => then,
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => then,
        Err(error) => {
            complain(&format!("error: standard output cannot be written: {}\n", why(&error)));
            Exit::Wrong
        }
    }
}

/// Writes `text` to standard error, as far as that goes.
pub(super) fn complain(text: &str) {
    let _ = io::stderr().lock().write_all(text.as_bytes());
}

/// A note on standard error.
pub(super) fn note(text: &str) {
    complain(&(wrapped(&format!("note: {}", visible(text)), message_width(), "      ") + "\n"));
}

/// Columns of a message, what stands before its rows aside: fewer on a narrow terminal.
pub(super) fn message_width() -> usize {
    let own = terminal_size::terminal_size_of(io::stderr());
    own.map_or(MESSAGE, |(terminal_size::Width(columns), _)| {
        usize::from(columns).clamp(WIDTHS.0, MESSAGE)
    })
}

const MESSAGE: usize = 90;

/// Rows of at most `width` columns, all but the first set in by `indent`.
pub(super) fn wrapped(text: &str, width: usize, indent: &str) -> String {
    rows(text.split(' '), width, "", indent).join("\n")
}

/// How far the work is, on standard error where that is a terminal.
pub(super) struct Progress {
    of: u64,
    shown: bool,
}

impl Progress {
    pub(super) fn new(of: u64) -> Self {
        Self { of, shown: io::stderr().is_terminal() }
    }

    #[allow(clippy::cast_precision_loss, reason = "per cent of builds")]
    pub(super) fn show(&self, done: u64) {
        if self.shown {
            let percent = 100.0 * done as f64 / self.of.max(1) as f64;
            complain(&format!(
                "\r  {percent:>3.0} % of {} builds (Ctrl-C shows what is done)",
                self.of
            ));
        }
    }

    pub(super) fn clear(&self) {
        if self.shown {
            complain("\r\x1b[2K");
        }
    }
}
