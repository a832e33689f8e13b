//! The way to a course mark as a tape in boat lengths: a stroke where hands begin with each control, and jaws between which it makes no
//! difference when they do.

use super::{ACCENT, Anchor, INK, LEAST_TEXT, LINE, ON_TAPE, OUTLINE, PEN_ON_TAPE, Picture, ROPE, SEAM, SHEET, TAPE, TAPE_EDGE};

/// One control on its way.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stroke {
    /// What is done.
    pub name: String,
    /// What it costs to be late or early.
    pub note: String,
    /// Where hands begin, boat lengths before the course mark; after it negative.
    pub at: f64,
    /// Between which beginnings it makes no difference, from the earliest.
    pub jaws: [f64; 2],
}

/// The tape.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Approach {
    /// In the order of the hands.
    pub strokes: Vec<Stroke>,
    /// The course mark's name.
    pub mark: String,
    /// What it says, in words.
    pub alt: String,
}

/// The tape's thickness, a label's height, and what stands between jaws of one step and the next, mm.
const THICK: f64 = 6.0;
const LABEL: f64 = 10.5;
const JAWS: f64 = 2.6;
/// Letters are about so wide for their size.
const LETTER: f64 = 0.56;
/// The tape shows so many lengths at least before and after, and so many beyond a stroke.
const LEAST: [f64; 2] = [6.0, 2.0];
const BEYOND: f64 = 2.0;

/// The tape in this width, mm.
#[must_use]
pub fn approach(drawing: &Approach, width: f64) -> Picture {
    let most = |values: &dyn Fn(&Stroke) -> f64, least: f64| drawing.strokes.iter().map(values).fold(least - BEYOND, f64::max) + BEYOND;
    let before = most(&|s| s.at, LEAST[0]).ceil().min(40.0);
    let after = most(&|s| -s.at, LEAST[1]).ceil().min(40.0);
    let (left, right) = (4.0, width - 4.0);
    let scale = (right - left) / (before + after);
    let x = |lengths: f64| left + (before - lengths.clamp(-after, before)) * scale;
    // Each label stands on the lowest row where it does not meet another.
    let mut taken: Vec<Vec<[f64; 2]>> = Vec::new();
    let labels: Vec<(usize, f64)> = drawing
        .strokes
        .iter()
        .map(|s| {
            let wide = LEAST_TEXT * LETTER * s.name.chars().count().max(s.note.chars().count()) as f64;
            let from = (x(s.at) - 0.5 * wide).max(left).min((right - wide).max(left));
            let fits = |row: &[[f64; 2]]| row.iter().all(|t| from > t[1] + 2.0 || from + wide < t[0] - 2.0);
            let row = taken.iter().position(|row| fits(row)).unwrap_or(taken.len());
            if row == taken.len() {
                taken.push(Vec::new());
            }
            taken[row].push([from, from + wide]);
            (row, from + 0.5 * wide)
        })
        .collect();
    let jaws_tall = JAWS * drawing.strokes.len() as f64 + 2.0;
    let top = LABEL * taken.len().max(1) as f64 + jaws_tall;
    let mut picture = Picture::new(width, top + THICK + 11.0, drawing.alt.clone());
    picture.area([(left, top), (right, top), (right, top + THICK), (left, top + THICK)], TAPE, (TAPE_EDGE, SEAM));
    let step = if scale < 7.0 { 2 } else { 1 };
    let (first, last) = (-after as i32, before as i32);
    for n in first..=last {
        let at = x(f64::from(n));
        let long = n % 2 == 0;
        if n > first && n < last {
            picture.line([(at, top + THICK), (at, top + THICK - if long { 2.6 } else { 1.4 })], ON_TAPE, ROPE);
        }
        // The course mark stands at nought, and words at both ends.
        if n != 0 && n % step == 0 && n > first && n < last {
            picture.text((at, top + THICK + 4.4), LEAST_TEXT, Anchor::Middle, n.abs().to_string());
        }
    }
    let foot = top + THICK + 9.6;
    picture.text((left, foot), LEAST_TEXT, Anchor::Start, "boat lengths before");
    picture.text((right, foot), LEAST_TEXT, Anchor::End, "after");
    let mark = x(0.0);
    picture.area([(mark, top + THICK + 0.6), (mark + 2.4, top + THICK + 4.6), (mark - 2.4, top + THICK + 4.6)], INK, (INK, SEAM));
    picture.text((mark, foot), LEAST_TEXT, Anchor::Middle, drawing.mark.clone());
    for (k, (stroke, (row, middle))) in drawing.strokes.iter().zip(&labels).enumerate() {
        let at = x(stroke.at);
        let y = top - 1.4 - JAWS * (k as f64 + 0.6);
        let ends = stroke.jaws.map(x);
        picture.line([(ends[0], y + 1.6), (ends[0], y), (ends[1], y), (ends[1], y + 1.6)], INK, OUTLINE * 1.4);
        let label = top - jaws_tall - LABEL * *row as f64;
        picture.line([(at, label - 0.2), (at, top)], LINE, SEAM);
        let wide = LEAST_TEXT * LETTER * stroke.name.chars().count().max(stroke.note.chars().count()) as f64;
        let half = 0.5 * wide + 0.6;
        picture.fill(
            [(middle - half, label - LABEL + 0.8), (middle + half, label - LABEL + 0.8), (middle + half, label), (middle - half, label)],
            SHEET,
        );
        picture.figure((*middle, label - 5.4), LEAST_TEXT, Anchor::Middle, stroke.name.clone());
        picture.text((*middle, label - 1.2), LEAST_TEXT, Anchor::Middle, stroke.note.clone());
        picture.line([(at, top + 0.1), (at, top + THICK - 0.1)], PEN_ON_TAPE, ACCENT * 1.3);
    }
    picture
}

