//! Every page on paper: printed to PDF, its words are all there and the index is not.

use std::process::Command;

use super::*;

#[test]
fn every_page_prints() {
    let shared = boatpark();
    let park = taken(&shared);
    let folder = kept();
    for (name, path) in park.pages() {
        park.open(&path);
        let title = park.browser.text("h1");
        let file = folder.join(format!("{name}.pdf"));
        std::fs::write(&file, park.browser.printed()).unwrap();
        let read = Command::new("pdftotext").args(["-layout"]).arg(&file).arg("-").output().unwrap();
        let text = String::from_utf8(read.stdout).unwrap();
        assert!(text.contains(&title) && text.contains("The coach decides who sails"), "{name}: {text}");
        assert!(!text.contains("To the page"), "{name}: {text}");
    }
}
