//! Results: a series from its entries and a sheet of places, kept as the coach typed it; standings with every reason in words, what the last
//! correction changed, and the same as PDF, CSV and JSON.

use std::collections::HashMap;
use std::sync::Arc;

use axum::extract::{Multipart, Query, State};
use maud::{Markup, html};
use regatta::scoring::{Edition, strangers};
use serde::Deserialize;
use serde_json::json;
use squad::fact::race::Series as SeriesFact;
use squad::{Edit, Id, Kept};

use super::super::form::{Form, Wrong, told};
use super::super::yard::Yard;
use super::super::{Answer, Refusal, Sent, later, whole};
use super::as_file;
use crate::briefing::results::{Part, ResultsPage, Scored, corrected, sheet};
use crate::cards::results_pdf;

/// The most bytes of a series. Assumed: 300 boats in 20 races have 100 kB.
pub(in super::super) const LARGEST: usize = 8 << 20;
/// What the sheet of results is called in the series' own file.
const SHEET: &str = "results.csv";

/// Which series is asked for; "new" for an empty form.
#[derive(Debug, Deserialize, Default)]
pub(in super::super) struct Asked {
    series: Option<String>,
}

/// The series asked for, else the one written last.
fn chosen(yard: &Yard, asked: &Asked) -> Result<Option<Kept<SeriesFact>>, Refusal> {
    let mut all = yard.store()?.series()?;
    match asked.series.as_deref().filter(|s| !s.is_empty()) {
        Some("new") => Ok(None),
        Some(text) => {
            let lost = || Refusal::lost("There is no such series");
            let id: Id<SeriesFact> = text.parse().map_err(|_| lost())?;
            all.into_iter().find(|s| s.id == id).map(Some).ok_or_else(lost)
        }
        None => {
            all.sort_by_key(|s| (s.edited_at, s.version));
            Ok(all.pop())
        }
    }
}

/// The page.
pub(in super::super) async fn page(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let series = chosen(&yard, &asked)?;
    let form = match &series {
        Some(kept) => filled(kept),
        None => fresh(&yard)?,
    };
    show(&yard, series.as_ref(), &form, &Wrong::new(), false)
}

fn show(yard: &Yard, series: Option<&Kept<SeriesFact>>, form: &Form, wrong: &Wrong, overtaken: bool) -> Answer {
    let all = yard.store()?.series()?;
    let body = html! {
        nav.choice aria-label="Which series" {
            @for one in &all { a href=(format!("/race-day/results?series={}", one.id)) aria-current=[series.is_some_and(|s| s.id == one.id).then_some("true")] { (one.fact.name) } }
            a href="/race-day/results?series=new" aria-current=[series.is_none().then_some("true")] { "A new series" }
        }
        @if overtaken { section.first { p.wrong role="alert" { b { "Somebody changed this series while you were typing. " } "Nothing of yours was written. What you typed stands below: press the button again to write it over theirs." } } }
        @if let Some(kept) = series { (scored(yard, kept)?) }
        (fields(form, wrong, series.is_some()))
    };
    let facts = html! { @if let Some(kept) = series { p { (kept.fact.name) } } };
    Ok(whole("Results", facts, body))
}

/// What stops a series, for who typed it in a form: the form has no file and its lines, but for those of the results.
fn said(error: &regatta::Error) -> String {
    let key = error.place.strip_prefix("series file").map(|place| place.rsplit(", ").next().unwrap_or_default());
    match key {
        None => error.to_string(),
        Some(key) if key.is_empty() || key.starts_with(" line") => format!("{}; {}", error.found, error.remedy),
        Some(key) => format!("{}: {}; {}", key.replace('.', ", "), error.found, error.remedy),
    }
}

