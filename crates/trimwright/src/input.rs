//! What comes into the program: files named on the command line.

use std::fs::{self, File};
use std::io::Read;
use std::path::Path;

use anyhow::{Context, Result, anyhow, bail};

/// The largest file people write by hand that is read, bytes. Assumed.
const LARGEST: u64 = 16 << 20;

/// Opens a file for reading; a folder where a file belongs is told as such.
pub(crate) fn open(path: &Path) -> Result<File> {
    let about = fs::metadata(path).with_context(|| format!("{}: it cannot be read; check the name and the folder", path.display()))?;
    if about.is_dir() {
        bail!("{}: it is a folder; name a file in it", path.display());
    }
    File::open(path).with_context(|| format!("{}: it cannot be opened", path.display()))
}

/// The bytes of a file that people write.
pub(crate) fn bytes(path: &Path) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    open(path)?.take(LARGEST + 1).read_to_end(&mut bytes).with_context(|| format!("{}: it cannot be read", path.display()))?;
    if bytes.len() as u64 > LARGEST {
        bail!("{}: it is larger than {} MB, so nobody wrote it by hand; is it another file?", path.display(), LARGEST >> 20);
    }
    Ok(bytes)
}

/// The text of a file that people write.
pub(crate) fn text(path: &Path) -> Result<String> {
    squad::text::of(&bytes(path)?).map_err(|why| anyhow!("{}: {why}", path.display()))
}
