//! Files of recorders on their way in: each goes to a file without a name beside the store as it comes, and from there into the store, so
//! that no more than a part of one is in memory. A file without a name is gone when nobody holds it any more, whatever ends the program.

use std::fs::File;
use std::io::{self, BufReader, Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::sync::Arc;

use axum::extract::multipart::Field;
use axum::extract::{Multipart, State};
use maud::html;
use sha2::{Digest, Sha256};
use squad::fact::outing::{Outing, OutingSort};
use squad::fact::recorder::{LARGEST_TRACK, TrackFile};
use squad::{Date, Id, Moment, SquadError, Store};

use super::super::yard::{Yard, blank_day};
use super::super::{Answer, Refusal, later, whole};
use super::{id, pictures};
use crate::outing::of_file;

/// The most bytes brought at once. Assumed: a squad's afternoon at ten fixes a second has 200 MB.
pub(in super::super) const LARGEST: usize = 600 << 20;

/// The most files brought at once. Assumed: a fleet of a hundred with three recorders each.
const MOST: usize = 300;
/// The longest word beside the files, bytes.
const LONGEST: usize = 200;

/// One file as it was sent.
struct Brought {
    name: String,
    length: usize,
    sha256: String,
    bytes: File,
}

impl Brought {
    /// A file as it comes. One that is larger than the store takes is read to its end and not kept.
    async fn arrived(name: String, mut field: Field<'_>, folder: &Path) -> Result<Self, Refusal> {
        let mut bytes = tempfile::tempfile_in(folder).map_err(|error| unwritten(&error))?;
        let (mut length, mut hash) = (0, Sha256::new());
        while let Some(part) = field.chunk().await.map_err(|error| unread(error.body_text()))? {
            length += part.len();
            if length <= LARGEST_TRACK {
                hash.update(&part);
                bytes.write_all(&part).map_err(|error| unwritten(&error))?;
            }
        }
        let sha256 = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
        Ok(Self { name, length, sha256, bytes })
    }

    /// Whether it begins as a picture does.
    fn is_picture(&mut self) -> Result<bool, Refusal> {
        let mut start = Vec::new();
        self.again()?.take(pictures::START).read_to_end(&mut start).map_err(|error| unwritten(&error))?;
        Ok(pictures::is_picture(&start))
    }

    /// Its bytes from the first.
    fn again(&mut self) -> Result<BufReader<&File>, Refusal> {
        self.bytes.seek(SeekFrom::Start(0)).map_err(|error| unwritten(&error))?;
        Ok(BufReader::new(&self.bytes))
    }
}

fn unread(what: String) -> Refusal {
    Refusal::because("The files did not arrive whole", &what)
}

fn unwritten(error: &io::Error) -> Refusal {
    let why = match error.kind() {
        io::ErrorKind::StorageFull => "The disk is full: make room and bring them again.".to_owned(),
        _ => format!("They could not be written beside the squad's store: {error}."),
    };
    Refusal::because("The files were not kept", &why)
}

/// A word beside the files.
async fn word(mut field: Field<'_>) -> Result<String, Refusal> {
    let mut bytes = Vec::new();
    while let Some(part) = field.chunk().await.map_err(|error| unread(error.body_text()))? {
        bytes.extend(part.iter().take(LONGEST - bytes.len().min(LONGEST)));
    }
    Ok(String::from_utf8_lossy(&bytes).trim().chars().take(60).collect())
}

/// Files are brought: each is kept as it came, if it holds a track.
pub(in super::super) async fn files(State(yard): State<Arc<Yard>>, mut sent: Multipart) -> Answer {
    let (mut brought, mut outing, mut timezone) = (Vec::new(), String::new(), String::new());
    loop {
        let field = match sent.next_field().await {
            Ok(Some(field)) => field,
            Ok(None) => break,
            Err(error) => return Err(unread(error.body_text())),
        };
        match (field.name().unwrap_or_default(), field.file_name()) {
            ("outing", _) => outing = word(field).await?,
            ("timezone", _) => timezone = word(field).await?,
            (_, Some(file)) => {
                let name: String = file.chars().filter(|c| !c.is_control()).take(120).collect();
                let one = Brought::arrived(name, field, &yard.folder).await?;
                if one.length > 0 {
                    brought.push(one);
                }
                if brought.len() > MOST {
                    return Err(Refusal::unkept(&format!("More than {MOST} files at once: bring them in parts, or in one zip.")));
                }
            }
            _ => {}
        }
    }
    let kept = tokio::task::spawn_blocking(move || keep(&yard, brought, &outing, &timezone)).await;
    match kept {
        Ok(kept) => {
            let (id, why) = kept?;
            let next = format!("/ashore?outing={id}");
            if why.is_empty() {
                return Ok(later(&next));
            }
            let body = html! { section.first {
                p.verdict { "Some files were not kept" }
                ul { @for one in &why { li { (one) } } }
                p { "The others are kept." } p { a.tag href=(next) { "See the outing" } }
            } };
            Ok(whole("Ashore", html! {}, body))
        }
        Err(_) => Err(Refusal::because("The files were not kept", "Reading them stopped: bring them one by one to find out which it was.")),
    }
}

/// Keeps the files that hold a track; answers with the outing, and why others were not kept.
fn keep(yard: &Yard, brought: Vec<Brought>, outing: &str, timezone: &str) -> Result<(Id<Outing>, Vec<String>), Refusal> {
    if brought.is_empty() {
        return Err(Refusal::unkept("Choose at least one file that is not empty."));
    }
    let zone = jiff::tz::TimeZone::get(timezone)
        .map_err(|_| Refusal::unkept(&format!("\"{timezone}\" is no timezone: write one like Europe/Lisbon or UTC.")))?;
    let (mut shots, mut tracks) = (Vec::new(), Vec::new());
    for mut file in brought {
        if file.is_picture()? { &mut shots } else { &mut tracks }.push(file);
    }
    if tracks.is_empty() {
        if outing.is_empty() {
            return Err(Refusal::unkept("Choose of which outing these pictures are: a camera's clock does not say it surely."));
        }
        let id = id(outing)?;
        return Ok((id, shown(&mut *yard.store()?, id, shots)?));
    }
    let (mut good, mut why, mut first) = (Vec::new(), Vec::new(), i64::MAX);
    for mut file in tracks {
        if file.length > LARGEST_TRACK {
            why.push(format!("{}: it is larger than {} MB; split it", file.name, LARGEST_TRACK >> 20));
            continue;
        }
        let (found, said) = of_file(&file.name.clone(), file.again()?, Some(&zone));
        if found.is_empty() {
            let reasons: Vec<String> = said.iter().map(ToString::to_string).collect();
            why.push(format!("{}: {}", file.name, if reasons.is_empty() { "it holds no track".to_owned() } else { reasons.join("; ") }));
        } else {
            first = found.iter().map(|f| f.smooth.start).fold(first, i64::min);
            good.push(file);
        }
    }
    if good.is_empty() {
        return Err(Refusal::unkept(&format!("None of the files holds a track. {}", why.join(". "))));
    }
    let began = Moment::of_millis(first.saturating_mul(1000));
    let mut store = yard.store()?;
    // All of them, or none and no outing for them where the disk is full half way.
    let id = store.whole(|store| {
        let id = match outing {
            "" => new_outing(store, began, &zone)?,
            text => id(text)?,
        };
        for mut file in good {
            let (name, sha256, at) = (file.name.clone(), file.sha256.clone(), Moment::now());
            let fact = TrackFile { name, sha256, at, outing: Some(id), sailor: None, recorder: None };
            let length = file.length;
            store.add_track_from(file.again()?, length, fact, &Yard::writer())?;
        }
        Ok::<_, Refusal>(id)
    })?;
    why.extend(shown(&mut store, id, shots)?);
    Ok((id, why))
}

/// Pictures are kept with an outing; answers why some were not.
fn shown(store: &mut Store, outing: Id<Outing>, shots: Vec<Brought>) -> Result<Vec<String>, Refusal> {
    if store.get(outing)?.is_none() {
        return Err(Refusal::lost("There is no such outing"));
    }
    let mut why = Vec::new();
    for mut shot in shots {
        let mut bytes = Vec::new();
        shot.again()?.read_to_end(&mut bytes).map_err(|error| unwritten(&error))?;
        match pictures::keep(store, outing, shot.name, &bytes) {
            Err(SquadError::Refused { what }) => why.push(what),
            other => other?,
        }
    }
    Ok(why)
}

/// A new outing on the day of its tracks.
fn new_outing(store: &mut Store, began: Moment, zone: &jiff::tz::TimeZone) -> Result<Id<Outing>, SquadError> {
    let local = began.timestamp().to_zoned_datetime(zone.clone());
    let date = Date(local.date());
    let day = match store.days_on(date)?.pop() {
        Some(day) => day.id,
        None => {
            let fact = blank_day(date, zone.iana_name().unwrap_or("UTC").to_owned());
            store.add(&fact, &Yard::writer())?.id
        }
    };
    // Notes that were taken afloat that day, and no tracks yet: these are its tracks.
    for one in store.outings_of(day)? {
        if store.tracks_of(one.id)?.is_empty() {
            return Ok(one.id);
        }
    }
    let name = local.strftime("%-d %B, %H:%M").to_string();
    let outing = Outing { day, name, sort: OutingSort::Practice, began: Some(began), ended: None };
    Ok(store.add(&outing, &Yard::writer())?.id)
}
