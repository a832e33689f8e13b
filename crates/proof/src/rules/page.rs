//! docs/rules.md and its plots, from what was found.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result};

use super::curve::Curve;
use super::plot::{DASHES, svg};
use super::{Finding, Rule, Verdict};

const PREFACE: &str = "# The trade's rules, asked of the solved boat

Written by `cargo xtask prove rules`. No rule is coded: each moves one thing on the solved model of the invented pram (sea water and air at
15 degrees, flat water, wind at 2 m, starboard tack), looks at the result and computes its verdict by the criterion that stands beside it.
Constants are those of `data/constants.toml`, fixed before the first run. The sailors are invented: light 35, middle 45, heavy 55 kg; what is
not said otherwise is asked of the middle one. A difference below 0.3 % of speed is none. Verdicts that somebody looked at stand in
`data/rules.toml`; a verdict that changes fails the check until somebody looks again. Criteria were written before the first run and not
changed after it; two sweeps were: that of heel in T8 was widened to leeward, and how T2 finds the boom for a held sheet was replaced because
the first way did not end. T17 and T18 were asked later than the others, once the boat could turn in time, and the criterion of T18 was
written with figures of the plan at hand. The model was compared with no boat: agreeing with
the trade is no proof that it is right, and disagreeing none that the trade is wrong.

";

/// Writes the page and one SVG for each pair of axes of each rule.
pub(super) fn write(root: &Path, found: &[(Rule, Finding)], quick: &[&str]) -> Result<()> {
    let folder = root.join("docs").join("rules");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let mut page = PREFACE.to_owned();
    page.push_str(&counts(found));
    let _ = writeln!(page, "Asked by every check: {}. The others by this proof alone.\n", quick.join(", "));
    page.push_str("| rule | the trade says | the model |\n|---|---|---|\n");
    for (rule, finding) in found {
        let _ = writeln!(page, "| [{0}](#{1}) | {2} | {3} |", rule.id, rule.id.to_lowercase(), rule.words, told(&finding.verdict));
    }
    page.push_str(&against(found));
    for (rule, finding) in found {
        section(&mut page, rule, finding);
        for (k, curves) in by_axes(&finding.curves).iter().enumerate() {
            let name = format!("{}-{}.svg", rule.id, k + 1);
            let path = folder.join(&name);
            fs::write(&path, svg(curves)).with_context(|| format!("cannot write {}", path.display()))?;
            plot(&mut page, &name, curves);
        }
    }
    let path = root.join("docs").join("rules.md");
    fs::write(&path, page).with_context(|| format!("cannot write {}", path.display()))
}

/// A verdict with its condition.
fn told(verdict: &Verdict) -> String {
    match verdict {
        Verdict::OnlyIf(condition) => format!("agrees only if {condition}"),
        _ => verdict.word().to_owned(),
    }
}

/// How many of each verdict, and on which day.
fn counts(found: &[(Rule, Finding)]) -> String {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    let mut points = 0;
    for (_, finding) in found {
        *counts.entry(finding.verdict.word()).or_default() += 1;
        points += finding.curves.iter().map(|c| c.points.len()).sum::<usize>();
    }
    let counts: Vec<String> = counts.iter().map(|(word, n)| format!("{n} {word}")).collect();
    format!("Run on {}: {} rules, {points} points on their curves; {}.\n\n", today(), found.len(), counts.join(", "))
}

/// Today as year-month-day, in universal time.
fn today() -> String {
    let seconds = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).map_or(0, |d| d.as_secs());
    // Days to a civil date: Hinnant 2013, "chrono-compatible low-level date algorithms", for years after 1970.
    let days = seconds / 86_400 + 719_468;
    let era = days / 146_097;
    let of_era = days % 146_097;
    let year_of_era = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let shifted = (5 * of_year + 2) / 153;
    let day = of_year - (153 * shifted + 2) / 5 + 1;
    let month = if shifted < 10 { shifted + 3 } else { shifted - 9 };
    let year = year_of_era + era * 400 + u64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}

/// What the model says otherwise than the trade.
fn against(found: &[(Rule, Finding)]) -> String {
    let mut out = "\n## Where the model and the trade differ\n\n".to_owned();
    for (rule, finding) in found {
        if matches!(finding.verdict, Verdict::Disagrees | Verdict::OnlyIf(_)) {
            let _ = writeln!(out, "- {} ({}): {}. {}", rule.id, told(&finding.verdict), finding.because, rule.card);
        }
    }
    out.push('\n');
    out
}

fn section(page: &mut String, rule: &Rule, finding: &Finding) {
    let _ = writeln!(page, "## {}\n\n{} ({})\n\n**{}**: {}\n", rule.id, rule.words, rule.source, told(&finding.verdict), finding.because);
    let _ = writeln!(
        page,
        "- Swept: {}.\n- Held: {}.\n- Trimmed anew: {}.\n- Agrees when {}\n- {}\n",
        rule.swept, rule.held, rule.trimmed, rule.criterion, rule.card
    );
}

/// Curves that share their axes, in the order they come, at most as many as there are dashes.
fn by_axes(curves: &[Curve]) -> Vec<Vec<&Curve>> {
    let mut groups: Vec<Vec<&Curve>> = Vec::new();
    for curve in curves {
        let same = groups.iter_mut().find(|g| g.len() < DASHES.len() && g.first().is_some_and(|f| f.x == curve.x && f.y == curve.y));
        match same {
            Some(group) => group.push(curve),
            None => groups.push(vec![curve]),
        }
    }
    groups
}

fn plot(page: &mut String, file: &str, curves: &[&Curve]) {
    let Some(first) = curves.first() else { return };
    let names: Vec<String> = curves.iter().zip(DASHES).map(|(c, (_, dash))| format!("{} ({dash})", c.name)).collect();
    let _ = writeln!(page, "![{} over {}](rules/{file})\n\n{} over {}: {}.\n", first.y, first.x, first.y, first.x, names.join(", "));
    let mut xs: Vec<f64> = curves.iter().flat_map(|c| c.points.iter().map(|p| p[0])).collect();
    xs.sort_by(f64::total_cmp);
    xs.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    let head: Vec<String> = xs.iter().map(|x| number(*x)).collect();
    let _ = writeln!(page, "| {} | {} |\n|---|{}", first.x, head.join(" | "), "---|".repeat(xs.len()));
    for curve in curves {
        let cell = |x: &f64| curve.points.iter().find(|p| (p[0] - x).abs() < 1e-9).map_or("-".to_owned(), |p| number(p[1]));
        let cells: Vec<String> = xs.iter().map(cell).collect();
        let _ = writeln!(page, "| {} | {} |", curve.name, cells.join(" | "));
    }
    page.push('\n');
}

/// Four digits are more than any of it is good for.
fn number(x: f64) -> String {
    let decimals = match x.abs() {
        a if a >= 100.0 => 0,
        a if a >= 10.0 => 1,
        a if a >= 1.0 => 3,
        _ => 4,
    };
    let text = format!("{x:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}
