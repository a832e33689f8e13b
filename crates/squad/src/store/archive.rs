//! The portable archive: a zip with one JSON file for each kind of fact and the recorders' files as they came. `docs/store.md` has
//! its format. An archive is read into a store of its own first, and that is merged: one way in for all.

use std::fs;
use std::io::{Cursor, Read, Seek, Write};
use std::path::{Path, PathBuf};

use measure::{Warned, Warning};
use rusqlite::params;
use serde_json::{Value as Json, json};
use sha2::{Digest, Sha256};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

use super::merge::Merged;
use super::open::{look, untouched};
use super::row::{self, Row};
use super::{FILE, SCHEMA, Store, backup, hex, told};
use crate::error::SquadError;
use crate::fact::recorder::LARGEST_TRACK;
use crate::fact::sailor::Sailor;
use crate::fact::{TABLES, Writer, check_row};
use crate::id::{Id, Moment};

/// What an archive says it is.
const FORMAT: &str = "squad archive";
/// The largest JSON file of an archive that is read, bytes. Assumed: ten seasons of a big club have 100 MB.
const LARGEST_FACTS: u64 = 512 << 20;

/// How a store is called that is there while something is brought in.
pub(crate) const BESIDE: &str = ".brought-in-";

/// What an export wrote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exported {
    /// Facts.
    pub facts: usize,
    /// Recorders' files.
    pub tracks: usize,
}

/// Whether bytes look like an archive: a zip begins so.
#[must_use]
pub fn is_archive(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04")
}

impl Store {
    /// Writes all of the store to an archive.
    ///
    /// # Errors
    /// When the store cannot be read or the archive not be written.
    pub fn export(&self, out: impl Write + Seek, at: Moment) -> Result<Exported, SquadError> {
        let unwritten = |error: &dyn core::fmt::Display| SquadError::Store { what: format!("the archive cannot be written: {error}") };
        let mut zip = ZipWriter::new(out);
        let packed = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated).large_file(true);
        let put = |zip: &mut ZipWriter<_>, name: &str, bytes: &[u8]| {
            zip.start_file(name, packed).map_err(|e| unwritten(&e))?;
            zip.write_all(bytes).map_err(|e| unwritten(&e))
        };
        // One transaction, so that all of it is of one moment.
        let moment = self.connection.unchecked_transaction().map_err(|e| self.told(e))?;
        let about = json!({ "format": FORMAT, "schema": SCHEMA, "written": at.to_string() });
        put(&mut zip, "about.json", lines(&[about]).as_bytes())?;
        let mut facts = 0;
        for table in TABLES {
            let sql = format!("{} ORDER BY id", row::select(table));
            let documents: Vec<Json> =
                self.reading(|c| c.prepare(&sql)?.query_map([], |r| Ok(Row::read(r, table)?.document()))?.collect())?;
            facts += documents.len();
            put(&mut zip, &format!("facts/{}.json", table.kind), lines(&documents).as_bytes())?;
        }
        let parsed = |text: String| serde_json::from_str::<Json>(&text).unwrap_or_default();
        let former: Vec<Json> = self.reading(|c| {
            let mut query = c.prepare("SELECT kind, body FROM former ORDER BY kind, fact, version, state")?;
            query.query_map([], |r| Ok(json!({ "kind": r.get::<_, String>(0)?, "was": parsed(r.get(1)?) })))?.collect()
        })?;
        put(&mut zip, "former.json", lines(&former).as_bytes())?;
        let conflicts: Vec<Json> = self.reading(|c| {
            let mut query = c.prepare("SELECT id, kind, fact, kept, other, settled FROM conflict ORDER BY id")?;
            let document = |r: &rusqlite::Row<'_>| {
                Ok(json!({
                    "id": r.get::<_, String>(0)?, "kind": r.get::<_, String>(1)?, "fact": r.get::<_, String>(2)?,
                    "kept": parsed(r.get(3)?), "other": parsed(r.get(4)?), "settled": r.get::<_, bool>(5)?,
                }))
            };
            query.query_map([], document)?.collect()
        })?;
        put(&mut zip, "conflicts.json", lines(&conflicts).as_bytes())?;
        let forgotten: Vec<Json> = self.reading(|c| {
            c.prepare("SELECT id FROM forgotten ORDER BY id")?.query_map([], |r| r.get::<_, String>(0).map(Json::String))?.collect()
        })?;
        put(&mut zip, "forgotten.json", lines(&forgotten).as_bytes())?;
        let hashes: Vec<String> =
            self.reading(|c| c.prepare("SELECT sha256 FROM track_bytes ORDER BY sha256")?.query_map([], |r| r.get(0))?.collect())?;
        for hash in &hashes {
            let bytes: Vec<u8> = self.reading(|c| c.query_row("SELECT bytes FROM track_bytes WHERE sha256 = $1", [hash], |r| r.get(0)))?;
            put(&mut zip, &format!("tracks/{hash}"), &bytes)?;
        }
        drop(moment);
        zip.finish().and_then(|mut out| Ok(out.flush()?)).map_err(|e| unwritten(&e))?;
        Ok(Exported { facts, tracks: hashes.len() })
    }

    /// Brings in a file: an archive, another store (its file or folder), or a squad file.
    ///
    /// # Errors
    /// A file that cannot be read or is none of these: then nothing was brought in.
    pub fn import(&mut self, path: &Path, writer: &Writer) -> Result<Warned<Merged>, SquadError> {
        let place = if path.is_dir() { path.join(FILE) } else { path.to_owned() };
        let name = place.display().to_string();
        let unread = |error: std::io::Error| SquadError::Archive { file: name.clone(), what: format!("it cannot be read: {error}") };
        let mut start = [0; 16];
        let read = fs::File::open(&place).and_then(|mut file| file.read(&mut start)).map_err(unread)?;
        if is_archive(&start[..read]) {
            return self.import_archive(&name, fs::File::open(&place).map_err(unread)?);
        }
        if start.starts_with(b"SQLite format 3\0") {
            if same_file(&place, self.place()) {
                return Err(SquadError::Archive { file: name, what: "this is the store itself".to_owned() });
            }
            look(&place).or_else(|error| if matches!(error, SquadError::ReadOnly { .. }) { Ok(SCHEMA) } else { Err(error) })?;
            let beside = Beside::new(self.folder())?;
            let from = untouched(&place).map_err(|error| told(&error, &place))?;
            backup::copy(&from, &place, &beside.0)?;
            return self.merge(&Self::opened(&beside.0)?).map(Warned::clean);
        }
        let bytes = fs::read(&place).map_err(unread)?;
        let read = crate::read(&name, &bytes)?;
        let merged = self.import_squad(&read.value, writer)?;
        Ok(Warned::new(merged, read.warnings))
    }

    /// Brings in an archive.
    ///
    /// # Errors
    /// As [`Store::import`].
    pub fn import_archive(&mut self, name: &str, archive: impl Read + Seek) -> Result<Warned<Merged>, SquadError> {
        let beside = Beside::new(self.folder())?;
        let mut other = Self::opened(&beside.0)?;
        let warnings = unpack(name, archive, &mut other)?;
        Ok(Warned::new(self.merge(&other)?, warnings))
    }
}

