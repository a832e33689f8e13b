//! The text of a file that people write: UTF-8, or UTF-16 where that is beyond doubt. What is neither is told in words that say where it is
//! and how it is mended; a code page is not guessed, since half of a name would be wrong and nobody would see it.

/// How much of a word is shown.
const SHOWN: usize = 24;

/// The text of these bytes, without a byte order mark.
///
/// # Errors
/// Why it cannot be read and what to do, to stand after the file's name. No message holds a figure of the file.
pub fn of(bytes: &[u8]) -> Result<String, String> {
    let save = "save it again as UTF-8: in a spreadsheet choose \"CSV UTF-8\", in a text editor the encoding UTF-8";
    match bytes {
        [b'P', b'K', 3 | 5 | 7, ..] | [0xD0, 0xCF, 0x11, 0xE0, ..] => {
            return Err(
                "it is a spreadsheet's own file or an archive and not text; open it there and save the sheet as \"CSV UTF-8\"".to_owned()
            );
        }
        [b'%', b'P', b'D', b'F', ..] => {
            return Err("it is a PDF and not text; bring the table it was made of, saved as \"CSV UTF-8\"".to_owned());
        }
        [0xFF, 0xFE, rest @ ..] => {
            return wide(rest, u16::from_le_bytes).ok_or_else(|| format!("it begins as UTF-16 and is not whole; {save}"));
        }
        [0xFE, 0xFF, rest @ ..] => {
            return wide(rest, u16::from_be_bytes).ok_or_else(|| format!("it begins as UTF-16 and is not whole; {save}"));
        }
        _ => {}
    }
    if let Some(text) = plain(bytes, 1).and_then(|()| wide(bytes, u16::from_le_bytes)) {
        return Ok(text);
    }
    if let Some(text) = plain(bytes, 0).and_then(|()| wide(bytes, u16::from_be_bytes)) {
        return Ok(text);
    }
    if bytes.iter().any(|b| *b < b' ' && !b.is_ascii_whitespace()) {
        return Err("it is not text; bring TOML or CSV, saved as UTF-8".to_owned());
    }
    match core::str::from_utf8(bytes) {
        Ok(text) => Ok(text.trim_start_matches('\u{feff}').to_owned()),
        Err(error) => {
            let (before, after) = bytes.split_at(error.valid_up_to());
            let line = before.iter().filter(|b| **b == b'\n').count() + 1;
            let part = |b: &&u8| b.is_ascii_alphabetic() || !b.is_ascii();
            let from = before.len() - before.iter().rev().take_while(part).take(SHOWN).count();
            let to = before.len() + after.iter().take_while(part).take(SHOWN).count();
            let word = String::from_utf8_lossy(bytes.get(from..to).unwrap_or_default());
            Err(format!(
                "it is not text in UTF-8: line {line}, \"{word}\" has a letter of another code page, as when a spreadsheet saves plain CSV (Windows-1252); {save}"
            ))
        }
    }
}

/// Whether every second byte, from this one, is zero and no other is: plain letters as UTF-16 without a mark.
fn plain(bytes: &[u8], zero: usize) -> Option<()> {
    let fits = bytes.len() >= 4 && bytes.len().is_multiple_of(2) && bytes.iter().enumerate().all(|(at, b)| (*b == 0) == (at % 2 == zero));
    fits.then_some(())
}

/// UTF-16, if all of it is.
fn wide(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Option<String> {
    let pairs = bytes.chunks_exact(2);
    if !pairs.remainder().is_empty() {
        return None;
    }
    let units = pairs.filter_map(|pair| pair.try_into().ok().map(unit));
    char::decode_utf16(units).collect::<Result<String, _>>().ok().filter(|text| !text.contains('\0'))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utf16(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
        text.encode_utf16().flat_map(bytes).collect()
    }

    #[test]
    fn what_is_beyond_doubt_is_read() {
        let text = "boat,R1\nJörg's,1\n";
        assert_eq!(of(text.as_bytes()).as_deref(), Ok(text));
        assert_eq!(of(format!("\u{feff}{text}").as_bytes()).as_deref(), Ok(text));
        assert_eq!(of(&utf16(&format!("\u{feff}{text}"), u16::to_le_bytes)).as_deref(), Ok(text));
        assert_eq!(of(&utf16(&format!("\u{feff}{text}"), u16::to_be_bytes)).as_deref(), Ok(text));
        let plain = "boat,R1\nWren,1\n";
        assert_eq!(of(&utf16(plain, u16::to_le_bytes)).as_deref(), Ok(plain));
        assert_eq!(of(&utf16(plain, u16::to_be_bytes)).as_deref(), Ok(plain));
        assert_eq!(of(b"").as_deref(), Ok(""));
    }

    #[test]
    fn what_is_not_is_told_with_its_place_and_the_remedy() {
        let told = of(b"boat,mass\nWren,31 kg\nJ\xf6rg,44 kg\n").unwrap_err();
        assert!(
            told.starts_with("it is not text in UTF-8: line 3, \"J\u{fffd}rg\" has a letter of another code page")
                && told.contains("\"CSV UTF-8\""),
            "{told}"
        );
        assert!(!told.contains("44"), "no figure of the file: {told}");
        for (bytes, words) in [
            (&b"PK\x03\x04rest"[..], "a spreadsheet's own file"),
            (b"%PDF-1.7", "a PDF"),
            (b"\xff\xfea", "not whole"),
            (b"\xff\xfe\x00\xd8", "not whole"),
            (b"a\x00\x01b", "not text"),
            (b"a,b\x00", "not text"),
            (b"\xe4", "line 1, \"\u{fffd}\" has"),
        ] {
            let told = of(bytes).unwrap_err();
            assert!(told.contains(words), "{bytes:?}: {told}");
        }
    }
}
