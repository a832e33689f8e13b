//! The wind by hour: read as it was typed, and drawn.

use std::fmt::Write;

use maud::{Markup, PreEscaped, html};
use measure::quantity::{KNOT, plain};
use measure::wind::WIND_RANGE;

use crate::pages::yard::Today;

/// The most hours that are named under the plot of the wind.
const NAMED: usize = 8;
/// The most hours of a forecast.
const HOURS: usize = 24;

/// One hour of the plot: time of day in hours, mean and puff in knots, its name, where from.
struct Plotted {
    clock: f64,
    wind: f64,
    puff: f64,
    hour: String,
    from: Option<f64>,
}

/// Hours that follow each other without a gap: a line drawn over one would tell what nobody forecast.
fn runs(points: &[Plotted]) -> Vec<&[Plotted]> {
    let steps = points.windows(2).map(|two| two[1].clock - two[0].clock);
    let usual = steps.fold(f64::INFINITY, f64::min);
    points.chunk_by(|a, b| b.clock - a.clock < 1.5 * usual).collect()
}

/// The wind by hour as a line, with lull and puff; broken where hours are missing, and that is said.
pub(super) fn by_hour(today: &Today) -> Markup {
    let zone = jiff::tz::TimeZone::get(&today.kept.fact.timezone).unwrap_or(jiff::tz::TimeZone::UTC);
    let points: Vec<Plotted> = today
        .hours
        .iter()
        .map(|h| {
            let at = zone.to_datetime(h.fact.at.timestamp());
            let clock = f64::from(at.hour()) + f64::from(at.minute()) / 60.0;
            let gust = h.fact.gust_ms.unwrap_or(h.fact.wind_ms * crate::day::GUSTS_OPEN);
            Plotted { clock, wind: h.fact.wind_ms / KNOT, puff: gust / KNOT, hour: at.strftime("%H").to_string(), from: h.fact.from_rad }
        })
        .collect();
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return html! {} };
    let most = points.iter().map(|p| p.puff).fold(6.0_f64, f64::max);
    let top = (most / 6.0).ceil() * 6.0;
    let x = |clock: f64| 40.0 + 560.0 * if last.clock > first.clock { (clock - first.clock) / (last.clock - first.clock) } else { 0.5 };
    let y = |knots: f64| 20.0 + 160.0 * (1.0 - knots / top);
    let mut svg = String::from("<svg class=\"plot\" viewBox=\"0 0 632 240\" role=\"img\">");
    let spoken: Vec<String> = points.iter().map(|p| format!("{} hours {:.0} knots, puffs {:.0}", p.hour, p.wind, p.puff)).collect();
    let _ = write!(svg, "<title>{}</title>", spoken.join("; "));
    let mut level = 0.0;
    while level <= top {
        let _ = write!(
            svg,
            "<path class=\"grid\" d=\"M40 {0:.1}H600\"/><text x=\"32\" y=\"{1:.1}\" text-anchor=\"end\">{2}</text>",
            y(level),
            y(level) + 5.0,
            plain(level + 0.0)
        );
        level += 6.0;
    }
    for run in runs(&points) {
        let line = |of: &dyn Fn(&Plotted) -> f64| -> String {
            run.iter().map(|p| format!("{:.1} {:.1}", x(p.clock), y(of(p)))).collect::<Vec<_>>().join("L")
        };
        let lull = |p: &Plotted| 2.0 * p.wind - p.puff.min(2.0 * p.wind);
        let back: Vec<String> = run.iter().rev().map(|p| format!("{:.1} {:.1}", x(p.clock), y(lull(p)))).collect();
        let _ = write!(svg, "<path class=\"zone\" d=\"M{}L{}Z\"/>", line(&|p| p.puff), back.join("L"));
        let _ = write!(svg, "<path class=\"curve\" d=\"M{}h.1\"/>", line(&|p| p.wind));
    }
    for p in points.iter().step_by(points.len().div_ceil(NAMED)) {
        let from = p.from.map_or(String::new(), |f| format!("{:03.0}°", f / measure::angle::DEGREE));
        let _ = write!(
            svg,
            "<text x=\"{0:.1}\" y=\"206\" text-anchor=\"middle\">{1}</text><text x=\"{0:.1}\" y=\"234\" text-anchor=\"middle\">{from}</text>",
            x(p.clock),
            p.hour
        );
    }
    let picture = PreEscaped(svg + "</svg>");
    let ends: Vec<&Plotted> = runs(&points).windows(2).flat_map(|two| two[0].last().into_iter().chain(two[1].first())).collect();
    let gaps: Vec<String> = ends.chunks(2).map(|two| format!("between {} and {}", two[0].hour, two[1].hour)).collect();
    html! { (picture) @if !gaps.is_empty() { p.small { "No wind is given " (gaps.join(", ")) ": the card takes the hours that are." } } }
}

/// One hour of a forecast as it was typed: local time of day, knots, puffs, from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Hour {
    pub(super) at: jiff::civil::Time,
    pub(super) wind: f64,
    pub(super) gust: Option<f64>,
    pub(super) from: Option<f64>,
}

