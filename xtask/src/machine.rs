//! What the check needs beside Rust: npm for the fonts, a PDF reader to look at the cards, a browser to look
//! at the pages. On Debian it is set up here when that is allowed; otherwise one line says what to install.

use std::env;
use std::process::{Command, Stdio};

use anyhow::{Result, bail};

/// A program the check starts, the argument that asks whether it is there, and the Debian packages that bring it.
const NEEDED: [(&str, &str, &[&str]); 5] = [
    ("git", "--version", &["git"]),
    ("npm", "--version", &["nodejs", "npm"]),
    ("pdftoppm", "-v", &["poppler-utils"]),
    ("chromium", "--version", &["chromium"]),
    ("chromedriver", "--version", &["chromium-driver"]),
];

/// Parts of the Rust toolchain that a minimal one lacks.
const COMPONENTS: [(&str, &str); 2] = [("fmt", "rustfmt"), ("clippy", "clippy")];

/// Sets the machine up, or says in one line what to install.
pub(crate) fn set_up() -> Result<()> {
    for (command, component) in COMPONENTS {
        if !starts("cargo", &[command, "--version"]) && !starts("rustup", &["component", "add", component]) {
            bail!("cargo {command} does not start: run `rustup component add {component}`");
        }
    }
    let missing = missing();
    if missing.is_empty() {
        return Ok(());
    }
    let line = format!("install what is missing: apt-get install {}", missing.join(" "));
    if !may_install() {
        bail!("{line}");
    }
    println!("setting up: apt-get install {}", missing.join(" "));
    let mut install = vec!["install", "--yes", "--no-install-recommends"];
    install.extend(&missing);
    if !(starts("apt-get", &["update"]) && starts("apt-get", &install)) {
        bail!("apt-get did not bring them; {line}");
    }
    Ok(())
}

/// The Debian packages that bring what is not there. A folder with the fonts makes npm needless.
fn missing() -> Vec<&'static str> {
    let has_fonts = env::var_os("TRIMWRIGHT_FONTS").is_some();
    let wanted = NEEDED.iter().filter(|(program, ..)| !(has_fonts && *program == "npm"));
    wanted.filter(|(program, asks, _)| !starts(program, &[asks])).flat_map(|(_, _, packages)| packages.iter().copied()).collect()
}

/// Whether packages may be installed here: as root, on Debian.
fn may_install() -> bool {
    let user = Command::new("id").arg("-u").output();
    user.is_ok_and(|id| id.stdout.trim_ascii() == b"0") && starts("apt-get", &["--version"])
}

/// Whether a program starts and ends well, without a word and without a question.
fn starts(program: &str, arguments: &[&str]) -> bool {
    let mut command = Command::new(program);
    command.args(arguments).env("DEBIAN_FRONTEND", "noninteractive");
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    command.status().is_ok_and(|status| status.success())
}