/// The standings, or why there are none.
fn scored(yard: &Yard, kept: &Kept<SeriesFact>) -> Result<Markup, Refusal> {
    let scored = match Scored::of(&kept.fact) {
        Err(error) => return Ok(html! { section.first { p.verdict { "This series has no standings" } p { (said(&error)) } } }),
        Ok(scored) => scored,
    };
    let page = ResultsPage::of(&scored.standings);
    let before = yard.store()?.former(kept.id)?.pop().and_then(|was| Scored::of(&was.fact).ok());
    let changed = before.map_or_else(Vec::new, |before| corrected(&before.standings, &scored.standings));
    let file = |ending: &str| format!("/race-day/results.{ending}?series={}", kept.id);
    Ok(html! {
        section.first {
            p.verdict { (page.verdict) }
            p { (page.about) }
            @for doubt in &scored.doubts { p.wrong { (doubt) } }
            p { a.tag href=(file("pdf")) { "Print the results" } " " a.second href=(file("csv")) { "As CSV" } " " a.second href=(file("json")) { "As JSON" } }
        }
        @if !changed.is_empty() { section { h2 { "What the last correction changed" } ul { @for line in &changed { li { (line) } } } } }
        @for part in &page.parts { (standings(part)) }
        section { div.columns {
            div { @if !page.codes.is_empty() { h2 { "The codes" } ul { @for code in &page.codes { li { (code) } } } } p.small { "Rules are paraphrased. The rule book, the sailing instructions and the race committee decide." } }
            div { h2 { "Prize list" } table { tbody { @for (what, who) in &page.prizes { tr { td { (what) } td { span.name { (who) } } } } } } p.small { "The first three, and the first of each division: common practice, no source." } }
        } }
    })
}

fn standings(part: &Part) -> Markup {
    let name = if part.name.is_empty() { "Standings" } else { part.name.as_str() };
    html! { section {
        h2 { (name) }
        div.wide tabindex="0" role="region" aria-label=(name) { table.standings {
            thead { tr { th.number { "Rank" } th { "Boat" } @for race in &part.races { th.number { (race) } } th.number { "Total" } th.number { "Points" } } }
            tbody { @for row in &part.rows {
                @let why = !row.tie.is_empty() || !row.explained.is_empty();
                tr.told[why] {
                td.number { (row.rank) } td { span.name { (row.boat) } }
                @for (score, out) in &row.scores { td.number class=(if *out { "quiet" } else { "" }) { (score) } }
                td.number { (row.total) } td.number { b { (row.net) } }
                }
                @if why { tr.why { td {} td colspan=(part.races.len() + 3) { @if !row.tie.is_empty() { p { b { "Tied: " } (row.tie) } } @if !row.explained.is_empty() { p.small { (row.explained) } } } } }
            } }
        } }
        p.small { "In brackets: left out. Points are the sum of what counts." }
    } }
}

/// A form for a new series: the squad's boats are entered, as results hang where all can read them.
fn fresh(yard: &Yard) -> Result<Form, Refusal> {
    let entries: Vec<String> = yard.squad()?.crews.into_iter().map(|c| c.boat.label).collect();
    let list =
        [("entries", entries.join("\n")), ("edition", "2025-2028".to_owned()), ("first", "4".to_owned()), ("second", "8".to_owned())];
    Ok(Form(list.into_iter().map(|(k, v)| (k.to_owned(), v)).collect()))
}

/// A series as the form has it. What the form has no field for stays in the series' own text.
fn filled(kept: &Kept<SeriesFact>) -> Form {
    let table: toml::Table = toml::from_str(&kept.fact.series_text).unwrap_or_default();
    let text = |key: &str| table.get(key).and_then(|v| v.as_str()).unwrap_or_default().to_owned();
    let labels = |value: Option<&toml::Value>| -> Vec<String> {
        value.and_then(|v| v.as_array()).map(|list| list.iter().filter_map(|v| v.as_str()).map(str::to_owned).collect()).unwrap_or_default()
    };
    let parts = |key: &str| -> String {
        let lines: Option<Vec<String>> = table
            .get(key)
            .and_then(|v| v.as_table())
            .map(|parts| parts.iter().map(|(name, boats)| format!("{name}: {}", labels(Some(boats)).join(", "))).collect());
        lines.unwrap_or_default().join("\n")
    };
    let numbers = |key: &str| -> Vec<i64> {
        let list = table.get("exclusions").and_then(|v| v.as_table()).and_then(|t| t.get(key)).and_then(|v| v.as_array());
        list.map(|list| list.iter().filter_map(toml::Value::as_integer).collect()).unwrap_or_default()
    };
    let from = numbers("from_races");
    let nth = |n: usize| from.get(n).map_or(String::new(), ToString::to_string);
    let mut list = vec![
        ("id", kept.id.to_string()),
        ("version", kept.version.to_string()),
        ("name", kept.fact.name.clone()),
        ("edition", text("edition")),
        ("entries", labels(table.get("entries")).join("\n")),
        ("first", nth(0)),
        ("second", nth(1)),
        ("fleets", parts("fleets")),
        ("divisions", parts("divisions")),
        ("withdrawn", labels(table.get("withdrawn")).join(", ")),
        ("results", kept.fact.results_text.clone()),
    ];
    let on = |key: &str| table.get(key).and_then(toml::Value::as_bool) == Some(true);
    for (name, on) in [("area", on("starting_area_rule")), ("off", on("withdrawn")), ("own", text("division_places") == "own")] {
        if on {
            list.push((name, "1".to_owned()));
        }
    }
    Form(list.into_iter().map(|(k, v)| (k.to_owned(), v)).collect())
}