/// Reads a forecast; each line that cannot be read is told, and the others are kept out until all can be.
pub(super) fn forecast(text: &str) -> Result<Vec<Hour>, String> {
    let mut hours: Vec<Hour> = Vec::new();
    let lines: Vec<&str> = text.lines().map(str::trim).filter(|l| !l.is_empty()).collect();
    if lines.len() > 2 * HOURS {
        return Err(format!("{} lines are more than a day: one line an hour, {HOURS} at most", lines.len()));
    }
    for (k, line) in lines.iter().enumerate() {
        let short: String = line.chars().take(40).collect();
        let cells: Vec<&str> = line.split([';', '\t', ' ', ',']).map(str::trim).filter(|c| !c.is_empty()).collect();
        let number = |cell: &str| cell.replace('\u{2212}', "-").trim_end_matches(['°', 'k', 'n', 't']).parse::<f64>().ok();
        // A head of names is passed over.
        if k == 0 && cells.iter().all(|c| number(c).is_none() && !c.contains(':')) {
            continue;
        }
        let like = "write it like \"13:00 11 15 315\"";
        let clock = |cell: &str| -> Option<jiff::civil::Time> {
            let (h, m) = cell.trim_end_matches('h').split_once(':').unwrap_or((cell.trim_end_matches('h'), "0"));
            jiff::civil::Time::new(h.parse().ok()?, m.parse().ok()?, 0, 0).ok()
        };
        let (at, rest) = match cells.as_slice() {
            [only] if lines.len() == 1 && number(only).is_some() => (jiff::civil::time(12, 0, 0, 0), &cells[..]),
            [first, rest @ ..] if !rest.is_empty() => {
                (clock(first).ok_or_else(|| format!("\"{short}\": \"{first}\" is no time of day; {like}"))?, rest)
            }
            _ => return Err(format!("\"{short}\" has no wind in it; {like}")),
        };
        let value = |at: usize, what: &str| -> Result<Option<f64>, String> {
            match rest.get(at).filter(|c| **c != "-") {
                None => Ok(None),
                Some(cell) => number(cell).map(Some).ok_or_else(|| format!("\"{short}\": \"{cell}\" is no {what}; {like}")),
            }
        };
        let wind = value(0, "wind")?.ok_or_else(|| format!("\"{short}\" has no wind in it; {like}"))?;
        let gust = value(1, "puff")?;
        let from = value(2, "direction")?;
        let check = |v: f64| WIND_RANGE.check(v * KNOT).map_err(|e| format!("\"{short}\": {e}"));
        let wind = check(wind)?;
        let gust = gust.map(check).transpose()?;
        if gust.is_some_and(|g| g < wind) {
            return Err(format!("\"{short}\": puffs are lighter than the wind; time, knots, puffs, from"));
        }
        if from.is_some_and(|f| !(0.0..=360.0).contains(&f)) {
            return Err(format!("\"{short}\": a direction is 0 to 360 degrees; {like}"));
        }
        if hours.iter().any(|h| h.at == at) {
            return Err(format!("\"{short}\": that hour is there twice; keep one"));
        }
        hours.push(Hour { at, wind, gust, from: from.map(|f| (f * measure::angle::DEGREE).rem_euclid(core::f64::consts::TAU)) });
    }
    if hours.is_empty() { Err("type the wind: one number for the whole day, or a line an hour".to_owned()) } else { Ok(hours) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_forecast_is_read_as_it_is_typed() {
        let one = forecast("13:00 11 15 315").unwrap();
        assert_eq!((one[0].at, one[0].gust.is_some()), (jiff::civil::time(13, 0, 0, 0), true));
        assert!((one[0].wind - 11.0 * KNOT).abs() < 1e-9 && (one[0].from.unwrap() / measure::angle::DEGREE - 315.0).abs() < 1e-9);
        assert_eq!(forecast("hour;wind;puffs;from\n9;6;-;300\n10;8;11").unwrap().len(), 2);
        assert_eq!(forecast("12").unwrap()[0].wind, 12.0 * KNOT);
        assert_eq!(forecast("09 6\r\n\r\n10 7 \n").unwrap().len(), 2);
    }

    #[test]
    fn what_cannot_be_read_is_told() {
        for (text, word) in [
            ("", "type the wind"),
            ("13:00", "no wind"),
            ("25:00 11", "no time"),
            ("13 eleven", "no wind"),
            ("13 11 9", "lighter"),
            ("13 11 15 400", "0 to 360"),
            ("13 11\n13 12", "twice"),
            ("13 900", "900"),
            ("13 -4", "13 -4"),
            ("<b> 3", "no time"),
        ] {
            let why = forecast(text).unwrap_err();
            assert!(why.contains(word), "{text}: {why}");
        }
        assert!(forecast(&"1 2\n".repeat(100)).unwrap_err().contains("more than a day"));
    }
}
