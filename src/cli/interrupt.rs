//! Ctrl-C: the program ends and leaves no half of a file behind, or shows what is done so far.

use std::process;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::handover;

/// Work is under way that can be shown half done.
static CAN_SHOW: AtomicBool = AtomicBool::new(false);

static STOP: AtomicBool = AtomicBool::new(false);

/// What shells show of a program ended by Ctrl-C.
const ENDED: i32 = 130;

/// From now on Ctrl-C is heard.
pub(super) fn listen() {
    // Without a handler Ctrl-C ends the program at once; a file that is being written then stays half done beside its place.
    let _ = ctrlc::set_handler(|| {
        if CAN_SHOW.load(Ordering::Relaxed) && !STOP.swap(true, Ordering::Relaxed) {
            return;
        }
        handover::remove_unfinished();
        process::exit(ENDED);
    });
}

/// From now on Ctrl-C asks to show what is done; a second one ends the program.
pub(super) fn shows_what_is_done() {
    CAN_SHOW.store(true, Ordering::Relaxed);
}

/// Was it pressed?
pub(super) fn is_stopped() -> bool {
    STOP.load(Ordering::Relaxed)
}
