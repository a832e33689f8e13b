//! Pictures from the coach boat at their second: for the coach, and for the one sailor whom the coach shows a picture to. No group's page, no other
//! sailor's and no sheet has them.

use std::io::Cursor;
use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header;
use axum::response::IntoResponse;
use exif::{In, Reader, Tag, Value};
use maud::{Markup, html};
use squad::fact::outing::Outing as OutingFact;
use squad::fact::picture::Picture;
use squad::fact::sailor::Sailor;
use squad::{Edit, Id, Kept, Moment, SquadError, Store};

use super::super::yard::Yard;
use super::super::{Answer, Refusal, Sent, later};
use super::{Told, id, jump};
use crate::briefing::debrief::clock;

/// As many bytes tell a picture, or none.
pub(super) const START: u64 = 3;

/// Whether bytes look like a picture that a browser shows and a camera dates: a JPEG begins so.
pub(super) fn is_picture(bytes: &[u8]) -> bool {
    bytes.starts_with(&[0xff, 0xd8, 0xff])
}

/// When a picture was taken by the camera's clock, like 2026-06-14T14:03:22 (Exif 2.32, tags DateTimeOriginal and DateTime).
fn camera_clock(bytes: &[u8]) -> Option<String> {
    let exif = Reader::new().read_from_container(&mut Cursor::new(bytes)).ok()?;
    let field = exif.get_field(Tag::DateTimeOriginal, In::PRIMARY).or_else(|| exif.get_field(Tag::DateTime, In::PRIMARY))?;
    let Value::Ascii(lines) = &field.value else { return None };
    let taken = exif::DateTime::from_ascii(lines.first()?).ok()?;
    let (date, time) = ((taken.year, taken.month, taken.day), (taken.hour, taken.minute, taken.second));
    let text = format!("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}", date.0, date.1, date.2, time.0, time.1, time.2);
    text.parse::<jiff::civil::DateTime>().ok().map(|_| text)
}

/// A picture is kept with its outing; how far the camera was ahead is what was said of the outing's other pictures.
pub(super) fn keep(store: &mut Store, outing: Id<OutingFact>, name: String, bytes: &[u8]) -> Result<(), SquadError> {
    let ahead_s = store.pictures_of(outing)?.iter().find_map(|p| p.fact.ahead_s);
    let camera_clock = camera_clock(bytes);
    let picture = Picture { outing, name, sha256: String::new(), at: Moment::now(), camera_clock, ahead_s, shown_to: None };
    store.add_picture(bytes, picture, &Yard::writer()).map(|_| ())
}

fn seconds(at: Moment) -> f64 {
    at.timestamp().as_millisecond() as f64 / 1000.0
}

fn address(picture: &Kept<Picture>) -> String {
    format!("/ashore/picture/{}", picture.id)
}

/// Pictures that stand at a moment, with it, UTC seconds, in time; those shown to one sailor, or all of them.
fn placed(yard: &Yard, told: &Told, of: &Kept<OutingFact>, sailor: Option<Id<Sailor>>) -> Result<Vec<(f64, Kept<Picture>)>, SquadError> {
    let all = yard.store()?.pictures_of(of.id)?.into_iter().filter(|p| sailor.is_none() || p.fact.shown_to == sailor);
    let mut placed: Vec<_> = all.filter_map(|p| Some((seconds(p.fact.taken(&told.zone)?), p))).collect();
    placed.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(placed)
}

/// The same for the chart that is watched again: moments and addresses.
pub(super) fn on_the_chart(yard: &Yard, told: &Told, of: &Kept<OutingFact>, sailor: Option<Id<Sailor>>) -> Result<String, SquadError> {
    let list: Vec<_> = placed(yard, told, of, sailor)?.iter().map(|(at, p)| serde_json::json!([at, address(p)])).collect();
    Ok(serde_json::Value::Array(list).to_string())
}

