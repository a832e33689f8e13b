//! What others install: a release build with its manual pages, what shells need, a desktop entry and the documents, as an archive that runs
//! from any folder and as a Debian package; with the time the build took, the size, and a list of hashes.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use anyhow::{Context, Result, bail, ensure};

/// Shells whose completions are packed: name, and where Debian looks for the file.
const SHELLS: [(&str, &str); 3] = [
    ("bash", "usr/share/bash-completion/completions/trimwright"),
    ("zsh", "usr/share/zsh/vendor-completions/_trimwright"),
    ("fish", "usr/share/fish/vendor_completions.d/trimwright.fish"),
];
/// Texts beside the program.
const TEXTS: [&str; 5] = ["README.md", "CHANGELOG.md", "DESIGN.md", "LICENSE-MIT", "LICENSE-APACHE"];
/// How a file, and how a program, may be read by others.
const MODES: [&str; 2] = ["u=rw,go=r", "u=rwx,go=rx"];

/// Builds the program and packs it, into `target/dist`.
pub(crate) fn packages(root: &Path) -> Result<()> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let begun = Instant::now();
    let mut build = Command::new(cargo);
    build.args(["build", "--release", "--locked", "--package", "trimwright", "--manifest-path"]).arg(root.join("Cargo.toml"));
    done(&mut build)?;
    let took = begun.elapsed().as_secs();
    let target = std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from);
    let program = target.join("release/trimwright");
    let version = said(Command::new(&program).arg("--version"))?;
    let version = version.trim().rsplit(' ').next().unwrap_or_default().to_owned();
    let out = target.join("dist");
    if out.exists() {
        fs::remove_dir_all(&out).context("cannot clear the folder of the last packages")?;
    }
    fs::create_dir_all(&out)?;
    let name = format!("trimwright-{version}-{}-{}", std::env::consts::OS, std::env::consts::ARCH);
    let made = [archive(root, &program, &out, &name)?, debian(root, &program, &out, &version)?];
    println!("built in {took} s, {} bytes", fs::metadata(&program)?.len());
    for file in &made {
        println!("{}: {} bytes", file.display(), fs::metadata(file)?.len());
    }
    let names = made.iter().filter_map(|file| file.file_name());
    let hashes = said(Command::new("sha256sum").args(names).current_dir(&out))?;
    fs::write(out.join("SHA256SUMS"), &hashes)?;
    print!("{hashes}");
    Ok(())
}

/// The archive: everything below one folder, the program beside its texts.
fn archive(root: &Path, program: &Path, out: &Path, name: &str) -> Result<PathBuf> {
    let top = out.join(name);
    fs::create_dir_all(&top)?;
    put(program, &top.join("trimwright"), true)?;
    texts(root, &top)?;
    done(Command::new(program).arg("manual").arg(top.join("man")))?;
    for (shell, _) in SHELLS {
        written(&top.join("completions").join(shell), &said(Command::new(program).args(["completions", shell]))?)?;
    }
    put(&root.join("packaging/trimwright.svg"), &top.join("trimwright.svg"), false)?;
    let file = out.join(format!("{name}.tar.gz"));
    // The same files give the same archive: in order of name, of one age, nobody's.
    let mut tar = Command::new("tar");
    tar.args(["--sort=name", "--owner=0", "--group=0", "--numeric-owner", "--mtime", &age(root)?, "-C"]).arg(out);
    done(tar.args(["-I", "gzip -n -9", "-cf"]).arg(&file).arg(name))?;
    fs::remove_dir_all(&top)?;
    Ok(file)
}