/// The entries of a field, a boat a line.
fn entries(text: &str) -> Vec<String> {
    text.lines().map(str::trim).filter(|l| !l.is_empty()).map(str::to_owned).collect()
}

/// Boats in a field, by lines or commas; a comma that belongs to an entered boat's name stays in it.
fn boats(text: &str, entries: &[String]) -> Vec<String> {
    let mut found = Vec::new();
    for line in text.lines() {
        let mut rest = line.trim_matches([' ', ',', '\r']);
        while !rest.is_empty() {
            let ends = |name: &&String| {
                rest.strip_prefix(name.as_str()).is_some_and(|r| r.trim_start().is_empty() || r.trim_start().starts_with(','))
            };
            let name = match entries.iter().filter(ends).max_by_key(|name| name.len()) {
                Some(name) => name.as_str(),
                None => rest.split(',').next().unwrap_or_default(),
            };
            found.push(name.trim().to_owned());
            rest = rest[name.len()..].trim_start_matches([' ', ',']);
        }
    }
    found
}

/// Fleets or divisions in a field, a line each: its name, then its boats. A name may go on over several lines.
fn parts(text: &str, entries: &[String], field: &str, wrong: &mut Wrong) -> toml::Table {
    let mut parts: Vec<(String, Vec<String>)> = Vec::new();
    for line in text.lines().filter(|l| !l.trim().is_empty()) {
        let Some((name, list)) = line.split_once(':').filter(|(name, _)| !name.trim().is_empty()) else {
            wrong.push((field.to_owned(), format!("\"{}\": write its name and its boats, like \"junior: Wren, Knot\"", line.trim())));
            continue;
        };
        let (name, list) = (name.trim(), boats(list, entries));
        match parts.iter_mut().find(|part| part.0 == name) {
            Some(part) => part.1.extend(list),
            None => parts.push((name.to_owned(), list)),
        }
    }
    parts.into_iter().map(|(name, list)| (name, list.into())).collect()
}

/// The series' own text with what the form says in it.
fn written(form: &Form, before: &str, wrong: &mut Wrong) -> Result<String, toml::ser::Error> {
    let mut table: toml::Table = toml::from_str(before).unwrap_or_default();
    table.insert("name".to_owned(), form.text("name").into());
    table.insert("edition".to_owned(), form.text("edition").into());
    table.insert("results".to_owned(), SHEET.into());
    let entered = entries(form.text("entries"));
    table.insert("entries".to_owned(), entered.clone().into());
    let mut number = |name: &str| match form.text(name) {
        "" => None,
        text => text
            .parse::<u32>()
            .map_err(|_| wrong.push((name.to_owned(), "type a number of races, like 4, or leave it empty".to_owned())))
            .ok(),
    };
    match (number("first"), number("second")) {
        (None, None) => {
            table.insert("exclusions".to_owned(), 0.into());
        }
        (first, second) => {
            let (from, out): (Vec<i64>, Vec<i64>) =
                first.into_iter().map(|f| (i64::from(f), 1)).chain(second.into_iter().map(|s| (i64::from(s), 2))).unzip();
            let rising: toml::Table = [("from_races".to_owned(), from.into()), ("exclude".to_owned(), out.into())].into_iter().collect();
            table.insert("exclusions".to_owned(), rising.into());
        }
    }
    table.insert("starting_area_rule".to_owned(), form.ticked("area").into());
    table.remove("withdrawn");
    if form.ticked("off") {
        table.insert("withdrawn".to_owned(), true.into());
    } else if !form.text("withdrawn").is_empty() {
        table.insert("withdrawn".to_owned(), boats(form.text("withdrawn"), &entered).into());
    }
    for field in ["fleets", "divisions"] {
        table.remove(field);
        let parts = parts(form.text(field), &entered, field, wrong);
        if !parts.is_empty() {
            table.insert(field.to_owned(), parts.into());
        }
    }
    table.remove("division_places");
    if form.ticked("own") && table.contains_key("divisions") {
        table.insert("division_places".to_owned(), "own".into());
    }
    toml::to_string(&table)
}