/// For a sailor: those the coach shows her.
pub(super) fn of_one(yard: &Yard, told: &Told, of: &Kept<OutingFact>, boat: usize) -> Result<Markup, SquadError> {
    let Some(sailor) = told.recorders.get(boat).and_then(|r| r.1) else { return Ok(html! {}) };
    let all = placed(yard, told, of, Some(sailor))?;
    Ok(html! { @if !all.is_empty() { section {
        h2 { "From the coach boat" }
        div.shots { @for (at, picture) in &all {
            @let when = clock(*at, &told.zone, "%H:%M:%S");
            figure { img src=(address(picture)) alt=(format!("Picture from the coach boat at {when}")) loading="lazy"; figcaption { (when) " " (jump(*at, "Show it on the chart")) } }
        } }
    } } })
}

/// For the coach: all of them, how far the camera's clock was ahead, and whom each is shown to.
pub(super) fn section(yard: &Yard, told: &Told, of: &Kept<OutingFact>) -> Result<Markup, SquadError> {
    let (all, sailors) = {
        let store = yard.store()?;
        (store.pictures_of(of.id)?, store.sailors()?)
    };
    let ahead = all.iter().find_map(|p| p.fact.ahead_s);
    let asked = ahead.is_none() && all.iter().any(|p| p.fact.camera_clock.is_some());
    Ok(html! { @if !all.is_empty() { section #pictures {
        h2 { (all.len()) @if all.len() == 1 { " picture" } @else { " pictures" } " from the coach boat" }
        @if asked { p { b { "No picture has its moment yet: " } "say how far the camera's clock was ahead. Photograph a phone's clock with that camera: the difference tells it; 0 where it was right." } }
        form method="post" action="/ashore/pictures" {
            input type="hidden" name="outing" value=(of.id);
            div.fields { div { label for="ahead" { "The camera's clock was ahead by, seconds" } input #ahead name="ahead" inputmode="text" value=(ahead.map_or(String::new(), |s| s.to_string())); small { "−30 where it was half a minute behind; its clock is read in " (told.zone.iana_name().unwrap_or("UTC")) } } }
            table { thead { tr { th { "Picture" } th { "Taken" } th { "Shown to" } th { "Take away" } } } tbody { @for (n, picture) in all.iter().enumerate() {
                @let taken = picture.fact.taken(&told.zone).map(seconds);
                tr {
                    td { input type="hidden" name=(format!("id{n}")) value=(picture.id); input type="hidden" name=(format!("version{n}")) value=(picture.version);
                        details { summary { (picture.fact.name) } img.shot src=(address(picture)) alt=(format!("Picture {}", picture.fact.name)) loading="lazy"; } }
                    td { @match (taken, &picture.fact.camera_clock) {
                        (Some(at), _) => { (clock(at, &told.zone, "%H:%M:%S")) " " (jump(at, "Show it")) },
                        (None, Some(camera)) => { (camera.replace('T', " ")) br; small { "by the camera" } },
                        (None, None) => small { "the file does not say" },
                    } }
                    td { select name=(format!("shown{n}")) aria-label=(format!("{} is shown to", picture.fact.name)) { option value="" { "the coach alone" } @for sailor in &sailors { option value=(sailor.id) selected[picture.fact.shown_to == Some(sailor.id)] { (sailor.fact.label) } } } }
                    td { input type="checkbox" name=(format!("away{n}")) value="1" aria-label=(format!("Take {} away", picture.fact.name)); }
                }
            } } }
            p { button.tag { "Keep their times, and who sees them" } }
            p.small { "Nobody sees them but you, and the one sailor you show a picture to, on that sailor's own page here. They are on no group's page and on no sheet. What is taken away is gone for good." }
        }
    } } })
}

/// What the coach said of the pictures is kept.
pub(in super::super) async fn said(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let outing = id(form.text("outing"))?;
    let typed = form.text("ahead").trim().replace('−', "-").replace(',', ".");
    let ahead: Option<f64> = match typed.as_str() {
        "" => None,
        text => Some(text.parse().ok().filter(|s: &f64| s.is_finite()).ok_or_else(|| {
            Refusal::unkept("How far the camera's clock was ahead is a number of seconds, like 82, or −30 where it was behind.")
        })?),
    };
    let mut store = yard.store()?;
    for (n, kept) in listed(&store, outing, &form)? {
        if !form.text(&format!("away{n}")).is_empty() {
            store.drop_picture(kept.id)?;
            continue;
        }
        let shown_to = form.text(&format!("shown{n}")).parse::<Id<Sailor>>().ok().filter(|id| store.get(*id).is_ok_and(|s| s.is_some()));
        let fact = Picture { ahead_s: ahead, shown_to, ..kept.fact.clone() };
        if fact != kept.fact
            && let Edit::Overtaken(_) = store.edit(kept.id, kept.version, &fact, &Yard::writer())?
        {
            return Err(overtaken());
        }
    }
    Ok(later(&format!("/ashore?outing={outing}&coach=1#pictures")))
}

fn overtaken() -> Refusal {
    Refusal::unkept("Somebody changed these pictures meanwhile: look at the page again.")
}

/// The pictures that a form lists, as they still stand.
fn listed(store: &Store, outing: Id<OutingFact>, form: &super::super::form::Form) -> Result<Vec<(usize, Kept<Picture>)>, Refusal> {
    let there = store.pictures_of(outing)?;
    let mut found = Vec::new();
    for n in 0..squad::fact::picture::MOST_PICTURES {
        let Ok(id) = form.text(&format!("id{n}")).parse::<Id<Picture>>() else { break };
        let version = form.text(&format!("version{n}"));
        let kept = there.iter().find(|p| p.id == id && p.version.to_string() == version).ok_or_else(overtaken)?;
        found.push((n, kept.clone()));
    }
    Ok(found)
}

/// A picture.
pub(in super::super) async fn picture(State(yard): State<Arc<Yard>>, Path(id): Path<String>) -> Answer {
    let lost = || Refusal::lost("There is no such picture");
    let id: Id<Picture> = id.parse().map_err(|_| lost())?;
    let store = yard.store()?;
    let kept = store.get(id)?.filter(|p| !p.withdrawn).ok_or_else(lost)?;
    let bytes = store.picture_bytes(&kept.fact)?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg"), (header::CACHE_CONTROL, "private, max-age=3600")], bytes).into_response())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A JPEG of nothing but an Exif part with one time (Exif 2.32, chapter 4): IFD 0 points to the Exif IFD, which has DateTimeOriginal.
    fn dated(text: &str) -> Vec<u8> {
        let mut tiff = b"II*\0\x08\0\0\0".to_vec();
        let entry = |tag: u16, sort: u16, count: u32, value: u32| {
            [&tag.to_le_bytes()[..], &sort.to_le_bytes(), &count.to_le_bytes(), &value.to_le_bytes()].concat()
        };
        tiff.extend([&1u16.to_le_bytes()[..], &entry(0x8769, 4, 1, 26), &0u32.to_le_bytes()].concat());
        tiff.extend([&1u16.to_le_bytes()[..], &entry(0x9003, 2, 20, 44), &0u32.to_le_bytes()].concat());
        tiff.extend([text.as_bytes(), b"\0"].concat());
        let part = [b"Exif\0\0", &tiff[..]].concat();
        let size = (part.len() as u16 + 2).to_be_bytes();
        [&[0xff, 0xd8, 0xff, 0xe1][..], &size, &part, &[0xff, 0xd9]].concat()
    }

    #[test]
    fn a_camera_says_when() {
        let bytes = dated("2026:06:14 14:03:22");
        assert!(is_picture(&bytes) && !is_picture(b"<gpx>") && !is_picture(b""));
        assert_eq!(camera_clock(&bytes).as_deref(), Some("2026-06-14T14:03:22"));
        // Cameras whose clock was never set write noughts or blanks.
        assert_eq!((camera_clock(&dated("0000:00:00 00:00:00")), camera_clock(&dated("    :  :     :  :  "))), (None, None));
        for cut in 0..bytes.len() {
            let _ = camera_clock(&bytes[..cut]);
        }
    }
}
