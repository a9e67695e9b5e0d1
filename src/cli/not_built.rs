//! What the contract names and this version does not have yet.

use super::exit::Exit;
use super::terminal;

/// Says that `what` is not built yet.
pub(super) fn say(what: &str) -> Exit {
    terminal::complain(&format!("error: `{what}` is not built yet in this version of unloop\n"));
    Exit::Wrong
}