fn fields(form: &Form, wrong: &Wrong, kept: bool) -> Markup {
    let text = |name: &str, says: &str, hint: &str| html! { div { label for=(name) { (says) } input id=(name) name=(name) value=(form.text(name)) autocomplete="off"; small { (hint) } (told(wrong, name)) } };
    let strangers = !wrong.is_empty() && !offered(form).is_empty();
    let area = |name: &str, says: &str, rows: u32, hint: &str| html! { div { label for=(name) { (says) } textarea id=(name) name=(name) rows=(rows) spellcheck="false" { (form.text(name)) @if !form.text(name).is_empty() { "\n" } } small { (hint) } (told(wrong, name)) @if strangers && name == "results" { p { a href="#strangers" { "Enter boats of the sheet" } } } } };
    let tick = |name: &str, says: &str| html! { p { label { input.tick type="checkbox" name=(name) value="1" checked[form.ticked(name)]; " " (says) } } };
    html! { section #series-form {
        h2 { @if kept { "Correct the series, or add a race" } @else { "A new series" } }
        form method="post" action="/race-day/results" enctype="multipart/form-data" {
            input type="hidden" name="id" value=(form.text("id"));
            input type="hidden" name="version" value=(form.text("version"));
            (told(wrong, "series"))
            div.fields {
                (text("name", "Name", "Like spring series"))
                div { label for="edition" { "Racing Rules of Sailing" } select #edition name="edition" { @for years in Edition::ALL.map(Edition::years).into_iter().rev() { option value=(years) selected[form.text("edition") == years] { (years) } } } small { "Kept with the series" } (told(wrong, "edition")) }
                (text("first", "One score left out from race", "Empty: none. As the sailing instructions say"))
                (text("second", "Two left out from race", "Empty: never two"))
            }
            div.columns {
                (area("results", "Results, pasted or typed", 14, "A row for each boat with a column for each race: boat,R1,R2. Or a row for each boat in each race: race,boat,place,code,points. A place or a code; points for RDG and DPI alone. A file below goes before what is typed here."))
                div {
                    (area("entries", "Entries, a boat a line", 8, "Entered boats count for DNF and DNC, whether they came or not"))
                    (area("fleets", "Fleets, where boats race apart", 3, "Every boat in one of them, a fleet a line, like \"gold: Wren, Knot\". Each is scored by its own entries"))
                    (area("divisions", "Divisions", 2, "Ranked once more among themselves, in each fleet, like \"junior: Wren, Knot\""))
                    (text("withdrawn", "Boats that have left", "DNC without a question, like \"Knot, Avocet\""))
                }
            }
            div.fields { div { label for="sheet" { "The results as a file" } input #sheet name="sheet" type="file"; small { "CSV in UTF-8, as a spreadsheet saves it" } } }
            div.ticks { (tick("area", "A5.3: DNF counts the boats that came to the start")) (tick("own", "A division's places are counted among its own boats")) (tick("off", "The series is withdrawn")) }
            p { button.tag { @if kept { "Keep this correction" } @else { "Score this series" } } }
            // Under the form's own button, which is the one that the Enter key presses.
            @if !wrong.is_empty() { (offer(form)) }
        }
        @if kept { form method="post" action="/race-day/results/gone" { input type="hidden" name="id" value=(form.text("id")); input type="hidden" name="version" value=(form.text("version")); button.second { "Take this series out" } } }
    } }
}

/// The boats of the sheet that are not entered, each with the entry she may be: one written alike but for blanks and capitals.
fn offered(form: &Form) -> Vec<(String, Option<String>)> {
    let entered = entries(form.text("entries"));
    let alike = |label: &str| label.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
    let known: HashMap<String, &String> = entered.iter().map(|boat| (alike(boat), boat)).collect();
    let found = strangers(&form.sheet("results"), &entered).into_iter();
    found.map(|label| (label.clone(), known.get(&alike(&label)).map(|boat| (*boat).clone()))).collect()
}

/// Enters the boats that were ticked.
fn enter(form: &mut Form) {
    let mut list = entries(form.text("entries"));
    for boat in form.all("boat").map(str::trim).filter(|boat| !boat.is_empty()) {
        if !list.iter().any(|known| known == boat) {
            list.push(boat.to_owned());
        }
    }
    form.0.retain(|p| p.0 != "entries");
    form.0.push(("entries".to_owned(), list.join("\n")));
}

/// The sheet's boats that are not entered, to be entered by one press.
fn offer(form: &Form) -> Markup {
    let boats = offered(form);
    html! { @if !boats.is_empty() { fieldset #strangers {
        legend { @if boats.len() == 1 { "A boat of the sheet is not entered" } @else { (boats.len()) " boats of the sheet are not entered" } }
        div.ticks { @for (label, alike) in &boats { label {
            input.tick type="checkbox" name="boat" value=(label) checked[alike.is_none()]; " " (label)
            @if let Some(entered) = alike { small { " is she " (entered) "? Then write her so in the sheet" } }
        } } }
        p.small { "Who is entered and not in the sheet counts for DNF and DNC: take her out of Entries if she is not in this series." }
        p { button.second name="enter" value="1" { "Enter those ticked and score" } }
    } } }
}

/// A series is written.
pub(in super::super) async fn write(State(yard): State<Arc<Yard>>, mut sent: Multipart) -> Answer {
    let unread = |what: String| Refusal::because("The series did not arrive whole", &what);
    let mut form = Form::default();
    let mut file = None;
    loop {
        let field = match sent.next_field().await {
            Ok(Some(field)) => field,
            Ok(None) => break,
            Err(error) => return Err(unread(error.body_text())),
        };
        let name = field.name().unwrap_or_default().to_owned();
        let bytes = field.bytes().await.map_err(|error| unread(error.body_text()))?;
        if name == "sheet" {
            file = Some(bytes).filter(|b| !b.is_empty());
        } else {
            form.0.push((name, String::from_utf8_lossy(&bytes).into_owned()));
        }
    }
    let mut wrong = Wrong::new();
    if let Some(bytes) = file {
        match squad::text::of(&bytes) {
            Ok(text) => {
                form.0.retain(|p| p.0 != "results");
                form.0.push(("results".to_owned(), text));
            }
            Err(why) => wrong.push(("results".to_owned(), format!("the file: {why}"))),
        }
    }
    if form.ticked("enter") {
        enter(&mut form);
    }
    let old = match form.text("id") {
        "" => None,
        text => {
            let id: Id<SeriesFact> = text.parse().map_err(|_| Refusal::lost("There is no such series"))?;
            Some(yard.store()?.get(id)?.ok_or_else(|| Refusal::lost("There is no such series"))?)
        }
    };
    let name = form.line("name", 60, &mut wrong);
    if name.is_empty() {
        wrong.push(("name".to_owned(), "give it a name, like spring series".to_owned()));
    }
    let text = written(&form, old.as_ref().map_or("", |o| o.fact.series_text.as_str()), &mut wrong);
    let text = text.map_err(|error| Refusal::because("That was not written", &error.to_string()))?;
    let day = old.as_ref().and_then(|o| o.fact.day);
    let fact = SeriesFact { name, series_text: text, results_text: form.sheet("results"), day };
    // A series that is off has no standings, and is kept all the same.
    if wrong.iter().all(|(field, _)| field != "results")
        && let Err(error) = Scored::of(&fact)
        && !(form.ticked("off") && error.found.contains("withdrawn"))
    {
        let field = ["entries", "fleets", "divisions", "withdrawn", "edition"].into_iter().find(|f| error.place.contains(f));
        let field = field.unwrap_or(if error.place.contains(SHEET) || error.place.starts_with("race") { "results" } else { "series" });
        wrong.push((field.to_owned(), said(&error)));
    }
    if !wrong.is_empty() {
        return show(&yard, old.as_ref(), &form, &wrong, false);
    }
    let written = match &old {
        None => Edit::Written(yard.store()?.add(&fact, &Yard::writer())?),
        Some(old) => yard.store()?.edit(old.id, form.text("version").parse().unwrap_or(0), &fact, &Yard::writer())?,
    };
    match written {
        Edit::Written(kept) => Ok(later(&format!("/race-day/results?series={}", kept.id))),
        Edit::Overtaken(theirs) => {
            form.0.retain(|p| p.0 != "version");
            form.0.push(("version".to_owned(), theirs.version.to_string()));
            show(&yard, Some(&theirs), &form, &wrong, true)
        }
    }
}

/// A series is taken out.
pub(in super::super) async fn gone(State(yard): State<Arc<Yard>>, Sent(form): Sent) -> Answer {
    let id: Id<SeriesFact> = form.text("id").parse().map_err(|_| Refusal::lost("There is no such series"))?;
    match yard.store()?.withdraw(id, form.text("version").parse().unwrap_or(0), &Yard::writer())? {
        Edit::Written(_) => Ok(later("/race-day/results")),
        Edit::Overtaken(_) => Err(Refusal::unkept("Somebody changed this series meanwhile: look at it first.")),
    }
}

/// A series scored, or why not.
fn ready(yard: &Yard, asked: &Asked) -> Result<Scored, Refusal> {
    let kept = chosen(yard, asked)?.ok_or_else(|| Refusal::lost("There is no such series"))?;
    Scored::of(&kept.fact).map_err(|error| Refusal::because("This series has no standings", &said(&error)))
}

/// The results on paper.
pub(in super::super) async fn pdf(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let page = ResultsPage::of(&ready(&yard, &asked)?.standings);
    match tokio::task::spawn_blocking(move || results_pdf(&page)).await {
        Ok(Ok(bytes)) => Ok(as_file("results.pdf", "application/pdf", bytes)),
        Ok(Err(error)) => Err(Refusal::because("The results were not printed", &error.to_string())),
        Err(_) => Err(Refusal::because("The results were not printed", "Try again.")),
    }
}

/// The results as CSV.
pub(in super::super) async fn csv(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let bytes = sheet(&ready(&yard, &asked)?.standings).map_err(|error| Refusal::because("That was not written", &error.to_string()))?;
    Ok(as_file("results.csv", "text/csv; charset=utf-8", bytes))
}

/// The results as JSON, as the command tells them.
pub(in super::super) async fn json(State(yard): State<Arc<Yard>>, Query(asked): Query<Asked>) -> Answer {
    let scored = ready(&yard, &asked)?;
    let mut document = json!(scored.standings);
    document["warnings"] = json!(scored.doubts);
    Ok(as_file("results.json", "application/json", document.to_string().into_bytes()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_comma_in_a_boats_name_stays_in_it() {
        let entered = entries("Wren, the second\r\nWren\nKnot\n\n");
        assert_eq!(entered, ["Wren, the second", "Wren", "Knot"]);
        assert_eq!(boats("Knot, Wren, the second,Wren", &entered), ["Knot", "Wren, the second", "Wren"]);
        assert_eq!(boats("Knott, Wren", &entered), ["Knott", "Wren"], "a stranger is named as she was typed");
        let mut wrong = Wrong::new();
        let parts = parts("gold: Wren, the second\nsilver: Knot,\nsilver: Wren\nno colon", &entered, "fleets", &mut wrong);
        assert_eq!(toml::to_string(&parts).unwrap(), "gold = [\"Wren, the second\"]\nsilver = [\"Knot\", \"Wren\"]\n");
        assert!(wrong.len() == 1 && wrong[0].1.contains("no colon"), "{wrong:?}");
    }
}
