//! The program, run from the project's root as a user runs it.

use assert_cmd::assert::Assert;

pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_unloop");

pub(crate) fn unloop(arguments: &[&str]) -> assert_cmd::Command {
    let mut command = assert_cmd::Command::new(PROGRAM);
    command.args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).env("LC_ALL", "C.UTF-8");
    command.env_remove("COLUMNS");
    command
}

pub(crate) fn run(arguments: &[&str]) -> Assert {
    unloop(arguments).assert()
}

pub(crate) fn output(assert: &Assert) -> String {
    String::from_utf8(assert.get_output().stdout.clone()).unwrap()
}

pub(crate) fn errors(assert: &Assert) -> String {
    String::from_utf8(assert.get_output().stderr.clone()).unwrap()
}