#[cfg(test)]
mod tests {
    use super::super::Shape;
    use super::*;

    fn stroke(name: &str, at: f64) -> Stroke {
        Stroke { name: name.to_owned(), note: "late costs 2".to_owned(), at, jaws: [at + 1.0, at - 1.0] }
    }

    /// A stroke stands as many lengths from the course mark as it says, to the scale of the tape's own strokes.
    #[test]
    fn strokes_stand_where_they_say() {
        let drawing =
            Approach { strokes: vec![stroke("board down", 3.0), stroke("sheet in", -1.0)], mark: "leeward".to_owned(), alt: String::new() };
        let picture = approach(&drawing, 120.0);
        let strokes: Vec<f64> = picture
            .shapes
            .iter()
            .filter_map(|s| match s {
                Shape::Path { points, stroke: Some((PEN_ON_TAPE, _)), .. } => Some(points[0].0),
                _ => None,
            })
            .collect();
        let mark = picture.shapes.iter().find_map(|s| match s {
            Shape::Path { points, closed: true, fill: Some(INK), .. } if points.len() == 3 => Some(points[0].0),
            _ => None,
        });
        let (mark, [board, sheet]) = (mark.unwrap(), [strokes[0], strokes[1]]);
        assert!(((mark - board) / (sheet - mark) - 3.0).abs() < 1e-9, "{mark} {board} {sheet}");
        assert!(picture.texts().all(|(_, size)| size >= LEAST_TEXT - 1e-9));
    }

    /// Labels of steps in one place stand one over the other.
    #[test]
    fn labels_do_not_meet() {
        let one = approach(&Approach { strokes: vec![stroke("vang off", 2.0)], ..Approach::default() }, 120.0);
        let two = approach(&Approach { strokes: vec![stroke("vang off", 2.0), stroke("downhaul off", 2.2)], ..Approach::default() }, 120.0);
        assert!(two.height > one.height + LABEL);
    }
}
