//! `rules`: the rules of the race in a child's words.

use anyhow::{Context, Result, bail};
use clap::Args;
use serde::Serialize;
use trimwright::words::rule::{RuleWords, rules};

use crate::output::{Done, Shown, show};

/// The rules of the race in words for children: what is right, what is wrong, and where the rule book says it
#[derive(Debug, Args)]
#[command(after_help = "Example:\n  $ trimwright rules moving")]
pub(crate) struct Rules {
    /// One of them, such as moving, help, tacks or zone; without it all
    topic: Option<String>,
}

#[derive(Debug, Serialize)]
struct Document<'a> {
    topics: Vec<&'a RuleWords>,
    decides: &'static str,
}

/// Who has the last word.
const DECIDES: &str = "These are our own short words. The rule book and the protest committee decide.";

impl Rules {
    pub(crate) fn run(&self, shown: Shown) -> Result<Done> {
        let all = rules().context("the words of the rules do not read; this is a fault of the program")?;
        let topics: Vec<&RuleWords> = match &self.topic {
            None => all.iter().collect(),
            Some(key) => all.iter().filter(|r| r.key.eq_ignore_ascii_case(key.trim())).collect(),
        };
        if topics.is_empty() {
            let keys: Vec<_> = all.iter().map(|r| r.key.as_str()).collect();
            bail!("rules {}: there are {}", self.topic.as_deref().unwrap_or_default(), keys.join(", "));
        }
        let document = Document { topics, decides: DECIDES };
        show(shown, &document, || table(&document))?;
        Ok(Done::Whole)
    }
}

fn table(document: &Document<'_>) -> String {
    let one = |r: &&RuleWords| {
        let lines = |head: &str, list: &[String]| list.iter().map(|t| format!("  {head} {t}\n")).collect::<String>();
        format!("{} (rule {})\n{}\n{}{}\n", r.title, r.rule, r.main, lines("yes:", &r.good), lines("no: ", &r.bad))
    };
    document.topics.iter().map(one).collect::<String>() + document.decides
}
