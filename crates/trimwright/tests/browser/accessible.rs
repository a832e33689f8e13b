//! An accessibility engine reads a page. It comes from npm by a committed lock file, as the fonts do; or the environment variable
//! `TRIMWRIGHT_AXE` names its file.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::*;

/// The engine's text.
pub(crate) fn engine() -> String {
    if let Some(named) = std::env::var_os("TRIMWRIGHT_AXE") {
        return std::fs::read_to_string(named).unwrap();
    }
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser");
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("axe");
    let (file, done) = (folder.join("node_modules/axe-core/axe.min.js"), folder.join("fetched.lock"));
    let lock = std::fs::read(from.join("package-lock.json")).unwrap();
    // The copy is written after a fetch has succeeded, so it stands for a whole folder.
    if !std::fs::read(&done).is_ok_and(|last| last == lock) {
        std::fs::create_dir_all(&folder).unwrap();
        for name in ["package.json", "package-lock.json"] {
            std::fs::copy(from.join(name), folder.join(name)).unwrap();
        }
        let mut npm = Command::new("npm");
        npm.args(["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error"]).current_dir(&folder);
        assert!(npm.status().is_ok_and(|status| status.success()), "npm could not fetch axe-core: install npm or set TRIMWRIGHT_AXE");
        std::fs::write(&done, lock).unwrap();
    }
    std::fs::read_to_string(file).unwrap()
}

/// What stands in a reader's way on the page that is open, in the theme that is shown.
pub(crate) fn violations(browser: &Browser, engine: &str) -> Vec<String> {
    let ask = format!(
        "const done = arguments[arguments.length - 1]; if (!window.axe) {{ {engine} }}; window.axe.run({{ resultTypes: ['violations'] }}).then((r) => done([r.passes.length, \
         r.violations.map((v) => v.impact + ' ' + v.id + ' ' + v.nodes[0].html.slice(0, 160))]))"
    );
    let said = browser.wait(&ask);
    // An engine that checked nothing would find nothing.
    assert!(said[0].as_u64().unwrap() > 10, "{said}");
    said[1].as_array().unwrap().iter().map(|v| v.as_str().unwrap().to_owned()).collect()
}
