//! Everything CI runs, on one optimised profile, with the minutes of each part.

use std::ffi::OsString;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use anyhow::{Context, Result, bail};
use clap::Args;

use crate::{examples, files, machine, walls};

/// The parts, in the order they run: the quick ones first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Part {
    /// Sets up what the machine lacks
    Machine,
    /// Every file is formatted
    Format,
    /// No crate uses one it may not
    Walls,
    /// Nothing of others, nothing of one machine is committed
    Files,
    /// No lint speaks
    Lints,
    /// The tests
    Tests,
    /// The documentation builds without a warning
    Documents,
    /// The examples in the program's help run
    Examples,
}

const ALL: [Part; 8] = [Part::Machine, Part::Format, Part::Walls, Part::Files, Part::Lints, Part::Tests, Part::Documents, Part::Examples];

/// How many of a part's checks passed, and how many did not.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Count {
    passed: usize,
    failed: usize,
}

/// Which parts to run.
#[derive(Debug, Args)]
pub(crate) struct Check {
    /// Only these parts
    parts: Vec<Part>,
}

impl Check {
    /// Runs the parts; a part that fails does not stop the next. True when all passed.
    pub(crate) fn run(&self, root: &Path) -> Result<bool> {
        let parts: &[Part] = if self.parts.is_empty() { &ALL } else { &self.parts };
        let mut rows = Vec::new();
        for &part in parts {
            println!("== {}", name(part));
            let begun = Instant::now();
            let count = part.run(root).unwrap_or_else(|error| {
                println!("{}: {error:#}", name(part));
                Count { passed: 0, failed: 1 }
            });
            rows.push((part, count, begun.elapsed()));
            // Without what the machine lacks the rest would only repeat it.
            if part == Part::Machine && count.failed > 0 {
                break;
            }
        }
        let sum = report(&rows);
        Ok(sum.failed == 0)
    }
}

/// Prints minutes and counts per part, and the sum in a line of its own at the end.
fn report(rows: &[(Part, Count, Duration)]) -> Count {
    let mut sum = Count::default();
    let mut whole = Duration::ZERO;
    println!("\n{:<10} {:>8} {:>8} {:>8}", "part", "minutes", "passed", "failed");
    for (part, count, time) in rows {
        println!("{:<10} {:>8.2} {:>8} {:>8}", name(*part), time.as_secs_f64() / 60.0, count.passed, count.failed);
        sum = Count { passed: sum.passed + count.passed, failed: sum.failed + count.failed };
        whole += *time;
    }
    println!("{:<10} {:>8.2}", "all", whole.as_secs_f64() / 60.0);
    println!("{} passed, {} failed", sum.passed, sum.failed);
    sum
}

fn name(part: Part) -> &'static str {
    match part {
        Part::Machine => "machine",
        Part::Format => "format",
        Part::Walls => "walls",
        Part::Files => "files",
        Part::Lints => "lints",
        Part::Tests => "tests",
        Part::Documents => "documents",
        Part::Examples => "examples",
    }
}

impl Part {
    fn run(self, root: &Path) -> Result<Count> {
        match self {
            Self::Machine => machine::set_up().map(|()| Count { passed: 1, failed: 0 }),
            Self::Format => cargo(root, &["fmt", "--all", "--check"], &[]),
            Self::Walls => told(walls::breaches(root)?),
            Self::Files => told(files::strangers(root)?),
            Self::Lints => {
                cargo(root, &["clippy", "--profile", "ci", "--workspace", "--all-targets", "--locked", "--", "-D", "warnings"], &[])
            }
            Self::Tests => tests(root),
            Self::Documents => {
                let warnings = [("RUSTDOCFLAGS", "-D warnings")];
                cargo(root, &["doc", "--profile", "ci", "--workspace", "--no-deps", "--locked"], &warnings)
            }
            Self::Examples => run_examples(root),
        }
    }
}

/// One check, failed with its reasons printed if there are any.
fn told(reasons: Vec<String>) -> Result<Count> {
    for reason in &reasons {
        println!("{reason}");
    }
    Ok(if reasons.is_empty() { Count { passed: 1, failed: 0 } } else { Count { passed: 0, failed: reasons.len() } })
}

/// Cargo itself, as it was called.
fn cargo_command(root: &Path) -> Command {
    let mut command = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| OsString::from("cargo")));
    command.current_dir(root).stdin(Stdio::null()).env("INSTA_UPDATE", "no");
    command
}

/// One cargo command as one check.
fn cargo(root: &Path, arguments: &[&str], environment: &[(&str, &str)]) -> Result<Count> {
    let status = cargo_command(root).args(arguments).envs(environment.iter().copied()).status().context("cargo does not start")?;
    Ok(if status.success() { Count { passed: 1, failed: 0 } } else { Count { passed: 0, failed: 1 } })
}

/// All tests, counted from what the test programs say.
fn tests(root: &Path) -> Result<Count> {
    let arguments = ["test", "--profile", "ci", "--workspace", "--no-fail-fast", "--locked"];
    let mut run = cargo_command(root).args(arguments).stdout(Stdio::piped()).spawn().context("cargo does not start")?;
    let mut count = Count::default();
    for line in BufReader::new(run.stdout.take().context("cargo says nothing")?).lines() {
        let line = line?;
        println!("{line}");
        let more = counted(&line);
        count = Count { passed: count.passed + more.passed, failed: count.failed + more.failed };
    }
    let status = run.wait()?;
    if count.passed == 0 {
        bail!("no test ran");
    }
    // A test program that dies without a count is a failure too.
    if !status.success() && count.failed == 0 {
        count.failed = 1;
    }
    Ok(count)
}

/// The counts in a line like "test result: ok. 3 passed; 0 failed; ...", none in any other.
fn counted(line: &str) -> Count {
    let Some(rest) = line.strip_prefix("test result: ") else { return Count::default() };
    let number = |word: &str| {
        let part = rest.split([';', '.']).find(|part| part.trim().ends_with(word));
        part.and_then(|part| part.split_whitespace().next()).and_then(|n| n.parse().ok()).unwrap_or(0)
    };
    Count { passed: number("passed"), failed: number("failed") }
}

/// Builds the program and runs the examples of its help.
fn run_examples(root: &Path) -> Result<Count> {
    // Asked for as the tests ask for it: another choice of packages is another choice of their dependencies' features, and the
    // typesetter and all below it would be compiled a second time.
    let built = cargo(root, &["test", "--profile", "ci", "--workspace", "--no-run", "--locked"], &[])?;
    if built.failed > 0 {
        bail!("the program does not build");
    }
    // This task was built beside the program, on the same profile.
    let program = std::env::current_exe()?.with_file_name(format!("trimwright{}", std::env::consts::EXE_SUFFIX));
    let (ran, failures) = examples::failures(root, &program)?;
    for failure in &failures {
        println!("{failure}");
    }
    Ok(Count { passed: ran - failures.len(), failed: failures.len() })
}

#[cfg(test)]
mod tests_of_counting {
    use super::*;

    #[test]
    fn counts_are_read_from_what_tests_say() {
        let line = "test result: FAILED. 12 passed; 3 failed; 0 ignored; 0 measured; 0 filtered out; finished in 0.02s";
        assert_eq!(counted(line), Count { passed: 12, failed: 3 });
        assert_eq!(counted("test passes ... ok"), Count::default());
    }
}
