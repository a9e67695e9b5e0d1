//! `unloop loads DESIGN`

use crate::report;
use crate::study;

use super::arguments::LoadsArguments;
use super::exit::Exit;
use super::{designs, not_built, terminal};

pub(super) fn run(arguments: &LoadsArguments) -> Exit {
    if arguments.plot.is_some() {
        return not_built::say("--plot");
    }
    let Some(design) = designs::read(&arguments.design) else { return Exit::Wrong };
    match study::loads(&design) {
        Ok(found) if arguments.json => {
            let text =
                report::loads_json(&found).map_or_else(|_| String::new(), |v| format!("{v:#}\n"));
            terminal::print(&text, Exit::Done)
        }
        Ok(found) => {
            terminal::print(&report::loads_text(&found, terminal::output_style()), Exit::Done)
        }
        Err(faults) => {
            designs::show_faults(&design, &faults);
            Exit::Wrong
        }
    }
}
