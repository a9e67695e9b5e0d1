//! `unloop manual [--dir FOLDER]`: the manual in roff, generated from the arguments.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use clap::{Args, Command, CommandFactory as _};
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};

use crate::diagnostic::{visible_path, why};
use crate::handover;

use crate::cli::arguments::Arguments;
use crate::cli::exit::Exit;
use crate::cli::terminal;

/// The manual as a man page on standard output.
///
/// All commands are on one page; with --dir each has a page of its own.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop manual > unloop.1 && man ./unloop.1")]
pub(in crate::cli) struct ManualArguments {
    /// Write unloop.1 and a page for each command into this folder, made where it is missing
    #[arg(long, value_name = "FOLDER")]
    dir: Option<PathBuf>,
    /// Overwrite existing files
    #[arg(long, requires = "dir")]
    force: bool,
}

pub(in crate::cli) fn run(arguments: &ManualArguments) -> Exit {
    let Ok(pages) = pages() else {
        terminal::complain("error: the manual cannot be set\n");
        return Exit::Wrong;
    };
    match &arguments.dir {
        Some(folder) => write(folder, &pages.each, arguments.force),
        None => terminal::print(&pages.one, Exit::Done),
    }
}

fn write(folder: &Path, pages: &[(String, String)], force: bool) -> Exit {
    if let Err(error) = fs::create_dir_all(folder) {
        let (folder, why) = (visible_path(folder), why(&error));
        terminal::complain(&format!("error: {folder} cannot be made: {why}\n"));
        return Exit::Wrong;
    }
    let paths: Vec<PathBuf> = pages.iter().map(|(name, _)| folder.join(name)).collect();
    let files: Vec<(&Path, &str)> =
        paths.iter().zip(pages).map(|(path, page)| (path.as_path(), page.1.as_str())).collect();
    match handover::write_texts(&files, force) {
        Ok(()) => {
            for path in &paths {
                terminal::complain(&format!("wrote {}\n", visible_path(path)));
            }
            Exit::Done
        }
        Err(fault) => {
            terminal::complain(&format!("error: {fault}\n"));
            Exit::Wrong
        }
    }
}

/// The manual in both forms.
struct Pages {
    /// All on one page.
    one: String,
    /// File name and text of a page for the program and for each command.
    each: Vec<(String, String)>,
}

fn pages() -> io::Result<Pages> {
    let mut program = Arguments::command().disable_help_subcommand(true);
    program.build();
    let commands: Vec<Command> =
        program.get_subcommands().filter(|command| !command.is_hide_set()).cloned().collect();
    let mut one = head(&program)?;
    let mut each = vec![("unloop.1".to_owned(), page(&program)?)];
    for command in &commands {
        one.push_str(&chapter(command)?);
        each.push((format!("unloop-{}.1", command.get_name()), page(command)?));
    }
    one.push_str(&foot()?);
    Ok(Pages { one, each })
}

/// How one part of a page is set.
type Part = fn(&Man, &mut dyn io::Write) -> io::Result<()>;

fn set(man: &Man, parts: &[Part]) -> io::Result<String> {
    let mut out = Vec::new();
    for part in parts {
        part(man, &mut out)?;
    }
    Ok(String::from_utf8_lossy(&out).into_owned())
}

fn man(command: &Command) -> Man {
    let source = format!("unloop {}", env!("CARGO_PKG_VERSION"));
    Man::new(command.clone()).source(source).manual("unloop")
}

fn head(program: &Command) -> io::Result<String> {
    set(
        &man(program),
        &[
            Man::render_title,
            Man::render_name_section,
            Man::render_synopsis_section,
            Man::render_description_section,
            Man::render_options_section,
        ],
    )
}

/// A page of its own.
fn page(command: &Command) -> io::Result<String> {
    let man = man(command);
    let mut text = head(command)?;
    if command.has_subcommands() {
        text.push_str(&set(&man, &[Man::render_subcommands_section])?);
    }
    text.push_str(&set(&man, &[Man::render_extra_section])?.replace(".SH EXTRA", ".SH EXAMPLES"));
    Ok(text + &foot()?)
}

/// A command's section of the one page: its own headings fall away.
fn chapter(command: &Command) -> io::Result<String> {
    let parts: [Part; 4] = [
        Man::render_synopsis_section,
        Man::render_description_section,
        Man::render_options_section,
        Man::render_extra_section,
    ];
    let text = set(&man(command), &parts)?;
    let paragraphs = text.lines().map(|line| if line.starts_with(".SH ") { ".PP" } else { line });
    let heading = command.get_name().to_uppercase();
    Ok(format!(".SH {heading}\n{}\n", paragraphs.collect::<Vec<_>>().join("\n")))
}

/// What the exit status answers.
const STATUS: [(&str, &str); 4] = [
    ("0", "shown equivalent, or done"),
    ("1", "not equivalent, or refused because of it"),
    ("2", "the input or the call is wrong"),
    ("3", "undecided"),
];

/// What the program looks at besides its arguments.
const ENVIRONMENT: [(&str, &str); 3] = [
    ("NO_COLOR", "not empty: no colours"),
    ("TERM", "dumb: no colours"),
    ("LC_ALL, LC_CTYPE, LANG", "the first that is set decides: UTF-8, or ASCII alone"),
];

fn foot() -> io::Result<String> {
    let mut roff = Roff::new();
    for (heading, rows) in [("EXIT STATUS", &STATUS[..]), ("ENVIRONMENT", &ENVIRONMENT)] {
        roff.control("SH", [heading]);
        for (word, meaning) in rows {
            roff.control("TP", []);
            roff.text([bold(*word)]);
            roff.text([roman(*meaning)]);
        }
    }
    let mut out = Vec::new();
    roff.to_writer(&mut out)?;
    Ok(String::from_utf8_lossy(&out).into_owned())
}
