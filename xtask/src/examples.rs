//! Runs the examples that the program's help shows, so that none of them is stale.

use std::collections::BTreeSet;
use std::env;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

use anyhow::{Context, Result, bail};

/// What begins a line of an example in the help.
const PROMPT: &str = "$ trimwright ";
/// Commands that go on until they are stopped.
const SERVING: [&str; 2] = ["serve", "demo"];

/// Runs every example of every command from the top folder, writing into a folder of its own. Gives how many ran and what failed.
pub(crate) fn failures(root: &Path, program: &Path) -> Result<(usize, Vec<String>)> {
    let folder = env::temp_dir().join(format!("trimwright-examples-{}", std::process::id()));
    fs::create_dir_all(&folder).context("cannot make a folder for the examples")?;
    // The folder is inside out: the project's data is linked in, what the examples write stays out of the project.
    for name in ["data", "docs"] {
        link(&root.join(name), &folder.join(name))?;
    }
    let mut failures = Vec::new();
    let examples = examples(root, program)?;
    for example in &examples {
        let mut command = Command::new(program);
        command.args(example.split_whitespace()).current_dir(&folder).stdin(Stdio::null());
        if SERVING.iter().any(|name| example.split_whitespace().next() == Some(name)) {
            if !serves(command)? {
                failures.push(format!("trimwright {example}: it told no address"));
            }
            continue;
        }
        let run = command.output()?;
        if !run.status.success() {
            failures.push(format!("trimwright {example}: {}", String::from_utf8_lossy(&run.stderr).trim()));
        }
    }
    fs::remove_dir_all(&folder).context("cannot remove the folder of the examples")?;
    Ok((examples.len(), failures))
}

/// Whether a command that serves until it is stopped tells its address; then it is stopped.
fn serves(mut command: Command) -> Result<bool> {
    let mut child = command.args(["--port", "0"]).stdout(Stdio::piped()).spawn()?;
    let mut line = String::new();
    if let Some(out) = child.stdout.take() {
        BufReader::new(out).read_line(&mut line)?;
    }
    child.kill()?;
    child.wait()?;
    Ok(line.contains("http://"))
}

#[cfg(unix)]
fn link(from: &Path, to: &Path) -> Result<()> {
    std::os::unix::fs::symlink(from, to).with_context(|| format!("cannot link {}", to.display()))
}

#[cfg(not(unix))]
fn link(_: &Path, _: &Path) -> Result<()> {
    bail!("the examples run on Unix only")
}

/// The examples in the help of every command; a command without one is an error.
fn examples(root: &Path, program: &Path) -> Result<Vec<String>> {
    let help = |arguments: &[&str]| -> Result<String> {
        let run = Command::new(program).args(arguments).current_dir(root).stdin(Stdio::null()).output();
        let run = run.with_context(|| format!("{} does not start", program.display()))?;
        Ok(String::from_utf8_lossy(&run.stdout).into_owned())
    };
    let mut examples = Vec::new();
    for command in commands(&help(&["--help"])?) {
        let text = help(&[&command, "--help"])?;
        let found = in_help(&text);
        if found.is_empty() {
            bail!("the help of `trimwright {command}` shows no example: add one");
        }
        examples.extend(found);
    }
    if examples.is_empty() {
        bail!("the help lists no command");
    }
    Ok(examples)
}

/// The commands a help page lists.
fn commands(help: &str) -> BTreeSet<String> {
    let rows = help.lines().skip_while(|line| line.trim() != "Commands:").skip(1).take_while(|line| !line.trim().is_empty());
    let names = rows.filter(|line| line.starts_with("  ") && !line.starts_with("   ")).filter_map(|line| line.split_whitespace().next());
    names.filter(|name| *name != "help").map(str::to_owned).collect()
}

/// The examples of one help page, without the program's name.
fn in_help(help: &str) -> Vec<String> {
    help.lines().filter_map(|line| line.trim().strip_prefix(PROMPT)).map(str::to_owned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn help_is_read() {
        let page = "Does things.\n\nUsage: x\n\nCommands:\n  class    Checks\n           more of it\n  assumed  Lists\n  help     Helps\n\nOptions:\n  -h\n";
        assert_eq!(commands(page).into_iter().collect::<Vec<_>>(), ["assumed", "class"]);
        assert_eq!(in_help("Example:\n  $ trimwright assumed --json\n"), ["assumed --json"]);
    }
}
