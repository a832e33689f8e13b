//! What was typed into a form: fields by name, numbers with their units, and why one cannot be used.

use measure::quantity::Range;

/// A form as it came.
#[derive(Debug, Clone, Default)]
pub(super) struct Form(pub(super) Vec<(String, String)>);

/// What was wrong: field and words.
pub(super) type Wrong = Vec<(String, String)>;

/// The most letters of a field: more is no field of ours.
const LONGEST: usize = 10_000;

impl Form {
    /// A field, without blanks at its ends; empty where it is missing.
    pub(super) fn text(&self, name: &str) -> &str {
        self.0.iter().find(|p| p.0 == name).map_or("", |p| p.1.trim())
    }

    /// A field with the blanks and tabs at its ends, which belong to the cells of a table.
    pub(super) fn sheet(&self, name: &str) -> String {
        let text = self.0.iter().find(|p| p.0 == name).map_or("", |p| p.1.as_str());
        text.replace("\r\n", "\n").trim_matches('\n').to_owned()
    }

    /// All values of a field that was sent several times.
    pub(super) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.0.iter().filter(move |p| p.0 == name).map(|p| p.1.as_str())
    }

    pub(super) fn ticked(&self, name: &str) -> bool {
        self.0.iter().any(|p| p.0 == name)
    }

    /// Whether a field of several was sent with a value.
    pub(super) fn has(&self, name: &str, value: &str) -> bool {
        self.0.iter().any(|p| p.0 == name && p.1 == value)
    }

    /// Whether a field was left as it stood: what stood in it goes along as `was.` and its name.
    pub(super) fn left(&self, name: &str) -> bool {
        self.text(name) == self.text(&format!("was.{name}"))
    }

    /// A short text: control characters go, and what is too long is told.
    pub(super) fn line(&self, name: &str, most: usize, wrong: &mut Wrong) -> String {
        let text: String = self.text(name).chars().take(LONGEST).map(|c| if c.is_control() { ' ' } else { c }).collect();
        if text.chars().count() > most {
            wrong.push((name.to_owned(), format!("that is {} letters: type {most} at most", text.chars().count())));
            return text.chars().take(most).collect();
        }
        text
    }

    /// A number in a unit, or with its unit; `None` where nothing was typed.
    pub(super) fn number(&self, name: &str, range: &Range, alone: f64, wrong: &mut Wrong) -> Option<f64> {
        let text = self.text(name);
        if text.is_empty() {
            return None;
        }
        let short: String = text.chars().take(40).collect();
        let plain = short.replace('\u{2212}', "-").replace(',', ".");
        let read = match plain.parse::<f64>() {
            Ok(value) => range.check(value * alone),
            Err(_) => range.parse(&short),
        };
        match read {
            Ok(value) => Some(value),
            Err(error) => {
                wrong.push((name.to_owned(), error.to_string()));
                None
            }
        }
    }
}

/// What was wrong with a field, beside it.
pub(super) fn told(wrong: &Wrong, name: &str) -> maud::Markup {
    maud::html! { @for (_, why) in wrong.iter().filter(|w| w.0 == name) { p.wrong role="alert" { (why) } } }
}
