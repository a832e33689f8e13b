//! The one room that speaks to the typesetter: a main file, data beside it, four fonts, no clock and no disk.
//!
//! Data goes in as a virtual `data.json`, so what a person typed is text and never markup. The typesetter's version is
//! pinned, and no other module names it.

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

use super::CardError;

mod fonts {
    include!(concat!(env!("OUT_DIR"), "/fonts.rs"));
}

/// What is laid out once and used for every sheet: the fonts and the language of the template.
pub(super) struct Press {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

impl Press {
    /// Reads the embedded fonts.
    pub(super) fn new() -> Self {
        let fonts: Vec<Font> = fonts::FACES.iter().flat_map(|face| Font::iter(Bytes::new(*face))).collect();
        Self { library: LazyHash::new(Library::default()), book: LazyHash::new(FontBook::from_fonts(&fonts)), fonts }
    }

    /// The text with every character left out that no embedded font can draw, so that no empty box is printed.
    pub(super) fn drawable(&self, text: &str) -> String {
        let covered = |c: char| self.fonts.iter().all(|font| font.info().coverage.contains(u32::from(c)));
        text.chars().filter(|&c| c == ' ' || covered(c)).collect()
    }

    /// Lays `template` out over `data` (JSON).
    ///
    /// # Errors
    /// What the typesetter says, should the template and the data not fit each other.
    pub(super) fn lay_out(&self, template: &str, data: String) -> Result<PagedDocument, CardError> {
        let page = Page {
            press: self,
            main: Source::new(file("main.typ")?, template.to_owned()),
            data: (file("data.json")?, Bytes::from_string(data)),
        };
        typst::compile::<PagedDocument>(&page).output.map_err(|errors| said(&errors))
    }

    /// The PDF of a laid out document: tagged for screen readers, with no time in it, so that equal data give equal bytes.
    ///
    /// # Errors
    /// What the typesetter says when the document breaks the accessibility standard (PDF/UA-1, ISO 14289-1).
    pub(super) fn pdf(&self, document: &PagedDocument) -> Result<Vec<u8>, CardError> {
        let standards = PdfStandards::new(&[PdfStandard::Ua_1]).map_err(|e| CardError::Typesetting(format!("{e:?}")))?;
        let timestamp = Datetime::from_ymd_hms(2000, 1, 1, 0, 0, 0).map(Timestamp::new_utc);
        let options = PdfOptions {
            ident: Smart::Auto,
            creator: Smart::Custom(Some("Trimwright".into())),
            timestamp,
            standards,
            ..PdfOptions::default()
        };
        let bytes = typst_pdf::pdf(document, &options).map_err(|errors| said(&errors));
        // The typesetter remembers what it laid out; a program that stays up forgets what ten sheets have not used.
        typst::comemo::evict(10);
        bytes
    }
}

/// The typesetter's own words, for a report of a fault in the program.
fn said(errors: &[typst::diag::SourceDiagnostic]) -> CardError {
    CardError::Typesetting(errors.iter().map(|e| e.message.to_string()).collect::<Vec<_>>().join("; "))
}

/// A file's name in the virtual folder.
fn file(name: &str) -> Result<FileId, CardError> {
    let path = VirtualPath::new(name).map_err(|e| CardError::Typesetting(format!("{e:?}")))?;
    Ok(FileId::new(RootedPath::new(VirtualRoot::Project, path)))
}

/// One compilation.
struct Page<'a> {
    press: &'a Press,
    main: Source,
    data: (FileId, Bytes),
}

impl World for Page<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.press.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.press.book
    }

    fn main(&self) -> FileId {
        self.main.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.main.id() { Ok(self.main.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.data.0 { Ok(self.data.1.clone()) } else { Err(FileError::AccessDenied) }
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.press.fonts.get(index).cloned()
    }

    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
