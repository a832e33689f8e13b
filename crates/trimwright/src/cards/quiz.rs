//! A quiz on paper as the page's data: questions with pictures and boxes to tick; then the right letters and reasons, for the coach.

use serde_json::{Value, json};

use super::CardError;
use super::side::{Figure, printable};
use super::world::Press;
use crate::briefing::quiz::Asked;
use crate::words::school::Tongue;

/// The longest text.
const LONGEST: usize = 300;

/// One sailor's quiz.
#[derive(Debug, Clone)]
pub struct QuizSheet {
    /// Whose.
    pub sailor: String,
    /// The questions.
    pub questions: Vec<Asked>,
}

/// All quizzes as JSON.
pub(super) fn page(press: &Press, sheets: &[QuizSheet], tongue: &Tongue, date: &str) -> Result<String, CardError> {
    let text = |text: &str| printable(press, text, LONGEST);
    let question = |one: &Asked| -> Value {
        let answers: Vec<Value> = one.answers.iter().map(|a| json!({ "letter": a.letter.to_string(), "says": text(&a.says) })).collect();
        let right = one.right();
        json!({
            "kind": text(&one.kind),
            "ask": text(&one.ask),
            "picture": Figure::from(one.picture.clone()),
            "answers": answers,
            "letter": right.map(|r| r.letter.to_string()),
            "says": right.map(|r| text(&r.says)),
            "why": right.map(|r| text(&r.why)),
            "cost": right.and_then(|r| r.cost.as_deref()).map(text),
            "rests": text(&one.rests),
        })
    };
    let of = |key: &str, sailor: &str| text(&tongue.page(key).replace("{name}", sailor));
    let sheets: Vec<Value> = sheets
        .iter()
        .map(|sheet| {
            json!({
                "title": of("quiz_title", &sheet.sailor),
                "answers": of("answers_title", &sheet.sailor),
                "questions": sheet.questions.iter().map(question).collect::<Vec<_>>(),
            })
        })
        .collect();
    Ok(serde_json::to_string(&json!({
        "language": tongue.language.code(), "date": text(date), "coach": text(tongue.page("coach")), "sheets": sheets,
    }))?)
}
