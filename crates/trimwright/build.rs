//! Brings in the fonts the program embeds.
//!
//! No font is committed. They come from the packages that `assets/package-lock.json` pins by hash, fetched by `npm ci`
//! into the build directory; or from a folder named by the environment variable `TRIMWRIGHT_FONTS`.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

/// The faces the printed pages use: package, folder in the package, file.
const FACES: [(&str, &str, &str); 4] = [
    ("besley", "800ExtraBold", "Besley_800ExtraBold.ttf"),
    ("besley", "900Black", "Besley_900Black.ttf"),
    ("atkinson-hyperlegible-next", "400Regular", "AtkinsonHyperlegibleNext_400Regular.ttf"),
    ("atkinson-hyperlegible-next", "700Bold", "AtkinsonHyperlegibleNext_700Bold.ttf"),
];

/// The faces the pages use: package, file.
const WEB: [(&str, &str); 4] = [
    ("besley", "besley-latin-wght-normal.woff2"),
    ("besley", "besley-latin-ext-wght-normal.woff2"),
    ("atkinson-hyperlegible-next", "atkinson-hyperlegible-next-latin-wght-normal.woff2"),
    ("atkinson-hyperlegible-next", "atkinson-hyperlegible-next-latin-ext-wght-normal.woff2"),
];

/// The variable that names a folder holding these files.
const FOLDER: &str = "TRIMWRIGHT_FONTS";

fn main() {
    for watched in ["build.rs", "assets/package.json", "assets/package-lock.json"] {
        println!("cargo::rerun-if-changed={watched}");
    }
    println!("cargo::rerun-if-env-changed={FOLDER}");
    if let Err(message) = embed() {
        println!("cargo::error={message}");
    }
}

/// Writes `fonts.rs`, which includes every face by its full path.
fn embed() -> Result<(), String> {
    let out = PathBuf::from(env::var_os("OUT_DIR").ok_or("OUT_DIR is not set: build with cargo")?);
    let files = match env::var_os(FOLDER) {
        Some(folder) => given(Path::new(&folder))?,
        None => fetched(&out)?,
    };
    let (print, web) = files.split_at(FACES.len());
    let list = |files: &[PathBuf]| {
        let bytes: Vec<_> = files.iter().map(|file| format!("include_bytes!({:?})", file.display().to_string())).collect();
        format!("[&[u8]; {}] = [{}];\n", files.len(), bytes.join(", "))
    };
    let text = format!("/// The embedded faces.\npub(super) static FACES: {}", list(print));
    fs::write(out.join("fonts.rs"), text).map_err(|e| format!("cannot write fonts.rs: {e}"))?;
    let text = format!("/// The faces of the pages.\npub(super) static WEB: {}", list(web));
    fs::write(out.join("web_fonts.rs"), text).map_err(|e| format!("cannot write web_fonts.rs: {e}"))
}

/// The faces in a folder the builder named.
fn given(folder: &Path) -> Result<Vec<PathBuf>, String> {
    println!("cargo::rerun-if-changed={}", folder.display());
    FACES
        .iter()
        .map(|(_, _, file)| file)
        .chain(WEB.iter().map(|(_, file)| file))
        .map(|file| {
            let path = folder.join(file);
            let missing = || format!("{FOLDER} names {}, which has no {file}: put it there", folder.display());
            path.canonicalize().map_err(|_| missing())
        })
        .collect()
}

/// The faces from the locked packages, fetched once per lock file.
fn fetched(out: &Path) -> Result<Vec<PathBuf>, String> {
    let packages = out.join("npm");
    let files: Vec<PathBuf> = FACES
        .iter()
        .map(|(package, weight, file)| packages.join("node_modules/@expo-google-fonts").join(package).join(weight).join(file))
        .chain(WEB.iter().map(|(package, file)| packages.join("node_modules/@fontsource-variable").join(package).join("files").join(file)))
        .collect();
    let lock = fs::read("assets/package-lock.json").map_err(|e| format!("cannot read assets/package-lock.json: {e}"))?;
    // The copy is written after a fetch has succeeded, so it stands for a whole folder.
    let done = out.join("fetched.lock");
    if fs::read(&done).is_ok_and(|last| last == lock) && files.iter().all(|file| file.is_file()) {
        return Ok(files);
    }
    fs::create_dir_all(&packages).map_err(|e| format!("cannot make {}: {e}", packages.display()))?;
    for file in ["package.json", "package-lock.json"] {
        fs::copy(Path::new("assets").join(file), packages.join(file)).map_err(|e| format!("cannot copy assets/{file}: {e}"))?;
    }
    let hint = format!("install npm (Debian: apt-get install npm) or set {FOLDER} to a folder with the font files");
    let npm = Command::new("npm")
        .args(["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"])
        .current_dir(&packages)
        .output()
        .map_err(|_| format!("the fonts are missing and npm does not start: {hint}"))?;
    if !npm.status.success() {
        let said = String::from_utf8_lossy(&npm.stderr);
        return Err(format!("npm could not fetch the fonts ({}): {hint}", said.lines().next().unwrap_or("no reason given")));
    }
    if let Some(file) = files.iter().find(|file| !file.is_file()) {
        return Err(format!("npm fetched the fonts, but {} is not among them: {hint}", file.display()));
    }
    fs::write(&done, lock).map_err(|e| format!("cannot write {}: {e}", done.display()))?;
    Ok(files)
}
