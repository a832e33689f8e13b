//! What settings were worth: for each a bar of the passes, one of the model, one of both, over a line of metres.

use crate::long::Long;

use super::{Anchor, INK, LEAST_TEXT, LINE, OUTLINE, PEN, Picture, SEAM, TAPE};

/// Width of the picture and of the names, mm.
const WIDTH: f64 = 170.0;
const NAMES: f64 = 34.0;
/// Height of a setting's three bars, mm.
const ROW: f64 = 22.0;

/// One setting: lower limit, middle, upper limit in metres per 500 m.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// Its name.
    pub label: String,
    /// By the passes.
    pub passes: [f64; 3],
    /// By the model.
    pub model: Option<[f64; 3]>,
    /// By both.
    pub both: Option<[f64; 3]>,
}

/// The picture.
#[must_use]
pub fn weighed(bars: &[Bar]) -> Picture {
    let ends = || bars.iter().flat_map(|b| [Some(b.passes), b.model, b.both]).flatten().flat_map(|i| [i[0], i[2]]);
    let step = |most: f64| [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0].into_iter().find(|s| most / s <= 4.0).unwrap_or(500.0);
    let most = ends().fold(1.0_f64, |a, v| a.max(v.abs())).min(400.0);
    let step = step(most);
    let most = (most / step).ceil() * step;
    let spoken: Vec<String> = bars
        .iter()
        .map(|b| {
            let [low, middle, high] = b.passes.map(|metres| Long::METRES.signed(metres, 0));
            format!("{}: by the passes {middle} metres, between {low} and {high}", b.label)
        })
        .collect();
    let height = ROW * bars.len() as f64 + 12.0;
    let mut picture = Picture::new(WIDTH, height, spoken.join("; "));
    let x = |metres: f64| NAMES + 4.0 + (WIDTH - NAMES - 10.0) * (metres.clamp(-most, most) + most) / (2.0 * most);
    let mut at = -most;
    while at <= most + 1e-9 {
        picture.line(
            [(x(at), 0.0), (x(at), height - 8.0)],
            if at.abs() < 1e-9 { INK } else { LINE },
            if at.abs() < 1e-9 { OUTLINE } else { SEAM },
        );
        picture.text((x(at), height - 2.5), LEAST_TEXT, Anchor::Middle, Long::METRES.signed(at, 0));
        at += step;
    }
    for (k, bar) in bars.iter().enumerate() {
        let top = ROW * k as f64;
        picture.figure((NAMES, top + 8.0), LEAST_TEXT * 1.2, Anchor::End, bar.label.clone());
        for (row, (says, interval, heavy)) in
            [("passes", Some(bar.passes), false), ("model", bar.model, false), ("both", bar.both, true)].into_iter().enumerate()
        {
            let y = top + 3.5 + 6.0 * row as f64;
            let Some([low, middle, high]) = interval else { continue };
            if heavy {
                picture.area([(x(low), y - 1.6), (x(high), y - 1.6), (x(high), y + 1.6), (x(low), y + 1.6)], TAPE, (INK, SEAM));
            } else {
                picture.line([(x(low), y), (x(high), y)], INK, OUTLINE);
            }
            picture.line([(x(middle), y - 2.0), (x(middle), y + 2.0)], PEN, 1.0);
            picture.text((WIDTH - 1.0, y + 1.2), LEAST_TEXT, Anchor::End, says);
        }
    }
    picture
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Less than nothing has a true minus, on the line and in the words.
    #[test]
    fn a_loss_has_a_true_minus() {
        let bar = Bar { label: "car".to_owned(), passes: [-4.2, -2.1, 0.2], model: None, both: None };
        let svg = weighed(&[bar]).svg();
        assert!(svg.contains(">−2<") && svg.contains(">0<"), "{svg}");
        assert!(svg.contains("car: by the passes −2 metres, between −4 and 0"), "{svg}");
        assert!(!svg.contains(">-") && !svg.contains(">−0<"), "{svg}");
    }
}