/// The Debian package.
fn debian(root: &Path, program: &Path, out: &Path, version: &str) -> Result<PathBuf> {
    let top = out.join("debian");
    put(program, &top.join("usr/bin/trimwright"), true)?;
    let doc = top.join("usr/share/doc/trimwright");
    texts(root, &doc)?;
    let manual = top.join("usr/share/man/man1");
    done(Command::new(program).arg("manual").arg(&manual))?;
    for page in fs::read_dir(&manual)? {
        done(Command::new("gzip").args(["-n", "-9"]).arg(page?.path()))?;
    }
    for (shell, place) in SHELLS {
        written(&top.join(place), &said(Command::new(program).args(["completions", shell]))?)?;
    }
    put(&root.join("packaging/trimwright.desktop"), &top.join("usr/share/applications/trimwright.desktop"), false)?;
    put(&root.join("packaging/trimwright.svg"), &top.join("usr/share/icons/hicolor/scalable/apps/trimwright.svg"), false)?;
    let kilobytes = said(Command::new("du").args(["-sk", "--apparent-size"]).arg(&top))?;
    let kilobytes = kilobytes.split_whitespace().next().unwrap_or("0").to_owned();
    let architecture = said(Command::new("dpkg").arg("--print-architecture")).context("a Debian package is made on Debian")?;
    let architecture = architecture.trim();
    let control = format!(
        "Package: trimwright\nVersion: {version}\nArchitecture: {architecture}\nMaintainer: the founders of Trimwright <none@invalid>\nInstalled-Size: {kilobytes}\n\
         Depends: libc6 (>= {}), libgcc-s1\nSection: science\nPriority: optional\nDescription: rig, trim and sail small single-handed dinghies\n \
         For a coach of children: the rig of the day in centimetres and hands, what the\n recorders of an outing kept, races scored. Its answers are for the coach, who\n decides. \
         It opens no connection and sends nothing anywhere.\n",
        least_libc(program)?
    );
    written(&top.join("DEBIAN/control"), &control)?;
    let file = out.join(format!("trimwright_{version}_{architecture}.deb"));
    done(
        Command::new("dpkg-deb")
            .env("SOURCE_DATE_EPOCH", age(root)?.trim_start_matches('@'))
            .args(["--root-owner-group", "--build"])
            .arg(&top)
            .arg(&file),
    )?;
    fs::remove_dir_all(&top)?;
    Ok(file)
}

/// The texts, and the documents they name.
fn texts(root: &Path, to: &Path) -> Result<()> {
    for text in TEXTS {
        put(&root.join(text), &to.join(text), false)?;
    }
    folder(&root.join("docs"), &to.join("docs"))
}

/// A folder with all in it.
fn folder(from: &Path, to: &Path) -> Result<()> {
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        let to = to.join(entry.file_name());
        if entry.file_type()?.is_dir() { folder(&entry.path(), &to)? } else { put(&entry.path(), &to, false)? }
    }
    Ok(())
}

fn put(from: &Path, to: &Path, runs: bool) -> Result<()> {
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder)?;
    }
    fs::copy(from, to).with_context(|| format!("cannot copy {}", from.display()))?;
    done(Command::new("chmod").arg(MODES[usize::from(runs)]).arg(to))
}

fn written(to: &Path, text: &str) -> Result<()> {
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder)?;
    }
    fs::write(to, text)?;
    done(Command::new("chmod").arg(MODES[0]).arg(to))
}

/// When the last change was committed, as `tar` takes it: packages of one state of the project are of one age.
fn age(root: &Path) -> Result<String> {
    Ok(format!("@{}", said(Command::new("git").args(["log", "-1", "--format=%ct"]).current_dir(root))?.trim()))
}

/// The oldest C library the program runs on: the newest version that it names.
fn least_libc(program: &Path) -> Result<String> {
    const NAME: &[u8] = b"GLIBC_2.";
    let bytes = fs::read(program)?;
    let named = bytes.windows(NAME.len() + 2).filter(|w| w.starts_with(NAME)).filter_map(|w| {
        let digits =
            w[NAME.len()..].iter().take_while(|b| b.is_ascii_digit()).fold(String::new(), |text, b| text + &char::from(*b).to_string());
        digits.parse::<u32>().ok()
    });
    let newest = named.max().context("the program names no C library: is it linked otherwise?")?;
    Ok(format!("2.{newest}"))
}

/// Runs a program to its good end.
fn done(command: &mut Command) -> Result<()> {
    let status = command.status().with_context(|| format!("{} does not start", command.get_program().display()))?;
    ensure!(status.success(), "{} ended with {status}", command.get_program().display());
    Ok(())
}

/// What a program prints.
fn said(command: &mut Command) -> Result<String> {
    let output = command.output().with_context(|| format!("{} does not start", command.get_program().display()))?;
    if !output.status.success() {
        bail!("{} ended with {}: {}", command.get_program().display(), output.status, String::from_utf8_lossy(&output.stderr).trim());
    }
    Ok(String::from_utf8(output.stdout)?)
}
