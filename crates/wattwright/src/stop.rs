//! Ctrl-C: the first one is heard at the next look, so that no half-written file stays; the second ends at once.

use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Hears Ctrl-C from now on, and shows how far a long run is.
pub(crate) struct Stop {
    heard: Arc<AtomicBool>,
    shows: bool,
    shown: Option<u32>,
}

impl Stop {
    /// From now on. Where the system does not let us hear it, Ctrl-C ends at once as it always does.
    pub fn listen() -> Self {
        let heard = Arc::new(AtomicBool::new(false));
        // a second one finds the flag set and ends the program
        let _ =
            signal_hook::flag::register_conditional_shutdown(signal_hook::consts::SIGINT, 130, heard.clone());
        let _ = signal_hook::flag::register(signal_hook::consts::SIGINT, heard.clone());
        Self { heard, shows: std::io::stderr().is_terminal(), shown: None }
    }

    /// Whether to go on; `done` is the share that is done.
    pub fn go_on(&mut self, done: f64) -> bool {
        let percent = (100.0 * done.clamp(0.0, 1.0)) as u32;
        if self.shows && self.shown != Some(percent) {
            let _ = write!(std::io::stderr(), "\r{percent:>3} %");
            self.shown = Some(percent);
        }
        !self.heard.load(Ordering::Relaxed)
    }

    /// Takes the share off the terminal.
    pub fn finish(&mut self) {
        if self.shown.take().is_some() {
            let _ = write!(std::io::stderr(), "\r      \r");
        }
    }
}