/// One document a line, so that two archives can be compared line by line.
fn lines(documents: &[Json]) -> String {
    let mut text = String::from("[");
    for (k, document) in documents.iter().enumerate() {
        text += if k > 0 { ",\n" } else { "\n" };
        text += &document.to_string();
    }
    text + "\n]\n"
}

fn same_file(a: &Path, b: &Path) -> bool {
    fs::canonicalize(a).ok().is_some_and(|a| fs::canonicalize(b).is_ok_and(|b| a == b))
}

/// A store for a moment, in the folder of the other, gone when it is dropped.
struct Beside(PathBuf);

impl Beside {
    fn new(folder: &Path) -> Result<Self, SquadError> {
        Ok(Self(folder.join(format!("{BESIDE}{}.db", Id::<()>::random()?))))
    }
}

impl Drop for Beside {
    fn drop(&mut self) {
        for ending in ["", "-wal", "-shm", "-journal"] {
            let mut path = self.0.clone().into_os_string();
            path.push(ending);
            let _ = fs::remove_file(path);
        }
    }
}

/// Reads an archive into a new store.
fn unpack(name: &str, archive: impl Read + Seek, into: &mut Store) -> Result<Vec<Warning>, SquadError> {
    let wrong = |what: String| SquadError::Archive { file: name.to_owned(), what };
    let mut zip = ZipArchive::new(archive).map_err(|e| wrong(format!("it is not a whole archive: {e}")))?;
    let about = documents(&mut zip, "about.json").map_err(&wrong)?;
    let about = about.first().filter(|about| about["format"] == FORMAT).ok_or_else(|| wrong("it is no squad's archive".to_owned()))?;
    let schema = about["schema"].as_i64().unwrap_or(0);
    if schema > SCHEMA {
        return Err(wrong(format!(
            "a newer version of this program wrote it (schema {schema}, this one knows {SCHEMA}); take the newer version"
        )));
    }
    let mut warnings = Vec::new();
    let mut known = vec!["about.json".to_owned(), "former.json".to_owned(), "conflicts.json".to_owned(), "forgotten.json".to_owned()];
    let transaction = into.connection.unchecked_transaction().map_err(|e| into.told(e))?;
    let refused = |error: rusqlite::Error, what: &str| match into.told(error) {
        SquadError::Refused { .. } => wrong(format!("{what}: it refers to what is not there, stands twice, or lacks something")),
        other => other,
    };
    let files: Vec<String> = zip.file_names().map(str::to_owned).collect();
    for file in files.iter().filter(|file| file.starts_with("tracks/")) {
        let hash = file.trim_start_matches("tracks/");
        let mut bytes = Vec::new();
        let found = zip.by_name(file).map_err(|e| wrong(format!("{file}: {e}")))?;
        found.take(LARGEST_TRACK as u64 + 1).read_to_end(&mut bytes).map_err(|e| wrong(format!("{file}: {e}")))?;
        if bytes.len() > LARGEST_TRACK || hex(&Sha256::digest(&bytes)) != hash {
            return Err(wrong(format!("{file}: its bytes are not those it is named after")));
        }
        into.connection
            .execute("INSERT INTO track_bytes (sha256, bytes) VALUES ($1, $2)", params![hash, bytes])
            .map_err(|e| refused(e, file))?;
        known.push(file.clone());
    }
    for table in TABLES {
        let file = format!("facts/{}.json", table.kind);
        if files.contains(&file) {
            for document in documents(&mut zip, &file).map_err(&wrong)? {
                let row = Row::of_document(table, &document).map_err(|what| wrong(format!("{file}: {what}")))?;
                check_row(&row).map_err(|what| wrong(format!("{file}: {what}")))?;
                row.insert(&into.connection, table).map_err(|e| refused(e, &file))?;
            }
        }
        known.push(file);
    }
    let table = |kind: &Json| TABLES.iter().find(|t| *kind == t.kind).ok_or_else(|| wrong(format!("{kind} is no kind of fact")));
    let state = |file: &str, table, document: &Json| {
        let row = Row::of_document(table, document).and_then(|row| check_row(&row).map(|()| row));
        row.map_err(|what| wrong(format!("{file}: {what}")))
    };
    for document in optional(&mut zip, &files, "former.json").map_err(&wrong)? {
        let table = table(&document["kind"])?;
        state("former.json", table, &document["was"])?.keep_as_former(&into.connection, table).map_err(|e| refused(e, "former.json"))?;
    }
    for document in optional(&mut zip, &files, "conflicts.json").map_err(&wrong)? {
        let table = table(&document["kind"])?;
        let (kept, other) = (state("conflicts.json", table, &document["kept"])?, state("conflicts.json", table, &document["other"])?);
        let values = params![
            document["id"].as_str(),
            table.kind,
            kept.id,
            kept.document().to_string(),
            other.document().to_string(),
            document["settled"].as_bool()
        ];
        let sql = "INSERT INTO conflict (id, kind, fact, kept, other, settled) VALUES ($1, $2, $3, $4, $5, $6)";
        into.connection.execute(sql, values).map_err(|e| refused(e, "conflicts.json"))?;
    }
    for id in optional(&mut zip, &files, "forgotten.json").map_err(&wrong)? {
        let id: Id<Sailor> = id.as_str().unwrap_or_default().parse().map_err(|what| wrong(format!("forgotten.json: {what}")))?;
        into.connection.execute("INSERT INTO forgotten (id) VALUES ($1)", [id.to_string()]).map_err(|e| refused(e, "forgotten.json"))?;
    }
    transaction.commit().map_err(|e| into.told(e))?;
    for file in files.iter().filter(|file| !known.contains(file)) {
        let shown: String = file.chars().filter(|c| !c.is_control()).take(60).collect();
        warnings.push(Warning::new(name, format!("\"{shown}\" is not known here and was left out")));
    }
    Ok(warnings)
}

fn optional<R: Read + Seek>(zip: &mut ZipArchive<R>, files: &[String], file: &str) -> Result<Vec<Json>, String> {
    if files.iter().any(|f| f == file) { documents(zip, file) } else { Ok(Vec::new()) }
}

/// The documents of a JSON file of an archive.
fn documents<R: Read + Seek>(zip: &mut ZipArchive<R>, file: &str) -> Result<Vec<Json>, String> {
    let mut bytes = Vec::new();
    let found = zip.by_name(file).map_err(|_| format!("{file} is not in it"))?;
    found.take(LARGEST_FACTS + 1).read_to_end(&mut bytes).map_err(|e| format!("{file}: {e}"))?;
    if bytes.len() as u64 > LARGEST_FACTS {
        return Err(format!("{file}: it is larger than {} MB", LARGEST_FACTS >> 20));
    }
    serde_json::from_reader(Cursor::new(bytes)).map_err(|e| format!("{file}: {e}"))
}
