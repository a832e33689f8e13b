//! Where the metres of a beat went: the beat as a tape from course mark to course mark, and what each turn cost hanging from it, to the
//! tape's own scale, hatched where the truth may lie.

use crate::long::Long;

use super::{Anchor, HULL, INK, LEAST_TEXT, LINE, ON_TAPE, OUTLINE, PEN, Picture, Point, ROPE, SEAM, SHEET, TAPE, TAPE_EDGE};

/// A beat and what was lost on it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Metres {
    /// Made good on it, m.
    pub length: f64,
    /// What was lost, in the order it came.
    pub lost: Vec<Lost>,
    /// What stands at its ends.
    pub ends: [String; 2],
    /// What it is marked in.
    pub long: Long,
    /// What it says, in words.
    pub alt: String,
}

/// Metres lost in one place.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lost {
    /// Made good until then, m.
    pub at: f64,
    /// Metres.
    pub metres: f64,
    /// Half the interval of 19 chances in 20, where it is known, m.
    pub half: Option<f64>,
    /// What it was.
    pub what: String,
    /// When, by the clock.
    pub clock: String,
    /// The letter it has on the chart.
    pub letter: String,
}

/// Width of a label's column, mm.
const COLUMN: f64 = 21.0;
/// The tape's thickness, mm.
const THICK: f64 = 6.0;
/// Metres that hang from it are drawn this much longer than those along it: at the beat's own scale a lost length would not be seen.
pub const DEEPER: f64 = 6.0;

/// How many labels stand beside each other in a width.
#[must_use]
pub fn most(width: f64) -> usize {
    ((width - 8.0) / COLUMN) as usize
}

/// The tape in this width, mm. More losses than [`most`] are not drawn.
#[must_use]
pub fn metres(beat: &Metres, width: f64) -> Picture {
    let (left, right, top) = (4.0, width - 4.0, 12.0);
    let scale = (right - left) / beat.length.max(1.0);
    let deep = |metres: f64| (metres.max(0.0) * scale * DEEPER).min(60.0);
    let shown = &beat.lost[..beat.lost.len().min(most(width))];
    let longest = shown.iter().map(|l| deep(l.metres + l.half.unwrap_or(0.0))).fold(0.0, f64::max);
    let height = top + THICK + longest.max(14.0) + 22.0;
    let mut picture = Picture::new(width, height, beat.alt.clone());
    picture.text((left, top - 7.0), LEAST_TEXT, Anchor::Start, beat.ends[0].clone());
    picture.text((right, top - 7.0), LEAST_TEXT, Anchor::End, beat.ends[1].clone());
    let box_of = |x: f64, y: f64, w: f64, h: f64| [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
    picture.area(box_of(left, top, right - left, THICK), TAPE, (TAPE_EDGE, OUTLINE));
    let whole = beat.length / beat.long.metres;
    let step = [5.0, 10.0, 20.0, 50.0, 100.0].into_iter().find(|s| whole / s <= 60.0).unwrap_or(200.0);
    let mut n = 0_u32;
    while f64::from(n) * step <= whole {
        let x = left + f64::from(n) * step * beat.long.metres * scale;
        let long = n.is_multiple_of(10);
        picture.line([(x, top), (x, top + if long { 3.2 } else { 1.6 })], ON_TAPE, if long { ROPE } else { SEAM });
        if long && n > 0 && x < right - 12.0 {
            picture.text((x, top - 1.6), LEAST_TEXT, Anchor::Middle, format!("{:.0} {}", f64::from(n) * step, beat.long.unit));
        }
        n += 1;
    }
    // Labels side by side, each as near to its place as its neighbours let it.
    let mut columns: Vec<f64> = Vec::new();
    for lost in shown {
        let wish = (left + lost.at.clamp(0.0, beat.length) * scale - 2.0).min(right - COLUMN);
        columns.push(columns.last().map_or(wish.max(left), |last| wish.max(last + COLUMN)));
    }
    let mut most_right = right - COLUMN;
    for x in columns.iter_mut().rev() {
        *x = x.min(most_right);
        most_right = *x - COLUMN;
    }
    for (lost, x) in shown.iter().zip(&columns) {
        let place = left + lost.at.clamp(0.0, beat.length) * scale;
        let y = top + THICK;
        hang(&mut picture, *x, y, place, [deep(lost.metres), deep(lost.half.unwrap_or(0.0))]);
        let from = y + deep(lost.metres + lost.half.unwrap_or(0.0)).max(14.0);
        picture.figure((*x, from + 6.0), 4.6, Anchor::Start, format!("{} {}", beat.long.signed(lost.metres, 0), beat.long.unit));
        picture.text((*x, from + 10.6), LEAST_TEXT, Anchor::Start, lost.what.clone());
        picture.text((*x, from + 14.8), LEAST_TEXT, Anchor::Start, lost.clock.clone());
        let ring: Point = (*x + 14.4, from + 4.4);
        picture.ring(ring, 2.8, OUTLINE);
        picture.figure((ring.0, ring.1 + 1.4), LEAST_TEXT, Anchor::Middle, lost.letter.clone());
    }
    picture
}

/// One loss hanging from the tape: its length, and where the truth may lie hatched.
fn hang(picture: &mut Picture, x: f64, y: f64, place: f64, [length, half]: [f64; 2]) {
    const WIDE: f64 = 4.0;
    picture.line([(place, y), (x + 0.5 * WIDE, y + 2.0)], LINE, SEAM);
    picture.area([(x, y + 2.0), (x + WIDE, y + 2.0), (x + WIDE, y + 2.0 + length), (x, y + 2.0 + length)], HULL, (INK, SEAM));
    let (high, low) = ((length - half).max(0.0), length + half);
    if half > 0.0 {
        let doubt = [(x, y + 2.0 + high), (x + WIDE, y + 2.0 + high), (x + WIDE, y + 2.0 + low), (x, y + 2.0 + low)];
        picture.fill(doubt, SHEET);
        picture.hatch(&doubt, 1.0, LINE, SEAM);
        picture.area(doubt, "none", (LINE, SEAM));
    }
    picture.line([(x - 0.6, y + 2.0 + length), (x + WIDE + 0.6, y + 2.0 + length)], PEN, 0.8);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_do_not_lie_on_each_other_and_stay_on_the_picture() {
        let lost =
            |at: f64| Lost { at, metres: 4.0, half: Some(2.0), what: "tack".to_owned(), clock: "14:45".to_owned(), letter: "A".to_owned() };
        let beat = Metres { length: 400.0, lost: [0.0, 5.0, 390.0, 395.0, 398.0, 400.0].map(lost).to_vec(), ..Metres::default() };
        let picture = metres(&beat, 180.0);
        let mut places: Vec<f64> = Vec::new();
        for shape in &picture.shapes {
            if let super::super::Shape::Text { at, text, .. } = shape
                && text == "tack"
            {
                places.push(at.0);
            }
        }
        assert_eq!(places.len(), 6);
        assert!(places.windows(2).all(|p| p[1] - p[0] >= COLUMN - 1e-9), "{places:?}");
        assert!(places.iter().all(|x| *x >= 0.0 && *x + COLUMN <= 180.0), "{places:?}");
    }

    #[test]
    fn no_loss_and_no_length_are_drawn() {
        assert!(metres(&Metres::default(), 180.0).svg().contains("<svg"));
    }
}
