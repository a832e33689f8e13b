//! What all commands share: help, refusals, files that are whole or not there.

use std::fs;
use std::process::{Command, Stdio};

use crate::{names, run, run_in};

#[test]
fn help_names_every_command_and_each_shows_an_example() {
    let help = run(&["--help"]);
    assert_eq!(help.code, 0);
    for command in ["assumed", "balance", "cards", "class", "dock", "lineups", "polar", "score", "setup", "weigh"] {
        assert!(help.out.contains(&format!("\n  {command} ")), "{command}");
        assert!(run(&[command, "--help"]).out.contains(&format!("$ trimwright {command} ")), "{command}");
    }
    assert!(help.out.contains("who decides"));
}

#[test]
fn what_is_no_command_is_refused() {
    run(&["scores"]).refused(&["unrecognized subcommand", "score"]);
    run(&[]).refused(&["Usage"]);
}

#[test]
fn a_folder_where_a_file_belongs_is_told() {
    run(&["score", "data"]).refused(&["data: it is a folder; name a file in it"]);
    run(&["score", "data/series/example.toml", "--out", "data"]).refused(&["data: it is a folder; name a file in it"]);
}

#[test]
fn a_file_that_cannot_be_read_is_told() {
    run(&["score", "no/series.toml"]).refused(&["no/series.toml: it cannot be read; check the name and the folder"]);
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("noise"), [0xff; 100]).unwrap();
    run_in(folder.path(), &["score", "noise"]).refused(&["noise: it is not text in UTF-8: line 1"]);
}

#[test]
fn an_output_that_cannot_be_written_leaves_nothing() {
    let series = crate::project().join("data/series/example.toml");
    let folder = tempfile::tempdir().unwrap();
    let score = |out: &str| run_in(folder.path(), &["score", series.to_str().unwrap(), "--out", out]);
    score("none/a.csv").refused(&["none/a.csv: there is no folder none; make it first"]);
    score("..").refused(&["it is a folder"]);
    assert_eq!(names(folder.path()), Vec::<String>::new());
}

/// What stands there and is no file keeps being what it is: a link is written through, a pipe (and so a device) is written straight.
#[cfg(unix)]
#[test]
fn links_and_pipes_are_not_replaced() {
    let series = crate::project().join("data/series/example.toml");
    let folder = tempfile::tempdir().unwrap();
    let score = |out: &str| assert_eq!(run_in(folder.path(), &["score", series.to_str().unwrap(), "--out", out]).code, 0, "{out}");
    score("plain.csv");
    let plain = fs::read_to_string(folder.path().join("plain.csv")).unwrap();

    fs::write(folder.path().join("kept.csv"), "old").unwrap();
    std::os::unix::fs::symlink("kept.csv", folder.path().join("link.csv")).unwrap();
    score("link.csv");
    assert!(fs::symlink_metadata(folder.path().join("link.csv")).unwrap().is_symlink());
    assert_eq!(fs::read_to_string(folder.path().join("kept.csv")).unwrap(), plain);

    let pipe = folder.path().join("pipe.csv");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let end = pipe.clone();
    let reader = std::thread::spawn(move || fs::read_to_string(end).unwrap());
    score("pipe.csv");
    assert!(!fs::metadata(&pipe).unwrap().is_file());
    assert_eq!(reader.join().unwrap(), plain);
}

/// A reader that has seen enough is no error: neither a word nor a code tells of it.
#[test]
fn a_broken_pipe_is_silent() {
    let program = assert_cmd::cargo::cargo_bin("trimwright");
    let mut run = Command::new(program).args(["assumed", "--json"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(run.stdout.take());
    let done = run.wait_with_output().unwrap();
    assert_eq!((done.status.code(), done.stderr.as_slice()), (Some(0), &[][..]));
}

/// An interrupt while a file is open ends the program with the shells' code and leaves nothing of the file.
#[cfg(unix)]
#[test]
fn an_interrupt_leaves_no_file() {
    let folder = tempfile::tempdir().unwrap();
    // A pipe that nobody writes into holds the program after it has opened its output.
    assert!(Command::new("mkfifo").arg("series.toml").current_dir(folder.path()).status().unwrap().success());
    let program = assert_cmd::cargo::cargo_bin("trimwright");
    let mut run = Command::new(program);
    run.args(["score", "series.toml", "--out", "a.csv"]).current_dir(folder.path()).stdout(Stdio::null()).stderr(Stdio::piped());
    let run = run.spawn().unwrap();
    while names(folder.path()).len() < 2 {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    assert!(Command::new("kill").args(["-INT", &run.id().to_string()]).status().unwrap().success());
    let done = run.wait_with_output().unwrap();
    assert_eq!(done.status.code(), Some(130));
    assert!(String::from_utf8(done.stderr).unwrap().contains("stopped; nothing was written"));
    assert_eq!(names(folder.path()), ["series.toml"]);
}
